"""The shape of a code of practice: what its data file must hold. No rule is applied here."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.codes.limit import Provision

Positive = Annotated[float, Field(gt=0)]


class Head(BaseModel, frozen=True, extra="forbid"):
    """Title and scope of a document; ``exposures`` in the document's own words."""

    title: str
    name: str
    note: str = ""
    exposures: tuple[str, ...] = ()
    companion: str = ""


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


class Code(BaseModel, frozen=True, extra="forbid"):
    """One code of practice with its tolerances."""

    code: Head
    concrete: ConcreteGrades
    steel: SteelGrades
