"""Parts of a view that are drawn again by themselves, with the same care as the whole: log-in asked, errors told."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from ui import words
from ui.parts import plain, visits
from verifier.errors import NotAllowed, VerifierError


def apart(part: Callable[[], None], *, every_s: float | None = None) -> None:
    """Draw a part of a view so that what is touched in it draws this part again and not the whole.

    Args:
        part: Draws it.
        every_s: How often it is drawn again without being touched, s; None for never.
    """

    def drawn() -> None:
        try:
            visits.person()
        except NotAllowed:
            st.rerun()  # the visit has ended meanwhile: the view as a whole asks who is there
        try:
            part()
        except VerifierError as error:
            plain.fault(words.CANT_READ, error)

    st.fragment(run_every=every_s)(drawn)()
