"""Back-propping: what goes down through the floors below, and how close the props between them must stand."""

from __future__ import annotations

from collections.abc import Sequence

from pydantic import BaseModel

from verifier.errors import BadInput
from verifier.formwork.area_loads import NotNegative, Positive
from verifier.formwork.figures import CAUTION
from verifier.formwork.props import largest_spacing_m, load_per_prop_kn


class Floor(BaseModel, frozen=True, extra="forbid"):
    """A floor below, in kN/m2: what it carries of its own and what it can carry in all at its age on that day."""

    name: str
    own_load_kn_m2: NotNegative
    capacity_kn_m2: Positive


class FloorShare(BaseModel, frozen=True, extra="forbid"):
    """One floor in the chain. ``passed_down`` goes through back-props to the floor below."""

    name: str
    carried_kn_m2: float
    capacity_kn_m2: float
    passed_down_kn_m2: float
    largest_square_grid_m: float | None


class BackPropping(BaseModel, frozen=True, extra="forbid"):
    """The way of the load down. ``enough`` tells whether the listed floors carry it all without the ground."""

    floors: tuple[FloorShare, ...]
    enough: bool
    left_kn_m2: float
    cautions: tuple[str, ...]


def back_propping(from_above_kn_m2: float, floors: Sequence[Floor], prop_kn: float) -> BackPropping:
    """Follow the load of the fresh slab down through the floors.

    Each floor carries up to its capacity; what is above it goes on through back-props. This is the plain balance for props
    that fit without slack; real shares follow stiffness and are the designer's matter.

    Args:
        from_above_kn_m2: Load that the props of the new slab bring on the first floor.
        floors: Floors from the upper one down, at least one.
        prop_kn: Working load of one back-prop.

    Returns:
        The share of each floor and the largest square grid of back-props under it.

    Raises:
        BadInput: If no floor is given or a figure is not positive.

    Source:
        Worked example published as a falsework calculation; the floors' capacities come from the engineer of record.
    """
    if not floors:
        raise BadInput(
            "No floor below is given.", where="back-propping", todo="Name the floor that the props stand on."
        )
    shares = []
    load = from_above_kn_m2
    for floor in floors:
        carried = load + floor.own_load_kn_m2
        down = max(0.0, carried - floor.capacity_kn_m2)
        grid = largest_spacing_m(prop_kn, down) if down > 0 else None
        shares.append(
            FloorShare(
                name=floor.name,
                carried_kn_m2=carried,
                capacity_kn_m2=floor.capacity_kn_m2,
                passed_down_kn_m2=down,
                largest_square_grid_m=grid,
            )
        )
        load = down
    return BackPropping(
        floors=tuple(shares),
        enough=load == 0.0,
        left_kn_m2=load,
        cautions=(
            CAUTION,
            "Capacities are those of young floors on the day, given by the engineer of record.",
            "Back-props that are loose or over-driven change the shares; stiffness decides, not this balance.",
        ),
    )


def back_prop_load_kn(shortfall_kn_m2: float, grid_m: float) -> float:
    """Load on one back-prop of a square grid.

    Args:
        shortfall_kn_m2: What the floor above can't carry.
        grid_m: Distance of back-props.

    Returns:
        Load in kN.
    """
    return load_per_prop_kn(shortfall_kn_m2, grid_m, grid_m)
