"""The decision: answer, reasons, conditions, cautions."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import answer, plain, pour
from ui.parts.review import deciding, handing
from ui.parts.review.reasons import list_reasons

at = pour.opened()
decision = at.check.decision
with st.container():  # one place for all that may grow, so that nobody's words move while they are typed
    answer.heading(at.check)
    handing.line(at.check.review.handed, at.check.pour.pour.planned_start.tzinfo)
    st.html(f'<a class="way-on jump" href="#decide">{plain.safe(words.DECIDE)}</a>')
    list_reasons(words.DECISION_REASONS, "non_conforming", decision.reasons)
    list_reasons(words.DECISION_CONDITIONS, "inconclusive", at.check.open_conditions)
    if decision.cautions:
        st.subheader(words.DECISION_CAUTIONS)
        plain.points(words.said(f"{reason.says} {reason.clears}") for reason in decision.cautions)
    st.subheader(words.DECISION_STANDS)
    named = ", ".join(decision.engineer_of_record) or words.DECISION_EOR_NONE
    plain.pairs(
        [
            (words.DECISION_EOR, named),
            (words.DECISION_AT, pour.moment(decision.decided_at, at.check.pour)),
            (words.DECISION_UNTIL, pour.moment(decision.valid_until, at.check.pour)),
            (words.DECISION_LAPSES, "; ".join(map(words.said, decision.lapses_when))),
            (words.DECISION_DRAWING, at.check.drawing_sha256),
        ]
    )
    plain.paragraph(words.said(decision.statement), strong=True)
    plain.paragraph(words.STANDING_CAUTION)
deciding.show(at)
