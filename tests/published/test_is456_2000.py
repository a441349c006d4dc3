"""IS 456:2000, Plain and reinforced concrete - code of practice (Bureau of Indian Standards), fourth revision.

Known: R the clause was read on a page that quotes or restates it, M from memory, C calculated from the stated formula.
"""

from __future__ import annotations

import pytest

from verifier.codes import Code, load_code
from verifier.codes.bent_up import cut_length, extra_length_mm, rise_mm
from verifier.codes.cover import fire_cover, least_strength, nominal_cover
from verifier.codes.lap import development_length, lap_length
from verifier.codes.lap_case import LapCase
from verifier.codes.lap_is456 import BondStressLap, bond_stress_mpa
from verifier.codes.minimum_steel import least_beam_steel, least_slab_steel, most_tension_steel
from verifier.codes.spacing import crack_clear_distance, largest_bar, largest_spacing, least_clear_distance
from verifier.codes.tolerance import cover_range, effective_depth_deviation, section_range, spacing_deviation
from verifier.errors import BadInput


@pytest.fixture(scope="module")
def code() -> Code:
    return load_code("IS 456:2000")


def dia(case: LapCase, length: float) -> float:
    return length / case.bar_mm


@pytest.mark.source("IS 456:2000, table 16 (R)")
@pytest.mark.parametrize(
    ("exposure", "strength", "cover"),
    [
        ("mild", 20, 20),
        ("moderate", 25, 30),
        ("severe", 30, 45),
        ("severe", 35, 40),
        ("very severe", 30, 50),
        ("very severe", 40, 45),
        ("extreme", 40, 75),
    ],
)
def test_table_16_nominal_cover(code: Code, exposure: str, strength: float, cover: float) -> None:
    found = nominal_cover(code.cover, exposure=exposure, member="slab", bar_mm=16, strength_mpa=strength)
    assert found.value == cover
    assert found.edition == "IS 456:2000"
    assert "table 16" in found.clause


@pytest.mark.source("IS 456:2000, table 16 note 1 (R)")
@pytest.mark.parametrize(("bar", "cover"), [(8, 15), (10, 15), (12, 15), (16, 20)])
def test_table_16_note_1_thin_bars_in_mild_exposure(code: Code, bar: float, cover: float) -> None:
    assert (
        nominal_cover(code.cover, exposure="mild", member="slab", bar_mm=bar, strength_mpa=25).value == cover
    )


@pytest.mark.source("IS 456:2000, table 16 note 1 (R): the reduction is for mild exposure alone")
def test_table_16_note_1_is_not_for_moderate_exposure(code: Code) -> None:
    assert (
        nominal_cover(code.cover, exposure="moderate", member="slab", bar_mm=10, strength_mpa=25).value == 30
    )


@pytest.mark.source("IS 456:2000, 26.4.1 (M+R)")
def test_26_4_1_cover_is_never_below_the_bar(code: Code) -> None:
    assert nominal_cover(code.cover, exposure="mild", member="beam", bar_mm=32, strength_mpa=25).value == 32


@pytest.mark.source("IS 456:2000, 12.3.2 with table 16 notes 1 and 2 (R)")
@pytest.mark.parametrize(("reading", "verdict"), [(14, "fail"), (15, "pass"), (25, "pass"), (26, "over")])
def test_12_3_2_cover_readings_for_a_10_mm_bar_in_mild_exposure(
    code: Code, reading: float, verdict: str
) -> None:
    nominal = nominal_cover(code.cover, exposure="mild", member="slab", bar_mm=10, strength_mpa=20).value
    allowed = cover_range(
        code.tolerance.cover, nominal_mm=nominal, depth_mm=150, effective_depth_mm=125, formed_soffit=True
    )
    assert allowed.least is not None
    assert allowed.most is not None
    found = "fail" if reading < allowed.least.value else "over" if reading > allowed.most.value else "pass"
    assert found == verdict


@pytest.mark.source("IS 456:2000, 12.3.1 (R)")
@pytest.mark.parametrize(("depth", "deviation"), [(125, 10), (200, 10), (200.1, 15), (450, 15)])
def test_12_3_1_effective_depth(code: Code, depth: float, deviation: float) -> None:
    found = effective_depth_deviation(code.tolerance.effective_depth, effective_depth_mm=depth)
    assert found is not None
    assert found.value == deviation


@pytest.mark.source("IS 456:2000, 12.3 (R): no tolerance on the spacing of slab bars is given")
def test_12_3_states_no_spacing_tolerance(code: Code) -> None:
    assert spacing_deviation(code.tolerance.spacing, spacing_mm=150) is None


@pytest.mark.source("IS 456:2000, 11.1 (M)")
def test_11_1_cross_section(code: Code) -> None:
    allowed = section_range(code.tolerance.section, size_mm=230)
    assert allowed is not None
    assert allowed.least is not None
    assert allowed.most is not None
    assert (allowed.least.value, allowed.most.value) == (224, 242)


