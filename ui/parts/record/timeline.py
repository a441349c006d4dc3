"""What happened, line by line, in the order in which it came into the record."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from html import escape
from typing import Final

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.pour import moment
from ui.parts.record.record import ALL, Choice, Record
from verifier.record.timeline import Event
from verifier.report.figures import QUIET

STEP = 40
SHOWN = "timeline-shown"

_WRITTEN: Final = {"check", "close", "closing", "finding", "inspection", "item", "lapse", "order"}
"""Kinds of event whose words are the core's own; in others a person may have written them."""


def show(record: Record, choice: Choice) -> None:
    """Show what happened, newest last.

    Args:
        record: The record.
        choice: Element, person and kind of event.
    """
    plain.paragraph(words.TIMELINE_SAYS, quiet=True)
    chosen = [
        e
        for e in record.events
        if choice.element in (ALL, *e.elements)
        and choice.person in (ALL, e.who)
        and choice.kind in (ALL, e.type)
    ]
    if not chosen:
        plain.notice("missing", words.TIMELINE_NOTHING, words.ORIGINALS_NONE_SAYS)
        return
    rows(record, chosen)


def rows(record: Record, events: Sequence[Event]) -> None:
    """Show events as lines, more of them when asked.

    Args:
        record: The record.
        events: Events in order.
    """
    shown = st.session_state.get(SHOWN, STEP)
    told = "".join(_row(record, e) for e in events[:shown])
    st.html(f'<table style="border-collapse:collapse;border:0;width:100%">{told}</table>')
    if len(events) > shown and st.button(
        words.FINDINGS_MORE.format(count=len(events) - shown), width="stretch"
    ):
        st.session_state[SHOWN] = shown + 5 * STEP
        st.rerun()


def _row(record: Record, e: Event) -> str:
    when = moment(datetime.fromisoformat(e.at), record.pour)
    cell = "padding:.45rem .9rem .45rem 0;border:0;border-top:1px solid #e3e6ea;vertical-align:top"
    quiet = f'style="color:{QUIET};font-size:.9rem;overflow-wrap:anywhere"'
    about = f" · {plain.safe(_about(e))}" if e.about else ""
    original = f"<div {quiet}>{escape(words.ORIGINAL)} {plain.safe(e.original)}</div>" if e.original else ""
    return (
        f'<tr><td style="{cell};color:{QUIET};white-space:nowrap;font-variant-numeric:tabular-nums">{e.seq}</td>'
        f'<td style="{cell};overflow-wrap:anywhere"><strong>{plain.safe(words.said(e.what))}</strong>{about}'
        f"<div {quiet}>{escape(when)} · {plain.safe(e.who)} ({plain.safe(words.said(e.how_known))})</div>{original}</td></tr>"
    )


def requirement(key: str) -> str:
    """A requirement as people call it.

    Args:
        key: As the record names it: element, layer, rule and perhaps the spot, such as ``S1/B2/single-gap/1``.

    Returns:
        Place and rule in the reader's words; a key of another shape as it is.
    """
    element, *rest = key.split("/")
    if len(rest) < 2 or rest[1] not in words.RULE:
        return key
    spot = f", {words.within(words.SPOT)} {rest[2]}" if len(rest) > 2 else ""
    return f"{element} {words.said(rest[0])}{spot}: {words.within(words.RULE[rest[1]])}"


def _about(e: Event) -> str:
    """What it is about; words that the core wrote in the reader's language, those of a person as they stand."""
    if e.type not in _WRITTEN:
        return e.about
    if e.type == "finding":  # element, layer and spot stand in the requirement once more
        told = [requirement(p) for p in e.about.split(", ") if "/" in p]
        verdicts = [words.VERDICT[p] for p in e.about.split(", ") if p in words.VERDICT]
        return ", ".join((*told, *verdicts)) or e.about
    names = words.ROUND_WORD if e.type in ("item", "inspection") else {**words.VERDICT, **words.ANSWER}

    def said(part: str) -> str:
        place, colon, word = part.rpartition(": ")
        if word in names:
            return f"{words.said(place)}{colon}{names[word]}"
        return words.said(part)

    return ", ".join(map(said, e.about.split(", ")))
