"""What differs between two states of one record: answer, verdicts, versions, and what was added."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import get_args

import streamlit as st

from ui import words
from ui.parts import linked, plain
from ui.parts.pour import moment
from ui.parts.record import timeline
from ui.parts.record.record import Record
from verifier.record.timeline import difference
from verifier.report.figures import QUIET, Verdict

TURNS = frozenset(
    {
        "check",
        "release",
        "refusal",
        "lapse",
        "seal",
        "token",
        "board",
        "key.enrol",
        "drawing",
        "rules",
        "review.ask",
        "close",
    }
)
"""Kinds of event after which somebody may want to know what changed."""
_START, _NOW = "start", "now"
_MOST = 30


def show(record: Record) -> None:
    """Ask for two states and show what differs.

    Args:
        record: The record.
    """
    plain.paragraph(words.CHANGED_SAYS, quiet=True)
    turns = {str(e.seq): e for e in record.events if e.type in TURNS}
    size = len(record.told.records)

    def said(name: str) -> str:
        if name in (_START, _NOW):
            return words.CHANGED_START if name == _START else words.CHANGED_NOW
        event = turns[name]
        when = moment(datetime.fromisoformat(event.at), record.pour)
        return plain.shown(f"{name}: {words.said(event.what)}, {when}")

    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        checks = [seq for seq, e in turns.items() if e.type == "check"]
        before = checks[-2] if len(checks) > 1 else _START
        old = _pick("from", words.CHANGED_FROM, (_START, *turns), before, said)
        new = _pick("to", words.CHANGED_TO, (*turns, _NOW), _NOW, said)
    first, last = sorted(size if n == _NOW else 0 if n == _START else int(n) for n in (old, new))
    records = record.told.records
    found = difference(records[:first], records[:last], record.told.places)
    if not found.events:
        plain.notice(None, words.CHANGED_NOTHING, words.CHANGED_NOTHING_SAYS)
    if found.answer[0] != found.answer[1]:
        st.subheader(words.CHANGED_ANSWER)
        _pairs({words.CHANGED_ANSWER_IS: found.answer}, words.ANSWER)
    if found.findings:
        st.subheader(words.CHANGED_VERDICTS)
        _pairs({timeline.requirement(k): v for k, v in found.findings.items()}, words.VERDICT)
    if found.versions:
        st.subheader(words.CHANGED_VERSIONS)
        _pairs(found.versions, {})
    if found.events:
        st.subheader(words.CHANGED_ADDED.format(count=len(found.events)))
        timeline.rows(record, found.events)
    plain.paragraph(words.CHANGED_COPIES, quiet=True)


def _pick(key: str, label: str, options: Sequence[str], default: str, said: Callable[[str], str]) -> str:
    linked.start(key, tuple(options), default)
    st.selectbox(label, tuple(options), format_func=said, key=key, width=420)
    return linked.keep(key, st.session_state[key], default)


def _pairs(pairs: Mapping[str, tuple[str, str]], names: Mapping[str, str]) -> None:
    """Then and now, side by side; a verdict by shape and word."""

    def state(value: str) -> str:
        shape = plain.mark(value, 1.1) if value in get_args(Verdict) else ""  # type: ignore[arg-type]
        said = words.CHANGED_NEVER if value == "-" else names.get(value, value)
        return f'<span style="display:inline-flex;gap:.3rem;overflow-wrap:anywhere">{shape}{plain.safe(said)}</span>'

    rows = "".join(
        '<div style="display:flex;flex-wrap:wrap;gap:.1rem 1rem;border-top:1px solid #e3e6ea;padding:.4rem 0">'
        f'<div style="flex:0 0 16rem;max-width:100%;overflow-wrap:anywhere">{plain.safe(words.said(name))}</div>'
        f'<div style="flex:0 1 17rem;overflow-wrap:anywhere"><span style="color:{QUIET}">{plain.safe(words.CHANGED_WAS)}</span> '
        f"{state(before)}</div>"
        f'<div style="flex:0 1 17rem;overflow-wrap:anywhere"><span style="color:{QUIET}">{plain.safe(words.CHANGED_IS)}</span> '
        f"{state(after)}</div></div>"
        for name, (before, after) in list(pairs.items())[:_MOST]
    )
    st.html(rows)
    if len(pairs) > _MOST:
        plain.paragraph(words.FINDINGS_MORE.format(count=len(pairs) - _MOST), quiet=True)
