"""Findings, worst first: where the reviewer lands; one of them opened beside its photo."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import answer, plain, pour
from ui.parts.review import findings, findings_list, handing

at = pour.opened()
finding = findings_list.opened(at.check)
if finding is None:
    with st.container():  # one place, whatever there is to say
        answer.heading(at.check)
        handing.line(at.check.review.handed, at.check.pour.pour.planned_start.tzinfo)
    chosen = findings_list.choose(at.check)
    if not chosen:
        plain.paragraph(words.FINDINGS_NONE)
    for one in findings_list.page_of(chosen):
        findings.card(at, one)
    findings_list.more(len(chosen))
    findings_list.take_away(at)
else:
    st.html(f"<h1>{plain.safe(words.said(finding.place))}</h1>")
    with st.expander(words.FINDINGS_CHOICE):
        chosen = findings_list.choose(at.check)
    findings_list.leaf(finding, chosen)
    findings.opened(at, finding)
st.html('<div style="height:1rem"></div>')
