"""EN 13670:2009, Execution of concrete structures (CEN)."""

from __future__ import annotations

import pytest

from verifier.codes import Code, load_code
from verifier.codes.tolerance import (
    bar_end_deviation,
    cover_increase,
    cover_range,
    lap_shortfall,
    section_range,
    spacing_deviation,
)
from verifier.codes.tolerance_shapes import InterpolatedCover


@pytest.fixture(scope="module")
def code() -> Code:
    return load_code("EN 1992-1-1:2004")


@pytest.fixture(scope="module")
def rule(code: Code) -> InterpolatedCover:
    assert isinstance(code.tolerance.cover, InterpolatedCover)
    return code.tolerance.cover


@pytest.mark.source(
    "EN 13670:2009, 10.6, class 1 (R; 20 at 2500 in a national specification; interpolation C)"
)
@pytest.mark.parametrize(
    ("h", "plus"), [(100, 10), (150, 10), (200, 11.0), (400, 15), (2500, 25), (4000, 25)]
)
def test_10_6_cover_increase_class_1(rule: InterpolatedCover, h: float, plus: float) -> None:
    found = cover_increase(rule, depth_mm=h)
    assert found.value == pytest.approx(plus)
    assert found.status == "disagreement noted"


@pytest.mark.source("EN 13670:2009, 10.6, class 2 (R)")
@pytest.mark.parametrize(("h", "plus"), [(150, 5), (400, 10), (2500, 20)])
def test_10_6_cover_increase_class_2(rule: InterpolatedCover, h: float, plus: float) -> None:
    assert cover_increase(rule, depth_mm=h, tolerance_class=2).value == plus


@pytest.mark.source("EN 13670:2009, 10.6 (M+R): the reduction is the deviation used in design")
@pytest.mark.parametrize("design", [10, 5, 0])
def test_10_6_least_cover(rule: InterpolatedCover, design: float) -> None:
    allowed = cover_range(
        rule,
        nominal_mm=35,
        depth_mm=150,
        effective_depth_mm=110,
        formed_soffit=True,
        design_deviation_mm=design,
    )
    assert allowed.least is not None
    assert allowed.most is not None
    assert (allowed.least.value, allowed.most.value) == (35 - design, 45)
    assert allowed.least.edition == "EN 13670:2009"


@pytest.mark.source("EN 13670:2009, 10.6, section dimension (M; the pre-standard of 1991 had 5 at 150)")
@pytest.mark.parametrize(("size", "deviation"), [(150, 10), (275, 12.5), (400, 15), (2500, 30)])
def test_10_6_section_class_1(code: Code, size: float, deviation: float) -> None:
    allowed = section_range(code.tolerance.section, size_mm=size)
    assert allowed is not None
    assert allowed.most is not None
    assert allowed.most.value - size == pytest.approx(deviation)


@pytest.mark.source("EN 13670:2009, 10.6 (M): lap not shorter than by 6 %")
def test_10_6_lap(code: Code) -> None:
    found = lap_shortfall(code.tolerance.lap, bar_mm=12, lap_mm=500)
    assert found is not None
    assert found.value == pytest.approx(30)


@pytest.mark.source("EN 13670:2009, 10.6 (M): no figure for spacing or bar ends was found")
def test_10_6_says_nothing_of_spacing(code: Code) -> None:
    assert spacing_deviation(code.tolerance.spacing, spacing_mm=150) is None
    assert bar_end_deviation(code.tolerance.bar_end, discontinuous=True) is None
