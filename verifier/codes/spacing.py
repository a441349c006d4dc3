"""Largest spacing, least clear distance, thickest bar."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.codes.limit import Limit, Provision, limit

NotNegative = Annotated[float, Field(ge=0)]
Positive = Annotated[float, Field(gt=0)]


class LargestSpacing(Provision, frozen=True):
    """A multiple of a depth, with a cap. [-, mm]."""

    times: Positive
    of: Literal["effective depth", "overall depth"]
    cap_mm: Positive


class ClearDistance(Provision, frozen=True):
    """The largest of a multiple of the bar, a multiple of the aggregate plus a length, and a floor. [-, mm]."""

    times_bar: NotNegative
    times_aggregate: NotNegative
    plus_aggregate_mm: NotNegative
    floor_mm: NotNegative


class LargestBar(Provision, frozen=True):
    """Bar diameter as a share of slab thickness."""

    share_of_depth: Positive


class CrackByGrade(Provision, frozen=True):
    """Clear distance of tension bars of beams, by steel grade. [mm]."""

    form: Literal["by steel grade"]
    clear_mm: dict[str, Positive]


class CrackByStress(Provision, frozen=True):
    """Centre-to-centre spacing of tension bars from steel stress and clear cover. [MPa, mm]."""

    form: Literal["by steel stress"]
    reference_mpa: Positive
    first_mm: Positive
    second_mm: Positive
    times_cover: Positive
    share_of_yield: Positive


class Spacings(BaseModel, frozen=True, extra="forbid"):
    """All spacing rules of a code. ``critical`` is where the moment is largest or point loads stand."""

    main: LargestSpacing
    distribution: LargestSpacing
    main_critical: LargestSpacing | None = None
    distribution_critical: LargestSpacing | None = None
    clear_horizontal: ClearDistance
    clear_vertical: ClearDistance | None = None
    largest_bar: LargestBar | None = None
    crack: Annotated[CrackByGrade | CrackByStress, Field(discriminator="form")] | None = None


def largest_spacing(rule: LargestSpacing, *, effective_depth_mm: float, depth_mm: float) -> Limit:
    """Return the largest centre-to-centre spacing of slab bars.

    Args:
        rule: Multiple, depth it refers to, cap.
        effective_depth_mm: Effective depth of the layer. [mm]
        depth_mm: Overall thickness. [mm]

    Returns:
        Largest spacing. [mm]

    Raises:
        ValueError: If a depth is zero or less, or the effective depth exceeds the thickness.

    Source:
        IS 456:2000 26.3.3(b); ACI 318-19 7.7.2.3, 8.7.2.2, 24.4.3.3; EN 1992-1-1:2004 9.3.1.1(3); AS 3600:2018 9.5.
    """
    if not 0 < effective_depth_mm <= depth_mm:
        raise ValueError(f"effective_depth_mm {effective_depth_mm} is not between 0 and depth_mm {depth_mm}.")
    depth = effective_depth_mm if rule.of == "effective depth" else depth_mm
    note = f"The smaller of {rule.times:g} x {rule.of} ({depth:g} mm) and {rule.cap_mm:g} mm."
    return limit(min(rule.times * depth, rule.cap_mm), "mm", rule, note=note)


def least_clear_distance(rule: ClearDistance, *, bar_mm: float, aggregate_mm: float) -> Limit:
    """Return the least clear distance between parallel bars.

    Args:
        rule: Multiples and floor.
        bar_mm: Diameter of the thicker bar. [mm]
        aggregate_mm: Largest aggregate. [mm]

    Returns:
        Least distance, surface to surface. [mm]

    Raises:
        ValueError: If a length is zero or less.

    Source:
        IS 456:2000 26.3.2; ACI 318-19 25.2; EN 1992-1-1:2004 8.2(2); AS 3600:2018 17.1.3.
    """
    if bar_mm <= 0 or aggregate_mm <= 0:
        raise ValueError(f"bar_mm {bar_mm}, aggregate_mm {aggregate_mm}: each is above zero.")
    stone = rule.times_aggregate * aggregate_mm + rule.plus_aggregate_mm
    return limit(max(rule.times_bar * bar_mm, stone, rule.floor_mm), "mm", rule)


def largest_bar(rule: LargestBar, *, depth_mm: float) -> Limit:
    """Return the thickest bar allowed in a slab.

    Args:
        rule: Share of the thickness.
        depth_mm: Overall thickness. [mm]

    Returns:
        Diameter. [mm]

    Source:
        IS 456:2000 26.5.2.2.
    """
    return limit(rule.share_of_depth * depth_mm, "mm", rule)


def crack_spacing(rule: CrackByStress, *, fy_mpa: float, clear_cover_mm: float) -> Limit:
    """Return the largest spacing of the bars nearest the tension face.

    Args:
        rule: Reference stress, lengths, multiple of cover.
        fy_mpa: Yield strength; the stress in service is taken as a share of it. [MPa]
        clear_cover_mm: Least distance from the bar to the tension face. [mm]

    Returns:
        Largest centre-to-centre spacing. [mm]

    Source:
        ACI 318-19 24.3.2.
    """
    ratio = rule.reference_mpa / (rule.share_of_yield * fy_mpa)
    first_mm = rule.first_mm * ratio - rule.times_cover * clear_cover_mm
    return limit(min(first_mm, rule.second_mm * ratio), "mm", rule)


def crack_clear_distance(rule: CrackByGrade, *, grade: str) -> Limit | None:
    """Return the largest clear distance between tension bars of a beam.

    Args:
        rule: Table by steel grade.
        grade: Steel grade.

    Returns:
        Clear distance, or None for a grade that the table does not list. [mm]

    Source:
        IS 456:2000 table 15, no redistribution (from memory).
    """
    return limit(rule.clear_mm[grade], "mm", rule) if grade in rule.clear_mm else None
