"""Bars: the size lists of the standards, area, mass and area per metre width."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.codes.limit import Limit, Provision

Positive = Annotated[float, Field(gt=0)]

KG_PER_MM3_TO_M = 1e-6
"""A bar of 1 mm2 and 1 m length has 1e-6 m3."""


@dataclass(frozen=True, slots=True)
class BarSize:
    """One line of a size list.

    Attributes:
        name: As the standard writes it: ``12``, ``#4``, ``15M``.
        diameter_mm: Nominal diameter.
        area_mm2: Nominal area.
        kg_per_m: Nominal mass per metre.
        system: Which list it stands in.
        metric_name: Soft-metric designation of an ASTM size, else empty.
    """

    name: str
    diameter_mm: float
    area_mm2: float
    kg_per_m: float
    system: Literal["metric", "astm", "csa"]
    metric_name: str = ""


class SizeLine(BaseModel, frozen=True, extra="forbid"):
    """One bar size in the data file; area and mass follow from the diameter where the standard has no own figure."""

    name: str
    diameter_mm: Positive
    area_mm2: Positive | None = None
    kg_per_m: Positive | None = None
    metric_name: str = ""
    inch: Positive | None = None
    area_in2: Positive | None = None


class SizeList(Provision, frozen=True):
    """The sizes of one standard."""

    name: Literal["metric", "astm", "csa"]
    standard: str
    sizes: tuple[SizeLine, ...]


class Density(Provision, frozen=True):
    """Density of steel used for nominal masses."""

    kg_per_m3: Positive


class MassBand(BaseModel, frozen=True, extra="forbid"):
    """Mass tolerance for diameters up to a limit."""

    up_to_mm: Positive
    percent: Positive


class MassTolerance(Provision, frozen=True):
    """By how much the mass per metre may differ from nominal."""

    standard: str
    bands: tuple[MassBand, ...]
    minus_only: bool = False


class BarData(BaseModel, frozen=True, extra="forbid"):
    """All of the bar data file."""

    title: str
    density: Density
    list: tuple[SizeList, ...]
    mass_tolerance: tuple[MassTolerance, ...]


@cache
def bar_data() -> BarData:
    """Read the shipped bar data.

    Returns:
        Size lists, density and mass tolerances with their provenance.
    """
    text = files("verifier.codes").joinpath("data/bars.toml").read_text(encoding="utf-8")
    return BarData.model_validate(tomllib.loads(text))


@cache
def bar_sizes() -> tuple[BarSize, ...]:
    """Return every bar size known, list by list, thinnest first within a list.

    Returns:
        Sizes of all lists.

    Source:
        IS 1786:2008, EN 10080:2005, AS/NZS 4671:2019 (metric); ASTM A615/A615M; CSA G30.18.
    """
    data = bar_data()
    return tuple(
        BarSize(
            line.name,
            line.diameter_mm,
            line.area_mm2 or round_area_mm2(line.diameter_mm),
            line.kg_per_m or mass_kg_per_m(line.diameter_mm, density_kg_per_m3=data.density.kg_per_m3),
            sizes.name,
            line.metric_name,
        )
        for sizes in data.list
        for line in sizes.sizes
    )


def round_area_mm2(diameter_mm: float) -> float:
    """Area of a round bar.

    Args:
        diameter_mm: Nominal diameter. [mm]

    Returns:
        pi d^2 / 4. [mm2]

    Raises:
        ValueError: If the diameter is zero or less.

    Source:
        Geometry.
    """
    if diameter_mm <= 0:
        raise ValueError(f"diameter_mm is {diameter_mm}; a bar has a diameter above zero.")
    return math.pi * diameter_mm**2 / 4


def mass_kg_per_m(diameter_mm: float, *, density_kg_per_m3: float) -> float:
    """Mass per metre of a round bar.

    Args:
        diameter_mm: Nominal diameter. [mm]
        density_kg_per_m3: Density of steel. [kg/m3]

    Returns:
        Nominal mass. [kg/m]

    Source:
        IS 1786:2008 and BS 4449:2005: nominal mass from 0.00785 kg/mm2 per metre.
    """
    return round_area_mm2(diameter_mm) * KG_PER_MM3_TO_M * density_kg_per_m3


def area_mm2_per_m(area_mm2: float, spacing_mm: float) -> float:
    """Steel area per metre width of a slab.

    Args:
        area_mm2: Area of one bar. [mm2]
        spacing_mm: Centre-to-centre spacing. [mm]

    Returns:
        1000 a / s. [mm2/m]

    Raises:
        ValueError: If the spacing is zero or less.

    Source:
        SP 16:1980 table 96 tabulates the same quotient.
    """
    if spacing_mm <= 0:
        raise ValueError(f"spacing_mm is {spacing_mm}; a spacing is above zero.")
    return 1000.0 * area_mm2 / spacing_mm


def bars_in_width(width_mm: float, spacing_mm: float, *, edge_mm: float) -> int:
    """Count the bars that a spacing asks for in a width.

    Args:
        width_mm: Overall width across the bars. [mm]
        spacing_mm: Centre-to-centre spacing. [mm]
        edge_mm: Distance from each edge to the axis of the first bar. [mm]

    Returns:
        floor((W - 2 edge) / s) + 1, at least 1 where a bar has room, else 0.

    Source:
        Common practice, no source.
    """
    clear_mm = width_mm - 2 * edge_mm
    if spacing_mm <= 0:
        raise ValueError(f"spacing_mm is {spacing_mm}; a spacing is above zero.")
    if clear_mm < 0:
        return 0
    # A stretch that is a whole number of spacings must not lose its last bar to binary rounding.
    return math.floor(clear_mm / spacing_mm + 1e-9) + 1


def mass_band_percent(tolerance: MassTolerance, diameter_mm: float) -> Limit:
    """Allowed deviation of mass per metre.

    Args:
        tolerance: The standard's bands.
        diameter_mm: Nominal diameter. [mm]

    Returns:
        Deviation in percent of nominal; below nominal only where the note says so.

    Raises:
        ValueError: If the standard has no band for this diameter.

    Source:
        IS 1786:2008 7.3; EN 10080:2005; ASTM A615, as the tolerance itself names.
    """
    for band in tolerance.bands:
        if diameter_mm <= band.up_to_mm:
            note = "below nominal only" if tolerance.minus_only else tolerance.note
            return Limit(band.percent, "%", tolerance.clause, tolerance.standard, tolerance.status, note)
    raise ValueError(f"{tolerance.standard} has no mass band for {diameter_mm:g} mm.")
