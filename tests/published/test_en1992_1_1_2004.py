"""EN 1992-1-1:2004, Eurocode 2: design of concrete structures, part 1-1 (CEN); recommended values.

Known: R read on a page or in an open library that restates the clause, M from memory, C calculated here.
"""

from __future__ import annotations

import itertools

import pytest

from verifier.codes import Code, load_code
from verifier.codes.cover import CoverByStructuralClass, least_cover, nominal_cover, structural_class
from verifier.codes.lap import development_length, lap_length
from verifier.codes.lap_case import LapCase
from verifier.codes.lap_en1992 import (
    DesignBondLap,
    anchorage_by_bond,
    basic_anchorage,
    characteristic_tensile_mpa,
    design_bond_mpa,
)
from verifier.codes.minimum_steel import least_slab_steel, mean_tensile_strength_mpa
from verifier.codes.spacing import largest_spacing, least_clear_distance


@pytest.fixture(scope="module")
def code() -> Code:
    return load_code("EN 1992-1-1:2004")


@pytest.fixture(scope="module")
def cover(code: Code) -> CoverByStructuralClass:
    assert isinstance(code.cover, CoverByStructuralClass)
    return code.cover


@pytest.fixture(scope="module")
def lap(code: Code) -> DesignBondLap:
    assert isinstance(code.lap, DesignBondLap)
    return code.lap


@pytest.mark.source("EN 1992-1-1:2004, 4.4.1 and table 4.4N (R): XC3, S4, 16 mm bar, deviation 10")
def test_4_4_1_nominal_cover_xc3(code: Code, cover: CoverByStructuralClass) -> None:
    least = least_cover(cover, exposure="XC3", bar_mm=16, aggregate_mm=20, structural_class="S4")
    assert least.value == 25
    found = nominal_cover(code.cover, exposure="XC3", member="slab", bar_mm=16, strength_mpa=25)
    assert found.value == 35


@pytest.mark.source("EN 1992-1-1:2004, table 4.4N (R; XD3/XS3 M, an open library has 40 at S4)")
@pytest.mark.parametrize(
    ("exposure", "least"),
    [("X0", 10), ("XC1", 15), ("XC2", 25), ("XC3", 25), ("XC4", 30), ("XD1", 35), ("XS1", 35), ("XD2", 40), ("XS2", 40), ("XD3", 45), ("XS3", 45)],
)  # fmt: skip
def test_table_4_4n_at_s4(cover: CoverByStructuralClass, exposure: str, least: float) -> None:
    found = least_cover(cover, exposure=exposure, bar_mm=8, aggregate_mm=20, structural_class="S4")
    assert found.value == least


@pytest.mark.source("EN 1992-1-1:2004, table 4.4N (M): one class is 5 mm except at the 10 mm floor")
def test_table_4_4n_rises_with_the_class(cover: CoverByStructuralClass) -> None:
    for exposure in ("XD1", "XD2", "XD3"):
        row = [cover.table[name][exposure] for name in ("S1", "S2", "S3", "S4", "S5", "S6")]
        assert [b - a for a, b in itertools.pairwise(row)] == [5] * 5


@pytest.mark.source("EN 1992-1-1:2004, table 4.2 (R): bond asks for the bar, 5 more above 32 mm aggregate")
@pytest.mark.parametrize(("bar", "aggregate", "least"), [(32, 20, 32), (32, 40, 37), (8, 20, 15)])
def test_table_4_2_bond(cover: CoverByStructuralClass, bar: float, aggregate: float, least: float) -> None:
    found = least_cover(cover, exposure="XC1", bar_mm=bar, aggregate_mm=aggregate, structural_class="S4")
    assert found.value == least


@pytest.mark.source("EN 1992-1-1:2004, table 4.3N (M+R)")
@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"strength_mpa": 25}, "S4"),
        ({"strength_mpa": 25, "hundred_years": True}, "S6"),
        ({"strength_mpa": 25, "slab_geometry": True}, "S3"),
        ({"strength_mpa": 35, "slab_geometry": True}, "S2"),
        ({"strength_mpa": 35, "slab_geometry": True, "quality_control": True}, "S1"),
    ],
)
def test_table_4_3n(cover: CoverByStructuralClass, changes: dict[str, float], expected: str) -> None:
    assert structural_class(cover, exposure="XC3", **changes) == expected


@pytest.mark.source("EN 1992-1-1:2004, 9.3.1.1(3) (R)")
@pytest.mark.parametrize(
    ("rule", "h", "mm"),
    [("main", 120, 360), ("main", 200, 400), ("distribution", 120, 420), ("distribution", 200, 450), ("main_critical", 120, 240),
     ("main_critical", 150, 250), ("distribution_critical", 120, 360), ("distribution_critical", 150, 400)],
)  # fmt: skip
def test_9_3_1_1_largest_spacing(code: Code, rule: str, h: float, mm: float) -> None:
    assert largest_spacing(getattr(code.spacing, rule), effective_depth_mm=h - 30, depth_mm=h).value == mm


@pytest.mark.source("EN 1992-1-1:2004, 8.2(2) (R)")
@pytest.mark.parametrize(("bar", "aggregate", "mm"), [(16, 20, 25), (32, 20, 32), (10, 8, 20)])
def test_8_2_clear_distance(code: Code, bar: float, aggregate: float, mm: float) -> None:
    assert least_clear_distance(code.spacing.clear_horizontal, bar_mm=bar, aggregate_mm=aggregate).value == mm


