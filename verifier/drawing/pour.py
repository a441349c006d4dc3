"""What the drawing asks of one pour. Values come in through ``drawing.read`` only, which also checks them together."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import datetime
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    Field,
    PlainSerializer,
    StringConstraints,
    ValidationInfo,
)
from pydantic_core import PydanticCustomError

from verifier.codes.bars import bars_in_width
from verifier.drawing.bars import CountedBars, LayerName, SpacedBars
from verifier.drawing.callout import Units, UnreadableCallout, parse_counted, parse_spaced
from verifier.drawing.geometry import Box, Point, area_m2, extent_m

Along = Literal["x", "y"]
Role = Literal["site_engineer", "quality_engineer", "reviewer", "engineer_of_record", "reader"]

BIDI_CONTROLS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def _units(info: ValidationInfo) -> Units | None:
    return info.context.get("units") if isinstance(info.context, dict) else None


def _read_with(parse: Callable[..., object], value: object, info: ValidationInfo) -> object:
    if not isinstance(value, str):
        return value
    try:
        return parse(value, units=_units(info))
    except UnreadableCallout as error:
        say = f"{error.wrong} (character {error.position + 1})"
        raise PydanticCustomError("callout", "{wrong}", {"wrong": say, "nearest": error.nearest}) from error


def _spaced(value: object, info: ValidationInfo) -> object:
    return _read_with(parse_spaced, value, info)


def _counted(value: object, info: ValidationInfo) -> object:
    return _read_with(parse_counted, value, info)


def _printable(value: str) -> str:
    """A name that can be printed on one line and looks like what it is."""
    if value != value.strip():
        raise ValueError("a name without blanks at its ends")
    if any(not (c.isprintable() or c == " ") or c in BIDI_CONTROLS for c in value):
        raise ValueError(
            "a name without control characters and without marks that turn the reading direction"
        )
    return value


def _zoned(value: datetime) -> datetime:
    """A time without its zone could be hours off."""
    if value.tzinfo is None:
        raise ValueError(f"a time with its zone, as {value.isoformat()}+01:00 or {value.isoformat()}Z")
    return value


def _pair(value: object) -> object:
    """TOML has arrays; strict tuples want tuples."""
    return tuple(_pair(item) for item in value) if isinstance(value, list) else value


Mm = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]
CoverMm = Annotated[float, Field(ge=0, le=300, allow_inf_nan=False)]
Metres = Annotated[float, Field(ge=-10_000, le=10_000, allow_inf_nan=False)]
SideM = Annotated[float, Field(gt=0, le=1_000, allow_inf_nan=False)]
Mark = Annotated[str, StringConstraints(min_length=1, max_length=32), AfterValidator(_printable)]
Line = Annotated[str, StringConstraints(min_length=1, max_length=200), AfterValidator(_printable)]
Spacing = Annotated[
    SpacedBars, BeforeValidator(_spaced), PlainSerializer(lambda bars: bars.text, return_type=str)
]
Number = Annotated[
    CountedBars, BeforeValidator(_counted), PlainSerializer(lambda bars: bars.text, return_type=str)
]
PointM = Annotated[tuple[Metres, Metres], BeforeValidator(_pair)]
Outline = Annotated[tuple[PointM, ...], BeforeValidator(_pair), Field(min_length=3, max_length=500)]
Openings = Annotated[tuple[tuple[Metres, Metres, SideM, SideM], ...], BeforeValidator(_pair)]


class _Asked(BaseModel, frozen=True, extra="forbid", strict=True):
    """Frozen, no unknown keys, no conversion of types."""


class Tolerance(_Asked, frozen=True):
    """Tolerances agreed for the project; each overrides the code openly, only where given."""

    single_gap_mm: Annotated[float, Field(gt=0, le=100)] | None = None
    mean_spacing_percent: Annotated[float, Field(gt=0, le=25)] | None = None
    cover_plus_mm: Annotated[float, Field(ge=0, le=50)] | None = None
    cover_minus_mm: Annotated[float, Field(ge=0, le=50)] | None = None
    bar_end_mm: Annotated[float, Field(gt=0, le=200)] | None = None
    lap_minus_mm: Annotated[float, Field(ge=0, le=200)] | None = None
    section_mm: Annotated[float, Field(gt=0, le=50)] | None = None
    agreed: Line | None = None


class Site(_Asked, frozen=True):
    """Where the pour is: a centre with a radius, or a fence of at least three points. [deg, m]."""

    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    fence_radius_m: Annotated[float, Field(gt=0, le=20_000)] | None = None
    fence: (
        Annotated[
            tuple[
                Annotated[
                    tuple[Annotated[float, Field(ge=-90, le=90)], Annotated[float, Field(ge=-180, le=180)]],
                    BeforeValidator(_pair),
                ],
                ...,
            ],
            BeforeValidator(_pair),
            Field(min_length=3, max_length=200),
        ]
        | None
    ) = None


class Concrete(_Asked, frozen=True):
    """The concrete asked for."""

    grade: Line
    slump_mm: (
        Annotated[
            tuple[Annotated[float, Field(ge=0, le=300)], Annotated[float, Field(ge=0, le=300)]],
            BeforeValidator(_pair),
        ]
        | None
    ) = None
    max_aggregate_mm: Annotated[float, Field(ge=4, le=80)] | None = None
    cement: Line | None = None


class Coverage(_Asked, frozen=True):
    """How many spots are asked of each layer: the larger of the least number and the area over ``m2_per_spot``."""

    least_per_layer: Annotated[int, Field(ge=1, le=50)] = 3
    m2_per_spot: Annotated[float, Field(gt=0, le=1000)] = 10.0
    least_per_beam: Annotated[int, Field(ge=1, le=50)] = 2


class Heading(_Asked, frozen=True):
    """The ``[pour]`` table.

    ``drawing`` is the revision that all values come from. ``units`` says how lengths are shown and what a bare spacing
    beside an inch size means; the keys of this file are in mm and m always. ``structural_class`` is for EN 1992-1-1.
    """

    id: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$")]
    title: Line
    code: str
    planned_start: Annotated[datetime, AfterValidator(_zoned)]
    exposure: str
    drawing: Line | None = None
    units: Units = "mm"
    structural_class: Literal["S1", "S2", "S3", "S4", "S5", "S6"] = "S4"
    tolerance: Tolerance = Tolerance()
    site: Site | None = None
    concrete: Concrete
    coverage: Coverage = Coverage()


class Cover(_Asked, frozen=True):
    """Nominal cover on the drawing, to the nearest steel of each face. [mm]."""

    bottom: CoverMm
    top: CoverMm
    side: CoverMm | None = None


class BentUp(_Asked, frozen=True):
    """Bars cranked from the bottom to the top near the supports: which, where and how steep."""

    every: Annotated[int, Field(ge=1, le=20)]
    at_span_fraction: Annotated[float, Field(gt=0, lt=0.5)]
    angle_deg: Annotated[float, Field(ge=15, le=60)] = 45.0


class Layer(_Asked, frozen=True):
    """Bars of one direction in one mat.

    ``along`` is the direction in which the bars run on the plan; where it is not given the outermost layer of each mat
    runs along the short side (common practice, no source). ``zone`` names the part of the slab it belongs to.
    """

    layer: LayerName
    callout: Spacing
    along: Along | None = None
    bent_up: BentUp | None = None
    length_mm: Mm | None = None
    zone: Line | None = None


class Steel(_Asked, frozen=True):
    """Grade of the bars, and the lap: by the code, or as the drawing gives it. [mm]."""

    grade: str
    lap: Literal["auto"] | Annotated[float, Field(gt=0, le=5000)] = "auto"


class Supports(_Asked, frozen=True):
    """Pitch of cover blocks and chairs where the drawing gives one, and the height of chairs. [mm]."""

    block_pitch_mm: Mm | None = None
    chair_pitch_mm: Mm | None = None
    chair_height_mm: Mm | None = None


class Slab(_Asked, frozen=True):
    """A slab panel. ``position_m`` is where its corner (0, 0) lies on the plan of the pour."""

    mark: Mark
    size_m: Annotated[tuple[SideM, SideM], BeforeValidator(_pair)] | None = None
    outline_m: Outline | None = None
    openings_m: Openings = ()
    position_m: PointM = (0.0, 0.0)
    thickness_mm: Annotated[float, Field(ge=40, le=5_000)]
    cover_mm: Cover
    exposure: str | None = None
    layers: Annotated[tuple[Layer, ...], BeforeValidator(_pair), Field(min_length=1)]
    steel: Steel
    span_m: SideM | None = None
    supports: Supports = Supports()

    @property
    def outline(self) -> tuple[Point, ...]:
        """Corners on the slab's own axes. [m]."""
        if self.outline_m is not None:
            return self.outline_m
        if self.size_m is None:
            raise ValueError(
                f"slab {self.mark} has neither size_m nor outline_m; it was not read through drawing.read."
            )
        w, h = self.size_m
        return ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))

    @property
    def openings(self) -> tuple[Box, ...]:
        """Openings as x, y, width, height on the slab's own axes. [m]."""
        return self.openings_m

    @property
    def gross_area_m2(self) -> float:
        """Area inside the outline. [m2]."""
        return area_m2(self.outline)

    @property
    def net_area_m2(self) -> float:
        """Area less openings. [m2]."""
        return self.gross_area_m2 - sum(w * h for _, _, w, h in self.openings_m)

    @property
    def extent_m(self) -> tuple[float, float]:
        """Largest size along x and along y. [m]."""
        _, _, w, h = extent_m(self.outline)
        return w, h

    @property
    def short_side(self) -> Along:
        """The direction of the shorter extent; x for a square."""
        w, h = self.extent_m
        return "x" if w <= h else "y"

    def runs_along(self, layer: Layer) -> Along:
        """Direction in which the bars of a layer run.

        Args:
            layer: A layer of this slab.

        Returns:
            As drawn; else the outermost layer of each mat along the short side (common practice, no source).
        """
        if layer.along is not None:
            return layer.along
        drawn = {other.layer: other.along for other in self.layers if other.along is not None}
        other: LayerName = {"B1": "B2", "B2": "B1", "T1": "T2", "T2": "T1"}[layer.layer]  # type: ignore[assignment]
        if other in drawn:
            return "y" if drawn[other] == "x" else "x"
        outermost = layer.layer in ("B1", "T1")
        return self.short_side if outermost else ("y" if self.short_side == "x" else "x")

    def width_across_mm(self, layer: Layer) -> float:
        """Largest width of the slab across the bars of a layer.

        Args:
            layer: A layer of this slab.

        Returns:
            Extent perpendicular to the bars. [mm]
        """
        w, h = self.extent_m
        return 1000 * (h if self.runs_along(layer) == "x" else w)

    def bars_across(self, layer: Layer) -> int:
        """Number of bars of a layer: as the call-out gives it, else as its spacing asks for over the full width.

        Args:
            layer: A layer of this slab.

        Returns:
            Bars across the widest part, the first one at side cover (20 mm where none is drawn) plus half a bar.
        """
        if layer.callout.count is not None:
            return layer.callout.count
        side_mm = self.cover_mm.side if self.cover_mm.side is not None else self.cover_mm.bottom
        edge_mm = side_mm + layer.callout.diameter_mm / 2
        return bars_in_width(self.width_across_mm(layer), layer.callout.spacing_mm, edge_mm=edge_mm)

    def layers_of(self, name: LayerName) -> tuple[Layer, ...]:
        """All entries of one layer, zone by zone.

        Args:
            name: B1, B2, T1 or T2.

        Returns:
            Entries in the order of the file.
        """
        return tuple(layer for layer in self.layers if layer.layer == name)

    def effective_depth_mm(self, layer: Layer) -> float:
        """Effective depth of a layer: from the far face to the axis of its bars.

        Args:
            layer: A layer of this slab.

        Returns:
            Thickness less cover, the layer outside it and half the bar. [mm]

        Source:
            Geometry; IS 456:2000 23.0 defines effective depth.
        """
        face = layer.layer[0]
        cover_mm = self.cover_mm.bottom if face == "B" else self.cover_mm.top
        outside: LayerName = "B1" if face == "B" else "T1"
        outer_mm = 0.0
        if layer.layer.endswith("2"):
            outer_mm = max((other.callout.diameter_mm for other in self.layers_of(outside)), default=0.0)
        return self.thickness_mm - cover_mm - outer_mm - layer.callout.diameter_mm / 2


