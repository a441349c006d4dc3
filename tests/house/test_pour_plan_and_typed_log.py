"""The plan from an order, entries as a phone sends them, and what is printed of rounds and order."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from small_pour import steel_alone

from verifier.concrete.evaporation import Hour
from verifier.concrete.pour_log import PourEvent, Strip, Truck
from verifier.errors import BadInput, Refusal, VerifierError
from verifier.pipeline.concreting.forecasting import keep_hour, weather_of
from verifier.pipeline.concreting.order_file import keep_order, sheet_in, written_order
from verifier.pipeline.concreting.pour_planning import plan_of
from verifier.pipeline.concreting.pouring import log_of, pour_so_far
from verifier.pipeline.concreting.typed_log import record_typed
from verifier.pipeline.papers.pour_tables import tables_of_pour
from verifier.pipeline.people.acting import Act
from verifier.record.keys import DeviceSigner, device_signer

SAMPLE = Path(__file__).parents[2] / "sample_images"
START = datetime.fromisoformat("2026-05-14T06:30:00+02:00")


@pytest.fixture(scope="module")
def signer(tmp_path_factory: pytest.TempPathFactory) -> DeviceSigner:
    return device_signer(tmp_path_factory.mktemp("keys") / "device.key")


@pytest.fixture
def place(tmp_path: Path) -> Path:
    for name in ("pour.toml", "order.toml", "items.toml", "rounds.toml"):
        shutil.copy(SAMPLE / name, tmp_path)
    return tmp_path


def typed(place: Path, signer: DeviceSigner, once: str, what: str, minute: float, **said: object) -> object:
    at = START + timedelta(minutes=minute)
    entry = {"once": once, "what": what, "at": at.isoformat()} | said
    return record_typed(place, entry, Act("engineer-1", at + timedelta(seconds=30), signer))


def test_a_truck_typed_step_by_step_is_one_delivery(place: Path, signer: DeviceSigner) -> None:
    batch = (START - timedelta(minutes=20)).isoformat()
    arrived = {"ticket": "7", "volume_m3": "3.5", "plant": "plant-1", "batch_at": batch}
    typed(place, signer, "a", "arrived", 0, **arrived)
    typed(place, signer, "b", "test", 1, ticket="7", slump_mm="140", concrete_c="24")
    typed(place, signer, "c", "test", 3, ticket="7", slump_mm="120", sample="A")
    typed(
        place,
        signer,
        "d",
        "water",
        4,
        ticket="7",
        litres="15",
        ordered_by="engineer-1",
        within_hold_back="yes",
    )
    typed(place, signer, "e", "discharging", 5, ticket="7")
    typed(place, signer, "f", "emptied", 20, ticket="7", returned_m3="0.2")
    (truck,) = log_of(place)
    assert isinstance(truck, Truck)
    assert [(s.slump_mm, s.portion) for s in truck.slumps] == [(140, 1), (120, 2)]
    assert [w.litres for w in truck.water] == [15]
    assert (truck.placed_m3, truck.sample, truck.concrete_c) == (pytest.approx(3.3), "A", 24)


def test_a_refused_load_counts_for_nothing_and_keeps_its_reason(place: Path, signer: DeviceSigner) -> None:
    typed(place, signer, "a", "arrived", 0, ticket="8", volume_m3="3.5", plant="plant-1")
    typed(place, signer, "b", "refused", 2, ticket="8", says="batch time can't be read")
    (truck,) = log_of(place)
    assert isinstance(truck, Truck)
    assert (truck.batch_at, truck.placed_m3, truck.refused_because) == (None, 0.0, "batch time can't be read")


def test_a_face_that_waited_too_long_raises_the_alarm_of_the_joint(place: Path, signer: DeviceSigner) -> None:
    """Common practice, no source: 60 min until fresh concrete must cover a face; note and call from three quarters on."""
    typed(place, signer, "a", "strip", 0, name="1")
    typed(place, signer, "b", "strip", 50, name="2", neighbour="1")
    first, second = log_of(place)
    assert isinstance(first, Strip)
    assert isinstance(second, Strip)
    (alarm,) = [a for a in pour_so_far(place, START + timedelta(minutes=51)).alarms if a.kind == "cold-joint"]
    assert (alarm.weight, alarm.about) == ("stop", "2")
    assert "50 min old" in alarm.says


@pytest.mark.parametrize(
    "entry",
    [
        {},
        {"once": "x"},
        {"once": "x", "what": "arrived", "at": "now"},
        {"once": "x", "what": "arrived", "at": "2026-05-14T06:30:00"},
        {"once": "x", "what": "nothing", "at": START.isoformat()},
        {"once": "x", "what": "test", "at": START.isoformat(), "ticket": "unknown", "slump_mm": "100"},
        {
            "once": "x",
            "what": "arrived",
            "at": START.isoformat(),
            "ticket": "1",
            "volume_m3": "much",
            "plant": "p",
        },
        {"once": "x", "what": "reading", "at": START.isoformat(), "air_c": [1], "humidity_percent": True},
        {"once": ["x"], "what": {"a": 1}, "at": 5},
    ],
)
def test_what_a_browser_sends_is_input_like_any_other(
    place: Path, signer: DeviceSigner, entry: dict[str, object]
) -> None:
    with pytest.raises(VerifierError):
        record_typed(place, entry, Act("engineer-1", START, signer))
    assert log_of(place) == ()


def test_an_event_sent_twice_is_in_the_log_once(place: Path, signer: DeviceSigner) -> None:
    for _ in range(3):
        typed(place, signer, "same", "vibrator", 0, says="needle 2 for 1")
    (event,) = log_of(place)
    assert isinstance(event, PourEvent)
    assert event.what == "vibrator changed"


def test_the_plan_of_an_order_and_what_fewer_trucks_do(place: Path) -> None:
    """Two trucks hold 6.5 m3 in two trips; with one the second load waits for the round of 80 min, past a joint of 60 min."""
    sheet = sheet_in(place)
    assert sheet is not None
    plan = plan_of(place, sheet, runs=400)
    assert not isinstance(plan, Refusal)
    assert (plan.supply.loads, plan.supply.round_trip.total_min, len(plan.strips)) == (2, 80, 7)
    assert sum(s.volume_m3 for s in plan.strips) == pytest.approx((5.2 + 4.6) * 4.1 * 0.15)
    by_change = {(c.trucks, c.pumps): c.outcome for c in plan.changes}
    assert by_change[-1, 0].joint_exceeded.low > by_change[0, 0].joint_exceeded.high
    assert by_change[-1, 0].duration_half_min > by_change[0, 0].duration_half_min
    again = plan_of(place, sheet, runs=400)
    assert again == plan, "seeded: the same order gives the same chances"


def test_an_order_without_the_round_of_a_truck_has_no_plan_and_says_so(place: Path) -> None:
    text = (place / "order.toml").read_text(encoding="utf-8")
    (place / "order.toml").write_text(text[: text.index("[supply]")], encoding="utf-8")
    sheet = sheet_in(place)
    assert sheet is not None
    plan = plan_of(place, sheet)
    assert isinstance(plan, Refusal)
    assert "trip" in plan.say


def test_a_field_typed_into_the_order_is_kept_and_the_rest_stays(place: Path) -> None:
    before = sheet_in(place)
    keep_order(place, {"cement": 'OPC "53"', "placing.vibrators": 3})
    after = sheet_in(place)
    assert before is not None
    assert after is not None
    assert (after.cement, after.placing.vibrators) == ('OPC "53"', 3)
    changed = {"cement": before.cement, "placing": before.placing}
    assert after.model_copy(update=changed) == before


def test_typing_keeps_remarks_and_everything_else_in_the_file(place: Path) -> None:
    path = place / "order.toml"
    own = path.read_text(encoding="utf-8").replace(
        'grade = "M25"', 'grade = "M25"  # as agreed on the telephone'
    )
    path.write_text(own, encoding="utf-8")
    legs = {"load_min": 10, "out_min": 30, "wait_min": 5, "discharge_min": 15, "wash_min": 5, "back_min": 25}
    keep_order(place, {"supply.trip": legs, "supply.trucks": 3, "air_percent": 4.5, "placing.hose_m": None})
    text = path.read_text(encoding="utf-8")
    assert "# as agreed on the telephone" in text
    assert "# Minutes of one truck's round" in text
    sheet = sheet_in(place)
    assert sheet is not None
    assert sheet.supply.trip is not None
    assert (sheet.supply.trip.total_min, sheet.supply.trucks, sheet.air_percent) == (90, 3, 4.5)
    assert sheet.placing.hose_m is None


def test_a_number_taken_out_is_missing_and_not_silently_the_old_one(place: Path) -> None:
    keep_order(place, {"volume_m3": None})
    with pytest.raises(BadInput, match="volume_m3"):
        sheet_in(place)
    keep_order(place, {"volume_m3": 6.5})
    assert sheet_in(place) is not None


def test_a_field_inside_something_that_is_no_table_is_refused(place: Path) -> None:
    path = place / "order.toml"
    before = path.read_text(encoding="utf-8").replace("[supply]", "[other]") + ""
    path.write_text('supply = "by rail"\n' + before, encoding="utf-8")
    with pytest.raises(BadInput, match="supply is no table"):
        keep_order(place, {"supply.trucks": 2})
    assert path.read_text(encoding="utf-8").startswith('supply = "by rail"')


def test_fields_can_be_typed_into_an_order_that_is_not_there_yet(place: Path) -> None:
    (place / "order.toml").unlink()
    keep_order(place, {"grade": "M25", "placing.vibrators": 2})
    assert written_order(place) == {"grade": "M25", "placing": {"vibrators": 2}}


def test_an_hour_typed_joins_the_forecast_and_replaces_its_like(place: Path) -> None:
    for celsius in (19.0, 34.0):
        keep_hour(place, Hour(at=START, air_c=celsius, humidity_percent=30, wind_km_h=60, concrete_c=30))
    keep_order(place, {"placing.pump_wind_limit_km_h": 50.0})
    weather = weather_of(place)
    assert weather is not None
    assert [h.air_c for h in weather.hours] == [34.0]
    assert {a.kind for a in weather.advice} >= {"evaporation", "hot", "wind"}
    assert any("pump limit 50" in a.says for a in weather.advice)


def test_rounds_hold_points_and_order_are_given_as_texts(place: Path) -> None:
    tables = {t.title: t for t in tables_of_pour(place, START)}
    assert list(tables) == ["Inspection rounds", "Hold points", "Concrete order"]
    assert [row[0] for row in tables["Hold points"].rows] == ["FW-17", "RB-01", "SV-01", "RC-01"]
    assert dict(tables["Concrete order"].rows)["Volume"].startswith("6.5 m3")
    assert all(len(row) == len(t.columns) for t in tables.values() for row in t.rows)
    steel_alone(place)
    off = {t.title: t for t in tables_of_pour(place, START)}
    assert off["Inspection rounds"].rows == ()
    assert "a test of the steel alone" in off["Inspection rounds"].note


def test_a_log_without_an_order_says_what_to_do(place: Path) -> None:
    (place / "order.toml").unlink()
    with pytest.raises(BadInput, match="held against the order"):
        pour_so_far(place, START)
