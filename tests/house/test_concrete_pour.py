"""Order sheet, simulated supply, log and closing: what must hold of our own rules."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from pydantic import TypeAdapter, ValidationError

from verifier.concrete.close import Closing, Crack, Defect, judging_words, missing_to_close
from verifier.concrete.cubes import is456_acceptance
from verifier.concrete.from_drawing import parts_of
from verifier.concrete.late_trucks import Question, SupplyDoubt, simulate, what_one_more_does, wilson
from verifier.concrete.order import Asked, Confirmation, OrderSheet, Placing, order_text
from verifier.concrete.order_check import order_points, same_grade
from verifier.concrete.pour_alarms import alarms_of, limits_of
from verifier.concrete.pour_log import (
    Entry,
    HourReading,
    Movement,
    Strip,
    Truck,
    WaterAdded,
    running,
    supply_gaps_min,
)
from verifier.concrete.pour_plan import RoundTrip, joint_place_fault, strips, supply_plan
from verifier.concrete.quantities import SlabPart, outline_area_m2, take_off
from verifier.concrete.supply import age_limit, joint_limit
from verifier.drawing.read import pour_from_text
from verifier.errors import BadInput

ROUND = RoundTrip(load_min=10, out_min=25, wait_min=5, discharge_min=12, wash_min=5, back_min=20)
STEADY = SupplyDoubt(travel_spread=0, handling_spread=0, breakdown_chance=0, pump_stop_chance=0)
SIX = datetime(2026, 6, 2, 6, 0, tzinfo=UTC)
ASKED = Asked(grade="M25", slump_mm=(75, 125), max_aggregate_mm=20)
HASH = "a" * 64


def sheet(**changes) -> OrderSheet:
    fields = {
        "project": "Demo", "element": "L2 east", "pour": "L2-east", "address": "gate 2", "gate_contact": "engineer-1",
        "mix_name": "P25", "grade": "M25", "max_aggregate_mm": 20, "slump_mm": 100, "cement": "OPC 43", "volume_m3": 48,
        "balance_called_by": "pour leader", "rate_m3_per_h": 24, "first_truck_at": SIX, "interval_min": 15, "truck_m3": 6,
        "may_refuse": "engineer-1", "may_order_water": "engineer-1", "washing_place": "north yard", "sampling_by": "lab-1",
        "samples_planned": 4, "specimens_planned": 12, "sampling_rule": "IS 456:2000, 15.2.2",
        "placing": Placing(pump="boom 36 m", line_diameter_mm=125, second_way="crane bucket", vibrators=3, spare_vibrators=1,
                           lights="two masts"),
        "ordered_at": SIX - timedelta(hours=30),
        "confirmation": Confirmation(plant="plant A", by="dispatcher-1", at=SIX - timedelta(hours=29),
                                     not_in_maintenance=True, stock_and_trucks=True),
        "people_present": ("leader-1", "lab-1"),
        "second_plant": "plant B", "second_plant_accepted_by_engineer": True,
    }  # fmt: skip
    return OrderSheet(**(fields | changes))


def keys(order: OrderSheet) -> list[tuple[str, str]]:
    return [(p.weight, p.key) for p in order_points(order, ASKED, SIX - timedelta(hours=20), samples_asked=4)]


def test_an_order_that_equals_the_drawing_has_nothing_against_it():
    assert keys(sheet()) == []


@pytest.mark.parametrize(
    ("changes", "point"),
    [
        ({"grade": "M20"}, ("hold", "grade")),
        ({"grade": "M30"}, ("hold", "grade")),
        ({"grade": "C25/30"}, ("hold", "grade")),
        ({"slump_mm": 150}, ("hold", "slump")),
        ({"max_aggregate_mm": 40}, ("hold", "aggregate")),
        ({"samples_planned": 3}, ("hold", "samples")),
        ({"people_present": ()}, ("note", "people")),
        ({"confirmation": None}, ("hold", "not-confirmed")),
        ({"ordered_at": None}, ("hold", "not-placed")),
        ({"ordered_at": SIX - timedelta(hours=20)}, ("condition", "notice")),
        ({"ordered_at": SIX - timedelta(hours=20), "confirmation": None}, ("hold", "notice")),
        ({"second_plant_accepted_by_engineer": False}, ("condition", "two-plants")),
        ({"second_plant": ""}, ("condition", "second-plant")),
        ({"placing": Placing(pump="p", second_way="c", lights="x", vibrators=3, spare_vibrators=0)}, ("condition", "vibrators")),
        ({"placing": Placing(pump="p", second_way="c", lights="x", vibrators=3, spare_vibrators=1, line_diameter_mm=50)}, ("condition", "pump-line")),
    ],
)  # fmt: skip
def test_what_stands_against_an_order(changes, point):
    assert point in keys(sheet(**changes))


def test_m25_drawn_is_m25_ordered_however_it_is_spaced():
    assert same_grade("M 25", "M25")
    assert same_grade("m-25", "M25")
    assert not same_grade("M25", "C25/30")
    assert not same_grade("", "")


def test_a_rate_that_its_interval_can_not_carry_is_refused():
    with pytest.raises(ValidationError, match=r"is 18.0 m3/h, not 24 m3/h"):
        sheet(interval_min=20)


def test_the_order_as_text_names_what_a_plant_needs():
    text = order_text(sheet())
    for part in (
        "grade M25",
        "100 mm at the truck",
        "48 m3",
        "24 m3 per hour",
        "2026-06-02 06:00 +0000",
        "samples: 4, specimens: 12",
        "plant A",
        "line 125 mm",
    ):
        assert part in text
    assert "Air:" not in text
    with pytest.raises(ValidationError):
        sheet(project="two\nlines")


def test_a_supply_without_doubt_keeps_its_plan_to_the_minute():
    plan = supply_plan(48, 24, 6, ROUND, age_limit("ASTM C94"))
    found = simulate(plan, STEADY, Question(strip_m3=2.7, joint_limit_min=60, runs=100))
    assert found.contact_ages_min[-1] == pytest.approx(2.7 / 6 * 15)
    assert found.durations_min[0] == pytest.approx(7 * 15 + 12)
    assert (found.joint_exceeded.value, found.age_exceeded.value) == (0, 0)


def test_too_few_trucks_show_as_waiting():
    plan = supply_plan(48, 24, 6, ROUND, age_limit("ASTM C94"), trucks=4)
    found = simulate(plan, STEADY, Question(strip_m3=2.7, joint_limit_min=60, runs=100))
    assert found.contact_ages_min[-1] > 2.7 / 6 * 15
    assert found.durations_min[0] > 7 * 15 + 12


def test_the_chance_of_a_breakdown_is_the_binomial_one():
    """With steady times a late truck is overtaken and leaves a gap of one interval; the first load leaves none."""
    plan = supply_plan(48, 24, 6, ROUND, age_limit("ASTM C94"), trucks=8)
    doubt = STEADY.model_copy(update={"breakdown_chance": 0.05, "breakdown_min": 45.0})
    found = simulate(plan, doubt, Question(strip_m3=2.7, joint_limit_min=20, runs=4000, seed=7))
    expected = 1 - 0.95**7
    assert found.joint_exceeded.low <= expected <= found.joint_exceeded.high


def test_the_same_seed_gives_the_same_figures_and_one_truck_more_never_hurts_the_mean():
    plan = supply_plan(48, 24, 6, ROUND, age_limit("ASTM C94"), trucks=5)
    question = Question(strip_m3=2.7, joint_limit_min=40, runs=500, seed=3)
    first, more, repeated = what_one_more_does(plan, SupplyDoubt(), question, [(0, 0), (1, 0), (0, 0)])
    assert first == repeated
    assert sum(more.durations_min) <= sum(first.durations_min)
    assert more.joint_exceeded.value <= first.joint_exceeded.value
    with pytest.raises(BadInput, match="no pump"):
        what_one_more_does(plan, SupplyDoubt(), question, [(0, -1)])


def test_one_pump_less_makes_trucks_wait():
    trip = RoundTrip(load_min=5, out_min=15, wait_min=0, discharge_min=15, wash_min=5, back_min=15)
    with pytest.raises(BadInput, match="one pump more"):
        supply_plan(96, 48, 6, trip, age_limit("ASTM C94"))
    plan = supply_plan(96, 48, 6, trip, age_limit("ASTM C94"), pumps=2)
    question = Question(strip_m3=2.0, joint_limit_min=60, pumps=2, runs=100)
    two, one = what_one_more_does(plan, STEADY, question, [(0, 0), (0, -1)])
    assert two.durations_min[0] == pytest.approx(15 * 7.5 + 15)
    assert one.duration_half_min > 1.5 * two.duration_half_min


def test_a_pump_that_stops_makes_the_face_wait():
    plan = supply_plan(48, 24, 6, ROUND, age_limit("ASTM C94"), trucks=8)
    stops = STEADY.model_copy(update={"pump_stop_chance": 1.0, "pump_stop_min": 1.0})
    found = simulate(plan, stops, Question(strip_m3=2.7, joint_limit_min=60, runs=100))
    assert found.contact_ages_min[-1] == pytest.approx(2.7 / 6 * 15)
    longer = stops.model_copy(update={"pump_stop_min": 30.0})
    late = simulate(plan, longer, Question(strip_m3=2.7, joint_limit_min=20, runs=100))
    assert late.contact_ages_min[0] == pytest.approx(2.7 / 6 * 15 + 27)
    assert late.joint_exceeded.value == 1.0


def test_interval_of_a_chance():
    chance = wilson(0, 1000)
    assert (chance.value, round(chance.low, 12)) == (0, 0)
    assert chance.high == pytest.approx(0.00383, abs=1e-5)
    assert wilson(50, 100).low == pytest.approx(0.4038, abs=1e-4)


def test_strips_cover_the_slab_and_keep_their_order():
    found = strips(5.0, 12.0, 1.5, 150, 18)
    assert [round(s.volume_m3, 2) for s in found] == [2.7, 2.7, 2.7, 0.9]
    assert sum(s.volume_m3 for s in found) == pytest.approx(5 * 12 * 0.15)
    assert found[-1].end_min == pytest.approx(9 / 18 * 60)
    assert joint_place_fault(2.5, 6.0) == ""
    assert "middle third" in joint_place_fault(1.0, 6.0)
    assert "two widths" in joint_place_fault(3.0, 6.0, [(3.2, 0.25)])


LIMITS = limits_of(
    sheet(), age=age_limit("ASTM C94"), joint=joint_limit("usual"), slump_rule="IS 4926", computed_m3=47
)


def truck(number: int, minutes: float, **more) -> Truck:
    arrived = SIX + timedelta(minutes=minutes)
    fields = {
        "ticket": str(number), "plant": "plant A", "mix": "P25", "volume_m3": 6, "batch_at": arrived - timedelta(minutes=35),
        "arrived_at": arrived, "discharge_start_at": arrived + timedelta(minutes=2),
        "discharge_end_at": arrived + timedelta(minutes=14), "taken_by": "engineer-1",
    }  # fmt: skip
    return Truck(**(fields | more))


def alarms(*entries: Entry, minutes=20.0, finished=False) -> list[tuple[str, str]]:
    found = alarms_of(entries, LIMITS, SIX + timedelta(minutes=minutes), pour_finished=finished)
    return [(a.weight, a.kind) for a in found]


def test_a_pour_in_order_raises_no_alarm():
    assert alarms(truck(1, 0), truck(2, 15)) == []


@pytest.mark.parametrize(
    ("more", "alarm"),
    [
        ({"batch_at": None}, ("stop", "batch-time")),
        ({"mix": "P20"}, ("stop", "mix")),
        ({"batch_at": SIX - timedelta(minutes=55)}, ("note", "age")),
        ({"batch_at": SIX - timedelta(minutes=77)}, ("stop", "age")),
        ({"concrete_c": 32}, ("note", "temperature")),
        ({"concrete_c": 35.1}, ("stop", "temperature")),
        ({"concrete_c": 8}, ("note", "temperature")),
        ({"concrete_c": 4.9}, ("stop", "temperature")),
        ({"water": (WaterAdded(litres=40, at=SIX),)}, ("stop", "water")),
        ({"water": (WaterAdded(litres=40, at=SIX, ordered_by="engineer-1"),)}, ("stop", "water")),
    ],
)
def test_alarms_of_a_truck(more, alarm):
    assert alarms(truck(1, 0, **more)) == [alarm]


def test_water_by_order_and_within_the_hold_back_raises_no_alarm():
    ordered = WaterAdded(litres=40, at=SIX, ordered_by="engineer-1", within_hold_back=True)
    assert alarms(truck(1, 0, water=(ordered,))) == []


def test_a_load_refused_at_the_gate_counts_for_nothing():
    refused = truck(
        1, 0, discharge_start_at=None, discharge_end_at=None, refused_because="too old", concrete_c=40
    )
    assert alarms(refused) == []
    assert refused.placed_m3 == 0


def test_a_truck_that_does_not_come_is_noticed_while_waiting():
    assert alarms(truck(1, 0), minutes=25) == []
    assert alarms(truck(1, 0), minutes=26) == [("note", "gap")]
    assert ("note", "gap") in alarms(truck(1, 0), truck(2, 26), minutes=27)


def test_a_face_that_waits_too_long_stops_the_strip():
    older = Strip(name="1", start_at=SIX)
    waits = Strip(name="2", start_at=SIX + timedelta(minutes=9), neighbour="1")
    assert alarms(truck(1, 30), older, waits, minutes=45) == []
    assert alarms(truck(1, 30), older, waits, minutes=46) == [("stop", "cold-joint")]
    covered = waits.model_copy(update={"neighbour_covered_at": SIX + timedelta(minutes=20)})
    assert alarms(truck(1, 40), older, covered, minutes=46) == []


@pytest.mark.parametrize(
    ("reading", "alarm"),
    [
        ({"moved_mm": 0.9, "expected_mm": 2}, []),
        ({"moved_mm": 1.0, "expected_mm": 2}, [("note", "movement")]),
        ({"moved_mm": 2.1, "expected_mm": 2}, [("stop", "movement")]),
        ({"moved_mm": 1.0}, [("note", "movement")]),
        ({"moved_mm": 0.0}, []),
        ({"seen": "drip at joint"}, [("note", "movement")]),
        ({"sudden_or_uneven": True}, [("stop", "movement")]),
    ],
)
def test_movement_of_the_forms(reading, alarm):
    assert alarms(Movement(at=SIX, place="A2", by="watcher-1", **reading)) == alarm


@pytest.mark.parametrize(
    ("changes", "alarm"),
    [
        ({}, []),
        ({"concrete_c": 28, "air_c": 25, "humidity_percent": 50, "wind_km_h": 12}, [("note", "evaporation")]),
        (
            {"concrete_c": 30.6, "air_c": 26.7, "humidity_percent": 50, "wind_km_h": 19.3},
            [("stop", "evaporation")],
        ),
        ({"rain": "first drops"}, [("note", "rain")]),
        ({"rain": "pools can't be removed"}, [("stop", "rain")]),
        ({"highest_heap_mm": 300}, []),
        ({"highest_heap_mm": 310}, [("stop", "heap")]),
        ({"steel_out_of_place_m": 1.0}, [("note", "steel")]),
        ({"steel_out_of_place_m": 1.1}, [("stop", "steel")]),
    ],
)
def test_alarms_of_an_hourly_reading(changes, alarm):
    fields = {"at": SIX, "by": "engineer-1", "air_c": 18, "humidity_percent": 80, "wind_km_h": 5} | changes
    assert alarms(HourReading(**fields)) == alarm


def test_the_rate_is_a_least_rate_in_each_hour():
    slow = [truck(1, 0), truck(2, 25), truck(3, 50)]
    assert ("note", "rate") in alarms(*slow, minutes=66)
    steady = [truck(n, 15 * n) for n in range(5)]
    assert alarms(*steady, minutes=75) == []


def test_running_volume_and_the_last_load():
    trucks = [truck(1, 0), truck(2, 15), truck(3, 30, returned_m3=0.5)]
    now = running(
        trucks, SIX + timedelta(minutes=44), ordered_m3=24, left_to_place_m3=7.0, truck_m3=6, last_call_m3=15
    )  # fmt: skip
    assert (now.placed_m3, now.left_of_order_m3) == (17.5, 6.5)
    assert (now.loads_left, now.last_load_m3, now.last_call_now) == (2, 1.0, True)
    assert now.rate_m3_per_h == pytest.approx(17.5 / 0.7)
    assert now.ends_about == SIX + timedelta(minutes=44, hours=7 / 25)
    assert now.longest_gap_min == 3
    assert supply_gaps_min(trucks) == [3.0, 3.0]


def test_times_of_a_ticket_run_forward():
    with pytest.raises(ValidationError, match="must follow each other"):
        truck(1, 0, batch_at=SIX + timedelta(minutes=1))


def test_entries_of_a_log_come_back_from_json():
    kinds = TypeAdapter(Entry)
    for entry in (truck(1, 0), Strip(name="1", start_at=SIX), Movement(at=SIX, place="A2", by="watcher-1")):
        assert kinds.validate_json(kinds.dump_json(entry)) == entry


def crack(text: str, **more) -> Defect:
    fields = {
        "number": 1, "kind": "crack", "place": "S1, 1.2 m from A", "describes": text, "seen_at": SIX, "by": "engineer-1",
        "photos": (HASH,),
        "crack": Crack(direction="along x", length_mm=900, widths_mm=(0.1, 0.15, 0.1), through="not known", first_seen_at=SIX),
    }  # fmt: skip
    return Defect(**(fields | more))


def test_a_defect_is_described_and_not_judged():
    assert crack("fine line from A to B, dry").number == 1
    for text in ("minor crack", "Structural crack", "crack due to shrinkage"):
        with pytest.raises(ValidationError, match="the engineer of record judges"):
            crack(text)
    with pytest.raises(ValidationError, match="give the measures"):
        crack("line", crack=None)
    assert judging_words("a minority of bars") == ()


def closing(**changes) -> Closing:
    fields = {
        "items_open": 0, "tickets_m3": 8.7, "computed_m3": 8.623125, "samples_planned": 2, "samples_made": 2, "results_in": 2,
        "acceptance": is456_acceptance(25, [29, 29, 29, 29]), "curing_done": True, "striking_written": True,
        "back_props": "removed and written", "levels_written": True, "queries_open": 0,
        "signed_by_contractors_engineer": "engineer-1", "signed_by_inspector": "inspector-1",
        "read_by_engineer_of_record": "eor-1",
    }  # fmt: skip
    return Closing(**(fields | changes))


def test_a_record_closes_only_when_nothing_is_missing():
    assert missing_to_close(closing(), 3.0) == ()


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"items_open": 1}, "items"),
        ({"tickets_m3": 9.0}, "volume"),
        ({"samples_made": 1, "results_in": 1}, "samples"),
        ({"samples_planned": 0, "samples_made": 0, "results_in": 0}, "samples"),
        ({"results_in": 1}, "results"),
        ({"acceptance": is456_acceptance(25, [27.2, 24.5])}, "acceptance"),
        ({"acceptance": None}, "acceptance"),
        ({"curing_done": False}, "curing"),
        ({"levels_written": False}, "levels"),
        ({"striking_written": False}, "striking"),
        ({"back_props": "still standing"}, "back-props"),
        ({"defects": (crack("line"),)}, "defects"),
        ({"queries_open": 2}, "queries"),
        ({"signed_by_contractors_engineer": ""}, "signed"),
        ({"signed_by_inspector": ""}, "inspected"),
        ({"signed_by_inspector": "engineer-1"}, "one hand"),
        ({"read_by_engineer_of_record": ""}, "read"),
    ],
)
def test_each_missing_thing_keeps_the_record_open(changes, key):
    assert [m.key for m in missing_to_close(closing(**changes), 3.0)] == [key]


def test_what_is_explained_or_decided_does_not_keep_it_open():
    told = closing(tickets_m3=9.0, volume_explained="beam box bulged 10 mm at B3, measured")
    assert missing_to_close(told, 3.0) == ()
    decided = closing(acceptance=is456_acceptance(25, [27.2, 24.5]), results_decided_by="eor-1")
    assert missing_to_close(decided, 3.0) == ()
    repaired = crack("line", decided_by="eor-1", decision="leave, seal against water")
    assert missing_to_close(closing(defects=(repaired,)), 3.0) == ()


def test_outlines_that_cross_or_hold_nothing_are_refused():
    with pytest.raises(BadInput, match="crosses itself"):
        outline_area_m2([(0, 0), (4, 4), (4, 0), (0, 4)])
    assert outline_area_m2([(0, 0), (0, 5), (4, 5), (4, 0)]) == 20
    bow = SlabPart(mark="S1", outline_m=((0, 0), (4, 4), (4, 0), (0, 4)), thickness_mm=150)
    with pytest.raises(BadInput, match="crosses itself"):
        take_off([bow])


POUR = """
[pour]
id = "L2"
title = "Level 2"
code = "IS 456:2000"
planned_start = 2026-06-02T06:00:00+00:00
exposure = "mild"
[pour.concrete]
grade = "M25"
[[slab]]
mark = "S1"
size_m = [8.25, 5.25]
openings_m = [[1.0, 1.0, 1.0, 1.2]]
thickness_mm = 150
cover_mm = { bottom = 20, top = 20 }
layers = [{ layer = "B1", callout = "T10-150" }, { layer = "B2", callout = "T8-200" }]
steel = { grade = "Fe500" }
[[beam]]
mark = "B1"
width_mm = 250
depth_mm = 450
length_m = 8.25
cover_mm = { bottom = 25, top = 25, side = 25 }
bottom = "3-T16"
top = "2-T12"
stirrups = "T8-150"
[[beam]]
mark = "B2"
width_mm = 250
depth_mm = 450
cover_mm = { bottom = 25, top = 25, side = 25 }
bottom = "3-T16"
top = "2-T12"
stirrups = "T8-150"
[people]
site_engineer = ["engineer-1"]
reviewer = ["reviewer-1"]
engineer_of_record = ["eor-1"]
"""


def test_a_drawing_gives_its_volume_and_says_what_it_does_not_know():
    parts = parts_of(pour_from_text(POUR.encode(), where="pour.toml"))
    found = take_off(parts.slabs, parts.beams)
    assert found.net_m3 == pytest.approx(42.1125 * 0.15 + 8.25 * 0.25 * 0.30)
    assert parts.missing == ("beam B2: length_m is not given, so its concrete is not counted",)
