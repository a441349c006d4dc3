"""A pour with everything on it: each thing drawn becomes a requirement with its limits, and nothing taped is lost."""

from __future__ import annotations

import shutil
from datetime import datetime
from pathlib import Path

import pytest

from verifier.codes.load import load_code
from verifier.drawing.read import read_pour
from verifier.pipeline.decision.check import check
from verifier.rules.asked import requirements_of
from verifier.rules.drawing_notes import drawing_notes

SAMPLE = Path(__file__).parents[2] / "sample_images"
AT = datetime.fromisoformat("2026-05-13T19:00:00+02:00")

BEAM = """
[[beam]]
mark = "B3"
width_mm = 230
depth_mm = 450
cover_mm = { bottom = 25, top = 25, side = 25 }
bottom = "3-T16"
top = "2-T12"
stirrups = "T8-150"
length_m = 5.2
"""
TAPE = """element,layer,what,n_gaps,reading_mm,reading_2_mm,reading_3_mm,instrument,person,time,spot
B3,bottom,count,,3,,,,engineer-1,2026-05-13 16:00,1
B3,bottom,count,,2,,,,engineer-1,2026-05-13 16:01,2
B3,top,count,,2,,,,engineer-1,2026-05-13 16:01,1
B3,links,mean_spacing,6,902,901,,tape-II,engineer-1,2026-05-13 16:02,1
B3,links,mean_spacing,6,903,902,,tape-II,engineer-1,2026-05-13 16:02,2
B3,bottom,cover,,28,28,28,steel-rule,engineer-1,2026-05-13 16:03,1
B3,bottom,cover,,28,28,29,steel-rule,engineer-1,2026-05-13 16:03,2
B3,,width,,231,231,230,tape-II,engineer-1,2026-05-13 16:04,
B3,links,lap,,600,,,tape-II,engineer-1,2026-05-13 16:04,
S1,B1,lap,,490,492,491,tape-II,engineer-1,2026-05-13 16:05,1
S1,B1,block_pitch,,720,721,719,tape-II,engineer-1,2026-05-13 16:06,1
S1,B1,bend_rise,,99,100,101,tape-II,engineer-1,2026-05-13 16:06,1
S1,B1,edge_distance,,165,166,165,tape-II,engineer-1,2026-05-13 16:07,1
"""


@pytest.fixture
def pour(tmp_path: Path) -> Path:
    folder = tmp_path / "pour"
    folder.mkdir()
    shutil.copy(SAMPLE / "boards.toml", folder)
    text = (SAMPLE / "pour.toml").read_text(encoding="utf-8")
    bent = '{ layer = "B1", callout = "T10-150", bent_up = { every = 2, at_span_fraction = 0.2, angle_deg = 45 } }'
    text = text.replace('{ layer = "B1", callout = "T10-150" }', bent)
    text = text.replace('lap = "auto" }\n', 'lap = "auto" }\nsupports = { block_pitch_mm = 750 }\n', 1)
    (folder / "pour.toml").write_text(text.replace("[people]", BEAM + "\n[people]"), encoding="utf-8")
    (folder / "tape").mkdir()
    (folder / "tape" / "readings.csv").write_text(TAPE, encoding="utf-8")
    return folder


def test_every_value_of_the_drawing_is_asked_with_a_source(pour: Path) -> None:
    read = read_pour(pour)
    asked = requirements_of(read, load_code(read.pour.code))
    keys = {r.key: r for r in asked.requirements}
    assert len(keys) == len(asked.requirements)  # no two share a name
    assert {
        "S1/B1/single-gap",
        "S1/B1/largest-spacing",
        "S1/B1/clear-distance",
        "S1/B1/least-steel",
        "S1/B1/diameter",
        "S1/B1/lap",
        "S1/B1/count",
        "S1/B1/edge-distance",
        "S1/B1/bend-rise",
        "S1/block-pitch",
        "S1/bottom/cover",
        "B3/bottom/count",
        "B3/top/count",
        "B3/links/single-gap",
        "B3/side/cover",
    } <= set(keys)
    assert all(r.sources for r in asked.requirements)
    assert all(s.status for r in asked.requirements for s in r.sources)
    assert keys["B3/bottom/count"].lower == 3
    rise = keys[
        "S1/B1/bend-rise"
    ]  # 150 - 20 - 20 - 10, within 10 mm for d of 200 and less (IS 456:2000, 12.3.1)
    assert (rise.lower, rise.nominal, rise.upper) == (90, 100, 110)
    assert asked.open_points == ()


def test_taped_values_reach_their_findings_and_the_rest_is_told(pour: Path) -> None:
    found = check(pour, at=AT, workers=1)
    verdicts = {f.key: f.verdict for f in found.findings if f.measured}
    assert verdicts["B3/bottom/count/1"] == "conforming"
    assert verdicts["B3/bottom/count/2"] == "non_conforming"
    assert verdicts["B3/top/count/1"] == "conforming"
    assert verdicts["B3/links/mean-spacing/1"] == "conforming"
    assert verdicts["B3/bottom/cover"] == "conforming"
    assert verdicts["S1/B1/lap"] == "conforming"  # 485.5 mm asked by the code
    assert verdicts["S1/block-pitch"] == "conforming"
    assert verdicts["S1/B1/bend-rise"] == "conforming"
    assert verdicts["S1/B1/edge-distance"] == "non_conforming"  # more than a spacing from the form
    told = [c.says for c in found.decision.cautions]
    assert any("lap length of B3 links is not asked for" in says for says in told)
    assert found.decision.reasons[0].says.startswith("B3 bottom, spot 2: count 2")


def test_zones_with_other_bars_are_left_open_and_stop_the_pour(pour: Path) -> None:
    path = pour / "pour.toml"
    text = path.read_text(encoding="utf-8")
    zones = (
        '{ layer = "B2", callout = "T8-200", zone = "middle" },\n'
        '  { layer = "B2", callout = "T8-150", zone = "edge" }'
    )
    path.write_text(text.replace('{ layer = "B2", callout = "T8-200" }', zones, 1), encoding="utf-8")
    found = check(pour, at=AT, workers=1)
    assert any("different bars zone by zone" in r.says for r in found.decision.reasons)
    assert not any(f.requirement.layer == "B2" and f.requirement.element == "S1" for f in found.findings)


def test_without_any_tolerance_spacing_can_not_be_judged(pour: Path) -> None:
    path = pour / "pour.toml"
    text = path.read_text(encoding="utf-8")
    text = text.replace("single_gap_mm = 20", "").replace("mean_spacing_percent = 5", "")
    path.write_text(text, encoding="utf-8")
    found = check(pour, at=AT, workers=1)
    assert any("gives a tolerance on spacing" in r.says for r in found.decision.reasons)


def test_a_drawing_that_asks_less_than_the_code_is_told_to_the_engineer_of_record(pour: Path) -> None:
    path = pour / "pour.toml"
    text = path.read_text(encoding="utf-8").replace('exposure = "mild"', 'exposure = "moderate"')
    path.write_text(text.replace('callout = "T8-200" }', 'callout = "T8-300" }', 1), encoding="utf-8")
    read = read_pour(pour)
    notes = [n.says for n in drawing_notes(read, load_code(read.pour.code))]
    assert any("S1 bottom cover as drawn (20 mm): less than 30 mm of IS 456:2000" in n for n in notes)
    assert any("S1 B2 as drawn (T8-300): 168 mm²/m, less than 180 mm²/m" in n for n in notes)
