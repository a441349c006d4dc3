"""Typing tape readings: asked about at once where one looks like a slip, undone one by one, sent together."""

from __future__ import annotations

import tempfile
from datetime import datetime
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import drafts, plain
from ui.parts.apart import apart
from ui.parts.keypad import clear, keypad
from ui.parts.people import acting
from ui.parts.pour import Open
from ui.parts.site.sending import spots_of
from verifier.metrology.measurement import Measurand
from verifier.pipeline.intake.adding import Act, add_tape
from verifier.pipeline.intake.tapes import INSTRUMENTS_FILE, read_tape
from verifier.tape.csv_file import csv_of
from verifier.tape.instruments import Register, read_register

ASKED = "reading-asked"
KEYS = "reading"
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
    apart(lambda: _readings(at))  # a key touched draws this part again, not the whole view


def _readings(at: Open) -> None:
    row = _form(at)
    if row is not None:
        _add(at, row)
    _question(at)
    rows = drafts.typed(at.folder)
    if rows:
        _unsent(at, rows)


def _form(at: Open) -> drafts.Row | None:
    """The row that was sent just now, if one was."""
    check = at.check
    what = st.selectbox(words.WHAT, TYPED, format_func=lambda m: words.MEASURAND[m.value], key="reading-what")
    left, right = st.columns(2, gap="small", wrap=False)
    element = left.selectbox(words.ELEMENT, check.pour.marks, key="reading-element")
    layer = right.selectbox(
        words.LAYER, _layers(at, element, what), format_func=words.said, key="reading-layer"
    )
    left, right = st.columns(2, gap="small", wrap=False)
    spot = left.selectbox(
        words.SPOT,
        spots_of(at, element),
        key="reading-spot",
        accept_new_options=True,
        placeholder=words.SPOT_CHOOSE,
    )
    gaps = index = None
    if what is Measurand.MEAN_SPACING:
        gaps = right.number_input(words.GAPS, min_value=2, max_value=99, value=5, step=1, key="reading-gaps")
    if what is Measurand.SINGLE_GAP:
        index = right.number_input(words.GAP_NUMBER, min_value=1, max_value=99, step=1, key="reading-index")
    instrument = st.selectbox(words.INSTRUMENT, _instruments(at), key="reading-instrument")
    who = acting(check.pour, "reading")
    unit = words.BARS if what is Measurand.BAR_COUNT else words.READING
    sent = keypad((unit, words.READING_AGAIN), words.TYPE_ADD, key=KEYS)
    if sent is None:
        return None
    reading, again = sent
    return {
        "element": element,
        "layer": layer or "",
        "what": what.value,
        "n_gaps": str(gaps) if gaps else "",
        "reading_mm": f"{reading:g}",
        "reading_2_mm": f"{again:g}" if again is not None else "",
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


def _add(at: Open, row: drafts.Row) -> None:
    """Take a row over, unless it can't be read or there is a question about it first."""
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "typed.csv"
        path.write_bytes(csv_of([row]))
        read = read_tape(at.folder, path, at.check.pour)
    if read.faults:
        for fault in read.faults:
            plain.notice("inconclusive", words.TYPE_FAULT, words.said(f"{fault.wrong} {fault.todo}"))
        return
    if read.questions:
        st.session_state[ASKED] = (row, tuple(q.asks for q in read.questions))
        return
    _take(at, row)


def _take(at: Open, row: drafts.Row) -> None:
    drafts.add(at.folder, row)
    st.session_state.pop(ASKED, None)
    clear(KEYS)
    st.rerun(scope="fragment")


def _question(at: Open) -> None:
    asked = st.session_state.get(ASKED)
    if asked is None:
        return
    row, questions = asked
    for question in questions:
        plain.notice("inconclusive", words.TYPE_ASKED, words.said(question))
    left, right = st.columns(2, wrap=False)
    if left.button(words.TYPE_CONFIRM, width="stretch"):
        _take(at, {**row, "confirmed": "yes"})
    if right.button(words.TYPE_CORRECT, width="stretch"):
        del st.session_state[ASKED]
        st.rerun(scope="fragment")


def _unsent(at: Open, rows: list[drafts.Typed]) -> None:
    st.subheader(words.UNSENT.format(count=len(rows)))
    plain.points(row_words(typed.row) for typed in rows)
    left, right = st.columns(2, wrap=False)
    if left.button(words.UNDO, width="stretch"):
        drafts.drop(at.folder, [rows[-1].id])
        st.rerun(scope="fragment")
    if right.button(words.SEND_READINGS, type="primary", width="stretch"):
        _send(at, rows)
        st.rerun()


def _send(at: Open, rows: list[drafts.Typed]) -> None:
    """One file for each person who typed; each is dropped once the record holds it, whatever another tab has typed since."""
    now = datetime.now().astimezone()
    for person in dict.fromkeys(typed.row["person"] for typed in rows):
        mine = [typed for typed in rows if typed.row["person"] == person]
        with tempfile.TemporaryDirectory() as scratch:
            path = Path(scratch) / f"typed-{now:%Y%m%d-%H%M%S}-{mine[0].id[-8:]}.csv"
            path.write_bytes(csv_of([typed.row for typed in mine]))
            add_tape(at.folder, [path], Act(person, now))
        drafts.drop(at.folder, [typed.id for typed in mine])


def row_words(row: drafts.Row) -> str:
    """One typed reading in one line.

    Args:
        row: Text by column.

    Returns:
        Place, what, and value with unit.
    """
    place = " ".join(filter(None, (row["element"], words.said(row["layer"]))))
    spot = f", {words.within(words.SPOT)} {row['spot']}" if row["spot"] else ""
    over = f" {words.OVER_GAPS.format(count=row['n_gaps'])}" if row["n_gaps"] else ""
    values = " / ".join(filter(None, (row["reading_mm"], row["reading_2_mm"])))
    unit = "" if row["what"] == Measurand.BAR_COUNT.value else " mm"
    return f"{place}{spot}: {words.within(words.MEASURAND[row['what']])}{over} {values}{unit}"
