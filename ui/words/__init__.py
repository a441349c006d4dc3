"""Every sentence that the page itself says, in the language of the one who reads.

A view writes ``words.SEND_TITLE`` and gets it in the reader's language. Words must be asked for when they are shown, never
when a module is imported: the language belongs to the reader, not to the server. One file a language; each has the same
names, the same keys and the same gaps to fill (a house test holds that).
"""

from __future__ import annotations

from types import ModuleType
from typing import TYPE_CHECKING, Any, Final

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from ui.words import english, german

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


def __getattr__(name: str) -> Any:
    return getattr(LANGUAGES[language()], name)
