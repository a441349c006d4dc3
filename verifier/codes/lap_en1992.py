"""Anchorage and lap length from design bond, as EN 1992-1-1:2004 has it (recommended values)."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from verifier.codes.lap_case import LapCase
from verifier.codes.limit import Limit, Provision, limit
from verifier.codes.minimum_steel import TensileStrength, mean_tensile_strength_mpa

Positive = Annotated[float, Field(gt=0)]


class LeastAnchorage(Provision, frozen=True):
    """Least anchorage: shares of the basic length, bar diameters, a length. [-, mm]."""

    tension_share: Positive
    compression_share: Positive
    bars: Positive
    length_mm: Positive


class LeastLapLength(Provision, frozen=True):
    """Least lap: share of the basic length, bar diameters, a length. [-, mm]."""

    share: Positive
    bars: Positive
    length_mm: Positive


class ShareLapped(Provision, frozen=True):
    """alpha_6 = sqrt(rho_1 / reference) within its ends. [%]."""

    reference_percent: Positive
    least: Positive
    most: Positive


class DesignBondLap(Provision, frozen=True):
    """All of the code's values for anchorage and lap."""

    form: Literal["design bond"]
    bond_times: Positive
    poor_bond: Positive
    thick_bar_from_mm: Positive
    thick_bar_sum_mm: Positive
    concrete_factor: Positive
    steel_factor: Positive
    tensile_fractile: Positive
    strength_cap_mpa: Positive
    cover_factor: Positive
    cover_factor_least: Positive
    fctk_decimals: int
    tension: TensileStrength
    least_anchorage: LeastAnchorage
    least_lap: LeastLapLength
    share_lapped: ShareLapped


def design_bond_mpa(rule: DesignBondLap, *, fctk_mpa: float, bar_mm: float, good_bond: bool) -> Limit:
    """Return the design bond stress.

    Args:
        rule: The code's values.
        fctk_mpa: Characteristic tensile strength, 5 % fractile. [MPa]
        bar_mm: Bar diameter. [mm]
        good_bond: Good bond conditions after figure 8.2.

    Returns:
        f_bd. [MPa]

    Source:
        EN 1992-1-1:2004, 8.4.2(2), expression (8.2).
    """
    eta_1 = 1.0 if good_bond else rule.poor_bond
    thick = bar_mm > rule.thick_bar_from_mm
    eta_2 = (rule.thick_bar_sum_mm - bar_mm) / 100 if thick else 1.0
    return limit(rule.bond_times * eta_1 * eta_2 * fctk_mpa / rule.concrete_factor, "MPa", rule)


def characteristic_tensile_mpa(rule: DesignBondLap, *, strength_mpa: float) -> float:
    """Return the 5 % fractile of tensile strength as table 3.1 prints it.

    Args:
        rule: Fractile and the strength beyond which bond is not counted.
        strength_mpa: Characteristic cylinder strength. [MPa]

    Returns:
        f_ctk,0.05 to one decimal. [MPa]

    Source:
        EN 1992-1-1:2004, table 3.1; 8.4.2(2) caps it at C60/75.
    """
    counted = min(strength_mpa, rule.strength_cap_mpa)
    return round(
        rule.tensile_fractile * mean_tensile_strength_mpa(rule.tension, strength_mpa=counted),
        rule.fctk_decimals,
    )


def basic_anchorage(rule: DesignBondLap, case: LapCase, *, fctk_mpa: float | None = None) -> Limit:
    """Return the basic required anchorage length of a fully stressed bar.

    Args:
        rule: The code's values.
        case: The bar in its place.
        fctk_mpa: Tensile strength to use in place of that of table 3.1. [MPa]

    Returns:
        l_b,rqd = dia / 4 x sigma_sd / f_bd. [mm]

    Source:
        EN 1992-1-1:2004, 8.4.3(2), expression (8.3).
    """
    fctk = characteristic_tensile_mpa(rule, strength_mpa=case.strength_mpa) if fctk_mpa is None else fctk_mpa
    bond = design_bond_mpa(rule, fctk_mpa=fctk, bar_mm=case.bar_mm, good_bond=not case.top_cast)
    stress = case.fy_mpa / rule.steel_factor / max(case.steel_ratio, 1.0)
    return limit(case.bar_mm / 4 * stress / bond.value, "mm", rule)


def anchorage_by_bond(rule: DesignBondLap, case: LapCase, *, fctk_mpa: float | None = None) -> Limit:
    """Return the design anchorage length of a straight bar.

    Args:
        rule: The code's values.
        case: The bar in its place.
        fctk_mpa: Tensile strength to use in place of that of table 3.1. [MPa]

    Returns:
        l_bd = alpha_2 l_b,rqd, not below l_b,min; confinement by links or pressure is not counted. [mm]

    Source:
        EN 1992-1-1:2004, 8.4.4(1), table 8.2.
    """
    basic = basic_anchorage(rule, case, fctk_mpa=fctk_mpa).value
    least = rule.least_anchorage
    share = least.compression_share if case.compression else least.tension_share
    floor = max(share * basic, least.bars * case.bar_mm, least.length_mm)
    return limit(max(_cover_factor(rule, case) * basic, floor), "mm", rule)


def lap_by_bond(rule: DesignBondLap, case: LapCase, *, fctk_mpa: float | None = None) -> Limit:
    """Return the design lap length of straight bars.

    Args:
        rule: The code's values.
        case: The bar in its place.
        fctk_mpa: Tensile strength to use in place of that of table 3.1. [MPa]

    Returns:
        l_0 = alpha_2 alpha_6 l_b,rqd, not below l_0,min. [mm]

    Source:
        EN 1992-1-1:2004, 8.7.3(1), expressions (8.10) and (8.11), table 8.3.
    """
    basic = basic_anchorage(rule, case, fctk_mpa=fctk_mpa).value
    shared = rule.share_lapped
    alpha_6 = min(
        max(math.sqrt(100 * case.share_lapped / shared.reference_percent), shared.least), shared.most
    )
    least = rule.least_lap
    floor = max(least.share * alpha_6 * basic, least.bars * case.bar_mm, least.length_mm)
    length = max(_cover_factor(rule, case) * alpha_6 * basic, floor)
    return limit(length, "mm", rule, note=f"{100 * case.share_lapped:g} % lapped, factor {alpha_6:.2f}.")


def _cover_factor(rule: DesignBondLap, case: LapCase) -> float:
    """alpha_2 of a straight bar: cover and half the clear distance to the next one; 1 in compression."""
    if case.compression:
        return 1.0
    c_d = min(case.cover_mm, case.clear_mm / 2)
    return min(max(1 - rule.cover_factor * (c_d - case.bar_mm) / case.bar_mm, rule.cover_factor_least), 1.0)
