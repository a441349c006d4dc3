"""The order through the record and into the decision, and a round walked with a file of answers."""

from __future__ import annotations

import shutil
import tomllib
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from verifier.errors import BadInput
from verifier.pipeline.concreting.order_file import keep_order, sheet_in, write_order_draft
from verifier.pipeline.concreting.ordering import points_of, quantities_of
from verifier.pipeline.concreting.orders import (
    confirm_order,
    order_of,
    reasons_of_order,
    send_order,
    sent_order,
)
from verifier.pipeline.inspection.round_entries import record_answer_file
from verifier.pipeline.inspection.rounds import rounds_of
from verifier.pipeline.people.acting import Act
from verifier.record.keys import DeviceSigner, device_signer

SAMPLE = Path(__file__).parents[2] / "sample_images"
SENT = datetime(2026, 5, 12, 13, 0, tzinfo=UTC)
YES = {"plant": "plant-1", "by": "dispatcher-1", "not_in_maintenance": True, "stock_and_trucks": True}


@pytest.fixture(scope="module")
def signer(tmp_path_factory: pytest.TempPathFactory) -> DeviceSigner:
    """A device's key of its own."""
    return device_signer(tmp_path_factory.mktemp("keys") / "device.key")


@pytest.fixture
def act(signer: DeviceSigner) -> Act:
    return Act("engineer-1", SENT, signer)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    folder = tmp_path / "pour"
    folder.mkdir()
    for name in ("pour.toml", "order.toml"):
        shutil.copy(SAMPLE / name, folder)
    return folder


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def weights(place: Path, at: datetime = SENT) -> dict[str, str]:
    return {r.key: r.weight for r in reasons_of_order(place, at)}


def test_without_an_order_concrete_is_not_there(place: Path) -> None:
    (place / "order.toml").unlink()
    assert weights(place) == {"order-none": "stops"}


def test_an_order_counts_once_it_is_sent_and_confirmed(place: Path, act: Act) -> None:
    assert {"order-not-placed", "order-not-confirmed"} <= set(weights(place))
    send_order(place, act)
    assert weights(place) == {"order-not-confirmed": "stops"}
    confirm_order(place, YES, Act(act.person, SENT + timedelta(hours=1), act.signer))
    assert weights(place) == {}
    found = order_of(place, SENT)
    assert found is not None
    assert found.stands
    assert found.sheet.confirmation is not None
    assert found.sheet.confirmation.by == "dispatcher-1"


def test_another_grade_than_drawn_stops_the_pour_and_only_the_engineer_of_record_clears_it(
    place: Path, act: Act
) -> None:
    """Common practice, no source: M25 drawn is M25 ordered; the mix used is the mix asked for (IBC, table 1705.3)."""
    edit(place / "order.toml", 'grade = "M25"', 'grade = "M20"')
    send_order(place, act)
    confirm_order(place, YES, act)
    (reason,) = reasons_of_order(place, SENT)
    assert (reason.key, reason.weight, reason.kind) == ("order-grade", "stops", "non-conforming")
    assert reason.owner == "engineer of record"


def test_an_order_below_the_volume_of_the_drawing_stops_the_pour(place: Path, act: Act) -> None:
    net = quantities_of(place, truck_m3=3.5).take_off.net_m3
    assert net == pytest.approx((5.2 + 4.6) * 4.1 * 0.15)
    edit(place / "order.toml", "volume_m3 = 6.5", "volume_m3 = 6.0")
    send_order(place, act)
    confirm_order(place, YES, act)
    assert weights(place) == {"order-volume": "stops"}


def test_an_order_file_changed_after_it_was_sent_does_not_count(place: Path, act: Act) -> None:
    send_order(place, act)
    confirm_order(place, YES, act)
    edit(place / "order.toml", "slump_mm = 100", "slump_mm = 110")
    assert weights(place) == {"order-changed": "stops"}
    send_order(place, act)
    assert weights(place) == {"order-not-confirmed": "stops"}, "what was sent anew is confirmed anew"


def test_notice_shorter_than_the_plant_asks_for_stops_until_the_plant_agrees(place: Path, act: Act) -> None:
    """Common practice, no source: one to two days of notice."""
    late = Act(act.person, datetime.fromisoformat("2026-05-13T20:00:00+02:00"), act.signer)
    send_order(place, late)
    assert weights(place, late.at)["order-notice"] == "stops"
    confirm_order(place, YES, late)
    assert weights(place, late.at) == {"order-notice": "condition"}


def test_concrete_mixed_on_site_is_not_ordered_but_a_condition_on_its_materials(place: Path) -> None:
    edit(place / "pour.toml", "[pour.concrete]\n", '[pour.concrete]\nsupply = "site"\n')
    assert weights(place) == {"order-site-mix": "condition"}


