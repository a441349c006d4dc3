"""Findings, worst first: where the reviewer lands."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import answer, findings, plain, pour

at = pour.opened()
answer.heading(at.check)
chosen = findings.choose(at.check)
if not chosen:
    plain.paragraph(words.FINDINGS_NONE)
for finding in findings.page_of(chosen):
    findings.card(at, finding)
findings.more(len(chosen))
st.html('<div style="height:1rem"></div>')
