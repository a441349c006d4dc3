"""Bar sizes, areas and masses: IS 1786:2008, BS 4449, EN 10080, ASTM A615, SP 16 table 96."""

from __future__ import annotations

import pytest

from verifier.codes.bars import (
    area_mm2_per_m,
    bar_data,
    bar_sizes,
    bars_in_width,
    mass_band_percent,
    mass_kg_per_m,
    round_area_mm2,
)

SPACINGS = (75, 100, 125, 150, 175, 200, 225, 250, 275, 300)
SP_16 = {
    8: (671, 503, 402, 335, 287, 252, 223, 201, 183, 168),
    10: (1047, 785, 628, 523, 449, 393, 349, 314, 286, 262),
    12: (1508, 1131, 905, 754, 646, 566, 503, 452, 411, 377),
    16: (2681, 2011, 1608, 1340, 1149, 1005, 894, 804, 731, 670),
    20: (4189, 3142, 2513, 2094, 1795, 1571, 1396, 1257, 1142, 1047),
}


@pytest.mark.source("SP 16:1980, table 96 (R, as restated in mm2)")
@pytest.mark.parametrize("diameter", SP_16)
def test_area_per_metre(diameter: int) -> None:
    for spacing, printed in zip(SPACINGS, SP_16[diameter], strict=True):
        assert area_mm2_per_m(round_area_mm2(diameter), spacing) == pytest.approx(printed, abs=1)


@pytest.mark.source("IS 1786:2008, table 1 (R; 40 mm is printed 9.85)")
@pytest.mark.parametrize(
    ("diameter", "printed", "digit"),
    [(6, 0.222, 0.001), (8, 0.395, 0.001), (10, 0.617, 0.001), (12, 0.888, 0.001), (16, 1.58, 0.01), (20, 2.47, 0.01), (25, 3.85, 0.01),
     (28, 4.83, 0.01), (32, 6.31, 0.01), (36, 7.99, 0.01), (40, 9.85, 0.02)],
)  # fmt: skip
def test_mass_per_metre(diameter: float, printed: float, digit: float) -> None:
    assert mass_kg_per_m(diameter, density_kg_per_m3=7850) == pytest.approx(printed, abs=digit)


@pytest.mark.source("Common practice in India, d2/162 (R), 0.12 % heavy at every size")
def test_mass_rule_of_thumb_of_12_mm() -> None:
    rule_of_thumb = 12**2 / 162
    assert rule_of_thumb == pytest.approx(0.8889, abs=5e-5)
    assert mass_kg_per_m(12, density_kg_per_m3=7850) == pytest.approx(0.8878, abs=5e-5)
    for size in (6, 12, 25, 40):
        assert size**2 / 162 / mass_kg_per_m(size, density_kg_per_m3=7850) == pytest.approx(1.00121, abs=1e-5)


@pytest.mark.source("IS 1786:2008, mass tolerance of a batch (R): 16 mm, nominal 1.58, 5 %")
def test_mass_band_of_16_mm() -> None:
    is_1786 = next(rule for rule in bar_data().mass_tolerance if rule.standard.startswith("IS 1786"))
    percent = mass_band_percent(is_1786, 16).value
    assert 1.58 * (1 - percent / 100) == pytest.approx(1.501, abs=5e-4)
    assert 1.58 * (1 + percent / 100) == pytest.approx(1.659, abs=5e-4)
    assert [mass_band_percent(is_1786, size).value for size in (10, 12, 20)] == [7, 5, 3]


@pytest.mark.source("BS 4449:2005 / EN 10080 (M), mass tolerance")
def test_mass_band_of_european_bars() -> None:
    european = next(rule for rule in bar_data().mass_tolerance if rule.standard.startswith("EN 10080"))
    assert [mass_band_percent(european, size).value for size in (8, 10, 32)] == [6, 4.5, 4.5]


@pytest.mark.source("ASTM A615, table 1 (R)")
@pytest.mark.parametrize(
    ("name", "inch", "mm", "area_in2", "mm2", "lb_ft"),
    [("#3", 0.375, 9.5, 0.11, 71, 0.376), ("#4", 0.5, 12.7, 0.20, 129, 0.668), ("#5", 0.625, 15.9, 0.31, 199, 1.043), ("#6", 0.75, 19.1, 0.44, 284, 1.502),
     ("#7", 0.875, 22.2, 0.60, 387, 2.044), ("#8", 1.0, 25.4, 0.79, 510, 2.670), ("#9", 1.128, 28.7, 1.00, 645, 3.400), ("#10", 1.27, 32.3, 1.27, 819, 4.303),
     ("#11", 1.41, 35.8, 1.56, 1006, 5.313)],
)  # fmt: skip
def test_astm_sizes(name: str, inch: float, mm: float, area_in2: float, mm2: float, lb_ft: float) -> None:
    size = next(size for size in bar_sizes() if size.name == name and size.system == "astm")
    assert size.diameter_mm == mm
    assert size.diameter_mm == pytest.approx(inch * 25.4, abs=0.06)
    assert size.area_mm2 == mm2
    assert size.area_mm2 == pytest.approx(area_in2 * 645.16, abs=1.1)  # both columns are printed rounded
    assert size.kg_per_m == pytest.approx(lb_ft * 0.45359237 / 0.3048, abs=0.006)


@pytest.mark.source("EN 10080 and IS 1786 (M): preferred sizes are all listed")
def test_metric_sizes() -> None:
    listed = {size.diameter_mm for size in bar_sizes() if size.system == "metric"}
    assert {6, 8, 10, 12, 14, 16, 20, 25, 28, 32, 36, 40} <= listed
    assert 13 not in listed


@pytest.mark.source("Published counting rule of thumb N = W/s + 1 (R): 4000 at 150, 3000 at 200")
@pytest.mark.parametrize(("width", "spacing", "count"), [(4000, 150, 27), (3000, 200, 16)])
def test_bars_in_a_width(width: float, spacing: float, count: int) -> None:
    assert bars_in_width(width, spacing, edge_mm=0) == count
