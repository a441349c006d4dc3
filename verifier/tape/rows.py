"""From rows of text to readings: every fault named with row and column, every good row kept."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from verifier.tape.cells import Cells
from verifier.tape.csv_file import Row, decode, split
from verifier.tape.instruments import Register
from verifier.tape.plausibility import questions_about
from verifier.tape.reading import Expectation, Question, RowFault, TapeFile, TapeReading


def read_tape_csv(
    data: bytes, name: str, *, register: Register | None = None, expected: Sequence[Expectation] = ()
) -> TapeFile:
    """Read a file of tape readings.

    Rows that carry the same index at the same place (element, layer, what, spot, instrument, person, gaps) are readings
    of one thing and become one. Without an index each row is a thing of its own: two gaps are never averaged into one.

    Args:
        data: The file as received.
        name: Its name.
        register: Instruments that may be named; without it the plain kinds.
        expected: What the drawing gives, for questions about slips.

    Returns:
        Readings, questions and faults. Every row with anything in it is in exactly one of ``readings``, ``asked`` and
        ``faults`` (rows joined by an index count as one).

    Raises:
        BadInput: If the file as a whole can't be read.
    """
    table = split(decode(data, name), name)
    register = register or Register()
    decimal_comma = table.separator != ","
    good: list[TapeReading] = []
    faults: list[RowFault] = []
    for row in table.rows:
        found = _row_faults(row, register, decimal_comma=decimal_comma)
        if isinstance(found, TapeReading):
            good.append(found)
        else:
            faults += found
    asked: list[TapeReading] = []
    questions: list[Question] = []
    readings: list[TapeReading] = []
    for reading in _joined(good):
        instrument = register.find(reading.instrument) if reading.instrument else None
        open_questions = questions_about(reading, expected, instrument.kind if instrument else "tape")
        questions += open_questions
        (asked if open_questions else readings).append(reading)
    return TapeFile(
        name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        readings=tuple(readings),
        asked=tuple(asked),
        questions=tuple(questions),
        faults=tuple(faults),
    )


def _row_faults(row: Row, register: Register, *, decimal_comma: bool) -> TapeReading | list[RowFault]:
    """The reading of a row, or all that is wrong with it."""
    faults: list[RowFault] = []
    cells = Cells(row, faults, decimal_comma=decimal_comma)
    if row.surplus:
        cells.fault(
            "after the last column",
            ", ".join(row.surplus),
            "the row has more cells than the heading, so a figure may be torn in two.",
            "Is there a comma inside a number or a remark? Use a decimal point, or put the cell in quotation marks.",
        )
    n_gaps = cells.whole("n_gaps", 200)
    what = cells.what(n_gaps)
    cells.check_entered(what)
    readings = cells.readings(what)
    instrument = cells.instrument(register, what)
    taken_at = cells.time()
    layer = cells.layer()
    if what is not None:
        cells.check_layer(what, layer)
        n_gaps = cells.gaps_for(what, n_gaps)
    values = {
        "element": cells.text("element"),
        "person": cells.text("person"),
        "spot": cells.text("spot"),
        "remark": cells.text("remark"),
    }
    index, confirmed = cells.whole("index", 10_000), cells.confirmed()
    if faults or what is None:
        return faults
    return TapeReading(
        row=row.number,
        layer=layer,
        what=what,
        n_gaps=n_gaps,
        readings=readings,
        instrument=instrument,
        taken_at=taken_at,
        index=index,
        confirmed=confirmed,
        **values,
    )


def _joined(readings: Sequence[TapeReading]) -> list[TapeReading]:
    """Rows with one index at one place are repeats of one thing."""
    groups: dict[tuple[object, ...], list[TapeReading]] = {}
    for r in readings:
        key = (r.element, r.layer, r.what, r.spot, r.instrument, r.person, r.n_gaps, r.index)
        groups.setdefault(key if r.index is not None else (r.row,), []).append(r)
    return [_one(group) for group in groups.values()]


def _one(group: Sequence[TapeReading]) -> TapeReading:
    remarks = dict.fromkeys(r.remark for r in group if r.remark)
    return group[0].model_copy(
        update={
            "readings": tuple(value for r in group for value in r.readings),
            "taken_at": max(r.taken_at for r in group),
            "remark": "; ".join(remarks) or None,
            "confirmed": all(r.confirmed for r in group),
        }
    )
