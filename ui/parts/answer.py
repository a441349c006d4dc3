"""The answer in one line, as it stands on top of every landing view."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import plain
from verifier.pipeline.decision.check import Check
from verifier.release.decision import Answer
from verifier.report.figures import Verdict

SHAPE: dict[Answer, Verdict] = {
    "go": "conforming",
    "go_with_conditions": "inconclusive",
    "no_go": "non_conforming",
}


def heading(check: Check) -> None:
    """Name the pour and show the answer by shape and word.

    Args:
        check: The check.
    """
    pour = check.pour.pour
    st.html(f'<h1 style="overflow-wrap:anywhere">{plain.safe(pour.title or pour.id)}</h1>')
    plain.paragraph(
        words.PLANNED.format(when=f"{pour.planned_start:%Y-%m-%d %H:%M}", code=pour.code), quiet=True
    )
    if check.at > pour.planned_start and check.release.state != "poured":
        now = check.at.astimezone(pour.planned_start.tzinfo)
        plain.paragraph(words.PLANNED_PASSED.format(now=f"{now:%Y-%m-%d %H:%M}"), quiet=True)
    decision = check.decision
    counts = words.ANSWER_COUNTS.format(stops=len(decision.reasons), conditions=len(check.open_conditions))
    plain.notice(
        SHAPE[decision.answer], words.ANSWER[decision.answer], words.ANSWER_SAYS[decision.answer], counts
    )
    if check.release.state != "none":
        plain.paragraph(words.said(check.release.words), strong=True)
