"""ACI 318-19, Building code requirements for structural concrete (American Concrete Institute); SI figures of 318M-19.

Known: R read on a page that quotes or restates the clause, M from memory, C calculated from the stated formula.
"""

from __future__ import annotations

import pytest

from verifier.codes import Code, load_code
from verifier.codes.cover import nominal_cover
from verifier.codes.lap import development_length, lap_length
from verifier.codes.lap_aci318 import RootLap, development_general
from verifier.codes.lap_case import LapCase
from verifier.codes.minimum_steel import least_beam_steel, least_slab_steel
from verifier.codes.spacing import crack_spacing, largest_spacing, least_clear_distance
from verifier.codes.tolerance import bar_end_deviation, cover_range, effective_depth_deviation
from verifier.errors import BadInput

INCH = 25.4
PSI = 0.006894757293168


@pytest.fixture(scope="module")
def inch() -> Code:
    return load_code("ACI 318-19", units="inch")


@pytest.fixture(scope="module")
def metric() -> Code:
    return load_code("ACI 318-19")


def bar(number: int, fc_psi: float, fy_psi: float = 60_000, **place: float | bool) -> LapCase:
    """An inch-size bar with the cover and spacing of the favourable case."""
    size = number / 8 * INCH
    given = {"cover_mm": size, "clear_mm": 2 * size} | place
    return LapCase(size, fy_psi * PSI, fc_psi * PSI, **given)


@pytest.mark.source("ACI 318-19, table 20.5.1.3.1 (R; one page gives the table its 318-14 number)")
@pytest.mark.parametrize(
    ("exposure", "member", "bar_mm", "inches", "mm"),
    [
        ("cast against ground", "slab", 12.7, 3, 75),
        ("weather or ground", "slab", 15.9, 1.5, 40),
        ("weather or ground", "slab", 19.1, 2, 50),
        ("interior", "slab", 12.7, 0.75, 20),
        ("interior", "slab", 35.8, 0.75, 20),
        ("interior", "slab", 43.0, 1.5, 40),
        ("interior", "beam", 12.7, 1.5, 40),
    ],
)
def test_table_20_5_1_3_1(
    inch: Code, metric: Code, exposure: str, member: str, bar_mm: float, inches: float, mm: float
) -> None:
    asked = {"exposure": exposure, "member": member, "bar_mm": bar_mm, "strength_mpa": 28}
    assert nominal_cover(inch.cover, **asked).value == pytest.approx(inches * INCH, abs=1e-6)
    found = nominal_cover(metric.cover, **asked)
    assert found.value == mm
    assert found.edition == "ACI 318M-19"


@pytest.mark.source("ACI 318-19, 26.6.2.1 (M), arithmetic done here (C)")
@pytest.mark.parametrize(
    ("depth_in", "cover_in", "soffit", "least_in"),
    [(6, 0.75, True, 0.5), (6, 0.75, False, 0.5), (10, 1.5, False, 1.0), (10, 2.0, False, 1.5), (10, 2.0, True, 1.75), (6, 1.5, False, 1.125)],
)  # fmt: skip
def test_26_6_2_1_least_cover(
    inch: Code, depth_in: float, cover_in: float, soffit: bool, least_in: float
) -> None:
    allowed = cover_range(
        inch.tolerance.cover,
        nominal_mm=cover_in * INCH,
        depth_mm=(depth_in + 1) * INCH,
        effective_depth_mm=depth_in * INCH,
        formed_soffit=soffit,
    )
    assert allowed.least is not None
    assert allowed.least.value == pytest.approx(least_in * INCH, abs=1e-4)
    assert allowed.most is None


@pytest.mark.source("ACI 318-19, 26.6.2.1 (M)")
@pytest.mark.parametrize(("depth_mm", "mm"), [(125, 10), (200, 10), (201, 13), (500, 13)])
def test_26_6_2_1_effective_depth(metric: Code, depth_mm: float, mm: float) -> None:
    found = effective_depth_deviation(metric.tolerance.effective_depth, effective_depth_mm=depth_mm)
    assert found is not None
    assert found.value == mm


