"""Load on props, what they can carry, how far apart they may stand, what they do to the ground and sideways."""

from __future__ import annotations

import math

from pydantic import BaseModel

from verifier.errors import BadInput
from verifier.formwork.area_loads import AreaLoad, Positive, above_zero
from verifier.formwork.figures import CAUTION, LoadRule, formwork_figures

GRID_STEP_M = 0.05


class Capacity(BaseModel, frozen=True, extra="forbid"):
    """What one prop may carry: ``working_kn`` is the figure to compare a load with."""

    nominal_kn: float | None
    factor: float
    working_kn: Positive
    source: str


class PropCheck(BaseModel, frozen=True, extra="forbid"):
    """A grid of props against its load. ``holds`` is arithmetic; the falsework designer decides."""

    load_kn: float
    capacity_kn: float
    use: float
    holds: bool
    largest_square_grid_m: float
    horizontal_kn: float
    cautions: tuple[str, ...]


class SolePlate(BaseModel, frozen=True, extra="forbid"):
    """Pressure under a sole plate against what the ground may take."""

    pressure_kpa: float
    allowed_kpa: float
    holds: bool
    least_area_m2: float


def load_per_prop_kn(total_kn_m2: float, spacing_x_m: float, spacing_y_m: float) -> float:
    """Load on an inner prop by its share of the area.

    Args:
        total_kn_m2: Load on the deck.
        spacing_x_m: Distance of props one way.
        spacing_y_m: Distance of props the other way.

    Returns:
        Load in kN. Under continuous bearers single props can carry more than this share.

    Raises:
        BadInput: If a figure is not above zero.
    """
    above_zero(total_kn_m2=total_kn_m2, spacing_x_m=spacing_x_m, spacing_y_m=spacing_y_m)
    return total_kn_m2 * spacing_x_m * spacing_y_m


def prop_capacity(class_and_size: str, extension_m: float) -> Capacity:
    """What a telescopic steel prop may carry at its extension.

    Args:
        class_and_size: Class and size of the standard, for example ``B30`` (class B, longest 3.0 m).
        extension_m: Length in use.

    Returns:
        Nominal strength and working load.

    Raises:
        BadInput: If class or size is not known or the extension is beyond the longest.

    Source:
        EN 1065:1998, classes A to E; working load by EN 12812, 1.1 x 1.5.
    """
    props = formwork_figures().props
    name, size = class_and_size[:1].upper(), class_and_size[1:]
    found = next((c for c in props.classes if c.name == name), None)
    longest = props.longest_m.get(size)
    if found is None or longest is None:
        classes = ", ".join(c.name for c in props.classes)
        raise BadInput(
            f'"{class_and_size}" is no prop of EN 1065.',
            where="prop",
            todo=f"Write class ({classes}) and size ({', '.join(props.longest_m)}), for example B30, or give a safe load.",
        )
    above_zero(extension_m=extension_m)
    if extension_m > longest:
        raise BadInput(
            f"The extension {extension_m:g} m is beyond the longest {longest:g} m of {class_and_size}.",
            where="prop",
            todo="Take a longer prop.",
        )
    if found.a_kn_m is not None and found.cap_kn is not None:
        nominal = min(found.a_kn_m * longest / extension_m**2, found.cap_kn)
    else:
        nominal = found.constant_kn or 0.0
    source = f"{props.standard}, class {name} ({found.status}); {props.factor.source}"
    factor = props.factor.value
    return Capacity(nominal_kn=nominal, factor=factor, working_kn=nominal / factor, source=source)


def given_safe_load(safe_load_kn: float, source: str) -> Capacity:
    """Take the safe working load of a maker's table.

    Args:
        safe_load_kn: Safe working load at the extension in use.
        source: Where it stands: maker's table, extension, edition.

    Returns:
        The capacity, with no factor taken again.

    Raises:
        BadInput: If the load is not positive or its source is missing.
    """
    above_zero(safe_load_kn=safe_load_kn)
    if not source.strip():
        raise BadInput(
            "The safe load has no source.", where="prop", todo="Name the maker's table and the extension."
        )
    return Capacity(nominal_kn=None, factor=1.0, working_kn=safe_load_kn, source=source)