def test_a_word_of_the_plant_needs_an_order(place: Path, act: Act) -> None:
    with pytest.raises(BadInput, match="No order was sent"):
        confirm_order(place, YES, act)


def test_an_order_that_can_not_be_read_stops_the_pour_and_says_what_is_wrong(place: Path) -> None:
    edit(place / "order.toml", "volume_m3 = 6.5", "volume_m3 = -1")
    (reason,) = reasons_of_order(place, SENT)
    assert reason.weight == "stops"
    assert "volume_m3" in reason.says
    with pytest.raises(BadInput, match="volume_m3"):
        sheet_in(place)


def test_a_draft_says_what_the_drawing_says_and_waits_for_the_rest(place: Path) -> None:
    (place / "order.toml").unlink()
    table = tomllib.loads(write_order_draft(place).read_text(encoding="utf-8"))
    assert (table["grade"], table["slump_mm"], table["volume_m3"], table["samples_planned"]) == (
        "M25",
        100,
        6.5,
        2,
    )
    with pytest.raises(BadInput, match="mix_name"):
        sheet_in(place)
    with pytest.raises(BadInput, match="already"):
        write_order_draft(place)


def test_nothing_is_sent_while_a_field_is_missing(place: Path, act: Act) -> None:
    edit(place / "order.toml", 'washing_place = "pit beside gate B"\n', "")
    with pytest.raises(BadInput, match="washing_place"):
        send_order(place, act)
    assert sent_order(place) is None


def test_a_file_of_answers_is_taken_whole_or_not_at_all(place: Path, act: Act, tmp_path: Path) -> None:
    paper = tmp_path / "paper.txt"
    paper.write_text("a paper", encoding="utf-8")
    file = tmp_path / "round.csv"
    head = "item,round,word,value,documents,remark\n"
    file.write_text(
        head + "FW-01,2,conforming,,paper.txt,\nFW-99,2,conforming,,,\nRB-03,2,not conforming,,,\n"
    )
    with pytest.raises(BadInput) as caught:
        record_answer_file(place, file, act)
    assert "line 3" in caught.value.wrong
    assert "line 4" in caught.value.wrong
    assert not rounds_of(place).begun
    file.write_text(head + "FW-01,2,conforming,,paper.txt,\nRB-03,2,not conforming,,,oil on six bars\n")
    assert len(record_answer_file(place, file, act)) == 2
    first, second = rounds_of(place).answers
    assert (first.item, len(first.documents), first.by) == ("FW-01", 1, "engineer-1")
    assert second.remark == "oil on six bars"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "item\n",
        "item,round,word,colour\nFW-01,2,conforming,red\n",
        "item,round,word\nFW-01,2,conforming,more\n",
    ],
)
def test_a_file_of_answers_that_can_not_be_read_says_so(
    place: Path, act: Act, tmp_path: Path, text: str
) -> None:
    file = tmp_path / "round.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput):
        record_answer_file(place, file, act)


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("volume_m3", 65, "65 m3 are ordered, 10.8 times the 6.03 m3 net"),
        ("volume_m3", 5, "5 m3 are ordered, the drawing holds 6.03 m3 net"),
        (
            "first_truck_at",
            datetime.fromisoformat("2026-05-01T06:30:00+02:00"),
            "2026-05-01 06:30, which is past",
        ),
        ("slump_mm", 1, "Slump 1 mm is ordered"),
    ],
)
def test_a_slip_in_the_order_is_told(place: Path, field: str, value: object, told: str) -> None:
    keep_order(place, {field: value})
    sheet = sheet_in(place)
    assert sheet is not None
    points = points_of(place, sheet, datetime.fromisoformat("2026-05-12T10:00:00+02:00"))
    assert any(told in p.says and p.weight == "hold" for p in points), [p.says for p in points]


def test_a_full_last_truck_is_no_slip(place: Path) -> None:
    keep_order(place, {"volume_m3": 7.0})
    sheet = sheet_in(place)
    assert sheet is not None
    points = points_of(place, sheet, datetime.fromisoformat("2026-05-12T10:00:00+02:00"))
    assert not any(p.key == "volume" for p in points)


def test_a_time_without_zone_says_how_to_write_it(place: Path) -> None:
    keep_order(place, {"first_truck_at": datetime(2026, 5, 14, 6, 30), "supply.wagons": 3})  # noqa: DTZ001 - the slip itself
    with pytest.raises(BadInput) as error:
        sheet_in(place)
    assert "first_truck_at: has no time zone" in str(error.value)
    assert "supply.wagons: is not known here" in str(error.value)
