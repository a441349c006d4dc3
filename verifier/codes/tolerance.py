"""Placing tolerances: cover, effective depth, spacing, ends of bars, laps, sections."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from verifier.codes.limit import Limit, limit
from verifier.codes.tolerance_shapes import (
    BarEnds,
    Curve,
    DepthTolerance,
    FixedCover,
    InterpolatedCover,
    LapByBar,
    LapShare,
    LargerOf,
    NoneStated,
    ReductionByDepth,
    SectionBySize,
    SectionInterpolated,
    SmallerOf,
    ThicknessMinus,
)


@dataclass(frozen=True, slots=True)
class Range:
    """Least and largest value allowed; None where the document sets none."""

    least: Limit | None
    most: Limit | None


def cover_range(
    rule: FixedCover | ReductionByDepth | InterpolatedCover,
    *,
    nominal_mm: float,
    depth_mm: float,
    effective_depth_mm: float,
    formed_soffit: bool,
    design_deviation_mm: float | None = None,
    tolerance_class: Literal[1, 2] = 1,
) -> Range:
    """Return the least and largest cover allowed in place.

    Args:
        rule: The code's deviation of cover.
        nominal_mm: Nominal (specified) cover. [mm]
        depth_mm: Depth of the section. [mm]
        effective_depth_mm: Effective depth. [mm]
        formed_soffit: Whether the cover lies at a formed soffit.
        design_deviation_mm: Deviation that nominal cover holds, EN 1992-1-1 only; None takes the rule's. [mm]
        tolerance_class: EN 13670 only.

    Returns:
        Least cover, and largest cover where the code sets one. [mm]

    Raises:
        ValueError: If a length is negative or the nominal cover is zero or less.

    Source:
        IS 456:2000 12.3.2; ACI 318-19 26.6.2.1; EN 13670:2009 10.6; AS 3600:2018 17.5.3.
    """
    if nominal_mm <= 0 or depth_mm <= 0 or effective_depth_mm <= 0:
        raise ValueError(
            f"nominal_mm {nominal_mm}, depth_mm {depth_mm}, effective_depth_mm {effective_depth_mm}: each is above zero."
        )
    match rule:
        case FixedCover():
            return Range(
                limit(nominal_mm - rule.minus_mm, "mm", rule), limit(nominal_mm + rule.plus_mm, "mm", rule)
            )
        case ReductionByDepth():
            return Range(_reduced(rule, nominal_mm, effective_depth_mm, formed_soffit=formed_soffit), None)
        case InterpolatedCover():
            plus = cover_increase(rule, depth_mm=depth_mm, tolerance_class=tolerance_class)
            minus_mm = rule.design_minus_mm if design_deviation_mm is None else design_deviation_mm
            return Range(
                limit(nominal_mm - minus_mm, "mm", rule),
                limit(nominal_mm + plus.value, "mm", rule),
            )


def cover_increase(rule: InterpolatedCover, *, depth_mm: float, tolerance_class: Literal[1, 2] = 1) -> Limit:
    """Return by how much cover may exceed nominal.

    Args:
        rule: Points of both tolerance classes.
        depth_mm: Depth of the section, h. [mm]
        tolerance_class: 1 unless the execution specification says 2.

    Returns:
        Increase, straight between the points and constant beyond them. [mm]

    Source:
        EN 13670:2009, 10.6.
    """
    return limit(
        _on_curve(rule.class_1_plus_mm if tolerance_class == 1 else rule.class_2_plus_mm, depth_mm),
        "mm",
        rule,
    )


def effective_depth_deviation(
    rule: DepthTolerance | NoneStated, *, effective_depth_mm: float
) -> Limit | None:
    """Return the allowed deviation of effective depth, either way.

    Args:
        rule: Bands by effective depth.
        effective_depth_mm: Effective depth on the drawing. [mm]

    Returns:
        Deviation, or None where the code states none. [mm]

    Source:
        IS 456:2000 12.3.1; ACI 318-19 26.6.2.1(a).
    """
    if isinstance(rule, NoneStated):
        return None
    band = next(band for band in rule.bands if band.up_to_mm is None or effective_depth_mm <= band.up_to_mm)
    return limit(band.plus_minus_mm, "mm", rule)


def spacing_deviation(rule: LargerOf | NoneStated, *, spacing_mm: float) -> Limit | None:
    """Return the allowed deviation of a single spacing in a slab, either way.

    Args:
        rule: Fixed deviation and share.
        spacing_mm: Spacing on the drawing. [mm]

    Returns:
        Deviation, or None where the code states none. [mm]

    Source:
        ACI 117-10 section 2.2; AS 3600:2018 17.5.3.
    """
    if isinstance(rule, NoneStated):
        return None
    return limit(max(rule.fixed_mm, rule.share * spacing_mm), "mm", rule)


def link_spacing_deviation(
    rule: SmallerOf | LargerOf | NoneStated, *, spacing_mm: float, depth_mm: float
) -> Limit | None:
    """Return the allowed deviation of the spacing of links, either way.

    Args:
        rule: Fixed deviation and share.
        spacing_mm: Spacing on the drawing. [mm]
        depth_mm: Depth of the beam. [mm]

    Returns:
        Deviation, or None where the code states none. [mm]

    Source:
        ACI 117-10 section 2.2; AS 3600:2018 17.5.3.
    """
    match rule:
        case NoneStated():
            return None
        case SmallerOf():
            return limit(min(rule.fixed_mm, rule.share_of_depth * depth_mm), "mm", rule)
        case LargerOf():
            return limit(max(rule.fixed_mm, rule.share * spacing_mm), "mm", rule)


def bar_end_deviation(rule: BarEnds | NoneStated, *, discontinuous: bool) -> Limit | None:
    """Return the allowed deviation of ends and bends along a bar, either way.

    Args:
        rule: The two figures.
        discontinuous: Whether it is at the discontinuous end of a member.

    Returns:
        Deviation, or None where the code states none. [mm]

    Source:
        ACI 318-19 26.6.2.1(b); AS 3600:2018 17.5.3.
    """
    if isinstance(rule, NoneStated):
        return None
    return limit(rule.discontinuous_mm if discontinuous else rule.elsewhere_mm, "mm", rule)


def lap_shortfall(rule: LapByBar | LapShare | NoneStated, *, bar_mm: float, lap_mm: float) -> Limit | None:
    """Return by how much a lap may be shorter than drawn.

    Args:
        rule: By bar size, or a share.
        bar_mm: Bar diameter. [mm]
        lap_mm: Lap on the drawing. [mm]

    Returns:
        Shortfall, or None where the code states none. [mm]

    Raises:
        ValueError: If the bar is thicker than any that the code lists.

    Source:
        ACI 117-10 section 2.2; EN 13670:2009 10.6.
    """
    match rule:
        case NoneStated():
            return None
        case LapShare():
            return limit(rule.minus_share * lap_mm, "mm", rule)
        case LapByBar():
            for band in rule.bands:
                if bar_mm <= band.up_to_bar_mm:
                    return limit(band.minus_mm, "mm", rule)
            raise ValueError(f"{rule.edition} {rule.clause} lists no bar of {bar_mm:g} mm.")


def section_range(
    rule: SectionBySize | SectionInterpolated | NoneStated,
    *,
    size_mm: float,
    tolerance_class: Literal[1, 2] = 1,
) -> Range | None:
    """Return the least and largest dimension of a section.

    Args:
        rule: By size, or interpolated.
        size_mm: Dimension on the drawing. [mm]
        tolerance_class: EN 13670 only.

    Returns:
        Least and largest dimension, or None where the code states none. [mm]

    Source:
        IS 456:2000 11.1; ACI 117-10 4.5; EN 13670:2009 10.6.
    """
    match rule:
        case NoneStated():
            return None
        case SectionBySize():
            band = next(band for band in rule.bands if band.up_to_mm is None or size_mm <= band.up_to_mm)
            plus_mm, minus_mm = band.plus_mm, band.minus_mm
        case SectionInterpolated():
            curve = rule.class_1_plus_minus_mm if tolerance_class == 1 else rule.class_2_plus_minus_mm
            plus_mm = minus_mm = _on_curve(curve, size_mm)
    return Range(limit(size_mm - minus_mm, "mm", rule), limit(size_mm + plus_mm, "mm", rule))


def least_thickness(rule: ThicknessMinus | NoneStated, *, thickness_mm: float) -> Limit | None:
    """Return the least thickness of a slab in place.

    Args:
        rule: The reduction.
        thickness_mm: Thickness on the drawing. [mm]

    Returns:
        Least thickness, or None where the code states none. [mm]

    Source:
        ACI 117-10 4.5.
    """
    return None if isinstance(rule, NoneStated) else limit(thickness_mm - rule.minus_mm, "mm", rule)


def _reduced(rule: ReductionByDepth, nominal_mm: float, depth_mm: float, *, formed_soffit: bool) -> Limit:
    band = next(band for band in rule.bands if band.up_to_mm is None or depth_mm <= band.up_to_mm)
    reductions = [band.minus_mm, rule.share_of_cover * nominal_mm]
    if formed_soffit:
        reductions.append(rule.soffit_minus_mm)
    return limit(nominal_mm - min(reductions), "mm", rule)


def _on_curve(curve: Curve, at: float) -> float:
    """Straight between the points, constant before the first and after the last."""
    if at <= curve[0][0]:
        return curve[0][1]
    for (x0, y0), (x1, y1) in pairwise(curve):
        if at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return curve[-1][1]
