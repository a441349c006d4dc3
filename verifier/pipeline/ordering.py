"""How much concrete a pour needs, from its drawing values: take-off, volume to order, truck loads."""

from __future__ import annotations

from pathlib import Path

from pydantic import BaseModel

from verifier.concrete.from_drawing import parts_of
from verifier.concrete.quantities import OrderVolume, TakeOff, order_volume, take_off
from verifier.drawing.pour import Concrete
from verifier.drawing.read import read_pour


class Quantities(BaseModel, frozen=True, extra="forbid"):
    """The concrete of a pour. ``missing`` says what the drawing file must still give before the volume is whole."""

    pour_id: str
    concrete: Concrete
    take_off: TakeOff
    order: OrderVolume
    truck_m3: float
    missing: tuple[str, ...]
    notes: tuple[str, ...]


def quantities_of(folder: Path, *, truck_m3: float, waste_percent: float | None = None) -> Quantities:
    """Take the concrete of a pour off its drawing values.

    Args:
        folder: The pour folder.
        truck_m3: What one truck brings. [m3]
        waste_percent: In place of the usual share.

    Returns:
        Lines, net volume, volume to order and truck loads.

    Raises:
        BadInput: If the drawing values or a figure can't be used.
    """
    pour = read_pour(folder)
    parts = parts_of(pour)
    taken = take_off(parts.slabs, parts.beams)
    return Quantities(
        pour_id=pour.pour.id,
        concrete=pour.pour.concrete,
        take_off=taken,
        order=order_volume(taken.net_m3, truck_m3, waste_percent=waste_percent),
        truck_m3=truck_m3,
        missing=parts.missing,
        notes=(*parts.notes, *taken.notes),
    )
