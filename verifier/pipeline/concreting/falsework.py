"""Forms and falsework of a pour: props against their load, sides against pressure, sections, as a check of plausibility."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel

from verifier.codes.grades import concrete_strength_mpa
from verifier.codes.load import load_code
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.formwork.area_loads import AreaLoad, area_load, load_rule
from verifier.formwork.back_props import BackPropping, back_propping
from verifier.formwork.figures import CAUTION
from verifier.formwork.props import (
    Capacity,
    PropCheck,
    SolePlate,
    check_grid,
    given_safe_load,
    prop_capacity,
    sole_plate,
)
from verifier.formwork.removal import NewSlab, RemovalPlan, removal_plan
from verifier.formwork.tolerances import Bounds
from verifier.pipeline.concreting.falsework_file import (
    Falsework,
    Grid,
    add_to_falsework,
    read_falsework,
)
from verifier.pipeline.concreting.form_sides import (
    Looks,
    Section,
    SideChecked,
    looks_of,
    sections_of,
    sides_of,
)
from verifier.pipeline.folder.versions import FALSEWORK_FILE
from verifier.release.reason import Reason


class GridChecked(BaseModel, frozen=True, extra="forbid"):
    """One grid with its load, the capacity of a prop, and what stands under it."""

    slab: str
    load: AreaLoad
    capacity: Capacity
    check: PropCheck
    plate: SolePlate | None


class FalseworkChecked(BaseModel, frozen=True, extra="forbid"):
    """Grids, sides, sections and readings of a pour, and the way of the heaviest load down through the floors below.

    Sides and sections follow from the drawing; the rest is there once ``written`` in a falsework file. ``removal`` holds one
    plan for each grid that names the design load in use.
    """

    written: bool
    grids: tuple[GridChecked, ...] = ()
    sides: tuple[SideChecked, ...] = ()
    sections: tuple[Section, ...] = ()
    looks: tuple[Looks, ...] = ()
    below: BackPropping | None = None
    removal: tuple[RemovalPlan, ...] = ()
    wind_limit_km_h: float | None = None
    cautions: tuple[str, ...] = ()


def falsework_of(
    folder: Path,
    *,
    shown_mpa: float | None = None,
    placed: Collection[str] = (),
    done: Mapping[str, datetime] | None = None,
) -> FalseworkChecked:
    """Check props, sides and sections of a pour, and the floors below if they are given.

    Args:
        folder: The pour folder.
        shown_mpa: Lowest strength shown on specimens cured beside the slab, for the order of taking props away.
        placed: Floors under which back-props were written as placed.
        done: Slab or floor -> when the props under it were taken away.

    Returns:
        Everything that follows from drawing and falsework file.

    Raises:
        BadInput: If the file can't be used.

    Source:
        EN 1065:1998; IS 14687:1999, BS 5975, EN 12812:2008 or ACI 347R-14, as the file names it; ACI 347.2R-17 for sides.
    """
    path = folder / FALSEWORK_FILE
    pour, file = read_pour(folder), read_falsework(folder)
    given = file or Falsework.model_construct()
    grids = tuple(_checked(grid, given.loads, pour, path) for grid in given.grid)
    below = None
    if given.floor and given.back_prop_kn is not None:
        below = back_propping(max(g.load.total_kn_m2 for g in grids), given.floor, given.back_prop_kn)
    removal = tuple(
        removal_plan(slab, given.floor, load_kn_m2, placed=placed, done=done)
        for slab, load_kn_m2 in _new_slabs(pour, given, grids, shown_mpa)
    )
    told = [CAUTION, *(c for g in grids for c in g.check.cautions), *(below.cautions if below else ())]
    told += [c for plan in removal for c in plan.cautions]
    return FalseworkChecked(
        written=file is not None,
        grids=grids,
        sides=sides_of(pour, given.side, path),
        sections=sections_of(pour),
        looks=looks_of(pour, given.found),
        below=below,
        removal=removal,
        wind_limit_km_h=given.wind_limit_km_h,
        cautions=tuple(dict.fromkeys(told)),
    )


def write_falsework(
    folder: Path, table: Literal["grid", "side", "found"], entry: Mapping[str, Any], loads: str = ""
) -> None:
    """Write one entry into the falsework file, if forms and props can be worked out with it.

    Args:
        folder: The pour folder.
        table: Which list it goes to. A grid or side of the same slab or element is replaced.
        entry: Its fields; what is None is left out.
        loads: Standard whose loads rule, where the file names none yet.

    Raises:
        BadInput: If the file could not be used with it; it stays as it was.
    """
    path = folder / FALSEWORK_FILE
    before = path.read_bytes() if path.is_file() else None
    add_to_falsework(folder, table, entry, loads)
    try:
        falsework_of(folder)
    except BadInput:
        if before is None:
            path.unlink()
        else:
            path.write_bytes(before)
        raise


def _new_slabs(
    pour: Pour, file: Falsework, grids: tuple[GridChecked, ...], shown_mpa: float | None
) -> list[tuple[NewSlab, float]]:
    """Each slab whose design load in use is given, and the load that its props bring down."""
    if all(grid.service_load_kn_m2 is None for grid in file.grid):
        return []
    grades = load_code(pour.pour.code, units=pour.pour.units).concrete
    strength_mpa = concrete_strength_mpa(pour.pour.concrete.grade, grades).value
    return [
        (
            NewSlab(
                name=grid.slab,
                own_load_kn_m2=checked.load.concrete_kn_m2,
                on_it_kn_m2=checked.load.construction_kn_m2 if grid.on_it_kn_m2 is None else grid.on_it_kn_m2,
                service_load_kn_m2=grid.service_load_kn_m2,
                strength_mpa=strength_mpa,
                shown_mpa=shown_mpa,
            ),
            checked.load.total_kn_m2,
        )
        for grid, checked in zip(file.grid, grids, strict=True)
        if grid.service_load_kn_m2 is not None
    ]


def reasons_of_falsework(folder: Path) -> tuple[Reason, ...]:
    """Say what the arithmetic of the props brings to the decision.

    Args:
        folder: The pour folder.

    Returns:
        A stop for each grid, sole plate or side that does not hold and each reading that is off, a condition for each reading
        that can't be told; nothing where no falsework file is given, since falsework belongs to its designer and stands in
        the rounds with its permit.

    Raises:
        BadInput: If the drawing values can't be used. A falsework file that can't be read is a reason, not an error.
    """
    try:
        checked = falsework_of(folder)
    except BadInput as error:
        return (_stop("unreadable", f"The falsework file can't be used: {error.wrong}", error.todo),)
    return (*_of_grids(checked), *_of_sides(checked), *_of_looks(checked))


def _of_grids(checked: FalseworkChecked) -> list[Reason]:
    found = []
    for g in checked.grids:
        if not g.check.holds:
            says = (
                f"{g.slab}: {g.check.load_kn:.2f} kN come on a prop that may carry {g.check.capacity_kn:.2f} kN "
                f"({g.load.total_kn_m2:.2f} kN/m2; {g.capacity.source})."
            )
            clears = f"The designer of the falsework decides; a square grid of {g.check.largest_square_grid_m:.2f} m would hold."
            found.append(_stop(f"{g.slab}-props", says, clears))
        if g.plate is not None and not g.plate.holds:
            says = f"{g.slab}: {g.plate.pressure_kpa:.0f} kPa under a sole plate, the ground may take {g.plate.allowed_kpa:.0f} kPa."
            found.append(_stop(f"{g.slab}-plate", says, f"Plates of {g.plate.least_area_m2:.3f} m2 or more."))
    if checked.below is not None and not checked.below.enough:
        last = checked.below.floors[-1].name
        says = f"{checked.below.left_kn_m2:.2f} kN/m2 go on below {last}, and no floor there is named to carry them."
        clears = "Back-prop down to a floor or ground that carries it, as the designer of the falsework says."
        found.append(_stop("floors-below", says, clears))
    return found


def _of_sides(checked: FalseworkChecked) -> list[Reason]:
    return [
        _stop(
            f"{s.element}-side",
            f"{s.element}: {s.pressure.value:.1f} kPa press on its side of {s.height_m:g} m, which may carry "
            f"{s.may_carry_kpa:g} kPa ({s.may_carry_source}).",
            "The designer of the forms decides: closer ties and walings, or lifts with a pause between them.",
        )
        for s in checked.sides
        if s.holds is False
    ]


def _of_looks(checked: FalseworkChecked) -> list[Reason]:
    found = []
    for look in checked.looks:
        for number, point in enumerate(look.points):
            if point.verdict == "conforming":
                continue
            off = point.verdict == "non-conforming"
            allowed = bounds_text(look.bounds)
            says = f"{point.place}: {look.what} may be off, by {point.off_mm:+g} mm, allowed {allowed}."
            if off:
                says = f"{point.place}: {look.what} is off by {point.off_mm:+g} mm, allowed {allowed}."
            key = f"{look.what.replace(' ', '-')}-{point.place}-{number}"
            reason = _stop(
                key, says, "Put it right and read it again, or let the engineer of record decide on it."
            )
            update = {"owner": "contractor's engineer"}
            if not off:
                update |= {"weight": "condition", "kind": "not-decided"}
            found.append(reason.model_copy(update=update))
    return found


def bounds_text(bounds: Bounds) -> str:
    """Write bounds of a deviation in words.

    Args:
        bounds: The bounds.

    Returns:
        For example ``-6 to +12 mm (IS 456:2000, 11.1 (read))``.
    """
    low, high = (None if b is None else f"{b:+g}" if b else "0" for b in (bounds.low_mm, bounds.high_mm))
    if low is None or high is None:
        said = f"{low} mm and up" if low is not None else f"{high} mm and down"
    else:
        said = f"{low} to {high} mm"
    return f"{said} ({bounds.source})"


def _checked(grid: Grid, loads: str, pour: Pour, path: Path) -> GridChecked:
    slab = next((s for s in pour.slabs if s.mark == grid.slab), None)
    if slab is None:
        raise BadInput(
            f"{grid.slab} is no slab of this pour.",
            where=str(path),
            todo=f"Name one of: {', '.join(s.mark for s in pour.slabs)}.",
        )
    rule = load_rule(loads)
    load = area_load(
        slab.thickness_mm,
        rule,
        formwork_kn_m2=grid.formwork_kn_m2,
        construction_kn_m2=grid.construction_kn_m2,
    )
    capacity = (
        prop_capacity(grid.prop, grid.extension_m)
        if grid.extension_m is not None and grid.prop
        else given_safe_load(grid.safe_load_kn or 0.0, grid.safe_load_source)
    )
    check = check_grid(load, capacity, rule, grid.spacing_x_m, grid.spacing_y_m)
    plate = None
    if grid.plate_m is not None and grid.ground_kpa is not None:
        plate = sole_plate(check.load_kn, *grid.plate_m, grid.ground_kpa)
    return GridChecked(slab=grid.slab, load=load, capacity=capacity, check=check, plate=plate)


def _stop(key: str, says: str, clears: str) -> Reason:
    return Reason(
        key=f"falsework-{key}",
        room="formwork",
        weight="stops",
        kind="non-conforming",
        says=says,
        clears=clears,
        owner="temporary works",
    )
