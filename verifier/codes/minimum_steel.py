"""Least and largest reinforcement of slabs and beams."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.codes.grades import MPA_PER_PSI
from verifier.codes.limit import Limit, Provision, limit

Positive = Annotated[float, Field(gt=0)]
StressUnit = Literal["MPa", "psi"]
SlabKind = Literal["two_way_flat", "two_way_on_beams", "one_way"]


class ShareOfGross(Provision, frozen=True):
    """A share of width times thickness, by surface of the bars."""

    form: Literal["share of gross section"]
    deformed: Positive
    plain: Positive


class TensileStrength(Provision, frozen=True):
    """Mean tensile strength from cylinder strength: a power up to a strength, a logarithm above. [MPa]."""

    times: Positive
    power: Positive
    up_to_mpa: Positive
    log_times: Positive
    mean_plus_mpa: Positive
    log_over_mpa: Positive


class ByTensileStrength(Provision, frozen=True):
    """The larger of times fctm / fyk and a floor, as a share of width times effective depth."""

    form: Literal["by tensile strength"]
    times: Positive
    least: Positive
    tension: TensileStrength


class ByFlexuralStrength(Provision, frozen=True):
    """times (D/d)^2 f'ct.f / fsy, as a share of width times effective depth; f'ct.f = root_times sqrt f'c."""

    form: Literal["by flexural strength"]
    times: dict[SlabKind | Literal["rectangular"], Positive]
    root_times: Positive


class ByYield(Provision, frozen=True):
    """times / fy, as a share of width times effective depth."""

    form: Literal["by yield strength"]
    times: Positive


class ByRoots(Provision, frozen=True):
    """The larger of root_times sqrt f'c and a floor, over fy, both in the unit of the edition."""

    form: Literal["by roots"]
    root_times: Positive
    least: Positive
    stress_unit: StressUnit


class Secondary(Provision, frozen=True):
    """Secondary steel as a share of main steel."""

    share_of_main: Positive


class MostSteel(Provision, frozen=True):
    """Largest tension steel as a share of the gross section."""

    share: Positive


class MinimumSteel(BaseModel, frozen=True, extra="forbid"):
    """All least and largest amounts of a code."""

    slab: Annotated[ShareOfGross | ByTensileStrength | ByFlexuralStrength, Field(discriminator="form")]
    beam: Annotated[ByYield | ByRoots | ByTensileStrength | ByFlexuralStrength, Field(discriminator="form")]
    secondary: Secondary | None = None
    most_tension_steel: MostSteel | None = None


def least_slab_steel(
    rule: ShareOfGross | ByTensileStrength | ByFlexuralStrength,
    *,
    depth_mm: float,
    effective_depth_mm: float,
    strength_mpa: float,
    fy_mpa: float,
    plain: bool = False,
    kind: SlabKind = "one_way",
) -> Limit:
    """Return the least steel of a slab per metre width.

    Args:
        rule: The code's rule.
        depth_mm: Thickness. [mm]
        effective_depth_mm: Effective depth. [mm]
        strength_mpa: Concrete strength on the code's specimen. [MPa]
        fy_mpa: Yield strength. [MPa]
        plain: Whether the bars are plain.
        kind: How the slab carries; only AS 3600 asks.

    Returns:
        Least area. [mm2/m]

    Raises:
        ValueError: If a length or strength is zero or less.

    Source:
        IS 456:2000 26.5.2.1; ACI 318-19 7.6.1.1, 24.4.3.2; EN 1992-1-1:2004 9.3.1.1(1); AS 3600:2018 9.1.1.
    """
    _above_zero(
        depth_mm=depth_mm, effective_depth_mm=effective_depth_mm, strength_mpa=strength_mpa, fy_mpa=fy_mpa
    )
    match rule:
        case ShareOfGross():
            area = (rule.plain if plain else rule.deformed) * 1000 * depth_mm
        case ByTensileStrength():
            area = _tensile_share(rule, strength_mpa, fy_mpa) * 1000 * effective_depth_mm
        case ByFlexuralStrength():
            share = _flexural_share(
                rule, rule.times[kind], depth_mm / effective_depth_mm, strength_mpa, fy_mpa
            )
            area = share * 1000 * effective_depth_mm
    return limit(area, "mm2/m", rule)


