"""Is a reading likely, or a slip of unit or count? Asked, never corrected."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

from verifier.metrology.measurement import Measurand
from verifier.tape.instruments import Kind, instrument_data, repeatability_mm
from verifier.tape.reading import PER_GAP, Expectation, Question, TapeReading
from verifier.wording import counted


@cache
def _plausible() -> dict[str, Any]:
    return tomllib.loads(files("verifier.tape").joinpath("data/plausible.toml").read_text(encoding="utf-8"))


def questions_about(
    reading: TapeReading, expected: Sequence[Expectation] = (), kind: Kind = "tape"
) -> tuple[Question, ...]:
    """Ask about a reading that looks like a slip.

    Args:
        reading: The reading as written.
        expected: What the drawing gives; the most special fitting entry is used, else a general range.
        kind: Kind of the instrument, for how far its readings scatter.

    Returns:
        Questions, none for a likely reading or for one that its reader has confirmed.

    Source:
        Ranges: common practice, no source. Scatter: ISO 5725-6:1994, 5.2.2 (critical range).
    """
    if reading.confirmed:
        return ()
    return tuple(q for q in (_about_size(reading, expected), _about_repeats(reading, kind)) if q is not None)


def _about_size(reading: TapeReading, expected: Sequence[Expectation]) -> Question | None:
    low, high, drawn = _likely_range(reading, expected)
    why = f"drawing: {drawn:g}" if drawn is not None else "general range"
    value = reading.per_gap
    if low <= value <= high:
        return None
    guesses = [
        f"{value * unit_mm:g} mm{_each(reading)} if it was read in {unit}"
        for unit, unit_mm in _plausible()["unit_mm"].items()
        if low <= value * unit_mm <= high
    ]
    if drawn is not None and reading.what in PER_GAP:
        total = value * (reading.n_gaps or 1)
        gaps = max(1, round(total / drawn))
        if gaps != reading.n_gaps and low <= total / gaps <= high:
            guesses.append(f"{total / gaps:g} mm each if it spans {counted(gaps, 'gap')}")
    unit = "bars" if reading.what is Measurand.BAR_COUNT else "mm"
    found = f"{value:g} {unit}{_each(reading)}"
    was_it = f"Was it {', or '.join(guesses)}? " if guesses else ""
    return Question(
        row=reading.row,
        about="reading",
        found=found,
        expected=f"{low:g} to {high:g} {unit} ({why})",
        guesses=tuple(guesses),
        asks=f"Row {reading.row}: {found} is unlikely, {low:g} to {high:g} {unit} were expected ({why}). {was_it}"
        "Correct the reading, or write yes in the column confirmed if it is right.",
    )


def _each(reading: TapeReading) -> str:
    return f" per gap over {reading.n_gaps}" if reading.n_gaps and reading.n_gaps > 1 else ""


def _likely_range(reading: TapeReading, expected: Sequence[Expectation]) -> tuple[float, float, float | None]:
    """Lowest and highest value that is believed, and the drawing value that they come from."""
    same = Measurand.MEAN_SPACING if reading.what is Measurand.SINGLE_GAP else reading.what
    fitting = [
        e
        for e in expected
        if e.what in (reading.what, same)
        and e.element in (None, reading.element)
        and e.layer in (None, reading.layer)
    ]
    if fitting:
        best = max(
            fitting, key=lambda e: (e.element is not None) + (e.layer is not None) + (e.what is reading.what)
        )
        low, high = _plausible()["drawing_share"]
        return low * best.drawing_value, high * best.drawing_value, best.drawing_value
    low, high = _plausible()["range_mm"][reading.what.value]
    return float(low), float(high), None


def critical_range_mm(readings: int, kind: Kind = "tape") -> float:
    """Return the range that several readings of one thing keep in 95 of 100 cases.

    Args:
        readings: How many readings, two or more; beyond ten the factor of ten is used.
        kind: Kind of the instrument.

    Returns:
        Critical range. [mm]

    Raises:
        ValueError: If there are fewer than two readings.

    Source:
        ISO 5725-6:1994, 5.2.2.1, table 1 (from memory); repeatability of a tape: common practice, no source.
    """
    if readings < 2:
        raise ValueError(f"{readings} reading has no range")
    factors = instrument_data()["critical_range"]["factor"]
    return float(factors[min(readings - 2, len(factors) - 1)]) * repeatability_mm(kind)


def _about_repeats(reading: TapeReading, kind: Kind) -> Question | None:
    if len(reading.readings) < 2:
        return None
    spread = max(reading.readings) - min(reading.readings)
    allowed = critical_range_mm(len(reading.readings), kind) * float(
        instrument_data()["critical_range"]["asked_beyond"]
    )
    if reading.what is Measurand.BAR_COUNT:
        allowed = 0.0
    if spread <= allowed:
        return None
    found = ", ".join(f"{r:g}" for r in reading.readings)
    return Question(
        row=reading.row,
        about="repeats",
        found=found,
        expected=f"readings of one thing within {allowed:.1f}",
        guesses=("they are of different gaps: give each its own row", "one is misread: read it again"),
        asks=f"Row {reading.row}: the readings {found} lie {spread:g} apart, more than {allowed:.1f}. Are they of one and "
        "the same thing? Give different gaps a row each, or read again; write yes in the column confirmed if they are right.",
    )
