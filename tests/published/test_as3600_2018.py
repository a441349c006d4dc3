"""AS 3600:2018, Concrete structures (Standards Australia)."""

from __future__ import annotations

import pytest

from verifier.codes import Code, load_code
from verifier.codes.cover import nominal_cover
from verifier.codes.lap import development_length, lap_length
from verifier.codes.lap_case import LapCase
from verifier.codes.minimum_steel import least_slab_steel
from verifier.codes.spacing import largest_spacing
from verifier.codes.tolerance import bar_end_deviation, cover_range, link_spacing_deviation, spacing_deviation
from verifier.errors import BadInput


@pytest.fixture(scope="module")
def code() -> Code:
    return load_code("AS 3600:2018")


@pytest.mark.source("AS 3600:2018, 17.5.3 (R): greater of 10 % and 15 mm")
@pytest.mark.parametrize(("spacing", "deviation"), [(100, 15), (150, 15), (200, 20), (300, 30)])
def test_17_5_3_spacing(code: Code, spacing: float, deviation: float) -> None:
    found = spacing_deviation(code.tolerance.spacing, spacing_mm=spacing)
    assert found is not None
    assert found.value == pytest.approx(deviation)
    links = link_spacing_deviation(code.tolerance.link_spacing, spacing_mm=spacing, depth_mm=400)
    assert links is not None
    assert links.value == pytest.approx(deviation)


@pytest.mark.source("AS 3600:2018, 17.5.3 (R; a page labelled Australian prints the New Zealand figures)")
def test_17_5_3_cover(code: Code) -> None:
    allowed = cover_range(
        code.tolerance.cover, nominal_mm=30, depth_mm=150, effective_depth_mm=115, formed_soffit=True
    )
    assert allowed.least is not None
    assert allowed.most is not None
    assert (allowed.least.value, allowed.most.value) == (25, 40)
    assert allowed.least.status == "disagreement noted"


@pytest.mark.source("AS 3600:2018, 17.5.3 (R)")
def test_17_5_3_ends(code: Code) -> None:
    found = bar_end_deviation(code.tolerance.bar_end, discontinuous=False)
    assert found is not None
    assert found.value == 50


@pytest.mark.source("AS 3600:2018, table 4.10.3.2 (M)")
@pytest.mark.parametrize(
    ("exposure", "strength", "cover"),
    [("A1", 20, 20), ("A2", 25, 30), ("A2", 32, 25), ("A2", 40, 20), ("B1", 32, 40), ("B1", 40, 30), ("B2", 40, 45), ("B2", 50, 35), ("C1", 50, 50)],
)  # fmt: skip
def test_table_4_10_3_2(code: Code, exposure: str, strength: float, cover: float) -> None:
    found = nominal_cover(code.cover, exposure=exposure, member="slab", bar_mm=12, strength_mpa=strength)
    assert found.value == cover
    assert found.status == "from memory"


@pytest.mark.source("AS 3600:2018, table 4.10.3.2 (M): weaker concrete than listed has no cover to name")
def test_table_4_10_3_2_does_not_guess_for_weak_concrete(code: Code) -> None:
    with pytest.raises(BadInput, match="No value is listed for B2 with 32 MPa"):
        nominal_cover(code.cover, exposure="B2", member="slab", bar_mm=12, strength_mpa=32)


@pytest.mark.source("AS 3600:2018, 9.5.1 (M)")
@pytest.mark.parametrize(("depth", "largest"), [(120, 240), (200, 300)])
def test_9_5_1_largest_spacing(code: Code, depth: float, largest: float) -> None:
    assert largest_spacing(code.spacing.main, effective_depth_mm=depth - 30, depth_mm=depth).value == largest


@pytest.mark.source("AS 3600:2018, 9.1.1 (M), arithmetic done here (C)")
def test_9_1_1_least_steel(code: Code) -> None:
    found = least_slab_steel(
        code.minimum.slab,
        depth_mm=150,
        effective_depth_mm=120,
        strength_mpa=32,
        fy_mpa=500,
        kind="two_way_flat",
    )
    assert found.value == pytest.approx(0.24 * (150 / 120) ** 2 * 0.6 * 32**0.5 / 500 * 1000 * 120)


@pytest.mark.source(
    "AS 3600:2018, 13.1.2.2 and 13.2.2 (M), arithmetic done here (C): N12 and N16, f'c 32, cover 20"
)
@pytest.mark.parametrize(
    ("bar", "expected"),
    [(12, 0.5 * 0.9 * 500 * 12 / (1.20 * 32**0.5)), (16, 0.5 * 0.9625 * 500 * 16 / (1.16 * 32**0.5))],
)
def test_13_1_2_development(code: Code, bar: float, expected: float) -> None:
    case = LapCase(bar, 500, 32, cover_mm=20, clear_mm=138)
    assert development_length(code.lap, case).value == pytest.approx(expected)
    assert lap_length(code.lap, case).value == pytest.approx(1.25 * expected)


@pytest.mark.source("AS 3600:2018, 13.1.2.2 (M): the floor of 0.058 fsy k1 db, 29 diameters for D500N")
def test_13_1_2_floor(code: Code) -> None:
    case = LapCase(12, 500, 65, cover_mm=60, clear_mm=200)
    assert development_length(code.lap, case).value / 12 == pytest.approx(29)
