"""Order, pour log and closing on the real page, at phone and desk width, with a lost connection in between."""

from __future__ import annotations

import json
import shutil
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from browser_page import DESK, PHONE, SAMPLE, Serve, Visit, keep, settled

from verifier.concrete.pour_log import PourEvent, Truck
from verifier.pipeline.concreting.closing import record_after
from verifier.pipeline.concreting.closing_state import closing_of
from verifier.pipeline.concreting.order_file import sheet_in
from verifier.pipeline.concreting.orders import confirm_order, order_of, send_order
from verifier.pipeline.concreting.pouring import log_of, record_log
from verifier.pipeline.people.acting import Act
from verifier.record.keys import device_signer

pytestmark = pytest.mark.browser
NOW = datetime.now().astimezone().replace(microsecond=0)
YES = {"plant": "plant-1", "by": "dispatcher-1", "not_in_maintenance": True, "stock_and_trucks": True}
HEAD = "at,air_c,humidity_percent,wind_km_h,rain_mm,concrete_c\n"


def fresh(place: Path, start: datetime) -> Path:
    """The sample pour planned for a start of our own, with its order filled in."""
    place.mkdir(parents=True)
    for name in ("pour.toml", "order.toml"):
        text = (SAMPLE / name).read_text(encoding="utf-8")
        text = text.replace("2026-05-14T06:30:00+02:00", start.isoformat())
        (place / name).write_text(text, encoding="utf-8")
    return place


def act(place: Path, at: datetime) -> Act:
    return Act("engineer-1", at, device_signer(place.parent / "sample.key"))


@pytest.fixture
def ordered(tmp_path: Path) -> Path:
    """A pour that starts in a while, ordered and confirmed two days ago."""
    place = fresh(tmp_path / "L2-east", NOW)
    for step, at in ((send_order, NOW - timedelta(days=2)), (None, NOW - timedelta(days=2))):
        if step is not None:
            step(place, act(place, at))
        else:
            confirm_order(place, YES, act(place, at))
    return place


@pytest.fixture
def cast_long_ago(tmp_path: Path) -> Path:
    """A pour that ended four days ago, with three looks at its curing."""
    start = NOW - timedelta(days=4, hours=3)
    place = fresh(tmp_path / "L2-east", start)
    send_order(place, act(place, start - timedelta(days=2)))
    confirm_order(place, YES, act(place, start - timedelta(days=2)))
    for number, volume in enumerate((3.0, 3.2)):
        at = start + timedelta(minutes=30 * number)
        truck = {
            "kind": "truck", "ticket": str(101 + number), "plant": "plant-1", "volume_m3": volume, "taken_by": "engineer-1",
            "batch_at": at - timedelta(minutes=30), "arrived_at": at, "discharge_start_at": at + timedelta(minutes=4),
            "discharge_end_at": at + timedelta(minutes=18), "sample": "AB"[number],
        }  # fmt: skip
        record_log(place, truck, act(place, at + timedelta(minutes=20)))
    end = start + timedelta(hours=2)
    record_log(
        place,
        {"kind": "event", "what": "end", "says": "screeded", "at": end, "by": "engineer-1"},
        act(place, end),
    )
    terms = {"kind": "terms", "mean_temperature_c": 19}
    record_after(place, terms, act(place, end))
    for day, found in enumerate(("wet", "dry", "wet")):
        look = {"kind": "curing", "found": found, "put_right": True}
        record_after(place, look, act(place, end + timedelta(days=day, hours=2)))
    return place


def fits(page: Any, size: tuple[int, int]) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    small = page.evaluate(
        "[...document.querySelectorAll('.log-entry button, .log-entry input, .log-entry select, .stButton button,"
        " summary, [data-testid=stSelectbox] [role=group], [data-testid=stNumberInputContainer], [data-testid=stTextInputRootElement]')]"
        ".filter(e => e.offsetParent && e.offsetHeight < 48).map(e => e.outerHTML.slice(0, 90))"
    )
    assert small == []


def kept(place: Path, field: str, page: Any) -> None:
    """Wait until what is typed lies on the server's disk."""
    path = place / "drafts" / "forms.json"
    for _ in range(50):
        if path.is_file() and json.loads(path.read_text(encoding="utf-8")).get(field):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{field} was not kept")


