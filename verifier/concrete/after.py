"""What is written after the pour: curing, levels, results, strength beside the slab, striking, back-props, defects, queries."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AwareDatetime, BaseModel, Field, StringConstraints, model_validator

from verifier.concrete.close import Defect
from verifier.concrete.curing import CuringEntry

Text = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=600, pattern=r"^[^\x00-\x08\x0b\x0c\x0e-\x1f]*$")
]
Words = Annotated[Text, StringConstraints(min_length=1)]
Mpa = Annotated[float, Field(gt=0, le=200, allow_inf_nan=False)]
Part = Literal["sides", "slab soffit, props stay", "beam soffit, props stay", "slab props", "beam props"]


class Terms(BaseModel, frozen=True, extra="forbid"):
    """What days and dates rest on. Spans are those of the drawing where they are not given. [m, C].

    ``striking`` names the periods that the execution specification asks for, where the code itself gives none.
    """

    kind: Literal["terms"] = "terms"
    cement: Literal["ordinary", "blended"] = "ordinary"
    hot_dry: bool = False
    high_early: bool = False
    slab_span_m: Annotated[float, Field(gt=0, le=100)] | None = None
    beam_span_m: Annotated[float, Field(gt=0, le=100)] | None = None
    mean_temperature_c: Annotated[float, Field(ge=-40, le=60)] | None = None
    live_above_dead: bool = False
    striking: Literal["of the code", "BS 8110-1"] = "of the code"
    curing_class: Literal[1, 2, 3, 4] = 2
    strength_ratio: Annotated[float, Field(gt=0, le=1)] = 0.3
    cantilever: bool = False
    by: Words


class CuringLook(CuringEntry, frozen=True):
    """One look at the curing."""

    kind: Literal["curing"] = "curing"


class Level(BaseModel, frozen=True, extra="forbid"):
    """A level or a straightedge reading of the finished face, as its difference from the plan. [mm]."""

    kind: Literal["level"] = "level"
    place: Words
    off_mm: Annotated[float, Field(ge=-500, le=500)]
    uncertainty_mm: Annotated[float, Field(gt=0, le=50)]
    what: Literal["level", "straightedge", "thickness"] = "level"
    at: AwareDatetime
    by: Words


class Result(BaseModel, frozen=True, extra="forbid"):
    """Specimens of one sample, tested at one age. [MPa]."""

    kind: Literal["result"] = "result"
    sample: Words
    age_days: Annotated[int, Field(ge=1, le=365)]
    mpa: Annotated[tuple[Mpa, ...], Field(min_length=1, max_length=12)]
    report: Text = ""
    at: AwareDatetime
    by: Words


class StrengthShown(BaseModel, frozen=True, extra="forbid"):
    """Specimens cured beside the slab, tested for striking. ``stress_mpa`` comes from the engineer of record."""

    kind: Literal["strength"] = "strength"
    part: Literal["side", "soffit"]
    mpa: Annotated[tuple[Mpa, ...], Field(min_length=1, max_length=12)]
    stress_mpa: Annotated[float, Field(ge=0, le=100)] = 0.0
    at: AwareDatetime
    by: Words


class Struck(BaseModel, frozen=True, extra="forbid"):
    """Forms or props taken away, and on what evidence."""

    kind: Literal["struck"] = "struck"
    part: Part
    evidence: Literal["days of the code", "strength shown", "decided by the engineer of record"]
    at: AwareDatetime
    by: Words
    remark: Text = ""


class BackProps(BaseModel, frozen=True, extra="forbid"):
    """How the back-props stand."""

    kind: Literal["back-props"] = "back-props"
    state: Literal["none needed", "removed and written", "still standing"]
    at: AwareDatetime
    by: Words
    remark: Text = ""


class Propping(BaseModel, frozen=True, extra="forbid"):
    """Back-props under one floor placed, with grid and what one prop may carry, or taken away. [m, kN]."""

    kind: Literal["propping"] = "propping"
    floor: Words
    step: Literal["placed", "taken away"]
    spacing_x_m: Annotated[float, Field(gt=0, le=20)] | None = None
    spacing_y_m: Annotated[float, Field(gt=0, le=20)] | None = None
    prop_kn: Annotated[float, Field(gt=0, le=1000)] | None = None
    at: AwareDatetime
    by: Words
    remark: Text = ""

    @model_validator(mode="after")
    def _placed_with_its_measures(self) -> Self:
        given = [self.spacing_x_m, self.spacing_y_m, self.prop_kn]
        if self.step == "placed" and None in given:
            raise ValueError(
                "placed back-props have a grid (spacing_x_m, spacing_y_m) and prop_kn, what one may carry"
            )
        if self.step == "taken away" and any(given):
            raise ValueError("grid and prop_kn belong to back-props that are placed")
        return self


class DefectSeen(BaseModel, frozen=True, extra="forbid"):
    """A defect in neutral words."""

    kind: Literal["defect"] = "defect"
    defect: Defect


class Query(BaseModel, frozen=True, extra="forbid"):
    """A question put to the engineer of record, or its answer."""

    kind: Literal["query"] = "query"
    number: Annotated[int, Field(ge=1)]
    says: Words
    answered: bool = False
    at: AwareDatetime
    by: Words


class Explained(BaseModel, frozen=True, extra="forbid"):
    """Why placed and computed volume differ."""

    kind: Literal["explanation"] = "explanation"
    says: Words
    at: AwareDatetime
    by: Words


AfterEntry = Annotated[
    Terms
    | CuringLook
    | Level
    | Result
    | StrengthShown
    | Struck
    | BackProps
    | Propping
    | DefectSeen
    | Query
    | Explained,
    Field(discriminator="kind"),
]
"""One entry after the pour; told apart by ``kind`` when read from a record."""
