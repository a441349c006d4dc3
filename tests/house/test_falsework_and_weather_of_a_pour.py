"""Props and forecast in the folder of a pour: arithmetic that stops, weather that only advises."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from verifier.errors import BadInput
from verifier.pipeline.falsework import falsework_of, reasons_of_falsework
from verifier.pipeline.forecasting import reasons_of_weather, weather_of

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