def test_an_order_is_drafted_filled_in_sent_and_confirmed_on_a_phone(
    serve: Serve, visit: Visit, tmp_path: Path
) -> None:
    place = fresh(tmp_path / "L2-east", NOW + timedelta(days=2))
    (place / "order.toml").unlink()
    page = visit(f"{serve(place)}concrete", PHONE)
    page.get_by_role("button", name="Write a draft of the order").click()
    page.get_by_text("The order is not complete").wait_for()
    keep(page, "phone-order-draft")
    shutil.copy(SAMPLE / "order.toml", place)
    text = (place / "order.toml").read_text(encoding="utf-8")
    start = (NOW + timedelta(days=2)).isoformat()
    (place / "order.toml").write_text(text.replace("2026-05-14T06:30:00+02:00", start), encoding="utf-8")
    page.reload()
    page.get_by_text("Not sent yet").wait_for()
    page.get_by_text("Fields of the order").click()
    page.get_by_label("Grade", exact=True).fill("M20")
    page.get_by_label("Grade", exact=True).press("Enter")
    page.get_by_text("M20 is ordered, M25 is drawn.").wait_for()
    keep(page, "phone-order-other-grade")
    page.get_by_label("Grade", exact=True).fill("M25")
    page.get_by_label("Grade", exact=True).press("Enter")
    page.get_by_text("M20 is ordered").wait_for(state="hidden")
    page.get_by_role("button", name="It was sent to the plant").click()
    page.get_by_label("Plant", exact=True).fill("plant-1")
    page.get_by_label("Plant", exact=True).press("Tab")
    page.get_by_label("Who said it").fill("dispatcher-1")
    page.get_by_label("Who said it").press("Tab")
    page.get_by_text("It does not stand in maintenance").click()
    page.get_by_text("Stock and trucks are confirmed").click()
    page.get_by_role("button", name="Record the confirmation").click()
    page.get_by_text("Confirmed by the plant").wait_for()
    fits(page, PHONE)
    keep(page, "phone-order")
    order = order_of(place, datetime.now().astimezone())
    assert order is not None
    assert order.stands
    assert order.sheet.confirmation is not None
    with page.expect_download() as taken:
        page.get_by_role("button", name="Order sheet (PDF)").click()
    assert Path(taken.value.path()).read_bytes().startswith(b"%PDF")


def test_the_plan_shows_late_trucks_and_the_weather_its_doubt_at_a_desk(
    serve: Serve, visit: Visit, ordered: Path
) -> None:
    rows = "".join(
        f"{(NOW + timedelta(hours=h)).isoformat()},{22 + h % 14},35,{12 + h},{1 if h == 6 else 0},31\n"
        for h in range(18)
    )
    (ordered / "weather.csv").write_text(HEAD + rows, encoding="utf-8")
    page = visit(f"{serve(ordered)}concrete", DESK)
    page.get_by_text("When trucks are late").wait_for()
    page.get_by_text("Evaporation about").first.wait_for()
    alts = page.evaluate("[...document.querySelectorAll('img')].map(e => e.alt)")
    assert any("of 1000 runs have a face older than 60 min" in alt for alt in alts)
    assert any("one truck less" in alt for alt in alts)
    assert any("true rate between" in alt for alt in alts)
    fits(page, DESK)
    keep(page, "desk-concrete")


def test_entries_of_the_log_survive_a_reload_and_a_lost_connection_and_count_once(
    serve: Serve, visit: Visit, ordered: Path
) -> None:
    page = visit(f"{serve(ordered)}pour_log", PHONE)
    page.get_by_role("button", name="Truck arrives").click()
    page.get_by_label("Ticket", exact=True).fill("4711")
    page.get_by_label("Volume, m³").fill("3,5")
    keep(page, "phone-log-typing")
    page.reload()
    page.get_by_label("Ticket", exact=True).wait_for()
    assert page.get_by_label("Ticket", exact=True).input_value() == "4711", "half typed, kept"
    early = (datetime.now().astimezone() - timedelta(minutes=25)).strftime("%H:%M")
    page.get_by_label("Batch time on the ticket").fill(early)
    page.get_by_role("button", name="Keep", exact=True).click()
    page.get_by_text("Ticket 4711").wait_for()
    page.context.set_offline(True)
    page.evaluate("window.stop()")
    page.get_by_role("button", name="Vibrator changed").click()
    page.locator(".log-entry").get_by_label("What, in words").fill("needle 2 for needle 1")
    page.get_by_role("button", name="Keep", exact=True).click()
    page.get_by_text("Kept on this phone, not yet in the record: 1").wait_for()
    keep(page, "phone-log-queued")
    page.context.set_offline(False)
    page.reload()
    page.get_by_text("needle 2 for needle 1").first.wait_for()
    page.get_by_text("Kept on this phone").wait_for(state="hidden")
    page.get_by_role("button", name="Discharge begins").click()
    page.get_by_role("button", name="Keep", exact=True).click()
    page.get_by_text("Concrete was placed from").wait_for()
    fits(page, PHONE)
    keep(page, "phone-log")
    trucks = [e for e in log_of(ordered) if isinstance(e, Truck)]
    assert [(t.ticket, t.volume_m3, t.plant) for t in trucks] == [("4711", 3.5, "plant-1")]
    assert trucks[0].discharge_start_at is not None
    assert len([e for e in log_of(ordered) if isinstance(e, PourEvent)]) == 1


