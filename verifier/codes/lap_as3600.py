"""Development and lap length of deformed bars in tension, as AS 3600:2018 has it (from memory)."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from verifier.codes.lap_case import LapCase
from verifier.codes.limit import Limit, Provision, limit
from verifier.errors import BadInput

Positive = Annotated[float, Field(gt=0)]


class FactorLap(Provision, frozen=True):
    """All of the code's values for development and lap in tension."""

    form: Literal["refined k"]
    times: Positive
    top_cast: Positive
    fresh_concrete_below_mm: Positive
    size_from: Positive
    size_over: Positive
    cover_factor: Positive
    cover_factor_least: Positive
    strength_cap_mpa: Positive
    least_times_yield: Positive
    lap_factor: Positive
    lap_factor_half: Positive
    lap_half_steel_ratio: Positive
    lap_half_share: Positive


def development_by_factors(rule: FactorLap, case: LapCase) -> Limit:
    """Return the basic development length of a deformed bar in tension.

    Args:
        rule: The code's values.
        case: The bar in its place.

    Returns:
        L_sy.tb = 0.5 k1 k3 fsy db / (k2 sqrt f'c), not below 0.058 fsy k1 db. [mm]

    Raises:
        BadInput: If the bar is plain or in compression, which this rule does not cover.

    Source:
        AS 3600:2018, 13.1.2.2 (from memory).
    """
    return limit(_basic_mm(rule, case), "mm", rule)


def lap_by_factors(rule: FactorLap, case: LapCase) -> Limit:
    """Return the lap length of deformed bars in tension in a wide element such as a slab.

    Args:
        rule: The code's values.
        case: The bar in its place; share lapped and steel ratio decide k7.

    Returns:
        k7 L_sy.t, not below 0.058 fsy k1 db. [mm]

    Raises:
        BadInput: If the bar is plain or in compression, which this rule does not cover.

    Source:
        AS 3600:2018, 13.2.2 (from memory).
    """
    easy = case.steel_ratio >= rule.lap_half_steel_ratio and case.share_lapped <= rule.lap_half_share
    return limit((rule.lap_factor_half if easy else rule.lap_factor) * _basic_mm(rule, case), "mm", rule)


def _basic_mm(rule: FactorLap, case: LapCase) -> float:
    if case.plain or case.compression:
        raise BadInput(
            "The rule covers deformed bars in tension only.",
            where=f"{rule.edition}, {rule.clause}",
            todo="Ask the engineer of record for the length.",
        )
    k1 = rule.top_cast if case.top_cast else 1.0
    k2 = (rule.size_from - case.bar_mm) / rule.size_over
    c_d = min(case.cover_mm, case.clear_mm / 2)
    k3 = min(max(1 - rule.cover_factor * (c_d - case.bar_mm) / case.bar_mm, rule.cover_factor_least), 1.0)
    root = math.sqrt(min(case.strength_mpa, rule.strength_cap_mpa))
    basic = rule.times * k1 * k3 * case.fy_mpa * case.bar_mm / (k2 * root)
    return max(basic, rule.least_times_yield * case.fy_mpa * k1 * case.bar_mm)
