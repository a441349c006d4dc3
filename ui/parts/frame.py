"""What stands around every view: the row of links, and the last resort when something breaks."""

from __future__ import annotations

import logging
from collections.abc import Sequence

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from ui import words
from ui.parts import plain, visits, where
from verifier.errors import VerifierError

# The eye of a passphrase is out of the way while one types: leaving the field by the keyboard over it, Streamlit forgets what was typed.
STYLE = """<style>
.block-container, [data-testid="stMainBlockContainer"] {padding: 1rem 1rem 4rem 1rem; max-width: 76rem}
[data-testid="stHeader"] {display: none}
[data-testid="stPageLink"] a {min-height: 3rem; padding: .4rem .8rem; border: 1px solid #c9ced6; border-radius: .3rem}
[data-testid="stPageLink"] p {font-weight: 600}
.stButton button, .stFormSubmitButton button, .stDownloadButton button {min-height: 3rem}
[data-testid="stSelectbox"] [role="group"], [data-testid="stNumberInputContainer"] {min-height: 3rem}
[data-testid="stSelectbox"] input {text-overflow: ellipsis}
[data-testid="stNumberInputContainer"] button {min-width: 3rem}
[data-testid="stExpander"] summary {min-height: 3rem; align-items: center}
[data-testid="stFileUploaderDropzone"] button, [data-testid="stButtonGroup"] button {min-height: 3rem}
[data-testid="stFileUploaderDropzoneInstructions"] {display: none}
[data-testid="stTextInput"] input {min-height: calc(3rem - 2px)}
[data-testid="stTextInputRootElement"], [data-testid="stDateInputField"], [data-testid="stTimeInputTimeDisplay"] {min-height: 3rem}
[data-testid="stDateInputCalendarButton"] {min-width: 2.8rem; min-height: 2.8rem}
[data-testid="stButtonGroup"] button {border: 1px solid #c9ced6 !important; border-radius: .3rem !important; margin: 0 .25rem .25rem 0 !important}
[data-testid="stButtonGroup"] button[aria-checked="true"] {border: 2px solid #00507d !important}
[data-testid="stTextInput"] button {min-width: 3rem; min-height: 3rem}
[data-testid="stTextInput"]:has(input:focus) button {visibility: hidden}
[data-testid="stWidgetLabel"] * {color: #1c1f24 !important}
h1 {font-size: 1.6rem !important; padding: .2rem 0 0 0 !important; margin: 0 !important}
h2 {font-size: 1.25rem !important; padding: .9rem 0 .2rem 0 !important; margin: 0 !important}
h3 {font-size: 1.05rem !important; padding: .5rem 0 .2rem 0 !important}
[data-testid="stHeaderActionElements"], .st-key-photo-before kbd, .st-key-photo-next kbd,
.st-key-finding-before kbd, .st-key-finding-next kbd {display: none}
.st-key-views {gap: .3rem !important; flex-wrap: nowrap !important; overflow-x: auto; scrollbar-width: thin; scroll-padding-inline: 3.5rem;
  padding: .25rem .25rem .4rem .25rem; background: linear-gradient(to right, #fff 40%, #fff0) left / 3rem 100% no-repeat local,
  linear-gradient(to left, #fff 40%, #fff0) right / 3rem 100% no-repeat local,
  linear-gradient(to right, #aab2bd, #aab2bd00) left / 1.1rem 100% no-repeat scroll,
  linear-gradient(to left, #aab2bd, #aab2bd00) right / 1.1rem 100% no-repeat scroll}
.st-key-views > * {flex: 0 0 auto}
.st-key-views [data-testid="stPageLink"] p {white-space: nowrap}
.st-key-view-here {scroll-initial-target: nearest; scroll-margin-inline: 3.5rem}
.st-key-view-here [data-testid="stPageLink"] a {background: none; border: 1px solid #1c1f24; border-bottom-width: 5px}
.st-key-view-here [data-testid="stPageLink"] p::before {content: "\\25B8\\00A0"; content: "\\25B8\\00A0" / ""}
.way-on {display: inline-block; line-height: 3rem; padding: 0 1.2rem; border-radius: .3rem; background: #00507d; color: #ffffff !important;
  font-weight: 600; text-decoration: none}
.st-key-foot > * {flex: 0 1 auto}
@media (max-width: 899px) {.stButton kbd {display: none}}
@media (min-width: 900px) {.jump {display: none !important} .st-key-views {background: none !important}}
*:focus-visible {outline: 3px solid #00507d !important; outline-offset: 2px}
</style>"""

_TONGUE = "export default ({ data }) => { document.documentElement.lang = data.language; };"


def dress() -> None:
    """Set what every page has alike, also one that only asks who is there."""
    st.set_page_config(page_title=words.TITLE, layout="wide", initial_sidebar_state="collapsed")
    st.html(STYLE)


def show(page: StreamlitPage, views: Sequence[StreamlitPage], person: str | None) -> None:
    """Show the links to all views, then the view itself.

    Args:
        page: The view asked for.
        views: All views, in order.
        person: Who is logged in, None where nobody logs in.
    """
    st.set_page_config(
        page_title=f"{page.title} · {words.TITLE}", layout="wide", initial_sidebar_state="collapsed"
    )
    asked = {where.POUR: st.query_params[where.POUR]} if where.POUR in st.query_params else None
    with st.container(horizontal=True, gap="small", key="views"):
        for view in views:
            # The view shown carries a mark and a heavy lower edge; its title stands in the title of the window, too.
            with st.container(key="view-here" if view.url_path == page.url_path else None, width="content"):
                st.page_link(view, query_params=asked)
    try:
        page.run()
    except VerifierError as error:
        plain.title(page.title)
        cant(error)
    except Exception:
        # The person gets one sentence; the operator gets the trace in the log of the page.
        logging.getLogger("ui").exception("a view broke")
        plain.notice("inconclusive", words.BROKE, words.BROKE_SAYS)
    finally:
        _foot(person)


def _foot(person: str | None) -> None:
    """Say who is here and which languages there are; on a page without accounts, say so."""
    st.divider()
    with st.container(horizontal=True, vertical_alignment="bottom", key="foot"):
        _languages()
        if person is not None:
            plain.labelled(words.LOGGED_IN, person)
            if st.button(words.LOG_OUT):
                visits.leave()
                st.rerun()
    if person is None:
        plain.paragraph(words.NO_LOG_IN, quiet=True)


def _languages() -> None:
    """Let the reader choose a language; it holds for the visit."""

    def chosen() -> None:
        st.session_state[words.CHOSEN] = st.session_state["language-asked"] or words.language()

    st.segmented_control(
        words.LANGUAGE,
        list(words.LANGUAGES),
        default=words.language(),
        format_func=lambda name: str(words.LANGUAGES[name].LANGUAGE_NAME),
        key="language-asked",
        on_change=chosen,
    )
    # A screen reader must know in which language it reads; the page as it is given out says English.
    tongue = st.components.v2.component("tongue", html="<span></span>", js=_TONGUE)
    tongue(key="tongue", data={"language": words.language()}, height=1)


def cant(error: VerifierError) -> None:
    """Say what is wrong, where, and what to do.

    Args:
        error: What was met.
    """
    plain.fault(words.CANT_READ, error)
