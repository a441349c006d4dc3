"""Weather: the evaporation formulas against each other and the chart, and the limits of heat and cold."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from verifier.concrete.evaporation import Hour, evaporation_kg_m2_h, evaporation_lb_ft2_h, evaporation_rate
from verifier.concrete.forecast import read_forecast
from verifier.concrete.weather import Site, advice_for, window_advice
from verifier.errors import BadInput

DAWN = datetime(2026, 6, 1, 6, 0, tzinfo=UTC)
SLAB = Site(least_section_mm=150)
LB_FT2_IN_KG_M2 = 4.8824


def hour(**fields) -> Hour:
    return Hour(**({"at": DAWN, "air_c": 20, "humidity_percent": 70, "wind_km_h": 5} | fields))


def kinds(*hours: Hour, site: Site = SLAB) -> list[str]:
    return [a.kind for h in hours for a in advice_for(h, site)]


@pytest.mark.source("ACI Materials Journal 95-M34 (1998); worked point of the ACI 305R chart from memory")
def test_evaporation_at_the_worked_point_of_the_chart():
    assert round(evaporation_kg_m2_h(30.6, 26.7, 0.50, 19.3), 2) == 1.14
    assert round(evaporation_lb_ft2_h(87, 80, 0.50, 12), 3) == 0.243
    assert evaporation_lb_ft2_h(87, 80, 0.50, 12) == pytest.approx(0.25, rel=0.06)
    assert evaporation_kg_m2_h(30.6, 26.7, 0.50, 19.3) == pytest.approx(1.2, rel=0.06)


@pytest.mark.source("ACI Materials Journal 95-M34 (1998): both unit forms give one rate")
@pytest.mark.parametrize(
    ("concrete", "air", "humidity", "wind"), [(25, 20, 0.4, 10), (32, 38, 0.2, 25), (18, 10, 0.8, 5)]
)
def test_both_forms_agree(concrete, air, humidity, wind):
    metric = evaporation_kg_m2_h(concrete, air, humidity, wind)
    inch = evaporation_lb_ft2_h(concrete * 1.8 + 32, air * 1.8 + 32, humidity, wind / 1.609344)
    assert inch * LB_FT2_IN_KG_M2 == pytest.approx(metric, rel=0.06)


@pytest.mark.source("ACI 305R (1.0 kg/m2/h); doubt of 40 % as published")
def test_evaporation_advice_counts_its_doubt_and_is_never_a_verdict():
    dry = hour(air_c=26.7, humidity_percent=50, wind_km_h=19.3, concrete_c=30.6)
    rate = evaporation_rate(dry)
    assert rate is not None
    assert (round(rate.low, 2), round(rate.high, 2)) == (0.68, 1.60)
    assert "evaporation" in kinds(dry)
    near = hour(air_c=25, humidity_percent=50, wind_km_h=16, concrete_c=28)
    found = evaporation_rate(near)
    assert found is not None
    assert found.rate < 1.0 <= found.high
    assert "evaporation" in kinds(near)
    assert evaporation_rate(hour()) is None


@pytest.mark.source("ACI 305.1-14 (27 C air); ACI 301-20 (35 C concrete)")
def test_heat():
    assert kinds(hour(air_c=26.9, concrete_c=25, humidity_percent=90)) == []
    assert kinds(hour(air_c=27, humidity_percent=90)) == ["hot"]
    hot = advice_for(hour(air_c=30, humidity_percent=90, concrete_c=35.1), SLAB)
    assert [a.says for a in hot if "35.1" in a.says] == ["Concrete 35.1 C."]


@pytest.mark.source("IS 7861-2 (5 C); ACI 306R (13 C for thin sections), from memory")
def test_cold_and_frost():
    assert kinds(hour(air_c=4.9, humidity_percent=90)) == ["cold"]
    assert "cold" in kinds(hour(air_c=8, concrete_c=12.9, humidity_percent=95))
    assert "cold" not in kinds(
        hour(air_c=8, concrete_c=12.9, humidity_percent=95), site=Site(least_section_mm=500)
    )
    assert kinds(hour(air_c=-1, humidity_percent=90)) == ["cold", "frost"]


@pytest.mark.source("common practice, no source: wind limits come from pump maker and falsework design")
def test_wind_and_rain():
    limited = Site(least_section_mm=150, pump_wind_limit_km_h=45, falsework_wind_limit_km_h=60)
    assert kinds(hour(wind_km_h=50, humidity_percent=99), site=limited) == ["wind"]
    assert kinds(hour(wind_km_h=60, humidity_percent=99), site=limited) == ["wind", "wind"]
    assert kinds(hour(wind_km_h=80, humidity_percent=99)) == []
    assert kinds(hour(rain_mm=0.2)) == ["rain"]
    assert kinds(hour(rain_chance_percent=50)) == ["rain"]


@pytest.mark.source("common practice, no source: pour, finish and 12 h more")
def test_hours_without_forecast_are_said_and_not_taken_as_fair():
    hours = [hour(at=DAWN + timedelta(hours=h), concrete_c=22) for h in range(6)]
    told = window_advice(
        hours, DAWN, DAWN + timedelta(hours=5), Site(least_section_mm=150, pump_wind_limit_km_h=40)
    )
    assert [a.kind for a in told] == ["not covered"]
    assert "2026-06-01 11:00 to 2026-06-01 23:00" in told[0].says
    full = [hour(at=DAWN + timedelta(hours=h), concrete_c=22) for h in range(18)]
    assert (
        window_advice(
            full, DAWN, DAWN + timedelta(hours=5), Site(least_section_mm=150, pump_wind_limit_km_h=40)
        )
        == ()
    )
    assert "wind limit of the pump" in window_advice(full, DAWN, DAWN + timedelta(hours=5), SLAB)[-1].says


@pytest.mark.source("RFC 4180 (CSV), with semicolons as spreadsheets of some countries write it")
def test_a_forecast_is_read_and_faulty_lines_are_named():
    text = "at;air_c;humidity_percent;wind_km_h;rain_mm\r\n2026-06-01T06:00:00+02:00;18;60;10;\r\n"
    assert read_forecast(text, where="w.csv")[0].air_c == 18
    assert read_forecast("\ufeff" + text.replace(";", ","), where="w.csv")[0].rain_mm == 0
    with pytest.raises(BadInput, match=r"line 2: at.*line 3: humidity_percent"):
        read_forecast(
            "at,air_c,humidity_percent,wind_km_h\n2026-06-01T06:00:00,18,60,10\n2026-06-01T07:00:00Z,18,160,10\n", where="w.csv"
        )  # fmt: skip
    with pytest.raises(BadInput, match=r"missing: wind_km_h; unknown: wind_ms"):
        read_forecast("at,air_c,humidity_percent,wind_ms\n", where="w.csv")
