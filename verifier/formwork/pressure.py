"""Pressure of fresh concrete on vertical forms, in both unit forms of the guide."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.errors import BadInput
from verifier.formwork.figures import CAUTION, PressureForm, formwork_figures

Element = Literal["column", "wall", "beam side", "slab edge"]
Units = Literal["psf", "kpa"]
Governs = Literal["formula", "least pressure", "full liquid head"]
Chemistry = Literal["plain", "retarded", "blended", "blended_retarded"]


class FreshConcrete(BaseModel, frozen=True, extra="forbid"):
    """Concrete as placed. Units ``psf``: ft/h, F, lb/ft3, in, ft. Units ``kpa``: m/h, C, kN/m3, mm, m.

    ``unit_weight`` is 150 lb/ft3 or 24 kN/m3 where not given. ``slump`` at placing and ``vibration_depth`` bound the formula:
    beyond them the full liquid head is taken; not given means within them.
    """

    units: Units
    rate: Annotated[float, Field(gt=0, allow_inf_nan=False)]
    temperature: Annotated[float, Field(allow_inf_nan=False)]
    unit_weight: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    chemistry: Chemistry = "plain"
    slump: Annotated[float, Field(ge=0)] | None = None
    vibration_depth: Annotated[float, Field(gt=0)] | None = None


class Pressure(BaseModel, frozen=True, extra="forbid"):
    """Greatest lateral pressure, and what governs it."""

    value: float
    unit: Units
    governed_by: Governs
    why: str
    source: str
    cautions: tuple[str, ...]


def lateral_pressure(element: Element, concrete: FreshConcrete, height: float) -> Pressure:
    """Greatest pressure on a form side.

    Where the formula does not apply (fluid concrete, deep vibration, fast walls, beam sides and slab edges) the full liquid
    head is taken. Nothing is taken below the guide's least pressure unless the head itself is lower.

    Args:
        element: What is cast.
        concrete: How it is placed, with its units.
        height: Of fresh concrete above the bottom of the form, ft or m, > 0.

    Returns:
        The pressure with its reason.

    Raises:
        BadInput: If height or temperature can't be used.

    Source:
        ACI 347.2R-17 / ACI 347R-14, equations for columns and walls; beam sides and slab edges by w h.
    """
    rule = formwork_figures().pressure
    form = rule.psf if concrete.units == "psf" else rule.kpa
    weight = form.weight_usual if concrete.unit_weight is None else concrete.unit_weight
    if not (math.isfinite(height) and height > 0 and concrete.temperature + form.temperature_offset > 0):
        raise BadInput(
            f"Height {height:g} or temperature {concrete.temperature:g} can't be used.",
            where="lateral pressure",
            todo="Check value and units.",
        )
    cw = _weight_coefficient(weight, form)
    formula, why = _formula(element, form, concrete, height)
    head, least = weight * height, cw * form.least
    value: float = head
    governed: Governs = "full liquid head"
    if formula is not None:
        raised = cw * rule.chemistry[concrete.chemistry] * formula
        if max(raised, least) >= head:
            why = "the liquid head is lower than the formula"
        elif raised > least:
            value, governed = raised, "formula"
        else:
            value, governed = least, "least pressure"
    return Pressure(
        value=value,
        unit=concrete.units,
        governed_by=governed,
        why=why,
        source=rule.source,
        cautions=(CAUTION,),
    )


def head_force_kn_m(pressure_kpa: float, height_m: float) -> float:
    """Force of a full liquid head along one metre of a form side.

    Args:
        pressure_kpa: Pressure at the foot.
        height_m: Height of fresh concrete.

    Returns:
        Force in kN/m; it acts at a third of the height above the foot.

    Source:
        Equilibrium of a pressure that grows in a straight line from the top.
    """
    return pressure_kpa * height_m / 2.0


def _weight_coefficient(weight: float, form: PressureForm) -> float:
    """Unit weight coefficient: light concrete not below 0.8, heavy in proportion."""
    if weight < form.weight_light:
        return max(0.8, 0.5 * (1 + weight / form.weight_unit))
    return 1.0 if weight <= form.weight_normal else weight / form.weight_unit


def _formula(
    element: Element, form: PressureForm, concrete: FreshConcrete, height: float
) -> tuple[float | None, str]:
    """Value of the formula before coefficients, or None with the reason why it does not apply."""
    slump, depth, rate = concrete.slump, concrete.vibration_depth, concrete.rate
    if element in ("beam side", "slab edge"):
        return None, f"a {element} is filled at once: no set is counted on"
    if slump is not None and slump > form.deepest_slump:
        return None, f"the slump {slump:g} is beyond {form.deepest_slump:g} of the formula"
    if depth is not None and depth > form.deepest_vibration:
        return (
            None,
            f"the vibrator reaches {depth:g}, the formula counts on {form.deepest_vibration:g} at most",
        )
    absolute = concrete.temperature + form.temperature_offset
    slow = form.base + form.column_per_rate * rate / absolute
    if element == "column":
        return slow, "column"
    if rate > form.fast_wall_rate:
        return None, f"the wall rises faster than {form.fast_wall_rate:g}"
    if rate < form.slow_wall_rate and height <= form.tall_wall:
        return slow, "wall, slow and low"
    return form.base + (form.wall_constant + form.wall_per_rate * rate) / absolute, "wall, fast or tall"
