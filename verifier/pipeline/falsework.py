"""The falsework of a pour: the grid of props of each slab against its load, as a check of plausibility."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Self

from pydantic import BaseModel, Field, ValidationError, model_validator

from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.formwork.back_props import BackPropping, Floor, back_propping
from verifier.formwork.props import (
    AreaLoad,
    Capacity,
    PropCheck,
    SolePlate,
    area_load,
    check_grid,
    given_safe_load,
    load_rule,
    prop_capacity,
    sole_plate,
)
from verifier.release.reason import Reason
from verifier.rounds.items import faults_of

FALSEWORK_FILE = "falsework.toml"
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class Grid(BaseModel, frozen=True, extra="forbid"):
    """Props under one slab: by class and extension (EN 1065) or with a safe load and where it stands. [m, kN, kPa]."""

    slab: str
    spacing_x_m: Positive
    spacing_y_m: Positive
    prop: str = ""
    extension_m: Positive | None = None
    safe_load_kn: Positive | None = None
    safe_load_source: str = ""
    formwork_kn_m2: Positive | None = None
    construction_kn_m2: Positive | None = None
    plate_m: tuple[Positive, Positive] | None = None
    ground_kpa: Positive | None = None

    @model_validator(mode="after")
    def _a_capacity_is_given(self) -> Self:
        by_class = bool(self.prop) and self.extension_m is not None
        by_table = self.safe_load_kn is not None and bool(self.safe_load_source)
        if by_class == by_table:
            raise ValueError(
                f"{self.slab}: give prop and extension_m, or safe_load_kn and safe_load_source, and not both"
            )
        if (self.plate_m is None) != (self.ground_kpa is None):
            raise ValueError(f"{self.slab}: plate_m and ground_kpa belong together")
        return self


class Falsework(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``falsework.toml``: whose loads rule, the grids, and the floors below from the upper one down."""

    loads: str
    grid: Annotated[tuple[Grid, ...], Field(min_length=1)]
    floor: tuple[Floor, ...] = ()
    back_prop_kn: Positive | None = None
    wind_limit_km_h: Positive | None = None

    @model_validator(mode="after")
    def _floors_have_back_props(self) -> Self:
        if bool(self.floor) != (self.back_prop_kn is not None):
            raise ValueError("floors below and back_prop_kn, what one back-prop may carry, belong together")
        return self


class GridChecked(BaseModel, frozen=True, extra="forbid"):
    """One grid with its load, the capacity of a prop, and what stands under it."""

    slab: str
    load: AreaLoad
    capacity: Capacity
    check: PropCheck
    plate: SolePlate | None


class FalseworkChecked(BaseModel, frozen=True, extra="forbid"):
    """All grids, and the way of the heaviest load down through the floors below."""

    grids: tuple[GridChecked, ...] = ()
    below: BackPropping | None = None
    wind_limit_km_h: float | None = None


def falsework_of(folder: Path) -> FalseworkChecked:
    """Check the props of a pour, and the floors below if they are given.

    Args:
        folder: The pour folder.

    Returns:
        One check for each grid; none if there is no falsework file.

    Raises:
        BadInput: If the file can't be used.

    Source:
        EN 1065:1998; IS 14687:1999, BS 5975, EN 12812:2008 or ACI 347R-14, as the file names it.
    """
    path = folder / FALSEWORK_FILE
    if not path.is_file():
        return FalseworkChecked()
    try:
        file = Falsework.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BadInput(f"It is not readable TOML: {error}.", where=str(path), todo="Correct it.") from error
    except ValidationError as error:
        raise BadInput(f"{faults_of(error)}.", where=str(path), todo="Correct these entries.") from error
    pour = read_pour(folder)
    grids = tuple(_checked(grid, file.loads, pour, path) for grid in file.grid)
    below = None
    if file.floor and file.back_prop_kn is not None:
        below = back_propping(max(g.load.total_kn_m2 for g in grids), file.floor, file.back_prop_kn)
    return FalseworkChecked(grids=grids, below=below, wind_limit_km_h=file.wind_limit_km_h)


def reasons_of_falsework(folder: Path) -> tuple[Reason, ...]:
    """Say what the arithmetic of the props brings to the decision.

    Args:
        folder: The pour folder.

    Returns:
        A stop for each grid or sole plate that does not hold; nothing where no falsework file is given, since falsework
        belongs to its designer and stands in the rounds with its permit.

    Raises:
        BadInput: If the drawing values can't be used. A falsework file that can't be read is a reason, not an error.
    """
    try:
        checked = falsework_of(folder)
    except BadInput as error:
        return (_stop("unreadable", f"The falsework file can't be used: {error.wrong}", error.todo),)
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
    return tuple(found)


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
