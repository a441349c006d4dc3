"""Strength classes: what a grade of concrete or steel stands for."""

from __future__ import annotations

import difflib
import re
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.codes.limit import Limit, Provision, limit
from verifier.errors import BadInput

Positive = Annotated[float, Field(gt=0)]

MPA_PER_PSI = 0.006894757293168
_STRENGTH = re.compile(r"(\d+(?:\.\d+)?)\s*(psi|mpa)", re.IGNORECASE)
_RANGE_MPA = (10.0, 140.0)


class ConcreteGrades(Provision, frozen=True):
    """Characteristic strength by grade name. ``free_form``: any strength with its unit is a name. [MPa]."""

    grades: dict[str, Positive]
    free_form: bool
    measured_on: Literal["cube", "cylinder"]


class SteelGrade(BaseModel, frozen=True, extra="forbid"):
    """Yield strength of one grade, and whether its bars are plain. [MPa]."""

    fy_mpa: Positive
    plain: bool = False


class SteelGrades(Provision, frozen=True):
    """Bars that the code knows."""

    grades: dict[str, SteelGrade]


def concrete_strength_mpa(grade: str, grades: ConcreteGrades) -> Limit:
    """Characteristic or specified compressive strength of a grade.

    Args:
        grade: As on the drawing: ``M25``, ``C25/30``, ``N32``, ``4000 psi``.
        grades: The code's grades.

    Returns:
        Strength on the specimen that the code uses. [MPa]

    Raises:
        BadInput: If the code has no such grade.

    Source:
        IS 456:2000 table 2; EN 1992-1-1:2004 table 3.1; AS 3600:2018 3.1.1.1; ACI 318-19 19.2.1.
    """
    if grade in grades.grades:
        return limit(grades.grades[grade], "MPa", grades)
    if grades.free_form and (found := _STRENGTH.fullmatch(grade.strip())):
        strength_mpa = float(found[1]) * (MPA_PER_PSI if found[2].lower() == "psi" else 1.0)
        if _RANGE_MPA[0] <= strength_mpa <= _RANGE_MPA[1]:
            return limit(strength_mpa, "MPa", grades)
    raise BadInput(
        f'"{grade}" is no concrete grade of {grades.edition}.',
        where="grade",
        todo=f"Allowed: {concrete_names(grades)}.",
    )


def concrete_names(grades: ConcreteGrades) -> str:
    """List the concrete grades for a person.

    Args:
        grades: The code's grades.

    Returns:
        Names, or the form in which a strength is written.
    """
    return (
        'a strength with its unit, as "4000 psi" or "28 MPa"'
        if grades.free_form
        else ", ".join(grades.grades)
    )


def steel_grade(grade: str, grades: SteelGrades) -> SteelGrade:
    """Look up a grade of reinforcing steel.

    Args:
        grade: As on the drawing: ``Fe500``, ``B500B``, ``Grade 60``, ``D500N``.
        grades: The code's grades.

    Returns:
        Yield strength and surface.

    Raises:
        BadInput: If the code has no such grade.
    """
    if grade in grades.grades:
        return grades.grades[grade]
    near = difflib.get_close_matches(grade, grades.grades, n=1, cutoff=0.0)
    raise BadInput(
        f'"{grade}" is no steel grade of {grades.edition}.',
        where="grade",
        todo=f'Nearest is "{near[0]}". Allowed: {", ".join(grades.grades)}.',
    )