@pytest.mark.source("ACI 318-19, 26.6.2.1 b (2 in read in an older text; 1 in M)")
@pytest.mark.parametrize(("discontinuous", "mm"), [(False, 50.8), (True, 25.4)])
def test_26_6_2_1_ends_of_bars(inch: Code, discontinuous: bool, mm: float) -> None:
    found = bar_end_deviation(inch.tolerance.bar_end, discontinuous=discontinuous)
    assert found is not None
    assert found.value == mm


@pytest.mark.source("ACI 318-19, 7.7.2.3 and 24.4.3.3 (R), 8.7.2.2 (M)")
@pytest.mark.parametrize(
    ("rule", "h", "mm"), [("main", 100, 300), ("main", 200, 450), ("distribution", 80, 400), ("distribution", 150, 450), ("main_critical", 150, 300)]
)  # fmt: skip
def test_largest_spacing(metric: Code, rule: str, h: float, mm: float) -> None:
    found = largest_spacing(getattr(metric.spacing, rule), effective_depth_mm=h - 25, depth_mm=h)
    assert found.value == mm


@pytest.mark.source("ACI 318-19, 25.2.1 (M)")
@pytest.mark.parametrize(("db", "aggregate", "mm"), [(12, 10, 25), (32, 20, 32), (12, 20, 26.667)])
def test_25_2_1_clear_distance(metric: Code, db: float, aggregate: float, mm: float) -> None:
    found = least_clear_distance(metric.spacing.clear_horizontal, bar_mm=db, aggregate_mm=aggregate)
    assert found.value == pytest.approx(mm, abs=0.001)


@pytest.mark.source("ACI 318-19, 24.3.2 (M+R), arithmetic done here (C): fs = 40 ksi")
@pytest.mark.parametrize(("cover_in", "spacing_in"), [(0.75, 12), (2, 10)])
def test_24_3_2_crack_spacing(inch: Code, cover_in: float, spacing_in: float) -> None:
    rule = inch.spacing.crack
    assert rule is not None
    assert rule.form == "by steel stress"
    found = crack_spacing(rule, fy_mpa=60_000 * PSI, clear_cover_mm=cover_in * INCH)
    assert found.value == pytest.approx(spacing_in * INCH, abs=0.01)


@pytest.mark.source("ACI 318-19, 7.6.1.1 and 24.4.3.2 (R): h = 150 mm")
def test_7_6_1_1_least_slab_steel(metric: Code) -> None:
    found = least_slab_steel(
        metric.minimum.slab, depth_mm=150, effective_depth_mm=125, strength_mpa=28, fy_mpa=420
    )
    assert found.value == pytest.approx(270)


@pytest.mark.source("ACI 318-19, 9.6.1.2 (M), arithmetic done here (C): 12 x 21.5 in")
@pytest.mark.parametrize(
    ("fc", "area_in2"), [(4000, 200 * 12 * 21.5 / 60_000), (6000, 3 * 6000**0.5 * 12 * 21.5 / 60_000)]
)
def test_9_6_1_2_least_beam_steel(inch: Code, fc: float, area_in2: float) -> None:
    found = least_beam_steel(
        inch.minimum.beam, width_mm=12 * INCH, depth_mm=24 * INCH, effective_depth_mm=21.5 * INCH, strength_mpa=fc * PSI, fy_mpa=60_000 * PSI
    )  # fmt: skip
    assert found.value / INCH**2 == pytest.approx(area_in2, rel=1e-6)


@pytest.mark.source("ACI 318-19, 25.4.2.3 by a published design aid, Grade 60 (R), in whole inches")
@pytest.mark.parametrize(
    ("number", "fc", "ld", "class_b", "other"),
    [(3, 3000, 16, 21, 25), (4, 3000, 22, 28, 33), (5, 3000, 27, 36, 41), (3, 4000, 14, 18, 21), (4, 4000, 19, 25, 28), (5, 4000, 24, 31, None)],
)  # fmt: skip
def test_25_4_2_3_design_aid(
    inch: Code, number: int, fc: float, ld: int, class_b: int, other: int | None
) -> None:
    case = bar(number, fc)
    assert development_length(inch.lap, case).value / INCH == pytest.approx(ld, abs=0.5)
    assert lap_length(inch.lap, case).value / INCH == pytest.approx(class_b, abs=0.5)
    if other is not None:
        crowded = bar(number, fc, clear_mm=0.0)
        assert development_length(inch.lap, crowded).value / INCH == pytest.approx(other, abs=0.5)


