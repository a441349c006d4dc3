"""Where the page works: the folder that it was started with, and the pour in it that is looked at."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Final

import streamlit as st

from ui import words
from verifier.pipeline.people.pours import is_pour, pours_in

FOLDER_VARIABLE: Final = "VERIFIER_FOLDER"
"""Set by ``verifier page FOLDER``; a path after ``--`` on the command line counts, too."""

POUR: Final = "pour"
"""Name of the pour's folder in the address, where there are several."""


_ARRIVES: Final = "arrives-at"


def home() -> Path | None:
    """Find out which folder the page was started with.

    Returns:
        A pour folder or a folder of pours, None if none was named.
    """
    named = sys.argv[1] if len(sys.argv) > 1 else os.environ.get(FOLDER_VARIABLE, "")
    return Path(named) if named else None


def several() -> tuple[Path, ...]:
    """List the pours to choose from.

    Returns:
        Pour folders by name; none if the page was started with a single pour.
    """
    place = home()
    return () if place is None or is_pour(place) else pours_in(place)


def folder() -> Path | None:
    """Find out which pour is looked at: the only one, or the one in the address.

    Returns:
        Its folder, None if none was named or chosen.
    """
    choices = several()
    if not choices:
        return home()
    asked = st.query_params.get(POUR, st.session_state.get(POUR))
    return next((place for place in choices if place.name == asked), None)


def go_to(place: Path) -> None:
    """Choose a pour; the next run leads to the view where the person's work on it is.

    Args:
        place: Its folder.
    """
    st.query_params[POUR] = place.name
    st.session_state[_ARRIVES] = place.name


def arrives() -> bool:
    """Whether a pour was chosen just now; asking takes the answer away.

    Returns:
        True once after :func:`go_to`.
    """
    return st.session_state.pop(_ARRIVES, None) is not None


def stay(place: Path) -> None:
    """Keep the pour that is looked at in the address, and forget what was chosen for another one.

    Args:
        place: Its folder.
    """
    if not several():
        return
    if st.session_state.get(POUR) != place.name:
        stays = {k: v for k, v in st.session_state.items() if k in (words.CHOSEN, _ARRIVES)}
        st.session_state.clear()
        st.session_state.update(stays | {POUR: place.name})
    if st.query_params.get(POUR) != place.name:
        st.query_params[POUR] = place.name
