"""ACI 117-10, Specification for tolerances for concrete construction and materials.

From memory, partly read in a summary of an older edition; the data file says which.
"""

from __future__ import annotations

import pytest

from verifier.codes import Code, load_code
from verifier.codes.tolerance import (
    lap_shortfall,
    least_thickness,
    link_spacing_deviation,
    section_range,
    spacing_deviation,
)

INCH = 25.4


@pytest.fixture(scope="module")
def inch() -> Code:
    return load_code("ACI 318-19", units="inch")


@pytest.mark.source("ACI 117-10, section 2.2 (M+R)")
@pytest.mark.parametrize("spacing", [100, 150, 300])
def test_2_2_bars_in_slabs(inch: Code, spacing: float) -> None:
    rule = inch.tolerance.spacing
    found = spacing_deviation(rule, spacing_mm=spacing)
    assert found is not None
    assert found.value == pytest.approx(3 * INCH)
    assert found.edition == "ACI 117-10"
    assert rule.form == "larger of"
    assert rule.count_kept


@pytest.mark.source("ACI 117-10, section 2.2 (M+R): lesser of 3 in and 1 in per foot of depth")
@pytest.mark.parametrize(("depth_in", "deviation_in"), [(12, 1), (18, 1.5), (36, 3), (60, 3)])
def test_2_2_stirrups(inch: Code, depth_in: float, deviation_in: float) -> None:
    found = link_spacing_deviation(inch.tolerance.link_spacing, spacing_mm=150, depth_mm=depth_in * INCH)
    assert found is not None
    assert found.value == pytest.approx(deviation_in * INCH)


@pytest.mark.source("ACI 117-10, section 2.2 (M; an older edition has 1-1/2 in)")
@pytest.mark.parametrize(("bar_mm", "short_in"), [(12.7, 1), (35.8, 1), (43.0, 2), (57.3, 2)])
def test_2_2_lap_length(inch: Code, bar_mm: float, short_in: float) -> None:
    found = lap_shortfall(inch.tolerance.lap, bar_mm=bar_mm, lap_mm=600)
    assert found is not None
    assert found.value == pytest.approx(short_in * INCH)
    assert found.status == "disagreement noted"


@pytest.mark.source("ACI 117-10, 4.5 (M)")
@pytest.mark.parametrize(
    ("size_in", "minus_in", "plus_in"), [(12, 0.25, 0.375), (24, 0.375, 0.5), (48, 0.75, 1)]
)
def test_4_5_formed_sections(inch: Code, size_in: float, minus_in: float, plus_in: float) -> None:
    allowed = section_range(inch.tolerance.section, size_mm=size_in * INCH)
    assert allowed is not None
    assert allowed.least is not None
    assert allowed.most is not None
    assert allowed.least.value == pytest.approx((size_in - minus_in) * INCH)
    assert allowed.most.value == pytest.approx((size_in + plus_in) * INCH)


@pytest.mark.source("ACI 117-10, 4.5 (M)")
def test_4_5_suspended_slab_thickness(inch: Code) -> None:
    found = least_thickness(inch.tolerance.slab_thickness, thickness_mm=6 * INCH)
    assert found is not None
    assert found.value == pytest.approx(5.75 * INCH)
