"""Reasons of a decision, worst first, each with what clears it and who can."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from ui import words
from ui.parts import plain
from verifier.release.reason import Reason
from verifier.report.figures import Verdict


def list_reasons(title: str, verdict: Verdict, reasons: Sequence[Reason]) -> None:
    """Show reasons of one weight; nothing if there is none.

    Args:
        title: One of the page's own headings.
        verdict: The shape that they carry.
        reasons: The reasons, worst first.
    """
    if not reasons:
        return
    st.html(f"<h2>{plain.safe(title)}</h2>")
    for reason in reasons:
        with st.container(border=True):
            plain.verdict_line(verdict, "", words.said(reason.says))
            known = (
                (words.DECISION_CLEARS, words.said(reason.clears)),
                (words.DECISION_OWNER, words.said(reason.owner)),
            )
            plain.pairs([(name, text) for name, text in known if text])