@pytest.mark.source("IS 456:2000, table 5 (R)")
@pytest.mark.parametrize(
    ("exposure", "grade"),
    [("mild", 20), ("moderate", 25), ("severe", 30), ("very severe", 35), ("extreme", 40)],
)
def test_table_5_least_grade(code: Code, exposure: str, grade: float) -> None:
    assert code.durability is not None
    assert least_strength(code.durability, exposure=exposure).value == grade


@pytest.mark.source("IS 456:2000, table 16A (M)")
@pytest.mark.parametrize(
    ("hours", "continuous", "cover"),
    [(1, False, 20), (1.5, False, 25), (2, False, 35), (2, True, 25), (4, False, 55)],
)
def test_table_16a_slab_cover_for_fire(code: Code, hours: float, continuous: bool, cover: float) -> None:
    assert code.fire is not None
    assert fire_cover(code.fire, hours=hours, member="slab", continuous=continuous).value == cover


@pytest.mark.source("IS 456:2000, 26.3.3 b 1 (R)")
@pytest.mark.parametrize(("d", "depth", "largest"), [(125, 150, 300), (75, 100, 225), (100, 125, 300)])
def test_26_3_3_main_bars(code: Code, d: float, depth: float, largest: float) -> None:
    assert largest_spacing(code.spacing.main, effective_depth_mm=d, depth_mm=depth).value == largest


@pytest.mark.source("IS 456:2000, 26.3.3 b 2 (R)")
@pytest.mark.parametrize(("d", "depth", "largest"), [(125, 150, 450), (75, 100, 375)])
def test_26_3_3_distribution_bars(code: Code, d: float, depth: float, largest: float) -> None:
    assert largest_spacing(code.spacing.distribution, effective_depth_mm=d, depth_mm=depth).value == largest


@pytest.mark.source("IS 456:2000, 26.3.2 (M+R)")
@pytest.mark.parametrize(("bar", "aggregate", "least"), [(12, 20, 25), (32, 20, 32), (16, 10, 16)])
def test_26_3_2_horizontal_clear_distance(code: Code, bar: float, aggregate: float, least: float) -> None:
    assert (
        least_clear_distance(code.spacing.clear_horizontal, bar_mm=bar, aggregate_mm=aggregate).value == least
    )


@pytest.mark.source("IS 456:2000, 26.3.2 (R)")
@pytest.mark.parametrize(("bar", "aggregate", "least"), [(12, 20, 15), (20, 20, 20), (12, 40, 26.67)])
def test_26_3_2_vertical_clear_distance(code: Code, bar: float, aggregate: float, least: float) -> None:
    assert code.spacing.clear_vertical is not None
    found = least_clear_distance(code.spacing.clear_vertical, bar_mm=bar, aggregate_mm=aggregate)
    assert found.value == pytest.approx(least, abs=0.005)


@pytest.mark.source("IS 456:2000, 26.5.2.2 (R)")
def test_26_5_2_2_thickest_bar_in_a_slab_of_150(code: Code) -> None:
    assert code.spacing.largest_bar is not None
    assert largest_bar(code.spacing.largest_bar, depth_mm=150).value == 18.75


@pytest.mark.source("IS 456:2000, 26.5.2.1 (R)")
@pytest.mark.parametrize(("plain", "area"), [(False, 180), (True, 225)])
def test_26_5_2_1_least_steel_of_a_slab_of_150(code: Code, plain: bool, area: float) -> None:
    found = least_slab_steel(
        code.minimum.slab, depth_mm=150, effective_depth_mm=125, strength_mpa=25, fy_mpa=500, plain=plain
    )
    assert found.value == pytest.approx(area)
    assert found.unit == "mm2/m"


@pytest.mark.source("IS 456:2000, 26.5.1.1 (M+R), arithmetic done here (C)")
def test_26_5_1_1_beam_steel(code: Code) -> None:
    least = least_beam_steel(
        code.minimum.beam, width_mm=230, depth_mm=450, effective_depth_mm=409, strength_mpa=25, fy_mpa=500
    )
    assert least.value == pytest.approx(0.85 * 230 * 409 / 500)
    assert code.minimum.most_tension_steel is not None
    most = most_tension_steel(code.minimum.most_tension_steel, width_mm=230, depth_mm=450)
    assert most.value == pytest.approx(4140)


@pytest.mark.source("IS 456:2000, table 15 (M)")
def test_table_15_clear_distance_of_tension_bars(code: Code) -> None:
    rule = code.spacing.crack
    assert rule is not None
    assert rule.form == "by steel grade"
    found = [crack_clear_distance(rule, grade=grade) for grade in ("Fe250", "Fe415", "Fe500")]
    assert [limit.value for limit in found if limit is not None] == [300, 180, 150]


@pytest.mark.source("IS 456:2000, 26.2.1.1 (R)")
@pytest.mark.parametrize(
    ("strength", "plain", "compression", "bond"),
    [(20, True, False, 1.2), (25, True, False, 1.4), (30, True, False, 1.5), (35, True, False, 1.7), (40, True, False, 1.9),
     (60, True, False, 1.9), (20, False, False, 1.92), (20, False, True, 2.4)],
)  # fmt: skip
def test_26_2_1_1_bond_stress(
    code: Code, strength: float, plain: bool, compression: bool, bond: float
) -> None:
    assert isinstance(code.lap, BondStressLap)
    found = bond_stress_mpa(code.lap.bond, strength_mpa=strength, plain=plain, compression=compression)
    assert found.value == pytest.approx(bond)


