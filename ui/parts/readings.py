"""Typing tape readings: asked about at once where one looks like a slip, undone one by one, sent together."""

from __future__ import annotations

import tempfile
from datetime import datetime
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import drafts, plain
from ui.parts.people import acting
from ui.parts.pour import Open
from ui.parts.sending import spots_of
from verifier.metrology.measurement import Measurand
from verifier.pipeline.adding import Act, add_tape
from verifier.pipeline.tapes import INSTRUMENTS_FILE, read_tape
from verifier.tape.csv_file import csv_of
from verifier.tape.instruments import Register, read_register

ASKED = "reading-asked"
TYPED = (
    Measurand.MEAN_SPACING,
    Measurand.SINGLE_GAP,
    Measurand.COVER,
    Measurand.BAR_DIAMETER,
    Measurand.LAP_LENGTH,
    Measurand.BAR_COUNT,
)
FACES = ("bottom", "top", "side")


def show(at: Open) -> None:
    """Show where readings are typed, those not yet sent, and the buttons to undo and to send.

    Args:
        at: The pour.
    """
    st.subheader(words.TYPE_TITLE, anchor="type-readings")
    rows = drafts.typed(at.folder)
    row = _form(at)
    if st.button(words.TYPE_ADD, width="stretch", disabled=row is None) and row is not None:
        _add(at, rows, row)
    _question(at, rows)
    if rows:
        _unsent(at, rows)


def _form(at: Open) -> drafts.Row | None:
    """The row as it is typed now, None while the reading is empty."""
    check = at.check
    what = st.selectbox(words.WHAT, TYPED, format_func=lambda m: words.MEASURAND[m.value], key="reading-what")
    left, right = st.columns(2, gap="small", wrap=False)
    element = left.selectbox(words.ELEMENT, check.pour.marks, key="reading-element")
    layer = right.selectbox(words.LAYER, _layers(at, element, what), key="reading-layer")
    left, right = st.columns(2, gap="small", wrap=False)
    spot = left.selectbox(words.SPOT, spots_of(at, element), key="reading-spot", accept_new_options=True)
    gaps = index = None
    if what is Measurand.MEAN_SPACING:
        gaps = right.number_input(words.GAPS, min_value=2, max_value=99, value=5, step=1, key="reading-gaps")
    if what is Measurand.SINGLE_GAP:
        index = right.number_input(words.GAP_NUMBER, min_value=1, max_value=99, step=1, key="reading-index")
    instrument = st.selectbox(words.INSTRUMENT, _instruments(at), key="reading-instrument")
    left, right = st.columns(2, gap="small", wrap=False)
    unit = words.BARS if what is Measurand.BAR_COUNT else words.READING
    reading = left.number_input(unit, min_value=0.0, value=None, step=1.0, format="%g", key="reading-value")
    again = right.number_input(
        words.READING_AGAIN, min_value=0.0, value=None, step=1.0, format="%g", key="reading-again"
    )
    who = acting(check.pour, "reading")
    if not reading:
        return None
    return {
        "element": element,
        "layer": layer or "",
        "what": what.value,
        "n_gaps": str(gaps) if gaps else "",
        "reading_mm": f"{reading:g}",
        "reading_2_mm": f"{again:g}" if again else "",
        "instrument": instrument,
        "person": who,
        "time": f"{datetime.now().astimezone():%Y-%m-%d %H:%M}",
        "spot": str(spot or "").strip(),
        "index": str(index) if index else "",
    }


def _layers(at: Open, element: str, what: Measurand) -> tuple[str, ...]:
    asked = [c for c in at.check.coverage if c.element == element]
    if what is Measurand.COVER:
        return tuple(dict.fromkeys((*(c.layer for c in asked if c.what == "cover"), *FACES)))
    return tuple(c.layer for c in asked if c.what == "spacing")


def _instruments(at: Open) -> tuple[str, ...]:
    path = at.folder / INSTRUMENTS_FILE
    register = read_register(path.read_text(encoding="utf-8"), str(path)) if path.is_file() else Register()
    usual = [i for i in register.ids if i == "tape-II"]
    return tuple(dict.fromkeys((*usual, *register.ids)))


def _add(at: Open, rows: list[drafts.Row], row: drafts.Row) -> None:
    """Take a row over, unless it can't be read or there is a question about it first."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "typed.csv"
        path.write_bytes(csv_of([row]))
        read = read_tape(at.folder, path, at.check.pour)
    if read.faults:
        for fault in read.faults:
            plain.notice("inconclusive", words.TYPE_FAULT, f"{fault.wrong} {fault.todo}")
        return
    if read.questions:
        st.session_state[ASKED] = (row, tuple(q.asks for q in read.questions))
        return
    _take(at, rows, row)


def _take(at: Open, rows: list[drafts.Row], row: drafts.Row) -> None:
    drafts.keep(at.folder, [*rows, row])
    st.session_state.pop(ASKED, None)
    for key in ("reading-value", "reading-again"):
        del st.session_state[key]
    st.rerun()


def _question(at: Open, rows: list[drafts.Row]) -> None:
    asked = st.session_state.get(ASKED)
    if asked is None:
        return
    row, questions = asked
    for question in questions:
        plain.notice("inconclusive", words.TYPE_ASKED, question)
    left, right = st.columns(2, wrap=False)
    if left.button(words.TYPE_CONFIRM, width="stretch"):
        _take(at, rows, {**row, "confirmed": "yes"})
    if right.button(words.TYPE_CORRECT, width="stretch"):
        del st.session_state[ASKED]
        st.rerun()


def _unsent(at: Open, rows: list[drafts.Row]) -> None:
    st.subheader(words.UNSENT.format(count=len(rows)))
    plain.points(row_words(row) for row in rows)
    left, right = st.columns(2, wrap=False)
    if left.button(words.UNDO, width="stretch"):
        drafts.keep(at.folder, rows[:-1])
        st.rerun()
    if right.button(words.SEND_READINGS, type="primary", width="stretch"):
        now = datetime.now().astimezone()
        with tempfile.TemporaryDirectory() as scratch:
            path = Path(scratch) / f"typed-{now:%Y%m%d-%H%M%S}.csv"
            path.write_bytes(csv_of(rows))
            add_tape(at.folder, [path], Act(rows[-1]["person"], now))
        drafts.keep(at.folder, [])
        st.rerun()


def row_words(row: drafts.Row) -> str:
    """One typed reading in one line.

    Args:
        row: Text by column.

    Returns:
        Place, what, and value with unit.
    """
    place = " ".join(filter(None, (row["element"], row["layer"])))
    spot = f", {words.SPOT.lower()} {row['spot']}" if row["spot"] else ""
    over = f" {words.OVER_GAPS.format(count=row['n_gaps'])}" if row["n_gaps"] else ""
    values = " / ".join(filter(None, (row["reading_mm"], row["reading_2_mm"])))
    unit = "" if row["what"] == Measurand.BAR_COUNT.value else " mm"
    return f"{place}{spot}: {words.MEASURAND[row['what']].lower()}{over} {values}{unit}"
