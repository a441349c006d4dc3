"""Reasons of a decision, worst first, each with what clears it and who can."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

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
    # What one act clears stands on one card: on a phone the same advice eight times over hides what is different.
    for (clears, owner), together in groupby(reasons, key=lambda r: (r.clears, r.owner)):
        with st.container(border=True):
            for reason in together:
                plain.verdict_line(verdict, "", words.said(reason.says))
            known = ((words.DECISION_CLEARS, words.said(clears)), (words.DECISION_OWNER, words.said(owner)))
            plain.pairs([(name, text) for name, text in known if text])
