"""Props and forecast in the folder of a pour: arithmetic that stops, weather that only advises."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Literal

import pytest
from typer.testing import CliRunner

from verifier.cli.commands import app
from verifier.codes import known_codes
from verifier.errors import BadInput
from verifier.formwork.tolerances import section_bounds
from verifier.pipeline.concreting.falsework import falsework_of, reasons_of_falsework, write_falsework
from verifier.pipeline.concreting.forecasting import reasons_of_weather, weather_of
from verifier.pipeline.release.released import ReleaseState, overtaken
from verifier.release.decision import Decision

SAMPLE = Path(__file__).parents[2] / "sample_images"
GRID = """loads = "IS 14687"
[[grid]]
slab = "S1"
spacing_x_m = {spacing}
spacing_y_m = {spacing}
prop = "B30"
extension_m = 3.0
formwork_kn_m2 = 0.5
construction_kn_m2 = 1.5
plate_m = [0.3, 0.3]
ground_kpa = {ground}
"""
HEAD = "at,air_c,humidity_percent,wind_km_h,rain_mm,concrete_c\n"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    for name in ("pour.toml", "order.toml"):
        shutil.copy(SAMPLE / name, tmp_path)
    return tmp_path


def grid(place: Path, spacing: float, ground: float) -> None:
    text = GRID.format(spacing=spacing, ground=ground)
    (place / "falsework.toml").write_text(text, encoding="utf-8")


def test_a_grid_that_holds_says_nothing(place: Path) -> None:
    """26 kN/m3 x 150 mm + 0.5 + 1.5 = 5.90 kN/m2, on 1.2 m x 1.2 m 8.50 kN; B30 at 3.0 m works with 13.74 kN (EN 1065)."""
    grid(place, 1.2, 100)
    (checked,) = falsework_of(place).grids
    assert checked.load.total_kn_m2 == pytest.approx(5.90)
    assert checked.check.load_kn == pytest.approx(8.50, abs=0.005)
    assert checked.capacity.working_kn == pytest.approx(13.74, abs=0.005)
    assert reasons_of_falsework(place) == ()


def test_props_too_far_apart_and_plates_too_small_stop_the_pour(place: Path) -> None:
    grid(place, 1.6, 100)
    found = {r.key: r for r in reasons_of_falsework(place)}
    assert set(found) == {"falsework-S1-props", "falsework-S1-plate"}
    assert {r.weight for r in found.values()} == {"stops"}
    assert "15.10 kN" in found["falsework-S1-props"].says
    assert found["falsework-S1-props"].owner == "temporary works"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('slab = "S1"', 'slab = "S9"'),
        ('prop = "B30"', 'prop = "Z30"'),
        ("extension_m = 3.0", ""),
        ("loads =", "lods ="),
    ],
)
def test_a_falsework_file_that_can_not_be_used_stops_and_says_why(place: Path, old: str, new: str) -> None:
    grid(place, 1.2, 100)
    path = place / "falsework.toml"
    path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput):
        falsework_of(place)
    (reason,) = reasons_of_falsework(place)
    assert reason.weight == "stops"


def test_weather_is_advice_with_its_source_and_never_stops(place: Path) -> None:
    assert reasons_of_weather(place) == ()
    rows = "".join(
        f"2026-05-14T{hour:02d}:00:00+02:00,{36 if hour > 8 else 20},30,25,{2 if hour == 8 else 0},33\n"
        for hour in range(6, 24)
    )
    (place / "weather.csv").write_text(HEAD + rows, encoding="utf-8")
    found = {r.key: r for r in reasons_of_weather(place)}
    assert {"weather-evaporation", "weather-hot", "weather-rain"} <= set(found)
    assert {r.weight for r in found.values()} == {"caution"}
    assert "Source: " in found["weather-evaporation"].says
    weather = weather_of(place)
    assert weather is not None
    assert weather.rates[0] is not None
    assert weather.rates[0].low < weather.rates[0].rate < weather.rates[0].high


def test_a_forecast_that_can_not_be_read_is_told_and_does_not_stop(place: Path) -> None:
    (place / "weather.csv").write_text("at,air\nnow,warm\n", encoding="utf-8")
    (reason,) = reasons_of_weather(place)
    assert (reason.weight, "can't be read" in reason.says) == ("caution", True)


MORE = """service_load_kn_m2 = 9.125
[[side]]
element = "S1"
may_carry_kpa = {may}
may_carry_source = "sheet 4 of the forms"
[[found]]
what = "soffit level"
place = "A1"
planned_mm = 3000
found_mm = {level}
uncertainty_mm = 2
[[found]]
what = "thickness"
element = "S2"
place = "north pin"
found_mm = {thick}
uncertainty_mm = 2
"""


def more(place: Path, *, may: float = 5, level: float = 3005, thick: float = 152) -> None:
    grid(place, 1.2, 100)
    path = place / "falsework.toml"
    text = path.read_text(encoding="utf-8") + MORE.format(may=may, level=level, thick=thick)
    path.write_text(text, encoding="utf-8")


def test_sides_and_sections_follow_from_the_drawing_alone(place: Path) -> None:
    """24 kN/m3 x 0.15 m = 3.6 kPa at the foot of a slab edge (ACI 347.2R-17, w h); 0.27 kN/m is that triangle's area."""
    checked = falsework_of(place)
    assert not checked.written
    assert [(s.element, s.what, round(s.pressure.value, 2)) for s in checked.sides] == [
        ("S1", "slab edge", 3.6),
        ("S2", "slab edge", 3.6),
    ]
    assert checked.sides[0].force_kn_m == pytest.approx(0.27)
    assert checked.sides[0].holds is None, "nobody wrote what it may carry"
    assert {(s.element, s.what, s.bounds.low_mm) for s in checked.sections} == {
        ("S1", "thickness", -6),
        ("S2", "thickness", -6),
    }
    assert any("belongs to its designer" in c for c in checked.cautions)
    assert reasons_of_falsework(place) == ()


