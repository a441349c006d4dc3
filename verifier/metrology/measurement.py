"""A measurement: value, standard uncertainty, unit, what was measured where, how, and from which original."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import BaseModel, Field

COVERAGE_FACTOR_95 = 1.959963984540054
"""Standard normal quantile for a two-sided interval of 95 % (JCGM 100:2008, table G.1)."""


class Measurand(StrEnum):
    """The quantities that this project compares with a drawing or a code."""

    SINGLE_GAP = "single_gap"
    MEAN_SPACING = "mean_spacing"
    BAR_COUNT = "bar_count"
    BAR_DIAMETER = "bar_diameter"
    COVER = "cover"
    LAP_LENGTH = "lap_length"
    BEND_POINT = "bend_point"
    BEND_RISE = "bend_rise"
    BLOCK_PITCH = "block_pitch"
    CHAIR_PITCH = "chair_pitch"
    CHAIR_HEIGHT = "chair_height"
    EDGE_DISTANCE = "edge_distance"
    ELEMENT_WIDTH = "element_width"
    ELEMENT_DEPTH = "element_depth"


class Component(BaseModel, frozen=True, extra="forbid"):
    """One line of an uncertainty budget, already multiplied by its sensitivity (JCGM 100:2008, 5.1.3)."""

    name: str
    standard_uncertainty: Annotated[float, Field(ge=0)]


class Trace(BaseModel, frozen=True, extra="forbid"):
    """Where a measurement comes from: the way back from a finding to the pixels or to the line of a reading.

    ``original_sha256`` names the bytes as received. ``line_px`` holds points of the upright full-size photo.
    ``row`` is the row of a tape file, counted from 1 without its heading.
    """

    original_sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    original_name: str
    line_px: tuple[tuple[float, float], ...] = ()
    row: int | None = None


class Measurement(BaseModel, frozen=True, extra="forbid"):
    """One measured value with its doubt.

    ``element``, ``layer`` and ``spot`` say where on the pour (``layer`` in trade notation B1, B2, T1, T2; for beams
    ``bottom``, ``top``, ``links``). ``by`` is the kind of measurement; a photo and a tape of the same place are compared.
    ``stretch_gaps`` is the number of gaps that a mean covers. ``index`` numbers the gaps of one layer at one spot.
    """

    measurand: Measurand
    value: float
    standard_uncertainty: Annotated[float, Field(ge=0)]
    unit: Literal["mm", "count"]
    element: str | None = None
    layer: str | None = None
    spot: str | None = None
    by: Literal["photo", "tape", "count"]
    method: str
    method_version: str
    taken_at: str | None = None
    person: str | None = None
    stretch_gaps: int | None = None
    index: int | None = None
    budget: tuple[Component, ...] = ()
    trace: Trace

    @property
    def expanded_uncertainty(self) -> float:
        """Half width of the 95 % interval."""
        return COVERAGE_FACTOR_95 * self.standard_uncertainty


def combined(components: tuple[Component, ...]) -> float:
    """Combine independent components.

    Args:
        components: Budget lines, each already in the unit of the result.

    Returns:
        Combined standard uncertainty in that unit.

    Source:
        JCGM 100:2008, 5.1.2, equation (10).
    """
    return math.sqrt(sum(c.standard_uncertainty**2 for c in components))
