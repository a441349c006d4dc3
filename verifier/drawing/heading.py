"""What the drawing and the project say about the pour as a whole: code, start, site, concrete, tolerances, people."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, model_validator

from verifier.drawing.callout import Units
from verifier.drawing.fields import Asked, Line, Mark, pair, zoned

Role = Literal["site_engineer", "quality_engineer", "reviewer", "engineer_of_record", "reader"]


class Tolerance(Asked, frozen=True):
    """Tolerances agreed for the project; each overrides the code openly, only where given."""

    single_gap_mm: Annotated[float, Field(gt=0, le=100)] | None = None
    mean_spacing_percent: Annotated[float, Field(gt=0, le=25)] | None = None
    cover_plus_mm: Annotated[float, Field(ge=0, le=50)] | None = None
    cover_minus_mm: Annotated[float, Field(ge=0, le=50)] | None = None
    bar_end_mm: Annotated[float, Field(gt=0, le=200)] | None = None
    lap_minus_mm: Annotated[float, Field(ge=0, le=200)] | None = None
    section_mm: Annotated[float, Field(gt=0, le=50)] | None = None
    agreed: Line | None = None


class Site(Asked, frozen=True):
    """Where the pour is: a centre with a radius, or a fence of at least three points. [deg, m]."""

    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    fence_radius_m: Annotated[float, Field(gt=0, le=20_000)] | None = None
    fence: (
        Annotated[
            tuple[
                Annotated[
                    tuple[Annotated[float, Field(ge=-90, le=90)], Annotated[float, Field(ge=-180, le=180)]],
                    BeforeValidator(pair),
                ],
                ...,
            ],
            BeforeValidator(pair),
            Field(min_length=3, max_length=200),
        ]
        | None
    ) = None


class Concrete(Asked, frozen=True):
    """The concrete asked for. ``supply`` says whether a plant delivers it or it is mixed on site."""

    grade: Line
    supply: Literal["plant", "site"] = "plant"
    slump_mm: (
        Annotated[
            tuple[Annotated[float, Field(ge=0, le=300)], Annotated[float, Field(ge=0, le=300)]],
            BeforeValidator(pair),
        ]
        | None
    ) = None
    max_aggregate_mm: Annotated[float, Field(ge=4, le=80)] | None = None
    cement: Line | None = None


class Coverage(Asked, frozen=True):
    """How many spots are asked of each layer: the larger of the least number and the area over ``m2_per_spot``."""

    least_per_layer: Annotated[int, Field(ge=1, le=50)] = 3
    m2_per_spot: Annotated[float, Field(gt=0, le=1000)] = 10.0
    least_per_beam: Annotated[int, Field(ge=1, le=50)] = 2


class RoundsAsked(Asked, frozen=True):
    """Which inspection rounds this pour walks; without it all of the project. Fewer need the reason, which is printed."""

    walk: (
        Annotated[tuple[Annotated[int, Field(ge=1, le=9)], ...], BeforeValidator(pair), Field(max_length=9)]
        | None
    ) = None
    because: Line | None = None

    @model_validator(mode="after")
    def _fewer_rounds_have_a_reason(self) -> Self:
        if self.walk is not None and self.because is None:
            raise ValueError('because = "...", the reason why not all rounds are walked')
        return self


class Heading(Asked, frozen=True):
    """The ``[pour]`` table.

    ``drawing`` is the revision that all values come from. ``units`` says how lengths are shown and what a bare spacing
    beside an inch size means; the keys of this file are in mm and m always. ``structural_class`` is for EN 1992-1-1.
    """

    id: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$")]
    title: Line
    code: str
    planned_start: Annotated[datetime, AfterValidator(zoned)]
    exposure: str
    drawing: Line | None = None
    units: Units = "mm"
    structural_class: Literal["S1", "S2", "S3", "S4", "S5", "S6"] = "S4"
    tolerance: Tolerance = Tolerance()
    site: Site | None = None
    concrete: Concrete
    coverage: Coverage = Coverage()
    rounds: RoundsAsked = RoundsAsked()


class People(Asked, frozen=True):
    """Who may do what. Keys are added when each person enrols."""

    site_engineer: Annotated[tuple[Mark, ...], BeforeValidator(pair), Field(min_length=1)]
    reviewer: Annotated[tuple[Mark, ...], BeforeValidator(pair), Field(min_length=1)]
    engineer_of_record: Annotated[tuple[Mark, ...], BeforeValidator(pair), Field(min_length=1)]
    quality_engineer: Annotated[tuple[Mark, ...], BeforeValidator(pair)] = ()
    reader: Annotated[tuple[Mark, ...], BeforeValidator(pair)] = ()

    def roles_of(self, person: str) -> tuple[Role, ...]:
        """Roles of one person.

        Args:
            person: Name as written in the file.

        Returns:
            Every role that lists the person.
        """
        roles: tuple[Role, ...] = (
            "site_engineer",
            "quality_engineer",
            "reviewer",
            "engineer_of_record",
            "reader",
        )
        return tuple(role for role in roles if person in getattr(self, role))