@pytest.mark.parametrize("code", known_codes())
def test_every_code_says_how_far_a_beam_may_be_off(code: str) -> None:
    assert section_bounds(code, 450).low_mm is not None


def test_beams_drops_and_upstands_have_sides_too(place: Path) -> None:
    text = (place / "pour.toml").read_text(encoding="utf-8")
    beam = """
[[beam]]
mark = "RB1"
width_mm = 230
depth_mm = 450
cover_mm = { bottom = 25, top = 25 }
bottom = "2-T16"
steel = { grade = "Fe500" }
[[drop]]
mark = "D1"
length_m = 2.0
width_m = 2.0
added_mm = 100
[[upstand]]
mark = "U1"
length_m = 4.0
width_m = 0.15
added_mm = 200
"""
    (place / "pour.toml").write_text(text.replace("[people]", beam + "\n[people]"), encoding="utf-8")
    checked = falsework_of(place)
    heights = {s.element: (s.what, s.height_m, round(s.pressure.value, 2)) for s in checked.sides}
    assert heights["RB1"] == ("beam side", 0.45, 10.8)
    assert heights["D1"] == ("beam side", 0.25, 6.0), "a drop is filled through the slab above it"
    assert heights["U1"] == ("slab edge", 0.2, 4.8)
    beams = {(s.what, s.bounds.low_mm, s.bounds.high_mm) for s in checked.sections if s.element == "RB1"}
    assert beams == {("width", -6, 12), ("depth", -6, 12)}, "IS 456:2000, 11.1"


def test_a_weak_side_and_a_reading_that_is_off_stop_the_pour(place: Path) -> None:
    more(place)
    assert reasons_of_falsework(place) == ()
    more(place, may=3.5, level=3018, thick=140)
    found = {r.key.split("-north")[0]: r for r in reasons_of_falsework(place)}
    assert found["falsework-S1-side"].weight == "stops"
    assert "3.6 kPa press on its side of 0.15 m, which may carry 3.5 kPa" in found["falsework-S1-side"].says
    level = found["falsework-soffit-level-A1-0"]
    assert (level.weight, level.kind) == ("condition", "not-decided"), "18 +- 2 mm of 19 mm can't be told"
    thick = next(r for r in found.values() if "thickness" in r.says)
    assert (thick.weight, thick.owner) == ("stops", "contractor's engineer")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('element = "S1"', 'element = "S7"', "S7 is no element"),
        ('may_carry_source = "sheet 4 of the forms"', "", "belong together"),
        ("planned_mm = 3000", "", "needs planned_mm"),
        ('element = "S2"', 'element = "B9"', "thickness of B9 is not drawn"),
        ("uncertainty_mm = 2", "uncertainty_mm = 0", "must be more than 0"),
        ("service_load_kn_m2 = 9.125", "service_load_kn_m2 = 3", "less than its own"),
        ('slab = "S1"', 'slab = "S1"\nspacing_z_m = 1', "spacing_z_m"),
    ],
)
def test_a_wrong_entry_is_named(place: Path, old: str, new: str, says: str) -> None:
    more(place)
    path = place / "falsework.toml"
    path.write_text(path.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadInput) as error:
        falsework_of(place)
    assert says in str(error.value)
    assert [r.weight for r in reasons_of_falsework(place)] == ["stops"]