def test_what_the_record_does_not_take_is_told_and_can_be_corrected(
    serve: Serve, visit: Visit, ordered: Path
) -> None:
    page = visit(f"{serve(ordered)}pour_log", DESK)
    page.get_by_role("button", name="Weather reading").click()
    page.get_by_role("button", name="Keep", exact=True).click()
    page.get_by_text("Still needed: Air, °C").wait_for()
    for label, value in (("Air, °C", "19"), ("Humidity, %", "700"), ("Wind, km/h", "8")):
        page.get_by_label(label, exact=True).fill(value)
    page.get_by_role("button", name="Keep", exact=True).click()
    page.get_by_text("Not taken:").wait_for()
    keep(page, "desk-log-not-taken")
    page.get_by_role("button", name="Correct it").click()
    page.get_by_label("Humidity, %", exact=True).fill("70")
    page.get_by_role("button", name="Keep", exact=True).click()
    page.get_by_text("19 °C, 70 %").wait_for()
    page.get_by_text("Not taken:").wait_for(state="hidden")
    fits(page, DESK)
    keep(page, "desk-log")


@pytest.mark.parametrize(("size", "name"), [(PHONE, "phone"), (DESK, "desk")])
def test_the_days_after_the_pour_are_written_and_the_record_says_what_lacks(
    serve: Serve, visit: Visit, cast_long_ago: Path, size: tuple[int, int], name: str
) -> None:
    page = visit(f"{serve(cast_long_ago)}closing", size)
    page.get_by_text("Lacking before the record closes").wait_for()
    page.get_by_role("button", name="It is wet").click()
    page.get_by_text("Longer by a day for each bad day (1)").wait_for()
    page.get_by_text("Result of a sample").click()
    settled(page)
    form = page.locator(".st-key-form-of-result")
    for label, value, field in (("Sample", "A", "sample"), ("Age at test, days", "3", "age_days")):
        form.get_by_label(label, exact=True).fill(value)
        form.get_by_label(label, exact=True).press("Tab")
        kept(cast_long_ago, f"form-result-{field}", page)
    page.reload()
    page.get_by_text("Result of a sample").click()
    settled(page)
    assert form.get_by_label("Sample", exact=True).input_value() == "A", "typed, kept"
    form.get_by_label("Specimens, MPa").fill("14.1 13.8 14.4")
    form.get_by_label("Specimens, MPa").press("Tab")
    kept(cast_long_ago, "form-result-mpa", page)
    settled(page)
    form.get_by_role("button", name="Put it into the record").click()
    page.get_by_text("Sample A, age in days 3: 14.1 MPa").wait_for()
    settled(page)
    assert form.get_by_label("Sample", exact=True).input_value() == "", (
        "what is in the record is no draft any more"
    )
    page.get_by_text("What lacks").click()
    page.get_by_text("not read by the engineer of record").wait_for()
    settled(page)
    fits(page, size)
    keep(page, f"{name}-closing")
    state = closing_of(cast_long_ago, datetime.now().astimezone())
    assert state.curing is not None
    assert len(state.results) == 1


def test_supply_and_placing_are_typed_on_a_phone_and_nothing_typed_is_lost(
    serve: Serve, visit: Visit, tmp_path: Path
) -> None:
    place = fresh(tmp_path / "L2-east", NOW + timedelta(days=2))
    order = place / "order.toml"
    text = order.read_text(encoding="utf-8").replace("trucks = 2", "trucks = 2  # agreed with the plant")
    order.write_text(
        "\n".join(line for line in text.splitlines() if not line.startswith("trip")), encoding="utf-8"
    )
    page = visit(f"{serve(place)}concrete", PHONE)
    page.get_by_text("Supply and placing: trucks, pump, times").click()
    page.get_by_text("Still missing for the plan").wait_for()
    for label, value, leg in (
        ("Loading, min", "10", "load_min"), ("Way to the site, min", "25", "out_min"), ("Waiting, min", "5", "wait_min"),
        ("Discharge, min", "15", "discharge_min"), ("Washing, min", "5", "wash_min"),
    ):  # fmt: skip
        page.get_by_label(label, exact=True).fill(value)
        page.get_by_label(label, exact=True).press("Tab")
        kept(place, f"form-trip-{leg}", page)
    page.reload()
    page.get_by_text("Supply and placing: trucks, pump, times").click()
    page.get_by_text("Still missing for the plan: Way back.").wait_for()
    assert page.get_by_label("Way to the site, min", exact=True).input_value() == "25", (
        "five of six legs, kept"
    )
    page.get_by_label("Way back, min", exact=True).fill("20")
    page.get_by_label("Way back, min", exact=True).press("Tab")
    page.get_by_text("When trucks are late").wait_for()
    page.get_by_label("Trucks on this pour", exact=True).fill("3")
    page.get_by_label("Trucks on this pour", exact=True).press("Tab")
    page.get_by_text("3 at hand").wait_for()
    fits(page, PHONE)
    keep(page, "phone-order-supply")
    sheet = sheet_in(place)
    assert sheet is not None
    assert sheet.supply.trip is not None
    assert (sheet.supply.trip.total_min, sheet.supply.trucks) == (80, 3)
    assert "# agreed with the plant" in order.read_text(encoding="utf-8")


