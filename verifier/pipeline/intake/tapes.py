"""Tape files of a pour: readings that count, questions that are open, rows that can't be read."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from pydantic import BaseModel

from verifier.codes.load import load_code
from verifier.drawing.pour import Pour
from verifier.errors import BadInput
from verifier.metrology.measurement import Measurement
from verifier.pipeline.folder.evidence import Original, damaged, is_intact
from verifier.release.reason import Reason
from verifier.rules.asked import Asked, requirements_of
from verifier.tape.instruments import Register, check_caution, read_register
from verifier.tape.measure import measurement_of
from verifier.tape.reading import Expectation, TapeFile
from verifier.tape.rows import read_tape_csv

INSTRUMENTS_FILE = "instruments.toml"


class TapeEntry(BaseModel, frozen=True, extra="forbid"):
    """One tape file and what became of it. ``file`` is None where it is no table of readings."""

    original: Original
    file: TapeFile | None
    reasons: tuple[Reason, ...] = ()


def tapes_of(
    folder: Path, pour: Pour, asked: Asked, originals: Sequence[Original]
) -> tuple[tuple[TapeEntry, ...], tuple[Measurement, ...]]:
    """Read the tape files of a pour.

    A row that can't be read and a reading with an open question count for nothing and stop the pour until they are put
    right: what is hidden in them may be the worst value of all.

    Args:
        folder: The pour folder, for its register of instruments.
        pour: Drawing values.
        asked: What is asked, for questions about slips.
        originals: The tape files.

    Returns:
        An entry for each file, and the measurements of all readings that count.

    Raises:
        BadInput: If the register of instruments is there and can't be used.
    """
    register = _register(folder)
    entries: list[TapeEntry] = []
    measurements: list[Measurement] = []
    for original in originals:
        if not is_intact(original):
            entries.append(TapeEntry(original=original, file=None, reasons=(damaged(original),)))
            continue
        try:
            file = read_tape_csv(
                original.path.read_bytes(), original.name, register=register, expected=_expected(asked)
            )
        except BadInput as error:
            entries.append(TapeEntry(original=original, file=None, reasons=(_unreadable(original, error),)))
            continue
        entries.append(TapeEntry(original=original, file=file, reasons=_reasons(file, register)))
        measurements += _measurements(file, register, pour)
    return tuple(entries), tuple(measurements)


def read_tape(folder: Path, path: Path, pour: Pour) -> TapeFile:
    """Read one tape file against a pour, before it is added.

    Args:
        folder: The pour folder.
        path: The file.
        pour: Drawing values.

    Returns:
        Readings, questions and faults.

    Raises:
        BadInput: If there is no such file, it is a folder, or it is no table of readings.
    """
    if path.is_dir():
        raise BadInput(
            "This is a folder; readings stand in CSV files.",
            where=str(path),
            todo=f"Name the files in it, for example {path / '*.csv'}; nothing was added.",
        )
    if not path.is_file():
        raise BadInput("There is no such file.", where=str(path), todo="Correct the name; nothing was added.")
    asked = requirements_of(pour, load_code(pour.pour.code, units=pour.pour.units))
    return read_tape_csv(path.read_bytes(), path.name, register=_register(folder), expected=_expected(asked))


def _register(folder: Path) -> Register:
    path = folder / INSTRUMENTS_FILE
    return read_register(path.read_text(encoding="utf-8"), str(path)) if path.is_file() else Register()


def _expected(asked: Asked) -> tuple[Expectation, ...]:
    """What the drawing gives for each measurand; cover and single lengths are expected whatever layer a reading names."""
    found = [
        Expectation(
            what=r.measurand,
            element=r.element,
            layer=None if r.by_tape else r.layer,
            drawing_value=r.nominal,
        )
        for r in asked.requirements
        if r.nominal is not None
    ]
    return tuple(dict.fromkeys(found))


def _measurements(file: TapeFile, register: Register, pour: Pour) -> list[Measurement]:
    found = []
    zone = pour.pour.planned_start.tzinfo
    for reading in file.readings:
        instrument = None if reading.instrument is None else register.find(reading.instrument)
        measurement = measurement_of(
            reading, instrument, original_sha256=file.sha256, original_name=file.name
        )
        taken = datetime.fromisoformat(reading.taken_at)
        if taken.tzinfo is None:  # written by hand on the site, so in the zone of the pour
            measurement = measurement.model_copy(update={"taken_at": taken.replace(tzinfo=zone).isoformat()})
        found.append(measurement)
    return found


def _unreadable(original: Original, error: BadInput) -> Reason:
    return Reason(
        key=f"tape/{original.sha256[:12]}",
        room="evidence",
        weight="stops",
        kind="not-decided",
        says=f"{original.name} can't be read: {error.wrong}",
        clears=error.todo,
        about=(original.name,),
    )


def _reasons(file: TapeFile, register: Register) -> tuple[Reason, ...]:
    key = f"tape/{file.sha256[:12]}"
    asked = [
        Reason(
            key=f"{key}/row/{q.row}/{q.about}",
            room="evidence",
            weight="stops",
            kind="not-decided",
            says=f"{file.name}: {q.asks}",
            clears="Correct the row or confirm it, and add the file again.",
            about=(file.name,),
        )
        for q in file.questions
    ]
    faults = [
        Reason(
            key=f"{key}/row/{f.row}/{f.column}",
            room="evidence",
            weight="stops",
            kind="not-decided",
            says=f"{file.name}: {f.text}",
            clears="Put the row right and add the file again.",
            about=(file.name,),
        )
        for f in file.faults
    ]
    cautions = {
        check_caution(instrument, datetime.fromisoformat(r.taken_at).date())
        for r in file.readings
        if r.instrument is not None and (instrument := register.find(r.instrument)) is not None
    }
    told = [
        Reason(
            key=f"{key}/instrument/{i}",
            room="evidence",
            weight="caution",
            kind="to-know",
            says=caution,
            clears="Compare it with a checked one and note the day in instruments.toml.",
            about=(file.name,),
        )
        for i, caution in enumerate(sorted(cautions - {""}))
    ]
    return (*asked, *faults, *told)
