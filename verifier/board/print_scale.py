"""What a printer did to a board: the check length as measured with a steel rule, kept with the board's number."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, Field, ValidationError, model_validator

from verifier.errors import BadInput, faults_of

UNCHECKED_SCALE_U = 0.0015
"""Relative standard uncertainty of a print whose check length nobody has measured, *if* it was printed at true size.
Paper and printer feed (common practice, no source). It does not cover a print scaled by mistake: see ``caution``."""

ACROSS_FEED_U = 0.0005
"""How far the scale across the check length may differ from the scale along it (common practice, no source)."""

PLAUSIBLE_FACTOR = (0.9, 1.1)
"""Beyond this a measured check length is taken for a misreading and asked about."""


class PrintCheck(BaseModel, frozen=True, extra="forbid"):
    """The check length of one printed board.

    Attributes:
        board: Board number as printed on the sheet.
        nominal_mm: Check length as it should be.
        measured_mm: Check length as read with a steel rule.
        reading_u_mm: Standard uncertainty of that reading; a rule divided in mm, both ends read (1 mm wide each,
            triangular together: JCGM 100:2008, 4.3.9).
    """

    board: Annotated[int, Field(ge=1)]
    nominal_mm: Annotated[float, Field(ge=20, le=1000)]
    measured_mm: Annotated[float, Field(ge=20, le=1100)]
    reading_u_mm: Annotated[float, Field(gt=0, le=2)] = 0.41

    @model_validator(mode="after")
    def _plausible(self) -> PrintCheck:
        low, high = PLAUSIBLE_FACTOR
        if not low <= self.measured_mm / self.nominal_mm <= high:
            raise ValueError(
                f"measured {self.measured_mm:g} mm against {self.nominal_mm:g} mm nominal: read the check line again, in mm, or print the board anew"
            )
        return self

    def scale(self) -> PrintScale:
        """Scale factor of this print with its uncertainty.

        Returns:
            Measured over nominal length; its relative standard uncertainty joins the reading of the rule, shared out over
            the check length, and what the scale may differ across it.
        """
        u = math.hypot(self.reading_u_mm / self.nominal_mm, ACROSS_FEED_U)
        return PrintScale(factor=self.measured_mm / self.nominal_mm, standard_uncertainty=u, checked=True)


class PrintScale(BaseModel, frozen=True, extra="forbid"):
    """True size over nominal size of a printed board.

    Attributes:
        factor: Multiplies every length of the definition.
        standard_uncertainty: Of the factor.
        checked: Whether the check length has been measured.
    """

    factor: Annotated[float, Field(ge=0.9, le=1.1)] = 1.0
    standard_uncertainty: Annotated[float, Field(ge=0, le=0.05)] = UNCHECKED_SCALE_U
    checked: bool = False

    @property
    def caution(self) -> str | None:
        """What a reader must know about an unchecked print, or None."""
        if self.checked:
            return None
        return (
            "The check length of this board has not been measured: a print scaled by the printer (2 to 5 % is common) would "
            "shift every length by as much. Measure the check line with a steel rule and enter it."
        )

    @classmethod
    def stated(cls, factor: float) -> PrintScale:
        """A factor that the person gives, as found with a steel rule on a check length of 200 mm.

        Args:
            factor: True size over nominal size, 0.9 to 1.1.

        Returns:
            A checked scale with the uncertainty of such a reading.

        Raises:
            ValidationError: If the factor lies outside its range.
        """
        return cls(factor=factor, standard_uncertainty=math.hypot(0.41 / 200, ACROSS_FEED_U), checked=True)


class PrintChecks(BaseModel, frozen=True, extra="forbid"):
    """All measured check lengths of a firm or a pour."""

    check: tuple[PrintCheck, ...] = ()

    def scale_of(self, board: int | None) -> PrintScale:
        """Scale of a board by its number; unchecked where it has no entry.

        Args:
            board: Number printed on the board, None where unknown.

        Returns:
            The latest entry of that board as a scale.
        """
        entries = [c for c in self.check if c.board == board]
        return entries[-1].scale() if entries else PrintScale()

    def with_check(self, check: PrintCheck) -> PrintChecks:
        """The same with one more entry; earlier ones stay.

        Args:
            check: Measured check length of one board; from now on the one that counts for that board.

        Returns:
            A new collection; this one is not changed.
        """
        return PrintChecks(check=(*self.check, check))

    def to_toml(self) -> str:
        """As TOML, in the form that ``read_print_checks`` takes.

        Returns:
            One ``[[check]]`` table for each entry, lengths in mm.
        """
        return "\n".join(
            f"[[check]]\nboard = {c.board}\nnominal_mm = {c.nominal_mm}\nmeasured_mm = {c.measured_mm}\nreading_u_mm = {c.reading_u_mm}\n"
            for c in self.check
        )


def print_scale_of(checks: PrintChecks | PrintScale | None, board: int | None) -> PrintScale:
    """Scale of one board out of what is known: entries of many boards, one stated factor, or nothing.

    Args:
        checks: What is known.
        board: Number printed on the board, None where unknown.

    Returns:
        The scale; unchecked where nothing is known of this board.
    """
    if checks is None:
        return PrintScale()
    return checks if isinstance(checks, PrintScale) else checks.scale_of(board)


def read_print_checks(path: Path) -> PrintChecks:
    """Read the measured check lengths.

    Args:
        path: TOML file with ``[[check]]`` tables.

    Returns:
        The entries.

    Raises:
        BadInput: If the file is unreadable or an entry is impossible.
    """
    try:
        return PrintChecks.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadInput(
            f"The check lengths can't be read: {error}.", where=path.name, todo="Correct the file."
        ) from error
    except ValidationError as error:
        raise BadInput(
            f"{faults_of(error)}.", where=path.name, todo="Correct the entry; lengths are in mm."
        ) from error