def largest_spacing_m(capacity_kn: float, total_kn_m2: float, other_spacing_m: float | None = None) -> float:
    """Largest distance of props that their capacity allows.

    Args:
        capacity_kn: Working load of one prop.
        total_kn_m2: Load on the deck.
        other_spacing_m: Distance the other way; without it the grid is square.

    Returns:
        Distance in m, not rounded.

    Raises:
        BadInput: If a figure is not above zero.
    """
    above_zero(capacity_kn=capacity_kn, total_kn_m2=total_kn_m2)
    if other_spacing_m is None:
        return math.sqrt(capacity_kn / total_kn_m2)
    above_zero(other_spacing_m=other_spacing_m)
    return capacity_kn / (total_kn_m2 * other_spacing_m)


def check_grid(
    load: AreaLoad, capacity: Capacity, rule: LoadRule, spacing_x_m: float, spacing_y_m: float
) -> PropCheck:
    """Hold a grid of props against its load.

    Args:
        load: Load on the deck.
        capacity: What one prop may carry.
        rule: The standard, for its horizontal share.
        spacing_x_m: Distance of props one way.
        spacing_y_m: Distance of props the other way.

    Returns:
        Load, use, the largest square grid rounded down to 50 mm, and the horizontal force that bracing must take per prop.

    Raises:
        BadInput: If a distance is not above zero.

    Source:
        BS 5975 (2.5 % of vertical), IS 14687:1999 (3 %), as stated in the rule.
    """
    load_kn = load_per_prop_kn(load.total_kn_m2, spacing_x_m, spacing_y_m)
    square = largest_spacing_m(capacity.working_kn, load.total_kn_m2)
    return PropCheck(
        load_kn=load_kn,
        capacity_kn=capacity.working_kn,
        use=load_kn / capacity.working_kn,
        holds=load_kn <= capacity.working_kn,
        largest_square_grid_m=math.floor(square / GRID_STEP_M + 1e-9) * GRID_STEP_M,
        horizontal_kn=horizontal_kn(load_kn, rule.horizontal_share),
        cautions=(
            CAUTION,
            "A prop under a continuous bearer can carry more than its share of the area; the drawing of the falsework counts.",
            "Bearers, joists and boarding, and the ground or floor below, are checked on their own.",
        ),
    )


def horizontal_kn(vertical_kn: float, share: float) -> float:
    """Horizontal force that bracing must take.

    Args:
        vertical_kn: Vertical load, on one prop or on all.
        share: Part of it, from 0 to 1.

    Returns:
        Force in kN, in either direction.

    Raises:
        BadInput: If the load is not above zero, or the share not between 0 and 1.
    """
    above_zero(vertical_kn=vertical_kn)
    if not 0 <= share <= 1:
        raise BadInput(
            f"The share {share:g} is not between 0 and 1.", where="bracing", todo="Write 0.025 for 2.5 %."
        )
    return vertical_kn * share


def sole_plate(load_kn: float, length_m: float, width_m: float, allowed_kpa: float) -> SolePlate:
    """Pressure of a prop on the ground.

    Args:
        load_kn: Load of the prop.
        length_m: Length of the plate that is stiff enough to spread the load.
        width_m: Its width.
        allowed_kpa: What the ground may take, from whoever judged the ground.

    Returns:
        Pressure, whether it holds, and the least area that would.

    Raises:
        BadInput: If a figure is not above zero.
    """
    above_zero(load_kn=load_kn, length_m=length_m, width_m=width_m, allowed_kpa=allowed_kpa)
    pressure = load_kn / (length_m * width_m)
    return SolePlate(
        pressure_kpa=pressure,
        allowed_kpa=allowed_kpa,
        holds=pressure <= allowed_kpa,
        least_area_m2=load_kn / allowed_kpa,
    )
