"""Concrete of a pour from its geometry: slab less openings, beams below the slab, drops, upstands; then what to order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from typing import Annotated, Literal, Self

from pydantic import BaseModel, Field, model_validator

from verifier.codes.cited import Figure, read_data
from verifier.drawing.geometry import area_m2, crossing_edges
from verifier.errors import BadInput
from verifier.wording import counted

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
ROUNDING_SLACK = 1e-9
"""Keeps 9.000000000000002 from being rounded up to the next step."""


class QuantityFigures(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``data/quantities.toml``."""

    small_opening: Figure
    waste: Figure
    order_step: Figure


class Opening(BaseModel, frozen=True, extra="forbid"):
    """A hole in a slab, clear of beams, in m."""

    mark: str = "opening"
    length_m: Positive
    width_m: Positive


class SlabPart(BaseModel, frozen=True, extra="forbid"):
    """A slab by its outline, out to out over the beams it covers. Points in m, in order round the edge."""

    mark: str
    outline_m: Annotated[tuple[tuple[float, float], ...], Field(min_length=3)]
    thickness_mm: Positive
    openings: tuple[Opening, ...] = ()


class BeamPart(BaseModel, frozen=True, extra="forbid"):
    """A beam: overall depth with the slab on top of it, and its length without what another part already holds."""

    mark: str
    width_mm: Positive
    overall_depth_mm: Positive
    slab_mm: Annotated[float, Field(ge=0)]
    length_m: Positive
    count: Annotated[int, Field(ge=1)] = 1

    @model_validator(mode="after")
    def _hangs_below_the_slab(self) -> Self:
        if self.overall_depth_mm <= self.slab_mm:
            raise ValueError(
                f"{self.mark}: the overall depth {self.overall_depth_mm:g} mm is not more than the slab {self.slab_mm:g} mm"
            )
        return self


class Block(BaseModel, frozen=True, extra="forbid"):
    """A drop below the slab or an upstand above it, by what it adds to the slab."""

    mark: str
    kind: Literal["drop", "upstand"]
    length_m: Positive
    width_m: Positive
    added_mm: Positive
    count: Annotated[int, Field(ge=1)] = 1


class Line(BaseModel, frozen=True, extra="forbid"):
    """One line of the take-off, with its arithmetic in words."""

    mark: str
    what: str
    volume_m3: float


class TakeOff(BaseModel, frozen=True, extra="forbid"):
    """All lines and their sum. Steel is not deducted."""

    lines: tuple[Line, ...]
    slab_area_m2: float
    net_m3: float
    notes: tuple[str, ...]


class OrderVolume(BaseModel, frozen=True, extra="forbid"):
    """From the net volume to what is ordered."""

    net_m3: float
    waste_percent: float
    with_waste_m3: float
    order_m3: float
    loads: int
    last_load_m3: float


@cache
def quantity_figures() -> QuantityFigures:
    """Return waste, rounding and what is not deducted.

    Returns:
        The checked data.
    """
    return read_data("verifier.concrete", "quantities.toml", QuantityFigures)


def outline_area_m2(outline_m: Sequence[tuple[float, float]]) -> float:
    """Area of an outline.

    Args:
        outline_m: Points in m, in order round the edge either way.

    Returns:
        Area in m2.

    Raises:
        BadInput: If the outline crosses itself or holds no area.

    Source:
        Shoelace formula.
    """
    crossing = crossing_edges(outline_m)
    area = area_m2(outline_m)
    if crossing is not None or not area > 0:
        told = (
            "holds no area"
            if crossing is None
            else f"crosses itself at its edges {crossing[0]} and {crossing[1]}"
        )
        raise BadInput(
            f"The outline {told}.", where="slab outline", todo="Give the corners in order round the edge."
        )
    return area