@pytest.mark.source("ACI 318-19, 25.4.2.3 and 25.5.2.1 (C)")
@pytest.mark.parametrize(
    ("number", "fc", "ld", "class_b"),
    [(4, 4000, 18.97, 24.67), (5, 3000, 27.4, 35.6), (6, 4000, 28.5, 37.0), (8, 4000, 47.4, 61.7), (8, 3000, 54.8, 71.2)],
)  # fmt: skip
def test_25_4_2_3_unrounded(inch: Code, number: int, fc: float, ld: float, class_b: float) -> None:
    digits = 0.006 if ld == 18.97 else 0.06
    assert development_length(inch.lap, bar(number, fc)).value / INCH == pytest.approx(ld, abs=digits)
    assert lap_length(inch.lap, bar(number, fc)).value / INCH == pytest.approx(class_b, abs=digits)


@pytest.mark.source(
    "ACI 318-19, 25.4.2.4 by a published example (R): No. 3, 40 ksi, 3000 psi, capped factors"
)
def test_25_4_2_4_general_form(inch: Code) -> None:
    assert isinstance(inch.lap, RootLap)
    case = bar(3, 3000, 40_000)
    without_floor = inch.lap.model_copy(update={"least_length_mm": 1.0})
    # 1.3 x 1.5 is capped at 1.7; 3.0 is counted as 2.5.
    found = development_general(without_floor, case, confinement=3.0, place_and_coating=1.3 * 1.5)
    assert found.value / INCH == pytest.approx(11.17, abs=0.005)
    floored = development_general(inch.lap, case, confinement=3.0, place_and_coating=1.3 * 1.5)
    assert floored.value / INCH == pytest.approx(12)


@pytest.mark.source("ACI 318-19, table 25.4.2.5 (M)")
def test_table_25_4_2_5_bars_cast_high(inch: Code) -> None:
    ratio = (
        development_length(inch.lap, bar(5, 4000, top_cast=True)).value
        / development_length(inch.lap, bar(5, 4000)).value
    )
    assert ratio == pytest.approx(1.3)


@pytest.mark.source("ACI 318-19, 25.5.2.1 (M)")
@pytest.mark.parametrize(("ratio", "share", "factor"), [(2.0, 0.5, 1.0), (2.0, 1.0, 1.3), (1.0, 0.5, 1.3)])
def test_25_5_2_1_classes_of_lap(inch: Code, ratio: float, share: float, factor: float) -> None:
    case = bar(6, 4000, steel_ratio=ratio, share_lapped=share)
    found = lap_length(inch.lap, case).value / development_length(inch.lap, case).value
    assert found == pytest.approx(factor)


@pytest.mark.source("ACI 318-19, 25.5.5.1 (M+R): Grade 60, 30 bar diameters, one third more below 3000 psi")
@pytest.mark.parametrize(("fc", "diameters"), [(4000, 30), (3000, 30), (2500, 40)])
def test_25_5_5_1_compression_lap(inch: Code, fc: float, diameters: float) -> None:
    case = bar(6, fc, compression=True)
    assert lap_length(inch.lap, case).value / case.bar_mm == pytest.approx(diameters, rel=1e-4)


@pytest.mark.source("ACI 318-19, 25.5.5.1 (M): above Grade 60 another expression holds, not held here")
def test_25_5_5_1_is_refused_above_grade_60(inch: Code) -> None:
    with pytest.raises(BadInput, match="above the"):
        lap_length(inch.lap, bar(6, 4000, 80_000, compression=True))


@pytest.mark.source("ACI 318M-19 (M): the metric edition's own rounding stays within 2 % of the inch edition")
@pytest.mark.parametrize("number", [4, 5, 7, 8])
def test_both_editions_agree_on_development_length(inch: Code, metric: Code, number: int) -> None:
    case = bar(number, 4000)
    ratio = development_length(metric.lap, case).value / development_length(inch.lap, case).value
    assert ratio == pytest.approx(1, abs=0.025)
