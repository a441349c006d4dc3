"""Back-props floor by floor: what was placed under each, whether it holds, and whether it went in turn."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Literal

from pydantic import AwareDatetime, BaseModel

from verifier.formwork.area_loads import Positive
from verifier.formwork.back_props import BackPropping, FloorShare
from verifier.formwork.props import load_per_prop_kn

State = Literal["not written", "stand", "do not hold", "taken away", "taken too early"]


class PropsPlaced(BaseModel, frozen=True, extra="forbid"):
    """Back-props under one floor as they were written: their grid, what one may carry, when they were placed and taken away."""

    floor: str
    spacing_x_m: Positive
    spacing_y_m: Positive
    prop_kn: Positive
    placed_at: AwareDatetime
    taken_at: AwareDatetime | None = None


class FloorPropped(BaseModel, frozen=True, extra="forbid"):
    """One floor with what goes down from it, what stands under it, and the load on one prop.

    ``passed_down_kn_m2`` is None for a floor that no load is given for, ``load_kn`` where nothing is written or given.
    """

    floor: str
    passed_down_kn_m2: float | None
    placed: PropsPlaced | None
    load_kn: float | None
    state: State
    says: str


def floors_propped(
    below: BackPropping | None, placed: Sequence[PropsPlaced], freed_at: datetime | None
) -> tuple[FloorPropped, ...]:
    """Hold what was written of each floor against the load that goes down through it.

    Back-props stand under every floor but the last, and under the last one, too, if more comes on it than it may carry. Taken
    away while the slab above still rests on them, they leave their floor with all that comes from above.

    Args:
        below: The way of the load down, None where no floors are given.
        placed: What was written, one entry a floor.
        freed_at: When the props of the new slab went, None while they stand.

    Returns:
        Floors from the upper one down, then those that were written and for which no load is given.

    Source:
        ACI 347R-14, removal and reshoring (the newest slab first, then floor by floor); the balance of the published calculation
        in `back_propping`.
    """
    written = {p.floor: p for p in placed}
    shares = below.floors if below is not None else ()
    needed = [s for n, s in enumerate(shares) if n < len(shares) - 1 or s.passed_down_kn_m2 > 0]
    listed = [s for s in shares if s in needed or s.name in written]
    found = [_floor(share, written.get(share.name), freed_at) for share in listed]
    unknown = [p for p in placed if p.floor not in {s.name for s in shares}]
    return (*found, *(_without_load(p) for p in unknown))


def _floor(share: FloorShare, placed: PropsPlaced | None, freed_at: datetime | None) -> FloorPropped:
    down = share.passed_down_kn_m2
    load, state = None, "not written"
    says = f"Under {share.name} no back-props are written; {down:.2f} kN/m2 go down from it while the new slab is fresh."
    if placed is not None:
        load = load_per_prop_kn(down, placed.spacing_x_m, placed.spacing_y_m)
        state = "stand" if load <= placed.prop_kn else "do not hold"
        says = (
            f"Under {share.name} back-props stand {placed.spacing_x_m:g} x {placed.spacing_y_m:g} m: {load:.2f} kN come on one "
            f"that may carry {placed.prop_kn:g} kN."
        )
        if placed.taken_at is not None:
            state, says = _taken(share, placed.taken_at, freed_at)
    return FloorPropped.model_validate(
        {
            "floor": share.name,
            "passed_down_kn_m2": down,
            "placed": placed,
            "load_kn": load,
            "state": state,
            "says": says,
        }
    )


def _taken(share: FloorShare, taken_at: datetime, freed_at: datetime | None) -> tuple[State, str]:
    when = f"Back-props under {share.name} were taken away on {taken_at:%Y-%m-%d %H:%M}"
    if freed_at is not None and freed_at <= taken_at:
        return "taken away", f"{when}, after the props of the new slab."
    carried = f"it then carried up to {share.carried_kn_m2:.2f} of {share.capacity_kn_m2:.2f} kN/m2"
    early = share.carried_kn_m2 > share.capacity_kn_m2
    return (
        "taken too early" if early else "taken away",
        f"{when}, before the props of the new slab; {carried}.",
    )


def _without_load(placed: PropsPlaced) -> FloorPropped:
    says = f"No load is given for {placed.floor}: name it under [[floor]] in falsework.toml, and its back-props are checked."
    state: State = "stand" if placed.taken_at is None else "taken away"
    return FloorPropped(
        floor=placed.floor, passed_down_kn_m2=None, placed=placed, load_kn=None, state=state, says=says
    )
