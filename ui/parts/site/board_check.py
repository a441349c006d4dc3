"""The check length of a printed board: read with a steel rule and entered once, where the check asks for it."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import forms, plain
from ui.parts.people import acting
from ui.parts.pour import Open
from verifier.errors import VerifierError
from verifier.pipeline.decision.check import Check
from verifier.pipeline.intake.boards import PAPERS, enter_check_length
from verifier.pipeline.people.permissions import Action, may

_FORM = "board"


def show(at: Open) -> None:
    """Show where the check length of a board is entered; nothing where no photo rests on an unchecked print.

    Args:
        at: The pour.
    """
    numbers = _unchecked(at.check)
    who = acting(at.check.pour, _FORM, Action.ISSUE_BOARD) if numbers else ""
    if not numbers or not may(at.check.pour, who, Action.ISSUE_BOARD):
        return
    st.subheader(words.BOARD_CHECK, anchor="board-check")
    plain.paragraph(words.BOARD_CHECK_SAYS, quiet=True)
    left, right = st.columns(2, gap="small", wrap=False)
    with left:
        number = forms.choice(at.folder, _FORM, "number", words.BOARD_NUMBER, {n: n for n in numbers})
    with right:
        paper = forms.choice(at.folder, _FORM, "paper", words.BOARD_PAPER, PAPERS)
    measured_mm = forms.number(at.folder, _FORM, "measured_mm", words.BOARD_MEASURED)
    if not forms.button(words.BOARD_KEEP, whole=measured_mm is not None, key="board-keep"):
        return
    try:
        enter_check_length(
            at.folder, paper=paper, number=int(number), measured_mm=measured_mm or 0.0, person=who
        )
    except VerifierError as error:
        plain.fault(words.BOARD_NOT_KEPT, error)
        return
    forms.forget(at.folder, _FORM)
    st.rerun()


def _unchecked(check: Check) -> tuple[str, ...]:
    about = {name for r in check.decision.conditions if r.key == "board/unchecked" for name in r.about}
    seen = [p.seen.board for p in check.photos if p.original.name in about]
    numbers = {board.number for board in seen if board is not None and board.number is not None}
    return tuple(str(number) for number in sorted(numbers))
