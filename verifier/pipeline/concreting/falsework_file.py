"""What stands in ``falsework.toml``: props, forms of sides and edges, what was found inside the forms, floors below."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, Self

import tomlkit
from pydantic import BaseModel, Field, ValidationError, model_validator

from verifier.errors import BadInput, faults_of
from verifier.formwork.back_props import Floor
from verifier.pipeline.folder.versions import FALSEWORK_FILE

HEAD = "# Forms and falsework of one pour. They belong to their designer; this file is for a check of plausibility.\n"
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Number = Annotated[float, Field(allow_inf_nan=False)]
Looked = Literal[
    "soffit level",
    "plan position",
    "edge line",
    "prop plumb",
    "prop eccentricity",
    "width",
    "depth",
    "thickness",
]


class Grid(BaseModel, frozen=True, extra="forbid"):
    """Props under one slab: by class and extension (EN 1065) or with a safe load and where it stands. [m, kN, kPa].

    ``service_load_kn_m2`` is all that the slab is designed for in use, unfactored, with its own weight, and ``on_it_kn_m2``
    what comes on it when its props go; with both the order of taking props away is worked out.
    """

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
    service_load_kn_m2: Positive | None = None
    on_it_kn_m2: NotNegative | None = None

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


class Side(BaseModel, frozen=True, extra="forbid"):
    """The form of a beam side or an edge: what it may carry by its designer, and its height where that is not drawn."""

    element: str
    height_m: Positive | None = None
    may_carry_kpa: Positive | None = None
    may_carry_source: str = ""
    unit_weight_kn_m3: Positive | None = None

    @model_validator(mode="after")
    def _what_it_may_carry_has_a_source(self) -> Self:
        if (self.may_carry_kpa is None) != (not self.may_carry_source.strip()):
            raise ValueError(f"{self.element}: may_carry_kpa and may_carry_source belong together")
        return self


class Found(BaseModel, frozen=True, extra="forbid"):
    """One reading on forms or props, in mm (prop plumb: mm in a metre). ``uncertainty_mm`` is the doubt at 95 %.

    ``planned_mm`` is the level or size on the drawing; width, depth and thickness of an ``element`` take it from there.
    """

    what: Looked
    place: Annotated[str, Field(min_length=1)]
    element: str = ""
    planned_mm: Number | None = None
    found_mm: Number
    uncertainty_mm: Positive

    @model_validator(mode="after")
    def _something_to_hold_it_against(self) -> Self:
        if self.what in ("width", "depth", "thickness"):
            if not self.element:
                raise ValueError(f"{self.place}: {self.what} needs the mark of its element")
        elif self.what in ("soffit level", "plan position") and self.planned_mm is None:
            raise ValueError(f"{self.place}: {self.what} needs planned_mm")
        return self


class Falsework(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``falsework.toml``: whose loads rule, the grids, and the floors below from the upper one down."""

    loads: str = ""
    grid: tuple[Grid, ...] = ()
    side: tuple[Side, ...] = ()
    found: tuple[Found, ...] = ()
    floor: tuple[Floor, ...] = ()
    back_prop_kn: Positive | None = None
    wind_limit_km_h: Positive | None = None

    @model_validator(mode="after")
    def _belongs_together(self) -> Self:
        if bool(self.floor) != (self.back_prop_kn is not None):
            raise ValueError("floors below and back_prop_kn, what one back-prop may carry, belong together")
        if self.grid and not self.loads:
            raise ValueError("loads names the standard whose loads rule the grids")
        if self.floor and not self.grid:
            raise ValueError("floors below need a grid of props above them")
        if not (self.grid or self.side or self.found):
            raise ValueError("nothing is in it: give [[grid]], [[side]] or [[found]]")
        twice = sorted({g.slab for g in self.grid if [h.slab for h in self.grid].count(g.slab) > 1})
        if twice:
            raise ValueError(f"more than one grid of {', '.join(twice)}")
        return self


def read_falsework(folder: Path) -> Falsework | None:
    """Read the falsework file of a pour.

    Args:
        folder: The pour folder.

    Returns:
        What is in it; None while there is no such file.

    Raises:
        BadInput: If it can't be used; says all that is wrong.
    """
    path = folder / FALSEWORK_FILE
    if not path.is_file():
        return None
    try:
        return _checked(path.read_text(encoding="utf-8"), path)
    except UnicodeDecodeError as error:
        raise BadInput(f"It is not readable TOML: {error}.", where=str(path), todo="Correct it.") from error


def add_to_falsework(
    folder: Path, table: Literal["grid", "side", "found"], entry: Mapping[str, Any], loads: str = ""
) -> None:
    """Add one entry to the falsework file, in one step; remarks and everything else in it stay.

    Args:
        folder: The pour folder.
        table: Which list it goes to. A grid or side of the same slab or element is replaced.
        entry: Its fields; what is None is left out.
        loads: Standard whose loads rule, where the file names none yet.

    Raises:
        BadInput: If the file would not be usable with it; it stays as it was.
    """
    path = folder / FALSEWORK_FILE
    read_falsework(folder)
    text = path.read_text(encoding="utf-8") if path.is_file() else HEAD
    document = tomlkit.parse(text)
    if loads and "loads" not in document:
        document["loads"] = loads
    given = tomlkit.table()
    given.update({name: value for name, value in entry.items() if value is not None})
    held = document.get(table)
    if held is None:
        held = tomlkit.aot()
        document.append(table, held)
    key = {"grid": "slab", "side": "element"}.get(table)
    same = [n for n, old in enumerate(held) if key is not None and old.get(key) == entry.get(key)]
    for number in reversed(same):
        del held[number]
    held.append(given)
    written = tomlkit.dumps(document)
    _checked(written, path)
    fresh = path.with_suffix(".new")
    fresh.write_text(written, encoding="utf-8")
    fresh.replace(path)


def _parsed(text: str, path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(f"It is not readable TOML: {error}.", where=str(path), todo="Correct it.") from error


def _checked(text: str, path: Path) -> Falsework:
    try:
        return Falsework.model_validate(_parsed(text, path))
    except ValidationError as error:
        raise BadInput(f"{faults_of(error)}.", where=str(path), todo="Correct these entries.") from error
