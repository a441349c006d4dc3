"""Pitch of cover blocks and chairs, as standards and handbooks on spacers have it."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, Field

from verifier.codes.limit import Limit, Provision, limit

Positive = Annotated[float, Field(gt=0)]


class Pitch(Provision, frozen=True):
    """A multiple of the supported bar with a cap, and the thinnest bar that a chair is bent from. [-, mm]."""

    cap_mm: Positive
    times_bar: Positive | None = None
    least_bar_mm: Positive | None = None


class SupportRules(BaseModel, frozen=True, extra="forbid"):
    """Blocks under slab bars, under fabric and at beam links; chairs between mats."""

    block_slab: Pitch
    block_fabric: Pitch | None = None
    block_beam: Pitch | None = None
    chair: Pitch | None = None


def largest_pitch(rule: Pitch, *, bar_mm: float) -> Limit:
    """Return the largest pitch of blocks or chairs along a bar.

    Args:
        rule: Multiple and cap.
        bar_mm: Diameter of the bar that rests on them. [mm]

    Returns:
        Largest pitch. [mm]

    Raises:
        ValueError: If the diameter is zero or less.

    Source:
        BS 7973-2:2001 section 8; handbook practice where the rule says so.
    """
    if bar_mm <= 0:
        raise ValueError(f"bar_mm is {bar_mm}; it is above zero.")
    pitch = rule.cap_mm if rule.times_bar is None else min(rule.times_bar * bar_mm, rule.cap_mm)
    return limit(pitch, "mm", rule)
