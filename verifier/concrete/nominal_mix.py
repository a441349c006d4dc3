"""Nominal mixes of a code: proportions by volume, and what a bag of cement may carry."""

from __future__ import annotations

from functools import cache
from typing import Annotated

from pydantic import BaseModel, Field

from verifier.codes.cited import Cited, Figure, read_data
from verifier.errors import BadInput

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class NominalMix(BaseModel, frozen=True, extra="forbid"):
    """One row of the table, per bag of 50 kg; the parts by volume are custom."""

    grade: str
    aggregate_kg_per_bag: float
    water_l_per_bag: float
    usual_parts: tuple[float, float, float]


class NominalMixes(Cited, frozen=True):
    """The table of nominal mixes."""

    mixes: tuple[NominalMix, ...]


class StackRule(Cited, frozen=True):
    """How bags are stacked."""

    highest_bags: int
    crosswise_above_bags: int
    widest_bags: int
    gap_to_wall_mm: float
    off_floor_mm: float
    test_after_days: int


class SiteMixFigures(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``data/site_mix.toml``."""

    table9: NominalMixes
    dry_factor: Figure
    cement_density: Figure
    bag: Figure
    box: Figure
    sand_density: Figure
    stone_density: Figure
    mixing_time: Figure
    stack: StackRule


class Proportions(BaseModel, frozen=True, extra="forbid"):
    """Parts by loose volume, cement first, and the water : cement ratio that governs."""

    cement: Positive = 1.0
    sand: Positive
    stone: Positive
    water_cement: Annotated[float, Field(gt=0.2, lt=1.5)]


@cache
def site_mix_figures() -> SiteMixFigures:
    """Return nominal mixes and trade figures.

    Returns:
        The checked data.
    """
    return read_data("verifier.concrete", "site_mix.toml", SiteMixFigures)


def nominal_mix(grade: str) -> NominalMix:
    """Return a nominal mix.

    Args:
        grade: Grade on the drawing, up to M20.

    Returns:
        Its row.

    Raises:
        BadInput: If the grade has no nominal mix.

    Source:
        IS 456:2000, table 9.
    """
    mixes = site_mix_figures().table9.mixes
    for mix in mixes:
        if mix.grade == grade:
            return mix
    raise BadInput(
        f"There is no nominal mix for {grade}.",
        where="site mix",
        todo=f"Nominal mixes are {', '.join(m.grade for m in mixes)}; a higher grade needs a designed mix.",
    )


def nominal_proportions(grade: str, *, exposure_water_cement: float | None = None) -> Proportions:
    """Turn a nominal mix into parts with the water : cement ratio that governs.

    Args:
        grade: Grade on the drawing, up to M20.
        exposure_water_cement: Cap for the exposure, which governs if it is lower than the table's.

    Returns:
        Parts by volume and the ratio.

    Raises:
        BadInput: If the grade has no nominal mix.

    Source:
        IS 456:2000, tables 5 and 9.
    """
    mix = nominal_mix(grade)
    ratio = mix.water_l_per_bag / site_mix_figures().bag.value
    cement, sand, stone = mix.usual_parts
    capped = ratio if exposure_water_cement is None else min(ratio, exposure_water_cement)
    return Proportions(cement=cement, sand=sand, stone=stone, water_cement=capped)