class Beam(_Asked, frozen=True):
    """A beam; ``depth_mm`` is overall, slab included. Rows say in how many rows the bars of a face lie."""

    mark: Mark
    width_mm: Annotated[float, Field(ge=80, le=5_000)]
    depth_mm: Annotated[float, Field(ge=80, le=10_000)]
    cover_mm: Cover
    bottom: Number
    top: Number | None = None
    stirrups: Spacing | None = None
    bottom_rows: Annotated[int, Field(ge=1, le=6)] = 1
    top_rows: Annotated[int, Field(ge=1, le=6)] = 1
    length_m: SideM | None = None
    span_m: SideM | None = None
    position_m: PointM = (0.0, 0.0)
    direction_deg: Annotated[float, Field(ge=-180, le=180)] = 0.0
    slab_thickness_mm: Mm | None = None
    exposure: str | None = None
    steel: Steel | None = None
    supports: Supports = Supports()

    @property
    def side_cover_mm(self) -> float:
        """Cover at the sides; the bottom cover where none is drawn. [mm]."""
        return self.cover_mm.bottom if self.cover_mm.side is None else self.cover_mm.side

    @property
    def link_mm(self) -> float:
        """Diameter of the links, 0 without links. [mm]."""
        return 0.0 if self.stirrups is None else self.stirrups.diameter_mm

    @property
    def room_for_bars_mm(self) -> float:
        """Clear width inside the links. [mm]."""
        return self.width_mm - 2 * (self.side_cover_mm + self.link_mm)

    @property
    def effective_depth_mm(self) -> float:
        """Effective depth to the axis of the lowest row of bottom bars. [mm]."""
        return self.depth_mm - self.cover_mm.bottom - self.link_mm - self.bottom.largest_mm / 2


