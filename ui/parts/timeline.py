"""The record as a timeline, and the files that leave the page: bundle and tables."""

from __future__ import annotations

import tempfile
from datetime import datetime
from html import escape
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import plain, tables
from ui.parts.pour import Open, moment
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.sealing.disclosing import seal_folder
from verifier.pipeline.sealing.telling import timeline_of
from verifier.record.timeline import Event
from verifier.report.figures import QUIET

STEP = 40
SHOWN = "timeline-shown"


def show(at: Open) -> None:
    """Show what happened, newest last, and offer the record to be taken away.

    Args:
        at: The pour.
    """
    if not has_record(at.folder):
        plain.notice("missing", words.TIMELINE_NONE, words.TIMELINE_NONE_SAYS)
        return
    events = timeline_of(at.folder)
    plain.paragraph(words.TIMELINE_SAYS, quiet=True)
    _take_away(at)
    kinds = (words.FINDINGS_ALL, *dict.fromkeys(e.what for e in events))
    chosen = st.selectbox(words.TIMELINE_ONLY, kinds, key="timeline-kind")
    told = [e for e in events if chosen in (words.FINDINGS_ALL, e.what)]
    shown = st.session_state.get(SHOWN, STEP)
    rows = "".join(_row(at, e) for e in told[:shown])
    st.html(f'<table style="border-collapse:collapse;border:0;width:100%">{rows}</table>')
    if len(told) > shown and st.button(words.FINDINGS_MORE.format(count=len(told) - shown), width="stretch"):
        st.session_state[SHOWN] = shown + 5 * STEP
        st.rerun()


def _row(at: Open, e: Event) -> str:
    when = moment(datetime.fromisoformat(e.at), at.check.pour)
    cell = "padding:.45rem .9rem .45rem 0;border:0;border-top:1px solid #e3e6ea;vertical-align:top"
    quiet = f'style="color:{QUIET};font-size:.9rem;overflow-wrap:anywhere"'
    about = f" · {plain.safe(e.about)}" if e.about else ""
    original = f"<div {quiet}>{escape(words.ORIGINAL)} {plain.safe(e.original)}</div>" if e.original else ""
    return (
        f'<tr><td style="{cell};color:{QUIET};white-space:nowrap;font-variant-numeric:tabular-nums">{e.seq}</td>'
        f'<td style="{cell}"><strong>{plain.safe(e.what)}</strong>{about}'
        f"<div {quiet}>{escape(when)} · {plain.safe(e.who)} ({plain.safe(e.how_known)})</div>{original}</td></tr>"
    )


def _take_away(at: Open) -> None:
    left, right = st.columns(2, gap="small")
    left.download_button(
        words.TABLES,
        data=lambda: tables.workbook(at.check),
        file_name=f"{tables.file_name(at.check.pour.pour.id)}.xlsx",
        mime="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        width="stretch",
        on_click="ignore",
    )
    right.download_button(
        words.BUNDLE,
        data=lambda: _sealed(at.folder),
        file_name=f"{tables.file_name(at.check.pour.pour.id)}-record.zip",
        mime="application/zip",
        width="stretch",
        on_click="ignore",  # drawing the view again would drop the file while it is fetched
    )


def _sealed(folder: Path) -> bytes:
    with tempfile.TemporaryDirectory() as scratch:
        out = Path(scratch) / "bundle.zip"
        seal_folder(folder, out, datetime.now().astimezone())
        return out.read_bytes()
