"""Every sentence that the page itself says, in the language of the one who reads.

A view writes ``words.SEND_TITLE`` and gets it in the reader's language. Words must be asked for when they are shown, never
when a module is imported: the language belongs to the reader, not to the server. One file a language; each has the same
names, the same keys and the same gaps to fill (a house test holds that). What the core writes comes as English text and is
shown through ``words.said(...)``, which looks it up in the catalogues beside (``de/*.toml``).
"""

from __future__ import annotations

from types import ModuleType
from typing import TYPE_CHECKING, Any, Final

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from ui.words import english, german, sentences

if TYPE_CHECKING:
    from ui.words.english import *  # noqa: F403 - tells the type checker which words there are

LANGUAGES: Final[dict[str, ModuleType]] = {"en": english, "de": german}
"""Files by language, as BCP 47 names it."""

CHOSEN: Final = "language"
"""Where a reader's choice stands: in the session and in the address."""


def language() -> str:
    """Tell the language of the one who reads: as chosen, else as the browser asks, else English.

    Returns:
        A key of ``LANGUAGES``.
    """
    if get_script_run_ctx(suppress_warning=True) is None:
        return "en"
    asked = (st.session_state.get(CHOSEN), st.query_params.get(CHOSEN), (st.context.locale or "")[:2])
    return next((name for name in asked if name in LANGUAGES), "en")


def said(text: str) -> str:
    """Say a sentence that the core wrote in the language of the one who reads.

    Args:
        text: What the core wrote: a reason, a finding, a refusal, an error. A text of somebody else is never asked for here.

    Returns:
        The same in the reader's language; unchanged where it isn't known as a whole.
    """
    return sentences.said_in(language(), text)


def within(text: str) -> str:
    """One of the page's own words as it stands inside a sentence.

    Args:
        text: The word, beginning with a capital.

    Returns:
        In small letters, but as it is in a language that writes its nouns with a capital.
    """
    return text if language() == "de" else text.lower()


def opening(text: str) -> str:
    """Say a sentence of the core that opens a line, in the language of the one who reads.

    Args:
        text: What the core wrote, maybe to stand inside a sentence.

    Returns:
        The same with a capital in front.
    """
    told = said(text)
    return told[:1].upper() + told[1:]


def __getattr__(name: str) -> Any:
    return getattr(LANGUAGES[language()], name)
