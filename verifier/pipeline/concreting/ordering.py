"""How much concrete a pour needs, how it is sampled, and what stands against an order."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from pydantic import BaseModel

from verifier.concrete.from_drawing import parts_of
from verifier.concrete.order import Asked, OrderSheet
from verifier.concrete.order_check import OrderPoint, order_points
from verifier.concrete.quantities import OrderVolume, TakeOff, order_volume, take_off
from verifier.concrete.sampling import SamplesAsked, samples_by_code
from verifier.drawing.pour import Concrete, Pour
from verifier.drawing.read import read_pour

TRUCK_M3 = 6.0


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
    taken = take_off(parts.slabs, parts.beams, parts.blocks)
    return Quantities(
        pour_id=pour.pour.id,
        concrete=pour.pour.concrete,
        take_off=taken,
        order=order_volume(taken.net_m3, truck_m3, waste_percent=waste_percent),
        truck_m3=truck_m3,
        missing=parts.missing,
        notes=(*parts.notes, *taken.notes),
    )


def samples_of(folder: Path, *, truck_m3: float = TRUCK_M3) -> SamplesAsked:
    """Say how many samples the code of the pour asks for.

    Args:
        folder: The pour folder.
        truck_m3: What one truck brings, where the code counts batches. [m3]

    Returns:
        Samples with what decided their number.

    Raises:
        BadInput: If the drawing values can't be used.
    """
    pour = read_pour(folder)
    taken = quantities_of(folder, truck_m3=truck_m3).take_off
    return samples_by_code(pour.pour.code, taken.net_m3, taken.slab_area_m2, truck_m3=truck_m3)


def asked_of_concrete(pour: Pour) -> Asked:
    """What the drawing asks of the concrete, as an order is held against it.

    Args:
        pour: The pour.

    Returns:
        Grade, slump, aggregate and cement as far as the drawing gives them.
    """
    concrete = pour.pour.concrete
    return Asked(
        grade=concrete.grade,
        slump_mm=concrete.slump_mm,
        max_aggregate_mm=concrete.max_aggregate_mm,
        cement=concrete.cement or "",
    )


def points_of(folder: Path, sheet: OrderSheet, at: datetime) -> tuple[OrderPoint, ...]:
    """Say what stands against an order.

    Args:
        folder: The pour folder.
        sheet: The order, with its placing and confirmation as far as they are there.
        at: Time of the question.

    Returns:
        Points, those that stop the release first.

    Raises:
        BadInput: If the drawing values can't be used.
    """
    pour = read_pour(folder)
    found = quantities_of(folder, truck_m3=sheet.truck_m3)
    return order_points(
        sheet,
        asked_of_concrete(pour),
        at,
        samples_asked=samples_of(folder, truck_m3=sheet.truck_m3).samples,
        computed_m3=found.take_off.net_m3,
        planned_start=pour.pour.planned_start,
    )
