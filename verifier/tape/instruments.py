"""Measuring instruments: what each may be wrong by, and which ones a site has."""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Iterable
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, Field, ValidationError, model_validator

from verifier.errors import BadInput, fault_in_words

TapeClass = Literal["I", "II", "III"]
Kind = Literal["tape", "steel_rule", "cover_gauge", "caliper", "rolled_mark"]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class Instrument(BaseModel, frozen=True, extra="forbid", populate_by_name=True):
    """One instrument of the site.

    ``tape_class`` (in the register: ``class``) is the accuracy class of a tape or rule as printed on it. ``hook`` says
    that its zero is a surface, so that play adds to its error. ``checked`` is the day it was last compared. The kind
    ``rolled_mark`` is no instrument but the size rolled on the bar, read by eye.
    """

    id: Annotated[str, Field(min_length=1, max_length=60)]
    kind: Kind
    tape_class: Annotated[TapeClass | None, Field(alias="class")] = None
    length_m: Positive | None = None
    graduation_mm: Positive = 1.0
    hook: bool = False
    checked: date | None = None

    @model_validator(mode="after")
    def _class_where_it_belongs(self) -> Self:
        if (self.kind in ("tape", "steel_rule")) != (self.tape_class is not None):
            raise ValueError(
                "a tape or steel rule needs its class (I, II or III, printed on it); nothing else has one"
            )
        return self


@cache
def instrument_data() -> dict[str, Any]:
    """Return the limits of instruments as the data file has them.

    Returns:
        The tables of ``data/instruments.toml``, each with clause and status.
    """
    return tomllib.loads(files("verifier.tape").joinpath("data/instruments.toml").read_text(encoding="utf-8"))


def tape_error_mm(tape_class: TapeClass, length_m: float, *, surface_end: bool = False) -> float:
    """Return the greatest error that a tape of a class may have over a length.

    Args:
        tape_class: Accuracy class I, II or III.
        length_m: Length read, above zero; rounded up to the next whole metre. [m]
        surface_end: Whether the zero is a hook or the end of the tape.

    Returns:
        Maximum permissible error, one side. [mm]

    Raises:
        ValueError: If the length is not above zero.

    Source:
        OIML R 35-1:2007; Directive 2014/32/EU, annex X (MI-008), chapter I: a + b L, plus c for a surface end.
    """
    if not (math.isfinite(length_m) and length_m > 0):
        raise ValueError(f"length is {length_m} m; it must be above zero")
    limits = instrument_data()["tape_class"][tape_class]
    error = limits["a"] + limits["b"] * math.ceil(length_m) + (limits["c"] if surface_end else 0.0)
    return float(error)


def repeatability_mm(kind: Kind) -> float:
    """Return how far single readings of one thing scatter.

    Args:
        kind: Kind of instrument.

    Returns:
        Standard deviation of one reading. [mm]

    Source:
        Common practice, no source (``data/instruments.toml``).
    """
    return 0.0 if kind == "rolled_mark" else float(instrument_data()["repeatability"]["one_reading_mm"][kind])


def greatest_error_mm(instrument: Instrument, reading_mm: float) -> float:
    """Return the greatest error of an instrument at a reading.

    Args:
        instrument: The instrument.
        reading_mm: What it showed, above zero. [mm]

    Returns:
        Limit of error, one side. [mm]

    Raises:
        ValueError: If the reading is not above zero.

    Source:
        ``data/instruments.toml``, each kind with its clause.
    """
    data = instrument_data()
    if instrument.tape_class is not None:
        return tape_error_mm(instrument.tape_class, reading_mm / 1000.0, surface_end=instrument.hook)
    if not (math.isfinite(reading_mm) and reading_mm > 0):
        raise ValueError(f"reading is {reading_mm} mm; it must be above zero")
    if instrument.kind == "rolled_mark":
        return 0.0
    if instrument.kind == "cover_gauge":
        return max(
            float(data["cover_gauge"]["error_mm"]), float(data["cover_gauge"]["error_share"]) * reading_mm
        )
    return float(data["caliper"]["error_mm"])


class Register:
    """The instruments that readings may name: the site's own, and the plain kinds of the data file.

    Args:
        own: Instruments of the site; one with the same id as a plain kind takes its place.
    """

    def __init__(self, own: Iterable[Instrument] = ()) -> None:
        plain = [Instrument.model_validate(entry) for entry in instrument_data()["instrument"]]
        self._by_id = {i.id.casefold(): i for i in (*plain, *own)}

    @property
    def ids(self) -> tuple[str, ...]:
        """All ids, sorted."""
        return tuple(sorted(i.id for i in self._by_id.values()))

    def find(self, name: str) -> Instrument | None:
        """Find an instrument by its id, whatever its capital letters.

        Args:
            name: The id as written.

        Returns:
            The instrument, or ``None``.
        """
        return self._by_id.get(name.strip().casefold())

    def nearest(self, name: str) -> str:
        """Name the id most like a misspelt one.

        Args:
            name: The id as written.

        Returns:
            The most similar id.
        """
        return difflib.get_close_matches(name, self.ids, n=1, cutoff=0.0)[0]


def read_register(text: str, where: str = "instruments.toml") -> Register:
    """Read a site's register of instruments.

    Args:
        text: TOML with one ``[[instrument]]`` table each: id, kind, class, length_m, graduation_mm, hook, checked.
        where: File name, for messages.

    Returns:
        The register, plain kinds included.

    Raises:
        BadInput: If it is no TOML, or an instrument can't be; all faults are listed at once.
    """
    todo = 'Write for example: [[instrument]] id = "tape-1", kind = "tape", class = "II", hook = true.'
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(f"This is no TOML: {error}.", where=where, todo=todo) from error
    entries = table.get("instrument")
    if set(table) - {"instrument"} or not isinstance(entries, list):
        raise BadInput(
            f"Only [[instrument]] tables are known; found {sorted(table)}.", where=where, todo=todo
        )
    own: list[Instrument] = []
    faults: list[str] = []
    for number, entry in enumerate(entries, start=1):
        try:
            own.append(Instrument.model_validate(entry))
        except ValidationError as error:
            faults += [
                f"instrument {number}, {'.'.join(map(str, e['loc'])) or 'as a whole'}: {fault_in_words(e)}"
                for e in error.errors()
            ]
    twice = sorted({i.id for i in own if sum(o.id.casefold() == i.id.casefold() for o in own) > 1})
    faults += [f"the id {name} is given twice" for name in twice]
    if faults:
        raise BadInput("; ".join(faults) + ".", where=where, todo=todo)
    return Register(own)


def check_caution(instrument: Instrument, on: date) -> str:
    """Say whether the last check of an instrument still holds.

    Args:
        instrument: The instrument.
        on: Day of the reading.

    Returns:
        A sentence for the reader of the finding, or an empty text where the check holds.

    Source:
        Common practice, no source: compared with a better one within the last year.
    """
    days = int(instrument_data()["check"]["interval_days"])
    if instrument.kind == "rolled_mark":
        return ""
    if instrument.checked is None:
        return f"It is not known when {instrument.id} was last checked against a better one."
    if instrument.checked > on:
        return f"{instrument.id} was checked on {instrument.checked}, after this reading."
    if (on - instrument.checked).days > days:
        return f"The last check of {instrument.id} ({instrument.checked}) is more than {days} days old."
    return ""
