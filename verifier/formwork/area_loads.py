"""Loads that fresh concrete, forms and work bring on each square metre of falsework, by one standard."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.errors import BadInput
from verifier.formwork.figures import LoadRule, formwork_figures

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
LOCAL_FIELD_M = 3.0


class AreaLoad(BaseModel, frozen=True, extra="forbid"):
    """Load on the deck in kN/m2, part by part, with the rule that its figures come from."""

    concrete_kn_m2: float
    formwork_kn_m2: float
    construction_kn_m2: float
    total_kn_m2: float
    governed_by: Literal["sum of parts", "least total of the standard"]
    source: str
    note: str


def load_rule(name: str) -> LoadRule:
    """Return the loads of a standard.

    Args:
        name: For example ``IS 14687``, ``BS 5975``, ``EN 12812``, ``ACI 347``.

    Returns:
        Its figures.

    Raises:
        BadInput: If the standard has no entry.
    """
    rules = formwork_figures().load_rule
    for rule in rules:
        if rule.name == name:
            return rule
    known = ", ".join(r.name for r in rules)
    raise BadInput(f'There are no loads for "{name}".', where="formwork loads", todo=f"Known are: {known}.")


def area_load(
    thickness_mm: float,
    rule: LoadRule,
    *,
    density_kn_m3: float | None = None,
    formwork_kn_m2: float | None = None,
    construction_kn_m2: float | None = None,
) -> AreaLoad:
    """Add up what stands on the deck while concrete is placed.

    Args:
        thickness_mm: Depth of concrete over the deck, > 0. Thicker parts (drops, beams) are checked on their own.
        rule: Figures of the standard; each may be overridden below.
        density_kn_m3: Fresh concrete with its steel.
        formwork_kn_m2: Own weight of the formwork.
        construction_kn_m2: People, tools, heaps; in place of the standard's own.

    Returns:
        The parts and their total.

    Raises:
        BadInput: If a figure is not positive.

    Source:
        IS 14687:1999; BS 5975; EN 12812:2008, 8.2; ACI 347R-14, 4.2 (status with each rule).
    """
    density = rule.density_kn_m3 if density_kn_m3 is None else density_kn_m3
    formwork = rule.formwork_kn_m2 if formwork_kn_m2 is None else formwork_kn_m2
    above_zero(thickness_mm=thickness_mm, density_kn_m3=density)
    not_below_zero(formwork_kn_m2=formwork, construction_kn_m2=construction_kn_m2 or 0.0)
    concrete = density * thickness_mm / 1000.0
    construction = construction_kn_m2
    if construction is None:
        local = min(max(rule.local_share * concrete, rule.local_least_kn_m2), rule.local_most_kn_m2)
        construction = rule.construction_kn_m2 + local
    total = concrete + formwork + construction
    least = total < rule.least_total_kn_m2
    return AreaLoad(
        concrete_kn_m2=concrete,
        formwork_kn_m2=formwork,
        construction_kn_m2=construction,
        total_kn_m2=rule.least_total_kn_m2 if least else total,
        governed_by="least total of the standard" if least else "sum of parts",
        source=rule.source,
        note=rule.note,
    )


def above_zero(**figures: float) -> None:
    """Refuse figures that are not above zero.

    Args:
        figures: Name -> value.

    Raises:
        BadInput: If one is not; names it.
    """
    for name, value in figures.items():
        if not (math.isfinite(value) and value > 0):
            raise BadInput(f"{name} is {value:g}.", where="formwork", todo="Write a number above zero.")


def not_below_zero(**figures: float) -> None:
    """Refuse figures below zero.

    Args:
        figures: Name -> value.

    Raises:
        BadInput: If one is; names it.
    """
    for name, value in figures.items():
        if not (math.isfinite(value) and value >= 0):
            raise BadInput(f"{name} is {value:g}.", where="formwork", todo="Write zero or a number above it.")
