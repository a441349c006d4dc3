"""Rise and cut length of bent-up bars."""

from __future__ import annotations

import math
from typing import Annotated

from pydantic import Field

from verifier.codes.limit import Limit, Provision, limit

Positive = Annotated[float, Field(gt=0)]


class BentUpPractice(Provision, frozen=True):
    """Extra length per crank at 45 degrees as a share of the rise, and deductions per bend in bar diameters."""

    rise_factor: Positive
    deduct_45_bars: Positive
    deduct_90_bars: Positive


def rise_mm(*, depth_mm: float, cover_top_mm: float, cover_bottom_mm: float, bar_mm: float) -> float:
    """Return the rise of a bent-up bar, axis to axis.

    Args:
        depth_mm: Thickness of the slab. [mm]
        cover_top_mm: Cover at the top. [mm]
        cover_bottom_mm: Cover at the bottom. [mm]
        bar_mm: Bar diameter. [mm]

    Returns:
        H = D - covers - d. [mm]

    Raises:
        ValueError: If nothing is left to rise.

    Source:
        Geometry; the same H as in published cut-length examples.
    """
    rise = depth_mm - cover_top_mm - cover_bottom_mm - bar_mm
    if rise <= 0:
        raise ValueError(f"Covers and bar leave no rise in {depth_mm:g} mm.")
    return rise


def extra_length_mm(*, rise: float, angle_deg: float) -> float:
    """Return by how much a crank is longer than its plan length.

    Args:
        rise: Rise, axis to axis. [mm]
        angle_deg: Slope of the crank. [deg], between 0 and 90

    Returns:
        H / sin a - H / tan a. [mm]

    Source:
        Geometry.
    """
    angle = math.radians(angle_deg)
    return rise / math.sin(angle) - rise / math.tan(angle)


def cut_length(
    rule: BentUpPractice,
    *,
    clear_span_mm: float,
    development_mm: float,
    rise: float,
    bar_mm: float,
    cranks: int = 2,
    bends_90: int = 2,
) -> Limit:
    """Return the cut length of a bar bent up at 45 degrees, as site practice counts it.

    Args:
        rule: Factor and deductions.
        clear_span_mm: Clear span. [mm]
        development_mm: Length into each support. [mm]
        rise: Rise, axis to axis. [mm]
        bar_mm: Bar diameter. [mm]
        cranks: Number of cranks, two bends of 45 degrees each.
        bends_90: Number of right-angle bends.

    Returns:
        Cut length. [mm]

    Source:
        Common practice in India (published worked examples); not a code.
    """
    added = 2 * development_mm + cranks * rule.rise_factor * rise
    deducted = bar_mm * (2 * cranks * rule.deduct_45_bars + bends_90 * rule.deduct_90_bars)
    return limit(clear_span_mm + added - deducted, "mm", rule)