@pytest.mark.source("EN 1992-1-1:2004, 9.2.1.1(1) (R formula, C): C25/30, B500, d = 125")
def test_9_2_1_1_least_slab_steel(code: Code) -> None:
    found = least_slab_steel(
        code.minimum.slab, depth_mm=150, effective_depth_mm=125, strength_mpa=25, fy_mpa=500
    )
    assert found.value == pytest.approx(166.7, abs=0.05)
    floor = least_slab_steel(
        code.minimum.slab, depth_mm=150, effective_depth_mm=125, strength_mpa=20, fy_mpa=600
    )
    assert floor.value == pytest.approx(162.5)


@pytest.mark.source("EN 1992-1-1:2004, table 3.1 (M), to the printed digit")
@pytest.mark.parametrize(
    ("fck", "fctm", "fctk"),
    [(12, 1.6, 1.1), (16, 1.9, 1.3), (20, 2.2, 1.5), (25, 2.6, 1.8), (30, 2.9, 2.0), (35, 3.2, 2.2), (40, 3.5, 2.5), (45, 3.8, 2.7), (50, 4.1, 2.9)],
)  # fmt: skip
def test_table_3_1_tensile_strength(lap: DesignBondLap, fck: float, fctm: float, fctk: float) -> None:
    assert mean_tensile_strength_mpa(lap.tension, strength_mpa=fck) == pytest.approx(fctm, abs=0.05)
    assert characteristic_tensile_mpa(lap, strength_mpa=fck) == fctk


@pytest.mark.source("EN 1992-1-1:2004, 8.4.2(2) (R): poor bond 0.7, bars above 32 mm")
def test_8_4_2_design_bond(lap: DesignBondLap) -> None:
    assert design_bond_mpa(lap, fctk_mpa=1.8, bar_mm=12, good_bond=True).value == pytest.approx(2.7)
    assert design_bond_mpa(lap, fctk_mpa=1.8, bar_mm=12, good_bond=False).value == pytest.approx(1.89)
    assert design_bond_mpa(lap, fctk_mpa=1.8, bar_mm=40, good_bond=True).value == pytest.approx(2.7 * 0.92)


@pytest.mark.source("EN 1992-1-1:2004, 8.4.3 by a published table for a bar of 8 mm, B500 (R)")
@pytest.mark.parametrize(("fck", "mm"), [(20, 386), (25, 322), (30, 290), (35, 264), (40, 232)])
def test_8_4_3_basic_length_of_an_8_mm_bar(lap: DesignBondLap, fck: float, mm: float) -> None:
    assert basic_anchorage(lap, LapCase(8, 500, fck)).value == pytest.approx(mm, abs=0.55)


@pytest.mark.source("EN 1992-1-1:2004, 8.4.3 (C): lb,rqd over the diameter, good bond, B500")
@pytest.mark.parametrize(("fck", "diameters"), [(20, 48.3), (25, 40.3), (30, 36.2), (35, 32.9)])
def test_8_4_3_in_diameters(lap: DesignBondLap, fck: float, diameters: float) -> None:
    assert basic_anchorage(lap, LapCase(10, 500, fck)).value / 10 == pytest.approx(diameters, abs=0.06)


@pytest.mark.source(
    "EN 1992-1-1:2004, 8.4.4 by a published worked example: C25, 12 mm, cd 35, fctk = 0.21 fck^(2/3) (R)"
)
def test_8_4_4_worked_example(lap: DesignBondLap) -> None:
    fctk = 0.21 * 25 ** (2 / 3)
    case = LapCase(12, 500, 25, cover_mm=35, clear_mm=70)
    assert basic_anchorage(lap, case, fctk_mpa=fctk).value == pytest.approx(484, abs=0.5)
    assert anchorage_by_bond(lap, case, fctk_mpa=fctk).value == pytest.approx(345, abs=0.5)
    pressed = LapCase(12, 500, 25, cover_mm=35, clear_mm=70, compression=True)
    assert anchorage_by_bond(lap, pressed, fctk_mpa=fctk).value == pytest.approx(484, abs=0.5)
    high = LapCase(12, 500, 25, cover_mm=35, clear_mm=70, top_cast=True)
    assert basic_anchorage(lap, high, fctk_mpa=fctk).value == pytest.approx(692, abs=0.5)
    assert anchorage_by_bond(lap, high, fctk_mpa=fctk).value == pytest.approx(493, abs=0.5)


@pytest.mark.source("EN 1992-1-1:2004, table 8.3 (R)")
@pytest.mark.parametrize(("percent", "alpha_6"), [(20, 1.0), (25, 1.0), (33, 1.15), (50, 1.41), (100, 1.5)])
def test_table_8_3_share_lapped(lap: DesignBondLap, percent: float, alpha_6: float) -> None:
    case = LapCase(12, 500, 25, share_lapped=percent / 100)
    assert lap_length(lap, case).value / basic_anchorage(lap, case).value == pytest.approx(alpha_6, abs=0.006)


@pytest.mark.source("EN 1992-1-1:2004, 8.4.4(1) and 8.7.3(1) (M): floors")
def test_floors_of_anchorage_and_lap(lap: DesignBondLap) -> None:
    easy = LapCase(8, 500, 50, cover_mm=60, clear_mm=120, steel_ratio=10, share_lapped=0.25)
    assert development_length(lap, easy).value == 100
    assert lap_length(lap, easy).value == 200
