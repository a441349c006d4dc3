"""What a deviation does to the section: information for the engineer of record, never a reason to accept it.

Only ratios to the drawing are given. They compare one cross-section as measured with the same one as drawn; they know no
load, no span and no neighbour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pydantic import BaseModel

from verifier.metrology.measurement import Measurand, Measurement

STRIP_MM = 1000.0
STRESS_BLOCK = 0.85
"""Mean stress of the rectangular block over the cylinder strength (ACI 318-19, 22.2.2.4.1, from memory)."""
RUN_OF_GAPS = 3
"""Neighbouring gaps averaged for the local steel area. Common practice, no source."""


class Consequence(BaseModel, frozen=True, extra="forbid"):
    """One quantity as drawn and as found; ``ratio`` is found over drawn."""

    what: str
    drawn: float
    found: float
    unit: str
    words: str

    @property
    def ratio(self) -> float:
        """Found over drawn."""
        return self.found / self.drawn


@dataclass(frozen=True, slots=True)
class Section:
    """One layer's cross-section as drawn, per metre width.

    ``yield_mpa`` and ``concrete_mpa`` are characteristic strengths; None where the drawing does not give them.
    """

    bar_area_mm2: float
    bar_diameter_mm: float
    spacing_mm: float
    effective_depth_mm: float
    cover_mm: float
    yield_mpa: float | None = None
    concrete_mpa: float | None = None


def steel_area_mm2_per_m(bar_area_mm2: float, spacing_mm: float) -> float:
    """Steel area of a metre width.

    Args:
        bar_area_mm2: Area of one bar. [mm2]
        spacing_mm: Mean spacing, centre to centre. [mm], > 0

    Returns:
        Area. [mm2/m]

    Source:
        Geometry; tabulated in SP 16:1980, table 96.
    """
    return STRIP_MM * bar_area_mm2 / spacing_mm


def bending_resistance_kn_m(
    steel_mm2: float, effective_depth_mm: float, *, yield_mpa: float, concrete_mpa: float
) -> float:
    """Nominal bending resistance of a metre strip with tension steel only, steel yielding.

    Args:
        steel_mm2: Tension steel of the strip. [mm2]
        effective_depth_mm: d. [mm]
        yield_mpa: Yield strength of the steel. [MPa]
        concrete_mpa: Compressive strength of the concrete. [MPa]

    Returns:
        As fy (d - a/2) with a = As fy / (0.85 fc b), no partial factors. [kNm/m]

    Source:
        Equilibrium with a rectangular stress block; ACI 318-19, 22.2.2.4 (from memory).
    """
    force = steel_mm2 * yield_mpa
    block = force / (STRESS_BLOCK * concrete_mpa * STRIP_MM)
    return force * (effective_depth_mm - block / 2) / 1e6


def consequences_of(
    measurand: Measurand, measurements: Sequence[Measurement], section: Section | None
) -> tuple[Consequence, ...]:
    """Say what the measured values mean for the section.

    Args:
        measurand: What was measured.
        measurements: The values of one finding; gaps in order across the layer.
        section: The layer as drawn, None where it is not known.

    Returns:
        Steel area, effective depth and bending resistance, where they can be told. Information only.
    """
    if section is None or not measurements:
        return ()
    area, depth, what = section.bar_area_mm2, section.effective_depth_mm, ""
    spacing = section.spacing_mm
    if measurand is Measurand.SINGLE_GAP:
        spacing = _widest_run(measurements)
        run = min(RUN_OF_GAPS, len(measurements))
        what = " over the widest gap" if run == 1 else f" over the widest {run} neighbouring gaps"
    elif measurand is Measurand.MEAN_SPACING:
        spacing = max(m.value for m in measurements)
    elif measurand is Measurand.BAR_DIAMETER:
        area = area * (min(m.value for m in measurements) / section.bar_diameter_mm) ** 2
    elif measurand is Measurand.COVER:
        return _of_cover(measurements, section)
    else:
        return ()
    drawn = steel_area_mm2_per_m(section.bar_area_mm2, section.spacing_mm)
    found = steel_area_mm2_per_m(area, spacing)
    told = (
        Consequence(
            what="steel area per metre",
            drawn=drawn,
            found=found,
            unit="mm2/m",
            words=f"Steel area{what}: {found:.0f} of {drawn:.0f} mm²/m drawn ({100 * found / drawn:.0f} %).",
        ),
    )
    return told + _of_bending(drawn, found, depth, depth, section)


def _widest_run(measurements: Sequence[Measurement]) -> float:
    values = [m.value for m in measurements]
    run = min(RUN_OF_GAPS, len(values))
    return max(math.fsum(values[i : i + run]) / run for i in range(len(values) - run + 1))


def _of_cover(measurements: Sequence[Measurement], section: Section) -> tuple[Consequence, ...]:
    """More cover than drawn costs effective depth; less costs durability and fire resistance, which no ratio tells."""
    depth = section.effective_depth_mm - (max(m.value for m in measurements) - section.cover_mm)
    share = 100 * depth / section.effective_depth_mm
    words = f"Effective depth {depth:.0f} of {section.effective_depth_mm:.0f} mm drawn ({share:.0f} %)."
    told = (
        Consequence(
            what="effective depth", drawn=section.effective_depth_mm, found=depth, unit="mm", words=words
        ),
    )
    steel = steel_area_mm2_per_m(section.bar_area_mm2, section.spacing_mm)
    return told + _of_bending(steel, steel, section.effective_depth_mm, depth, section)


def _of_bending(
    drawn_mm2: float, found_mm2: float, drawn_depth_mm: float, found_depth_mm: float, section: Section
) -> tuple[Consequence, ...]:
    if section.yield_mpa is None or section.concrete_mpa is None:
        return ()
    strengths = {"yield_mpa": section.yield_mpa, "concrete_mpa": section.concrete_mpa}
    drawn = bending_resistance_kn_m(drawn_mm2, drawn_depth_mm, **strengths)
    found = bending_resistance_kn_m(found_mm2, found_depth_mm, **strengths)
    words = f"Bending resistance of the metre strip about {100 * found / drawn:.0f} % of that drawn (no partial factors, no redistribution)."
    return (Consequence(what="bending resistance", drawn=drawn, found=found, unit="kNm/m", words=words),)
