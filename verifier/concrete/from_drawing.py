"""From the drawing values of a pour to what its concrete is taken off from. What the drawing does not say is listed."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

from verifier.concrete.quantities import BeamPart, Block, Opening, SlabPart
from verifier.drawing.pour import Added, Pour

MM_PER_M = 1000.0


class Parts(BaseModel, frozen=True, extra="forbid"):
    """Slabs, beams, drops and upstands of a drawing. ``missing`` says what must be given before the volume is whole."""

    slabs: tuple[SlabPart, ...]
    beams: tuple[BeamPart, ...]
    blocks: tuple[Block, ...]
    missing: tuple[str, ...]
    notes: tuple[str, ...]


def parts_of(pour: Pour) -> Parts:
    """Take slabs, beams, drops and upstands out of a drawing.

    Args:
        pour: Drawing values of a pour.

    Returns:
        Parts for the take-off. A beam without length is left out and said so; one without slab thickness takes the slab of
        the pour where there is only one thickness, else it is left out and said so.
    """
    thicknesses = {slab.thickness_mm for slab in pour.slabs}
    slabs = tuple(
        SlabPart(
            mark=slab.mark,
            outline_m=slab.outline,
            thickness_mm=slab.thickness_mm,
            openings=tuple(Opening(length_m=w, width_m=h) for _, _, w, h in slab.openings),
        )
        for slab in pour.slabs
    )
    beams, missing, hidden = [], [], []
    for beam in pour.beams:
        on_top = beam.slab_thickness_mm
        if on_top is None and len(thicknesses) == 1:
            on_top = next(iter(thicknesses))
        if on_top is None and not thicknesses:
            on_top = 0.0
        if beam.length_m is None or on_top is None:
            what = "length_m" if beam.length_m is None else "slab_thickness_mm"
            missing.append(f"beam {beam.mark}: {what} is not given, so its concrete is not counted")
            continue
        if beam.depth_mm <= on_top:
            hidden.append(beam.mark)
            continue
        beams.append(
            BeamPart(
                mark=beam.mark,
                width_mm=beam.width_mm,
                overall_depth_mm=beam.depth_mm,
                slab_mm=on_top,
                length_m=beam.length_m,
            )
        )
    notes = [f"{', '.join(hidden)}: within the slab, adds nothing"] if hidden else []
    notes.append("Where beams cross, give lengths clear of each other, or the crossing counts twice.")
    blocks = (*(_block("drop", d) for d in pour.drops), *(_block("upstand", u) for u in pour.upstands))
    return Parts(slabs=slabs, beams=tuple(beams), blocks=blocks, missing=tuple(missing), notes=tuple(notes))


def _block(kind: Literal["drop", "upstand"], added: Added) -> Block:
    return Block(
        mark=added.mark,
        kind=kind,
        length_m=added.length_m,
        width_m=added.width_m,
        added_mm=added.added_mm,
        count=added.count,
    )
