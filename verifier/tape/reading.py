"""A reading as written down, and what can be the matter with it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.metrology.measurement import Measurand

PER_GAP = (Measurand.SINGLE_GAP, Measurand.MEAN_SPACING)
Reading = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class TapeReading(BaseModel, frozen=True, extra="forbid"):
    """One thing measured, with one reading or several of the same thing.

    ``row`` counts from 1 without the heading. ``n_gaps`` is how many gaps the reading spans (spacing only).
    ``readings`` are in mm as read, not divided; a count is a number of bars, made by eye where no ``instrument`` is named. ``index`` numbers the gap at its spot.
    ``confirmed`` means that the person read the question about it and stands by the figure.
    """

    row: Annotated[int, Field(ge=1)]
    element: str
    layer: str | None = None
    what: Measurand
    n_gaps: Annotated[int, Field(ge=1)] | None = None
    readings: Annotated[tuple[Reading, ...], Field(min_length=1)]
    instrument: str | None = None
    person: str
    taken_at: str
    spot: str | None = None
    index: int | None = None
    remark: str | None = None
    confirmed: bool = False

    @property
    def per_gap(self) -> float:
        """Mean of the readings, divided by the gaps that they span. [mm, or a count]."""
        return sum(self.readings) / len(self.readings) / (self.n_gaps or 1)


class Expectation(BaseModel, frozen=True, extra="forbid"):
    """What the drawing gives for a measurand; used to ask about slips, never to change a value.

    ``None`` for element or layer means any. ``drawing_value`` is per gap, in mm.
    """

    what: Measurand
    element: str | None = None
    layer: str | None = None
    drawing_value: Annotated[float, Field(gt=0, allow_inf_nan=False)]


class Question(BaseModel, frozen=True, extra="forbid"):
    """Something about a reading that only the person who read it can answer. Until then the reading counts for nothing.

    ``about`` is the column, ``found`` the value as written, ``expected`` what was thought likely, ``guesses`` what may
    have happened, each with the value it would give.
    """

    row: int
    about: Literal["reading", "n_gaps", "repeats"]
    found: str
    expected: str
    guesses: tuple[str, ...]
    asks: str


class RowFault(BaseModel, frozen=True, extra="forbid"):
    """Why a row could not be read. The row is kept in the original; nothing of it is used."""

    row: int
    line: int
    column: str
    found: str
    wrong: str
    todo: str

    @property
    def text(self) -> str:
        """The fault in one line."""
        found = f" {self.found!r}:" if self.found else ""
        return f"row {self.row} (line {self.line}), {self.column}:{found} {self.wrong} {self.todo}"


class TapeFile(BaseModel, frozen=True, extra="forbid"):
    """A file of readings: those that can be used, those with an open question, and the rows that can't be read."""

    name: str
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    readings: tuple[TapeReading, ...]
    asked: tuple[TapeReading, ...]
    questions: tuple[Question, ...]
    faults: tuple[RowFault, ...]