FALSEWORK = """loads = "BS 5975"
back_prop_kn = 25
[[grid]]
slab = "S1"
spacing_x_m = 1.2
spacing_y_m = 1.2
prop = "B30"
extension_m = 3.0
service_load_kn_m2 = 9.125
[[side]]
element = "S1"
may_carry_kpa = 3
may_carry_source = "sheet 4 of the forms"
[[floor]]
name = "L1"
own_load_kn_m2 = 4
capacity_kn_m2 = 8
[[floor]]
name = "L0"
own_load_kn_m2 = 4
capacity_kn_m2 = 12
"""


@pytest.mark.parametrize(("size", "name"), [(PHONE, "phone"), (DESK, "desk")])
def test_forms_and_props_are_shown_with_their_cautions_before_and_after_the_pour(
    serve: Serve, visit: Visit, cast_long_ago: Path, size: tuple[int, int], name: str
) -> None:
    """3.6 kPa on an edge of 0.15 m (w h, ACI 347.2R-17); 5.4 of 9.125 kN/m2 need 14.8 of 25 MPa; 9.9 kN/m2 out of turn."""
    page = visit(f"{serve(cast_long_ago)}concrete", size)
    page.get_by_text("Props are not checked").wait_for()
    page.get_by_text("S2, edge, 0.15 m: 3.6 kPa at the foot, 0.27 kN on each metre").wait_for()
    (cast_long_ago / "falsework.toml").write_text(FALSEWORK, encoding="utf-8")
    page.reload()
    page.get_by_text("S1: 8.50 kN come on a prop that may carry 13.74 kN").wait_for()
    page.get_by_text("It may carry 3 kPa (sheet 4 of the forms)").wait_for()
    page.get_by_text("show 14.8 MPa on specimens cured beside it first").wait_for()
    page.get_by_text("How far sections may be off").click()
    page.get_by_text("S1, thickness 150 mm: -6 mm and up").wait_for()
    page.get_by_text("Forms and props belong to their designer").wait_for()
    fits(page, size)
    keep(page, f"{name}-falsework")
    proof = {"kind": "strength", "part": "soffit", "mpa": [15.2, 16.0]}
    record_after(cast_long_ago, proof, act(cast_long_ago, NOW))
    page = visit(f"{serve(cast_long_ago)}closing", size)
    page.get_by_text("that needs 14.8 MPa, 15.2 MPa were shown: enough").wait_for()
    page.get_by_text("not before step 1, for then it would carry 9.90 kN/m2, 1.90 too much").wait_for()
    fits(page, size)
    keep(page, f"{name}-removal")


def test_props_and_readings_are_written_on_a_phone(serve: Serve, visit: Visit, tmp_path: Path) -> None:
    """5.90 kN/m2 on 1.2 m x 1.2 m bring 8.50 kN on a B30 prop at 3.0 m, which works with 13.74 kN (EN 1065)."""
    place = fresh(tmp_path / "L2-east", NOW + timedelta(days=2))
    page = visit(f"{serve(place)}concrete", PHONE)
    page.get_by_text("Write the props of a slab").click()
    form = page.locator(".st-key-falsework-grid")
    for label, value, field in (
        ("Props apart one way, m", "1.2", "spacing_x_m"), ("Props apart the other way, m", "1.2", "spacing_y_m"),
        ("Extension in use, m", "3.5", "extension_m"), ("Class and size of the prop, such as B30", "B30", "prop"),
    ):  # fmt: skip
        form.get_by_label(label, exact=True).fill(value)
        form.get_by_label(label, exact=True).press("Tab")
        kept(place, f"form-falsework-grid-{field}", page)
    settled(page)
    form.get_by_role("button", name="Write it").click()
    page.get_by_text("is beyond the longest 3 m of B30").wait_for()
    form.get_by_label("Extension in use, m", exact=True).fill("3")
    form.get_by_label("Extension in use, m", exact=True).press("Tab")
    settled(page)
    form.get_by_role("button", name="Write it").click()
    page.get_by_text("S1: 8.50 kN come on a prop that may carry 13.74 kN").wait_for()
    fits(page, PHONE)
    keep(page, "phone-falsework-written")
