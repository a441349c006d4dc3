"""Handing the pour over for review, and where it lies now."""

from __future__ import annotations

from datetime import datetime, tzinfo
from typing import Literal

import streamlit as st

from ui import words
from ui.parts import kept_text, plain
from ui.parts.people import acting
from ui.parts.pour import Open
from verifier.errors import VerifierError
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.permissions import Action, may
from verifier.pipeline.review.handing_over import HandOver, hand_over, take_back
from verifier.report.figures import Verdict

_SHAPE: dict[str, Verdict] = {
    "waits": "missing",
    "changed": "inconclusive",
    "answered": "inconclusive",
    "taken back": "non_conforming",
}
TEXT = "hand over"


def line(handed: HandOver, zone: tzinfo | None) -> None:
    """Show where a pour lies, who handed it over and when, and what ended that; nothing if nobody has handed it over.

    Args:
        handed: The state.
        zone: Zone in which the people of the pour read times.
    """
    if handed.state == "none" or handed.at is None:
        return
    when = f"{handed.at.astimezone(zone):%Y-%m-%d %H:%M %z}"
    told = words.HANDED_STATE[handed.state]
    since = "; ".join(map(words.said, handed.since))
    plain.verdict_line(
        _SHAPE[handed.state], handed.text, told.format(person=handed.person, when=when, since=since)
    )


def show(at: Open) -> None:
    """Show where the pour lies, and let the site engineer hand it over or take it back.

    Args:
        at: The pour.
    """
    if not has_record(at.folder):
        return
    st.subheader(words.HAND_OVER, anchor="hand-over")
    line(at.check.review.handed, at.check.pour.pour.planned_start.tzinfo)
    person = acting(at.check.pour, "hand-over", Action.HAND_OVER)
    if not may(at.check.pour, person, Action.HAND_OVER):
        return
    lies_there = at.check.review.handed.state == "waits"
    stops = len(at.check.decision.reasons)
    if not lies_there:
        plain.paragraph(words.HAND_OVER_OPEN.format(stops=stops) if stops else words.HAND_OVER_SAYS)
    asked = words.TAKE_BACK_WHY if lies_there else words.HAND_OVER_TEXT
    text = kept_text.area(asked, at.folder, person, TEXT)
    label = words.TAKE_BACK if lies_there else words.HAND_OVER
    kind: Literal["primary", "secondary"] = "secondary" if lies_there or stops else "primary"
    if not st.button(label, width="stretch", type=kind, key="hand-over"):
        return
    act = Act(person, datetime.now().astimezone())
    try:
        (take_back if lies_there else hand_over)(at.folder, act, text)
    except VerifierError as error:
        plain.fault(words.REVIEW_REFUSED, error, where=False)
        return
    kept_text.forget(at.folder, person, TEXT)
    st.toast(words.REVIEW_DONE)
    st.rerun()