def least_beam_steel(
    rule: ByYield | ByRoots | ByTensileStrength | ByFlexuralStrength,
    *,
    width_mm: float,
    depth_mm: float,
    effective_depth_mm: float,
    strength_mpa: float,
    fy_mpa: float,
) -> Limit:
    """Return the least tension steel of a rectangular beam.

    Args:
        rule: The code's rule.
        width_mm: Width of the web. [mm]
        depth_mm: Overall depth. [mm]
        effective_depth_mm: Effective depth. [mm]
        strength_mpa: Concrete strength on the code's specimen. [MPa]
        fy_mpa: Yield strength. [MPa]

    Returns:
        Least area. [mm2]

    Raises:
        ValueError: If a length or strength is zero or less.

    Source:
        IS 456:2000 26.5.1.1; ACI 318-19 9.6.1.2; EN 1992-1-1:2004 9.2.1.1(1); AS 3600:2018 8.1.6.1.
    """
    _above_zero(width_mm=width_mm, depth_mm=depth_mm, effective_depth_mm=effective_depth_mm)
    _above_zero(strength_mpa=strength_mpa, fy_mpa=fy_mpa)
    match rule:
        case ByYield():
            share = rule.times / fy_mpa
        case ByRoots():
            unit = MPA_PER_PSI if rule.stress_unit == "psi" else 1.0
            share = max(rule.root_times * math.sqrt(strength_mpa / unit), rule.least) * unit / fy_mpa
        case ByTensileStrength():
            share = _tensile_share(rule, strength_mpa, fy_mpa)
        case ByFlexuralStrength():
            slope = depth_mm / effective_depth_mm
            share = _flexural_share(rule, rule.times["rectangular"], slope, strength_mpa, fy_mpa)
    return limit(share * width_mm * effective_depth_mm, "mm2", rule)


def most_tension_steel(rule: MostSteel, *, width_mm: float, depth_mm: float) -> Limit:
    """Return the largest tension steel of a beam.

    Args:
        rule: Share of the gross section.
        width_mm: Width. [mm]
        depth_mm: Overall depth. [mm]

    Returns:
        Largest area. [mm2]

    Source:
        IS 456:2000 26.5.1.1(b); EN 1992-1-1:2004 9.2.1.1(3) (from memory).
    """
    return limit(rule.share * width_mm * depth_mm, "mm2", rule)


def mean_tensile_strength_mpa(rule: TensileStrength, *, strength_mpa: float) -> float:
    """Mean tensile strength of concrete.

    Args:
        rule: The code's values.
        strength_mpa: Characteristic cylinder strength, fck. [MPa]

    Returns:
        f_ctm. [MPa]

    Source:
        EN 1992-1-1:2004, table 3.1: 0.30 fck^(2/3) up to C50/60, above it 2.12 ln(1 + fcm/10) with fcm = fck + 8.
    """
    if strength_mpa <= rule.up_to_mpa:
        return float(rule.times * strength_mpa**rule.power)
    return rule.log_times * math.log(1 + (strength_mpa + rule.mean_plus_mpa) / rule.log_over_mpa)


def _tensile_share(rule: ByTensileStrength, strength_mpa: float, fy_mpa: float) -> float:
    return max(
        rule.times * mean_tensile_strength_mpa(rule.tension, strength_mpa=strength_mpa) / fy_mpa, rule.least
    )


def _flexural_share(
    rule: ByFlexuralStrength, times: float, slope: float, strength_mpa: float, fy_mpa: float
) -> float:
    return times * slope**2 * rule.root_times * math.sqrt(strength_mpa) / fy_mpa


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if value <= 0:
            raise ValueError(f"{name} is {value}; it is above zero.")
