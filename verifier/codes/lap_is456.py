"""Development and lap length by bond stress, as IS 456:2000 has it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from verifier.codes.lap_case import LapCase
from verifier.codes.limit import Limit, Provision, limit
from verifier.errors import BadInput

Positive = Annotated[float, Field(gt=0)]


class BondStress(Provision, frozen=True):
    """Design bond stress of plain bars in tension by strength, and its factors. [MPa]."""

    plain_mpa: tuple[tuple[Positive, Positive], ...]
    deformed_factor: Positive
    compression_factor: Positive


class LeastLap(Provision, frozen=True):
    """Least laps in bar diameters. [-, mm]."""

    flexural_tension_bars: Positive
    direct_tension_times: Positive
    direct_tension_bars: Positive
    compression_bars: Positive
    straight_bars: Positive
    straight_mm: Positive


class UnfavourablePlace(Provision, frozen=True):
    """Factors for laps near the top or a corner with little cover, or close together. [-, mm]."""

    one: Positive
    both: Positive
    cover_bars: Positive
    clear_bars: Positive
    clear_mm: Positive


class Stagger(Provision, frozen=True):
    """When laps count as staggered, and the share lapped in one section."""

    times_lap: Positive
    share: Positive


class LargestLapped(Provision, frozen=True):
    """Thickest bar that is lapped. [mm]."""

    diameter_mm: Positive


class BondStressLap(Provision, frozen=True):
    """All of the code's values for development and lap."""

    form: Literal["bond stress"]
    steel_stress_factor: Positive
    bond: BondStress
    least: LeastLap
    unfavourable: UnfavourablePlace
    stagger: Stagger
    largest_bar: LargestLapped


def bond_stress_mpa(rule: BondStress, *, strength_mpa: float, plain: bool, compression: bool) -> Limit:
    """Return the design bond stress.

    Args:
        rule: Table and factors.
        strength_mpa: Characteristic cube strength; between two grades the lower one counts. [MPa]
        plain: Plain bars.
        compression: Bars in compression.

    Returns:
        tau_bd. [MPa]

    Raises:
        ValueError: If the concrete is weaker than the table's first grade.

    Source:
        IS 456:2000, 26.2.1.1.
    """
    fitting = [bond for least, bond in rule.plain_mpa if strength_mpa >= least]
    if not fitting:
        raise ValueError(f"strength_mpa is {strength_mpa}; {rule.clause} starts at {rule.plain_mpa[0][0]:g}.")
    stress = (
        fitting[-1] * (1 if plain else rule.deformed_factor) * (rule.compression_factor if compression else 1)
    )
    return limit(stress, "MPa", rule)


def development_by_bond_stress(rule: BondStressLap, case: LapCase) -> Limit:
    """Return the development length.

    Args:
        rule: The code's values.
        case: The bar in its place.

    Returns:
        Ld = dia x 0.87 fy / (4 tau_bd). [mm]

    Source:
        IS 456:2000, 26.2.1.
    """
    bond = bond_stress_mpa(
        rule.bond, strength_mpa=case.strength_mpa, plain=case.plain, compression=case.compression
    )
    return limit(case.bar_mm * rule.steel_stress_factor * case.fy_mpa / (4 * bond.value), "mm", rule)


def lap_by_bond_stress(rule: BondStressLap, case: LapCase) -> Limit:
    """Return the lap length.

    Args:
        rule: The code's values.
        case: The bar in its place; of two diameters the smaller.

    Returns:
        Lap length, hooks included. [mm]

    Raises:
        BadInput: If bars of this diameter are not lapped.

    Source:
        IS 456:2000, 26.2.5.1; factors near faces from memory.
    """
    thickest = rule.largest_bar
    if case.bar_mm > thickest.diameter_mm:
        raise BadInput(
            f"A bar of {case.bar_mm:g} mm is not lapped; up to {thickest.diameter_mm:g} mm are.",
            where=f"{rule.edition}, {thickest.clause}",
            todo="Weld or couple it, as the engineer of record decides.",
        )
    length, least = development_by_bond_stress(rule, case).value, rule.least
    if case.compression:
        return limit(max(length, least.compression_bars * case.bar_mm), "mm", rule)
    if case.direct_tension:
        length = max(least.direct_tension_times * length, least.direct_tension_bars * case.bar_mm)
    else:
        length = max(length, least.flexural_tension_bars * case.bar_mm)
    factor, note = _place(rule.unfavourable, case)
    return limit(length * factor, "mm", rule, note=note)


def _place(rule: UnfavourablePlace, case: LapCase) -> tuple[float, str]:
    little_cover = case.cover_mm < rule.cover_bars * case.bar_mm
    close = case.clear_mm < max(rule.clear_mm, rule.clear_bars * case.bar_mm)
    top = case.top_cast and little_cover
    side = (case.corner and little_cover) or close
    if top and side:
        return (
            rule.both,
            f"x {rule.both:g}: near the top and near a corner or close together ({rule.clause}).",
        )
    if top or side:
        return rule.one, f"x {rule.one:g}: near the top, near a corner or close together ({rule.clause})."
    return 1.0, ""
