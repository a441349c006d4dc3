"""Development and lap length from the root of the concrete strength, as ACI 318-19 has it."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from verifier.codes.grades import MPA_PER_PSI
from verifier.codes.lap_case import LapCase
from verifier.codes.limit import Limit, Provision, limit
from verifier.errors import BadInput

Positive = Annotated[float, Field(gt=0)]

PRINTED_MPA = 0.5
"""Strengths are printed to the whole MPa; Grade 60 is 413.7 or 420, 3000 psi is 20.7 or 21."""


class Simplified(Provision, frozen=True):
    """Divisors of fy / sqrt f'c by bar size, and the factor of other cases."""

    divisor_small: Positive
    divisor_large: Positive
    small_up_to_mm: Positive
    other_cases: Positive


class General(Provision, frozen=True):
    """Divisor of the general form, cap of confinement, factor of small bars."""

    divisor: Positive
    largest_confinement: Positive
    size_factor_small: Positive


class Factors(Provision, frozen=True):
    """Modification factors: place in the pour, coating, steel grade."""

    top_cast: Positive
    epoxy_close: Positive
    epoxy: Positive
    top_and_epoxy_most: Positive
    grade_from_mpa: tuple[tuple[Annotated[float, Field(ge=0)], Positive], ...]
    fresh_concrete_below_mm: Positive


class TensionLap(Provision, frozen=True):
    """Classes of tension lap."""

    class_a: Positive
    class_b: Positive
    class_a_steel_ratio: Positive
    class_a_share: Positive


class CompressionLap(Provision, frozen=True):
    """Compression lap as a multiple of fy and the bar. [MPa, 1/MPa]."""

    stress_limit_mpa: Positive
    per_mpa: Positive
    weak_concrete_mpa: Positive
    weak_concrete_factor: Positive


class RootLap(Provision, frozen=True):
    """All of the code's values for development and lap."""

    form: Literal["root of strength"]
    stress_unit: Literal["MPa", "psi"]
    largest_root: Positive
    least_length_mm: Positive
    simplified: Simplified
    general: General
    factors: Factors
    tension_lap: TensionLap
    compression_lap: CompressionLap


def development_by_root(rule: RootLap, case: LapCase) -> Limit:
    """Return the development length in tension by the simplified form; uncoated bars, normal-weight concrete.

    Args:
        rule: The code's values.
        case: The bar in its place.

    Returns:
        ld, not below the least length. [mm]

    Raises:
        BadInput: If the bar is in compression, which this form does not cover.

    Source:
        ACI 318-19, 25.4.2.3 and table 25.4.2.5 (factors from memory).
    """
    if case.compression:
        raise BadInput(
            "The simplified form is for bars in tension.",
            where=f"{rule.edition}, {rule.simplified.clause}",
            todo="Use the lap in compression, or ask the engineer of record.",
        )
    return limit(max(_simplified_mm(rule, case), rule.least_length_mm), "mm", rule.simplified)


def development_general(
    rule: RootLap, case: LapCase, *, confinement: float, place_and_coating: float
) -> Limit:
    """Return the development length in tension by the general form.

    Args:
        rule: The code's values.
        case: The bar in its place.
        confinement: (cb + Ktr) / db; counted up to the code's cap.
        place_and_coating: Product of the factors for place in the pour and coating; counted up to the code's cap.

    Returns:
        ld, not below the least length. [mm]

    Raises:
        ValueError: If the confinement is zero or less.

    Source:
        ACI 318-19, 25.4.2.4 equation (a), normal-weight concrete.
    """
    if confinement <= 0:
        raise ValueError(f"confinement is {confinement}; it is above zero.")
    general, factors = rule.general, rule.factors
    small = case.bar_mm <= rule.simplified.small_up_to_mm
    product = min(place_and_coating, factors.top_and_epoxy_most) * (
        general.size_factor_small if small else 1.0
    )
    ratio = _stress_over_root(rule, case) / general.divisor
    length = ratio * product * _grade_factor(factors, case) / min(confinement, general.largest_confinement)
    return limit(max(length * case.bar_mm, rule.least_length_mm), "mm", general)


def lap_by_root(rule: RootLap, case: LapCase) -> Limit:
    """Return the lap length.

    Args:
        rule: The code's values.
        case: The bar in its place; share lapped and steel ratio decide the class.

    Returns:
        Lap length, not below the least length. [mm]

    Raises:
        BadInput: If a compression lap is asked for steel stronger than the rule covers.

    Source:
        ACI 318-19, 25.5.2.1 and 25.5.5.1 (from memory).
    """
    if case.compression:
        return _compression_lap(rule, case)
    lap = rule.tension_lap
    class_a = case.steel_ratio >= lap.class_a_steel_ratio and case.share_lapped <= lap.class_a_share
    factor = lap.class_a if class_a else lap.class_b
    length = max(factor * _simplified_mm(rule, case), rule.least_length_mm)
    return limit(length, "mm", lap, note=f"Class {'A' if class_a else 'B'}.")


def _simplified_mm(rule: RootLap, case: LapCase) -> float:
    """Length before the least length applies, since the lap multiplies it first."""
    simplified = rule.simplified
    small = case.bar_mm <= simplified.small_up_to_mm
    divisor = simplified.divisor_small if small else simplified.divisor_large
    tied = case.minimum_links and case.clear_mm >= case.bar_mm
    apart = case.clear_mm >= 2 * case.bar_mm
    favourable = case.cover_mm >= case.bar_mm and (tied or apart)
    place = rule.factors.top_cast if case.top_cast else 1.0
    length = _stress_over_root(rule, case) / divisor * place * _grade_factor(rule.factors, case) * case.bar_mm
    return length * (1.0 if favourable else simplified.other_cases)


def _stress_over_root(rule: RootLap, case: LapCase) -> float:
    """Fy / sqrt f'c in the stress unit of the edition, since the divisors are not free of it."""
    unit = MPA_PER_PSI if rule.stress_unit == "psi" else 1.0
    root = min(math.sqrt(case.strength_mpa / unit), rule.largest_root)
    return case.fy_mpa / unit / root


def _grade_factor(factors: Factors, case: LapCase) -> float:
    return [factor for least, factor in factors.grade_from_mpa if case.fy_mpa >= least][-1]


def _compression_lap(rule: RootLap, case: LapCase) -> Limit:
    lap = rule.compression_lap
    if case.fy_mpa > lap.stress_limit_mpa + PRINTED_MPA:
        raise BadInput(
            f"Steel of {case.fy_mpa:g} MPa is above the {lap.stress_limit_mpa:g} MPa that this rule covers.",
            where=f"{rule.edition}, {lap.clause}",
            todo="Ask the engineer of record for the lap.",
        )
    weak = lap.weak_concrete_factor if case.strength_mpa < lap.weak_concrete_mpa - PRINTED_MPA else 1.0
    return limit(max(lap.per_mpa * case.fy_mpa * case.bar_mm * weak, rule.least_length_mm), "mm", lap)