@pytest.mark.source("IS 456:2000, 26.2.1 (Fe415/M20 R: a textbook has 47; the others C)")
@pytest.mark.parametrize(
    ("fy", "strength", "plain", "compression", "diameters"),
    [(415, 20, False, False, 47.01), (500, 25, False, False, 48.55), (500, 20, False, False, 56.64), (415, 20, False, True, 37.61),
     (250, 20, True, False, 45.31), (415, 25, False, False, 40.30), (500, 30, False, False, 45.31), (500, 40, False, False, 35.77),
     (550, 35, False, False, 43.98), (500, 25, False, True, 38.84)],
)  # fmt: skip
def test_26_2_1_development_length(
    code: Code, fy: float, strength: float, plain: bool, compression: bool, diameters: float
) -> None:
    case = LapCase(bar_mm=12, fy_mpa=fy, strength_mpa=strength, plain=plain, compression=compression)
    assert dia(case, development_length(code.lap, case).value) == pytest.approx(diameters, abs=0.005)


@pytest.mark.source("IS 456:2000, 26.2.1 (C): Fe500, M25, 12 mm")
def test_26_2_1_development_length_of_a_12_mm_bar(code: Code) -> None:
    found = development_length(code.lap, LapCase(bar_mm=12, fy_mpa=500, strength_mpa=25))
    assert found.value == pytest.approx(582.6, abs=0.05)


@pytest.mark.source("IS 456:2000, 26.2.5.1 (R rules, C arithmetic)")
@pytest.mark.parametrize(
    ("case", "diameters"),
    [
        (LapCase(12, 500, 40, clear_mm=200, cover_mm=40, direct_tension=True), 71.5),
        (LapCase(12, 415, 40, compression=True), 24),
        (LapCase(12, 500, 25, clear_mm=200, cover_mm=40), 48.55),
        (LapCase(12, 250, 40, clear_mm=200, cover_mm=40), 30),
    ],
    ids=["direct tension", "compression floor", "flexural tension", "flexural floor"],
)
def test_26_2_5_1_laps(code: Code, case: LapCase, diameters: float) -> None:
    assert dia(case, lap_length(code.lap, case).value) == pytest.approx(diameters, abs=0.05)


@pytest.mark.source("IS 456:2000, 26.2.5.1 c, provisos (M)")
@pytest.mark.parametrize(
    ("place", "factor"),
    [
        ({"clear_mm": 200.0, "cover_mm": 40.0}, 1.0),
        ({"clear_mm": 200.0, "cover_mm": 20.0}, 1.0),
        ({"clear_mm": 200.0, "cover_mm": 20.0, "top_cast": True}, 1.4),
        ({"clear_mm": 60.0, "cover_mm": 40.0}, 1.4),
        ({"clear_mm": 200.0, "cover_mm": 20.0, "corner": True}, 1.4),
        ({"clear_mm": 60.0, "cover_mm": 20.0, "top_cast": True}, 2.0),
    ],
)
def test_26_2_5_1_unfavourable_places(code: Code, place: dict[str, float], factor: float) -> None:
    plain_case = LapCase(12, 500, 25, clear_mm=200, cover_mm=40)
    case = LapCase(12, 500, 25, **place)
    found = lap_length(code.lap, case).value / lap_length(code.lap, plain_case).value
    assert found == pytest.approx(factor)


@pytest.mark.source("IS 456:2000, 26.2.5.1 a with amendment 3 (R; several pages still print 36 mm)")
def test_26_2_5_1_bars_above_32_are_not_lapped(code: Code) -> None:
    lap_length(code.lap, LapCase(32, 500, 25))
    with pytest.raises(BadInput, match="36 mm is not lapped"):
        lap_length(code.lap, LapCase(36, 500, 25))


@pytest.mark.source("Common practice in India, published cut-length examples of bent-up bars (R)")
@pytest.mark.parametrize(("span", "depth", "published"), [(8000, 200, 8979.92), (3500, 150, 4437.92)])
def test_cut_length_of_a_bent_up_bar(code: Code, span: float, depth: float, published: float) -> None:
    assert code.bent_up is not None
    rise = rise_mm(depth_mm=depth, cover_top_mm=25, cover_bottom_mm=25, bar_mm=12)
    found = cut_length(code.bent_up, clear_span_mm=span, development_mm=40 * 12, rise=rise, bar_mm=12)
    assert found.value == pytest.approx(published, abs=0.005)


@pytest.mark.source("Geometry: (sqrt 2 - 1) H at 45 degrees (C)")
def test_exact_extra_length_of_a_crank() -> None:
    assert extra_length_mm(rise=90, angle_deg=45) == pytest.approx(0.41421 * 90, abs=1e-3)
