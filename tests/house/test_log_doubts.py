"""Lines of the pour log that can't be right are asked about before they are written; nothing is dropped or bent in silence."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from small_pour import steel_alone

from verifier.concrete.pour_log import Truck
from verifier.errors import BadInput
from verifier.pipeline.concreting.pouring import log_of, pour_so_far, record_log
from verifier.pipeline.concreting.typed_log import record_typed
from verifier.pipeline.people.acting import Act
from verifier.record.keys import DeviceSigner, device_signer

SAMPLE = Path(__file__).parents[2] / "sample_images"
START = datetime.fromisoformat("2026-05-14T06:30:00+02:00")
NOW = START + timedelta(hours=2)


@pytest.fixture(scope="module")
def signer(tmp_path_factory: pytest.TempPathFactory) -> DeviceSigner:
    return device_signer(tmp_path_factory.mktemp("keys") / "device.key")


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory, signer: DeviceSigner) -> Path:
    """A pour whose first truck is emptied, with one cube of it."""
    folder = tmp_path_factory.mktemp("log") / "pour"
    folder.mkdir()
    for name in ("pour.toml", "order.toml"):
        shutil.copy(SAMPLE / name, folder)
    steel_alone(folder)
    record_log(folder, truck("101"), Act("engineer-1", NOW, signer))
    record_log(folder, cube("A1"), Act("engineer-1", NOW, signer))
    return folder


@pytest.fixture
def folder(begun: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(begun, tmp_path / "pour"))


def truck(ticket: str, **more: Any) -> dict[str, Any]:
    fields = {
        "kind": "truck", "ticket": ticket, "plant": "plant-1", "volume_m3": 3.0, "batch_at": START - timedelta(minutes=30),
        "arrived_at": START, "discharge_start_at": START + timedelta(minutes=5), "taken_by": "engineer-1",
        "discharge_end_at": START + timedelta(minutes=20),
    }  # fmt: skip
    return fields | more


def cube(mark: str, **more: Any) -> dict[str, Any]:
    fields = {
        "kind": "cube",
        "sample": "A",
        "mark": mark,
        "ticket": "101",
        "made_at": START + timedelta(minutes=15),
    }
    return fields | {"by": "engineer-1", "age_to_test_days": 28} | more


def event(what: str, minutes: float) -> dict[str, Any]:
    return {
        "kind": "event",
        "what": what,
        "says": what,
        "at": START + timedelta(minutes=minutes),
        "by": "engineer-1",
    }


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        (truck("102", volume_m3=300), "no truck brings 300 m3"),
        (truck("102", volume_m3=-3), "must be more than 0"),
        (
            truck("102", discharge_end_at=NOW + timedelta(days=365)),
            "discharge_end_at 2027-05-14 08:30 +0200 lies after",
        ),
        (truck("102", arrived_at=START - timedelta(hours=2)), "must follow each other"),
        (truck("102", returned_m3=4), "more is returned than was brought"),
        (truck("101", volume_m3=3.5), "Ticket 101 is in the log: volume 3 m3, now 3.5 m3"),
        (truck("101", plant="plant-2"), "plant plant-1, now plant-2"),
        (cube("A2", ticket="999"), "no ticket 999 in the log"),
        (cube("A1"), "specimen A1 of sample A is in the log already"),
        (event("stop", 300), "lies after the time of writing"),
        (
            {"kind": "strip", "name": "1", "start_at": START + timedelta(minutes=9), "end_at": START},
            "strip 1 ends before it begins",
        ),
        ({"kind": "lorry"}, "truck"),
    ],
)
def test_a_line_that_can_not_be_right_is_asked_about_and_not_written(
    folder: Path, signer: DeviceSigner, fields: dict[str, Any], told: str
) -> None:
    before = log_of(folder)
    with pytest.raises(BadInput) as error:
        record_log(folder, fields, Act("engineer-1", NOW, signer))
    assert told in str(error.value)
    assert log_of(folder) == before


def test_a_ticket_is_written_anew_only_when_somebody_says_so(folder: Path, signer: DeviceSigner) -> None:
    record_log(folder, truck("101", volume_m3=3.5), Act("engineer-1", NOW, signer), corrects=True)
    (found,) = (e for e in log_of(folder) if isinstance(e, Truck))
    assert found.volume_m3 == 3.5


def test_a_batch_time_that_was_not_known_is_added_without_asking(folder: Path, signer: DeviceSigner) -> None:
    record_log(folder, truck("103", batch_at=None), Act("engineer-1", NOW, signer))
    record_log(
        folder,
        {"kind": "truck", "ticket": "103", "batch_at": START - timedelta(minutes=20)},
        Act("engineer-1", NOW, signer),
    )
    assert [e.batch_at for e in log_of(folder) if isinstance(e, Truck) and e.ticket == "103"] != [None]


def test_what_is_written_twice_or_out_of_order_is_told_and_still_counts(
    folder: Path, signer: DeviceSigner
) -> None:
    for fields in (
        event("go on", 25),
        event("end", 60),
        event("end", 70),
        truck("104", batch_at=START + timedelta(minutes=50), arrived_at=START + timedelta(minutes=71),
              discharge_start_at=START + timedelta(minutes=75), discharge_end_at=START + timedelta(minutes=80)),
    ):  # fmt: skip
        record_log(folder, fields, Act("engineer-1", NOW, signer))
    seen = pour_so_far(folder, NOW)
    said = " ".join(a.says for a in seen.alarms if a.kind == "log")
    assert "goes on without a stop" in said
    assert "The end is written 2 times, 07:30 and 07:40" in said
    assert "discharged after the end" in said
    assert seen.running.placed_m3 == 6.0


def test_a_day_typed_wrongly_is_asked_about(folder: Path, signer: DeviceSigner) -> None:
    long_ago = START - timedelta(days=30)
    times = dict.fromkeys(("batch_at", "arrived_at", "discharge_start_at", "discharge_end_at"), long_ago)
    record_log(folder, truck("105", **times), Act("engineer-1", NOW, signer))
    assert any("more than a day before the planned start" in a.says for a in pour_so_far(folder, NOW).alarms)


def test_a_cube_that_waited_for_a_connection_and_comes_twice_counts_once(
    folder: Path, signer: DeviceSigner
) -> None:
    typed = {
        "once": "phone-7",
        "what": "cube",
        "at": NOW.isoformat(),
        "sample": "A",
        "mark": "A3",
        "ticket": "101",
    }
    for _ in range(2):
        record_typed(folder, typed, Act("engineer-1", NOW, signer))
    assert sum(getattr(e, "mark", "") == "A3" for e in log_of(folder)) == 1


def test_a_remark_that_is_too_long_is_told_and_not_cut(folder: Path, signer: DeviceSigner) -> None:
    typed = {"once": "phone-8", "what": "other", "at": NOW.isoformat(), "says": "x" * 601}
    with pytest.raises(BadInput, match="says is too long"):
        record_typed(folder, typed, Act("engineer-1", NOW, signer))
