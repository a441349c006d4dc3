"""What a pour is asked, against the codes' own figures: limits reach the finding unchanged and decide as they should."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from verifier.codes.bars import round_area_mm2
from verifier.codes.load import load_code
from verifier.drawing.read import pour_from_table
from verifier.metrology.conformity import DecisionRule
from verifier.metrology.measurement import Measurand, Measurement, Trace
from verifier.rules.asked import requirements_of
from verifier.rules.consequence import bending_resistance_kn_m, steel_area_mm2_per_m
from verifier.rules.finding import Finding, find
from verifier.rules.requirement import Requirement

GRADES = {
    "IS 456:2000": ("M25", "Fe500", "mild"),
    "ACI 318-19": ("4000 psi", "Grade 60", "neither"),
    "EN 1992-1-1:2004": ("C25/30", "B500B", "XC1"),
    "AS 3600:2018": ("N32", "D500N", "A1"),
}


def requirements(
    code: str, callout: str, *, cover: float = 20, thickness: float = 150, **pour: Any
) -> dict[str, Requirement]:
    concrete, steel, exposure = GRADES[code]
    known = load_code(code, units=pour.get("units", "mm"))
    if exposure not in known.code.exposures:
        exposure = known.code.exposures[0]
    table = {
        "pour": {
            "id": "p",
            "title": "Test",
            "code": code,
            "planned_start": datetime(2026, 5, 14, 4, 30, tzinfo=UTC),
            "exposure": exposure,
            "concrete": {"grade": concrete, "max_aggregate_mm": 20},
        }
        | pour,
        "slab": [
            {
                "mark": "S1",
                "size_m": [5.0, 4.0],
                "thickness_mm": thickness,
                "cover_mm": {"bottom": cover, "top": cover},
                "layers": [{"layer": "B1", "callout": callout}],
                "steel": {"grade": steel},
            }
        ],
        "people": {"site_engineer": ["a"], "reviewer": ["b"], "engineer_of_record": ["c"]},
    }
    read = pour_from_table(table, where="test")
    return {r.rule: r for r in requirements_of(read, known).requirements}


def measured(requirement: Requirement, value: float, u: float = 0.3) -> Finding:
    m = Measurement(
        measurand=requirement.measurand,
        value=value,
        standard_uncertainty=u,
        unit="mm",
        element="S1",
        by="tape",
        method="tape",
        method_version="1",
        trace=Trace(original_sha256="0" * 64, original_name="t.csv", row=1),
    )
    return find(requirement, [m], spot=None, rule=DecisionRule())


@pytest.mark.source("IS 456:2000, 26.3.3 b; 26.5.2.1")
def test_is_456_slab_of_150_with_d_125() -> None:
    """Largest spacing min(3d, 300) = 300; least steel 0.12 % of 150 x 1000 = 180 mm2/m, so T10 at most 436 mm apart."""
    asked = requirements("IS 456:2000", "T10-150")
    assert asked["largest-spacing"].upper == 300
    assert asked["least-steel"].upper == pytest.approx(1000 * 78.5398 / 180, abs=0.1)
    assert "single-gap" not in asked  # the code gives no tolerance on a single gap


@pytest.mark.source("IS 456:2000, 12.3.2 and table 16 note 2")
@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        (18.0, "non_conforming"),
        (20.0, "inconclusive"),
        (21.0, "conforming"),
        (29.0, "conforming"),
        (31.0, "non_conforming"),
    ],
)
def test_is_456_cover_of_20_allows_nothing_less_and_10_more(reading: float, verdict: str) -> None:
    cover = requirements("IS 456:2000", "T10-150")["cover"]
    assert (cover.lower, cover.upper) == (20, 30)
    assert measured(cover, reading).verdict == verdict


@pytest.mark.source("AS 3600:2018, 17.5.3")
@pytest.mark.parametrize(("spacing", "tolerance"), [(100, 15), (150, 15), (200, 20), (300, 30)])
def test_as_3600_spacing_tolerance_is_the_greater_of_ten_percent_and_15(spacing: int, tolerance: int) -> None:
    gap = requirements("AS 3600:2018", f"N12-{spacing}", thickness=200)["single-gap"]
    assert (gap.lower, gap.upper) == (spacing - tolerance, spacing + tolerance)
    assert measured(gap, spacing + tolerance + 1).verdict == "non_conforming"
    assert measured(gap, spacing + tolerance).verdict == "inconclusive"


@pytest.mark.source("ACI 318-19, 26.6.2.1(a)")
def test_aci_cover_of_three_quarter_inch_may_lose_a_third() -> None:
    """d <= 8 in: -3/8 in, never more than a third of 3/4 in, at a formed soffit 1/4 in: least 1/2 in."""
    cover = requirements("ACI 318-19", "#4@8in", cover=19.05, units="inch")["cover"]
    assert cover.lower == pytest.approx(12.7, abs=0.06)


@pytest.mark.source("ACI 117-10, section 2.2")
def test_aci_117_spacing_in_slabs_is_within_three_inches() -> None:
    gap = requirements("ACI 318-19", "#4@8in", cover=19.05, units="inch")["single-gap"]
    assert (gap.lower, gap.upper) == (pytest.approx(203.2 - 76.2), pytest.approx(203.2 + 76.2))


@pytest.mark.source("EN 1992-1-1:2004, 9.3.1.1(3) and 9.3.1.1(1)")
def test_en_1992_slab_spacing_and_least_steel() -> None:
    """3h up to 400 mm; 0.26 fctm/fyk bt d with fctm 2.565 and d = 125 -> 166.7 mm2/m."""
    asked = requirements("EN 1992-1-1:2004", "H10-150")
    assert asked["largest-spacing"].upper == 400
    least = next(s for s in asked["least-steel"].sources if s.kind == "code")
    assert 1000 * 78.5398 / (asked["least-steel"].upper or 0) == pytest.approx(166.7, abs=0.2)
    assert least.clause


@pytest.mark.source("JCGM 106:2012, 7 (examples; from memory, arithmetic repeated)")
@pytest.mark.parametrize(
    ("value", "u", "lower", "upper", "probability", "verdict"),
    [
        (-5.47, 0.05, None, -5.40, 0.9192, "inconclusive"),  # breakdown voltage of a diode
        (509.7, 8.6, 490.0, None, 0.9890, "conforming"),  # burst pressure
        (13.6, 1.8, 12.5, 16.3, 0.6626, "inconclusive"),  # an oil between two limits
    ],
)
def test_jcgm_106_examples_as_findings(
    value: float, u: float, lower: float | None, upper: float | None, probability: float, verdict: str
) -> None:
    requirement = Requirement(
        key="k",
        element="E",
        layer=None,
        rule="example",
        measurand=Measurand.COVER,
        asks="",
        lower=lower,
        upper=upper,
        sources=(),
    )
    finding = measured(requirement, value, u)
    assert finding.probability_low == pytest.approx(probability, abs=0.001)
    assert finding.verdict == verdict


@pytest.mark.source("SP 16:1980, table 96")
@pytest.mark.parametrize(
    ("bar", "spacing", "area"), [(8, 150, 335), (10, 125, 628), (12, 150, 754), (16, 200, 1005)]
)
def test_steel_area_per_metre_in_the_consequences(bar: int, spacing: int, area: int) -> None:
    assert steel_area_mm2_per_m(round_area_mm2(bar), spacing) == pytest.approx(area, abs=1)


@pytest.mark.source(
    "Equilibrium of a singly reinforced section, rectangular stress block; ACI 318-19, 22.2.2.4 (from memory)"
)
def test_bending_resistance_by_hand() -> None:
    """As 1000 mm2, fy 420, f'c 28, b 1000, d 200: a = 420000 / (0.85 x 28 x 1000) = 17.65 mm; Mn = 420 x (200 - 8.82) = 80.29 kNm."""
    assert bending_resistance_kn_m(1000, 200, yield_mpa=420, concrete_mpa=28) == pytest.approx(
        80.29, abs=0.01
    )


@pytest.mark.source("AS 3600:2018, 17.5.3")
def test_sources_are_shown_openly() -> None:
    gap = requirements("IS 456:2000", "T10-150", tolerance={"single_gap_mm": 20.0, "agreed": "item 3"})[
        "single-gap"
    ]
    words = " / ".join(s.words for s in gap.sources)
    assert "agreed for the project" in words
    assert "the code gives none" in words
    over = requirements("AS 3600:2018", "N12-150", tolerance={"single_gap_mm": 25.0})["single-gap"]
    assert "overrides AS 3600:2018" in " / ".join(s.words for s in over.sources)
