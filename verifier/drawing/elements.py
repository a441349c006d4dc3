"""Slabs and beams as drawn, with the lengths and areas that follow from them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from verifier.codes.bars import bars_in_width
from verifier.drawing.bars import LayerName
from verifier.drawing.fields import (
    Asked,
    BoardNumber,
    CoverMm,
    Line,
    Mark,
    Mm,
    Number,
    Openings,
    Outline,
    PointM,
    SideM,
    Spacing,
    pair,
)
from verifier.drawing.geometry import Box, Point, area_m2, extent_m

Along = Literal["x", "y"]


class Cover(Asked, frozen=True):
    """Nominal cover on the drawing, to the nearest steel of each face. [mm]."""

    bottom: CoverMm
    top: CoverMm
    side: CoverMm | None = None


class BentUp(Asked, frozen=True):
    """Bars cranked from the bottom to the top near the supports: which, where and how steep."""

    every: Annotated[int, Field(ge=1, le=20)]
    at_span_fraction: Annotated[float, Field(gt=0, lt=0.5)]
    angle_deg: Annotated[float, Field(ge=15, le=60)] = 45.0


class Layer(Asked, frozen=True):
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


def crosses(first: Layer, second: Layer) -> bool:
    """Whether two entries are the two directions of one mat in one place.

    Args:
        first: A layer of a slab.
        second: Another layer of it.

    Returns:
        True if they are B1 and B2, or T1 and T2, of one zone; an entry without zone is everywhere.
    """
    one_mat = first.layer[0] == second.layer[0] and first.layer != second.layer
    return one_mat and (first.zone == second.zone or None in (first.zone, second.zone))


class Steel(Asked, frozen=True):
    """Grade of the bars, and the lap: by the code, or as the drawing gives it. [mm]."""

    grade: str
    lap: Literal["auto"] | Annotated[float, Field(gt=0, le=5000)] = "auto"


class Supports(Asked, frozen=True):
    """Pitch of cover blocks and chairs where the drawing gives one, and the height of chairs. [mm]."""

    block_pitch_mm: Mm | None = None
    chair_pitch_mm: Mm | None = None
    chair_height_mm: Mm | None = None


class Slab(Asked, frozen=True):
    """A slab panel. ``position_m`` is where its corner (0, 0) lies on the plan of the pour.

    ``board`` is the number of a scale board that is used on this element only: a photo that shows it is of this element.
    """

    mark: Mark
    size_m: Annotated[tuple[SideM, SideM], BeforeValidator(pair)] | None = None
    outline_m: Outline | None = None
    openings_m: Openings = ()
    position_m: PointM = (0.0, 0.0)
    thickness_mm: Annotated[float, Field(ge=40, le=5_000)]
    cover_mm: Cover
    exposure: str | None = None
    layers: Annotated[tuple[Layer, ...], BeforeValidator(pair), Field(min_length=1)]
    steel: Steel
    span_m: SideM | None = None
    supports: Supports = Supports()
    board: BoardNumber | None = None

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
        for other in self.layers:
            if other.along is not None and crosses(layer, other):
                return "y" if other.along == "x" else "x"
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
            Bars across the widest part, the first at side cover (bottom cover where none is drawn) plus half a bar.
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


class Beam(Asked, frozen=True):
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
    board: BoardNumber | None = None

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