def test_the_command_shows_sides_and_order_of_removal_and_says_when_no_prop_is_checked(
    place: Path,
) -> None:
    runner = CliRunner()
    bare = runner.invoke(app, ["falsework", str(place)])
    assert bare.exit_code != 0
    assert "slab edge of 0.15 m: 3.6 kPa" in bare.output
    more(place)
    told = runner.invoke(app, ["falsework", str(place)])
    assert told.exit_code == 0
    for said in (
        "1. Props under S1: it then carries 5.40",
        "thickness 150 mm: may be off -6 mm and up",
        "belongs to its designer",
    ):
        assert said in told.output


def test_what_is_written_on_the_page_joins_the_file_and_nothing_in_it_is_lost(place: Path) -> None:
    props = {"slab": "S1", "spacing_x_m": 1.2, "spacing_y_m": 1.2, "prop": "B30", "extension_m": 3.0}
    write_falsework(place, "grid", props, "BS 5975")
    path = place / "falsework.toml"
    path.write_text("# asked on the telephone\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    write_falsework(place, "side", {"element": "S1", "may_carry_kpa": 5.0, "may_carry_source": "sheet 4"})
    reading = {
        "what": "thickness",
        "element": "S2",
        "place": "pin 1",
        "found_mm": 149.0,
        "uncertainty_mm": 2.0,
    }
    write_falsework(place, "found", reading)
    write_falsework(place, "grid", props | {"spacing_x_m": 1.0})
    checked = falsework_of(place)
    assert path.read_text(encoding="utf-8").startswith("# asked on the telephone")
    assert [round(g.check.load_kn, 2) for g in checked.grids] == [7.08], (
        "the grid of a slab is replaced: 5.90 x 1.0 x 1.2"
    )
    assert checked.sides[0].holds
    assert [p.verdict for look in checked.looks for p in look.points] == ["conforming"]


@pytest.mark.parametrize(
    ("table", "entry", "told"),
    [
        (
            "grid",
            {"slab": "S9", "spacing_x_m": 1.0, "spacing_y_m": 1.0, "prop": "B30", "extension_m": 3.0},
            "S9 is no slab",
        ),
        (
            "grid",
            {"slab": "S2", "spacing_x_m": 1.0, "spacing_y_m": 1.0, "prop": "Z30", "extension_m": 3.0},
            "no prop of EN 1065",
        ),
        (
            "grid",
            {"slab": "S2", "spacing_x_m": 1.0, "spacing_y_m": 1.0, "prop": "B30", "extension_m": 3.5},
            "beyond the longest",
        ),
        (
            "found",
            {"what": "width", "element": "S1", "place": "a", "found_mm": 3.0, "uncertainty_mm": 1.0},
            "is not drawn",
        ),
    ],
)
def test_an_entry_that_can_not_be_used_leaves_the_file_as_it_was(
    place: Path, table: Literal["grid", "found"], entry: dict[str, object], told: str
) -> None:
    with pytest.raises(BadInput, match=told):
        write_falsework(place, table, entry, "BS 5975")
    assert not (place / "falsework.toml").exists()
    grid(place, 1.2, 100)
    before = (place / "falsework.toml").read_bytes()
    with pytest.raises(BadInput, match=told):
        write_falsework(place, table, entry)
    assert (place / "falsework.toml").read_bytes() == before


@pytest.mark.parametrize(("may", "state"), [(5, "stands"), (3, "lapsed")])
def test_a_release_does_not_stand_beside_a_stop_that_came_after_it(
    place: Path, may: float, state: str
) -> None:
    """Order and falsework file lie beside the record: a release given before they changed must not look valid."""
    more(place, may=may)
    stops = reasons_of_falsework(place)
    answer = "no_go" if stops else "go"
    decision = Decision.model_construct(answer=answer, reasons=stops, conditions=(), cautions=())
    told = overtaken(ReleaseState(state="stands", person="eor-1", record=9), decision)
    assert told.state == state
    assert all("3.6 kPa press on its side" in why for why in told.why)
    assert overtaken(ReleaseState(state="poured"), decision).state == "poured", (
        "what was poured is judged as it began"
    )