class Spot(_Asked, frozen=True):
    """A place at which a photo or a reading is asked for; ``at_m`` on the element's own axes."""

    element: Mark
    spot: Mark
    layers: Annotated[tuple[LayerName, ...], BeforeValidator(_pair)] = ()
    at_m: PointM | None = None


class People(_Asked, frozen=True):
    """Who may do what. Keys are added when each person enrols."""

    site_engineer: Annotated[tuple[Mark, ...], BeforeValidator(_pair), Field(min_length=1)]
    reviewer: Annotated[tuple[Mark, ...], BeforeValidator(_pair), Field(min_length=1)]
    engineer_of_record: Annotated[tuple[Mark, ...], BeforeValidator(_pair), Field(min_length=1)]
    quality_engineer: Annotated[tuple[Mark, ...], BeforeValidator(_pair)] = ()
    reader: Annotated[tuple[Mark, ...], BeforeValidator(_pair)] = ()

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


class Pour(_Asked, frozen=True):
    """One concreting operation as drawn."""

    pour: Heading
    slabs: tuple[Slab, ...] = ()
    beams: tuple[Beam, ...] = ()
    spots: tuple[Spot, ...] = ()
    people: People

    @property
    def elements(self) -> tuple[Slab | Beam, ...]:
        """All elements, slabs first."""
        slabs: tuple[Slab | Beam, ...] = self.slabs
        return slabs + self.beams

    @property
    def marks(self) -> tuple[str, ...]:
        """Marks of all elements, slabs first."""
        return tuple(element.mark for element in self.elements)

    @property
    def net_area_m2(self) -> float:
        """Plan area of all slabs less openings. [m2]."""
        return math.fsum(slab.net_area_m2 for slab in self.slabs)

    def element(self, mark: str) -> Slab | Beam:
        """Find an element by its mark.

        Args:
            mark: Mark on the drawing.

        Returns:
            The slab or beam.

        Raises:
            KeyError: If no element has this mark.
        """
        for element in self.elements:
            if element.mark == mark:
                return element
        raise KeyError(mark)

    def exposure_of(self, element: Slab | Beam) -> str:
        """Exposure of an element: its own where drawn, else the pour's.

        Args:
            element: A slab or beam of this pour.

        Returns:
            Exposure in the code's words.
        """
        return element.exposure or self.pour.exposure