def take_off(
    slabs: Sequence[SlabPart], beams: Sequence[BeamPart] = (), blocks: Sequence[Block] = ()
) -> TakeOff:
    """Add up the concrete of a pour.

    A beam counts below the slab only: its top part is in the slab already.

    Args:
        slabs: Slabs with their openings.
        beams: Beams and ribs.
        blocks: Drops and upstands.

    Returns:
        Lines, slab area less openings, and net volume.

    Raises:
        BadInput: If nothing is given, or openings are larger than their slab.

    Source:
        IS 1200-2:1974 for small openings (from memory); the rest is geometry.
    """
    if not slabs and not beams and not blocks:
        raise BadInput(
            "There is no element.", where="quantities", todo="Give at least one slab, beam, drop or upstand."
        )
    figures = quantity_figures()
    small = figures.small_opening.value
    lines, notes, area = [], [], 0.0
    for slab in slabs:
        gross = outline_area_m2(slab.outline_m)
        holes = [o for o in slab.openings if o.length_m * o.width_m >= small]
        kept = len(slab.openings) - len(holes)
        if kept:
            notes.append(
                f"{slab.mark}: {counted(kept, 'opening')} below {small:g} m2 not deducted, {figures.small_opening.source}"
            )
        net = gross - sum(o.length_m * o.width_m for o in holes)
        if not net > 0:
            raise BadInput(
                "The openings are as large as the slab.", where=slab.mark, todo="Check their sizes in metres."
            )
        area += net
        what = (
            f"{gross:.4f} m2 less {counted(len(holes), 'opening')} = {net:.4f} m2 x {slab.thickness_mm:g} mm"
        )
        lines.append(Line(mark=slab.mark, what=what, volume_m3=net * slab.thickness_mm / 1000.0))
    for beam in beams:
        below = beam.overall_depth_mm - beam.slab_mm
        volume = beam.count * beam.length_m * beam.width_mm * below / 1e6
        what = f"{beam.count} x {beam.length_m:g} m x {beam.width_mm:g} x {below:g} mm below the slab"
        lines.append(Line(mark=beam.mark, what=what, volume_m3=volume))
    for block in blocks:
        volume = block.count * block.length_m * block.width_m * block.added_mm / 1000.0
        what = (
            f"{block.kind}: {block.count} x {block.length_m:g} x {block.width_m:g} m x {block.added_mm:g} mm"
        )
        lines.append(Line(mark=block.mark, what=what, volume_m3=volume))
    notes.append("Steel is not deducted.")
    return TakeOff(
        lines=tuple(lines),
        slab_area_m2=area,
        net_m3=math.fsum(line.volume_m3 for line in lines),
        notes=tuple(notes),
    )


def order_volume(
    net_m3: float, truck_m3: float, *, waste_percent: float | None = None, step_m3: float | None = None
) -> OrderVolume:
    """Add waste, round up, and count truck loads.

    Args:
        net_m3: Net volume.
        truck_m3: What one truck brings.
        waste_percent: In place of the usual 3 %.
        step_m3: Rounding up to this, in place of the usual 0.5 m3.

    Returns:
        Volume to order and loads, the last one maybe smaller.

    Raises:
        BadInput: If a figure can't be used.

    Source:
        Common practice, no source.
    """
    figures = quantity_figures()
    waste = figures.waste.value if waste_percent is None else waste_percent
    step = figures.order_step.value if step_m3 is None else step_m3
    if not (net_m3 > 0 and truck_m3 > 0 and step > 0 and 0 <= waste <= 25):
        raise BadInput(
            f"Net {net_m3:g} m3, truck {truck_m3:g} m3, step {step:g} m3, waste {waste:g} % can't be used.",
            where="order",
            todo="Write volumes above zero and waste from 0 to 25 %.",
        )
    with_waste = net_m3 * (1 + waste / 100.0)
    order = math.ceil(with_waste / step - ROUNDING_SLACK) * step
    loads = loads_for(order, truck_m3)
    return OrderVolume(
        net_m3=net_m3,
        waste_percent=waste,
        with_waste_m3=with_waste,
        order_m3=order,
        loads=loads,
        last_load_m3=order - (loads - 1) * truck_m3,
    )


def loads_for(volume_m3: float, truck_m3: float) -> int:
    """Number of truck loads.

    Args:
        volume_m3: Volume to bring.
        truck_m3: What one truck brings.

    Returns:
        Loads, the last one maybe smaller.
    """
    return math.ceil(volume_m3 / truck_m3 - ROUNDING_SLACK)
