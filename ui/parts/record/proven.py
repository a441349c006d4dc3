"""What the record proves, question by question: what holds, what does not, what is not proven; never one total."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Final

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.pour import State
from ui.parts.record.record import Record
from verifier.pipeline.sealing.disclosing import audit_now, has_joined
from verifier.record.audit import FAILS, HOLDS, OPEN, Audit, Fact
from verifier.report.figures import QUIET, Verdict
from verifier.report.story import QUESTIONS

LATER: Final = ("derived pictures", "replay")
"""What the page does not look at: pictures and measuring again are for the bundle."""
_SHAPE: Final[dict[str, Verdict]] = {HOLDS: "conforming", FAILS: "non_conforming", OPEN: "inconclusive"}
_ASKED = "proven-asked"


def show(record: Record) -> None:
    """Check the record as a stranger would, and show each answer.

    Args:
        record: The record.
    """
    held = st.text_input(words.PROVEN_HELD, key="proven-held", help=words.PROVEN_HELD_HELP, max_chars=120)
    if not has_joined(record.folder) and not st.session_state.get(_ASKED):
        plain.paragraph(words.PROVEN_JOINS, quiet=True)
        if st.button(words.PROVEN_START):
            st.session_state[_ASKED] = True
            st.rerun()
        return
    with st.spinner(words.WORKING):
        found = _audited(record.folder, record.state, held.strip())
    plain.paragraph(words.PROVEN_SAYS, quiet=True)
    facts = {fact.topic: fact for fact in found.facts}
    for group, (_, topics) in QUESTIONS.items():
        answers = [facts[topic] for topic in topics if topic in facts and topic not in LATER]
        if answers:
            st.subheader(words.FACT_GROUPS[group])
            st.html("".join(_row(fact) for fact in answers))
    st.subheader(words.PROVEN_LIMITS)
    plain.points(map(words.said, found.limits))
    plain.paragraph(words.PROVEN_AGAIN, quiet=True)


@st.cache_resource(show_spinner=False, max_entries=8)
def _audited(folder: Path, state: State, held: str) -> Audit:
    del state  # only tells whether anything has changed
    return audit_now(folder, datetime.now().astimezone(), heads=[held] if held else ())


def _row(fact: Fact) -> str:
    """One fact: shape, state in words, the sentence; what stands behind it can be unfolded."""
    details = ""
    if fact.details:
        items = "".join(
            f'<li style="overflow-wrap:anywhere">{plain.safe(words.said(text))}</li>' for text in fact.details
        )
        opened = " open" if fact.state == FAILS else ""
        said = words.FACT_DETAILS.format(count=len(fact.details))
        details = (
            f'<details{opened} style="font-size:.9rem;color:{QUIET}"><summary style="min-height:3rem;cursor:pointer;padding:.7rem 0">'
            f'{plain.safe(said)}</summary><ul style="margin:0;padding-left:1.2rem">{items}</ul></details>'
        )
    return (
        '<div style="display:flex;gap:.7rem;align-items:flex-start;border-top:1px solid #e3e6ea;padding:.5rem 0">'
        f'{plain.mark(_SHAPE[fact.state], 1.4)}<div style="overflow-wrap:anywhere;min-width:0">'
        f"<strong>{plain.safe(words.FACT_STATE[fact.state])}</strong> · "
        f"{plain.safe(words.FACT_TOPIC.get(fact.topic, fact.topic))}<br>{plain.safe(words.said(fact.say))}{details}</div></div>"
    )
