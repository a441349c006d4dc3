"""Rounds through the record and into the decision: the opened-again case (rain at night, a trade next morning), and who is named."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from verifier.errors import BadInput
from verifier.pipeline.inspection.round_entries import record_answers, record_round_event
from verifier.pipeline.inspection.round_reasons import reasons_of_rounds
from verifier.pipeline.inspection.rounds import Rounds, rounds_of
from verifier.pipeline.people.acting import Act
from verifier.pipeline.sealing.disclosing import seal_folder
from verifier.pipeline.sealing.recording import audit_bundle
from verifier.pipeline.sealing.telling import timeline_of
from verifier.record.keys import DeviceSigner, device_signer
from verifier.rounds.answers import Answer, Happened, Happening, RoundSigned, Value, Word
from verifier.rounds.items import CheckItem, Evidence

SAMPLE = Path(__file__).parents[2] / "sample_images"
MONDAY = datetime(2026, 6, 1, 10, 0, tzinfo=UTC)
POSTS = """
[[person]]
name = "foreman-1"
roles = ["foreman"]
[[person]]
name = "engineer-1"
roles = ["contractor's engineer", "temporary works", "service trade", "surveyor", "safety", "pour leader"]
[[person]]
name = "inspector-1"
roles = ["independent inspector"]
"""
WHO = {1: "foreman-1", 2: "engineer-1", 3: "inspector-1"}
PAPER = b"a paper of the site"


@pytest.fixture(scope="module")
def signer(tmp_path_factory: pytest.TempPathFactory) -> DeviceSigner:
    """A device's key of its own."""
    return device_signer(tmp_path_factory.mktemp("keys") / "device.key")


def fresh(place: Path) -> Path:
    place.mkdir()
    shutil.copy(SAMPLE / "pour.toml", place / "pour.toml")
    (place / "rounds.toml").write_text(POSTS, encoding="utf-8")
    (place / "paper.jpg").write_bytes(PAPER)
    return place


def good(item: CheckItem, number: int, at: datetime, paper: str) -> Answer:
    wants = item.evidence
    value = None
    if Evidence.VALUE in wants:
        middle = item.high if item.high is not None else item.low if item.low is not None else 0.0
        own = {} if item.has_limit else {"low": 0.0, "high": 0.0, "limit_source": "drawing"}
        planned = {"planned": 0.0} if item.has_limit and item.basis == "deviation" else {}
        value = Value(value=middle, unit=item.unit, **planned, **own)
    return Answer(
        item=item.id,
        round=number,
        word=Word.CONFORMING,
        by=WHO[number],
        at=at,
        value=value,
        photos=(paper,) if Evidence.PHOTO in wants else (),
        documents=(paper,) if Evidence.DOCUMENT in wants else (),
    )


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory, signer: DeviceSigner) -> Path:
    """A pour of which all three rounds are walked and signed, the last on Monday at 10:00."""
    from verifier.store import sha256_of

    place = fresh(tmp_path_factory.mktemp("rounds") / "pour")
    paper = place / "paper.jpg"
    for number in WHO:
        at = MONDAY - timedelta(hours=3 - number, minutes=10)
        items = [i for i in rounds_of(place).checklist.of_round(number) if not i.is_release]
        act = Act(WHO[number], at, signer)
        record_answers(place, [good(i, number, at, sha256_of(paper)) for i in items], act, [paper])
        sign(place, number, at + timedelta(minutes=10), signer)
    return place


def sign(place: Path, number: int, at: datetime, signer: DeviceSigner) -> None:
    found = rounds_of(place)
    signed = RoundSigned(
        round=number, by=WHO[number], at=at, list_version=found.checklist.version, revision=found.revision
    )
    record_round_event(place, signed, Act(WHO[number], at, signer))


def says(place: Path, at: datetime) -> dict[str, str]:
    return {r.key: r.says for r in reasons_of_rounds(place, at)}


def test_rounds_nobody_began_stop_the_pour_with_their_hold_points(tmp_path: Path) -> None:
    place = fresh(tmp_path / "pour")
    (only,) = reasons_of_rounds(place, MONDAY)
    assert (only.key, only.weight) == ("rounds-not-begun", "stops")
    assert set(only.about) == {"FW-17", "RB-01", "RB-22", "RB-24", "SV-01", "SV-08", "JT-08", "RC-01"}


def set_off(place: Path, walk: str) -> None:
    path = place / "pour.toml"
    asked = (
        f'[pour.rounds]\nwalk = {walk}\nbecause = "a strip of 0.4 m3, seen in person"\n\n[pour.concrete]\n'
    )
    path.write_text(path.read_text(encoding="utf-8").replace("[pour.concrete]\n", asked), encoding="utf-8")


def test_a_pour_may_set_rounds_off_and_the_reason_is_signed_with_the_release(tmp_path: Path) -> None:
    place = fresh(tmp_path / "pour")
    set_off(place, "[]")
    (only,) = reasons_of_rounds(place, MONDAY)
    assert (only.weight, only.owner) == ("condition", "engineer of record")
    assert "a strip of 0.4 m3, seen in person" in only.says


def test_rounds_set_off_without_a_reason_are_refused(tmp_path: Path) -> None:
    place = fresh(tmp_path / "pour")
    text = (place / "pour.toml").read_text(encoding="utf-8")
    (place / "pour.toml").write_text(
        text.replace("[pour.concrete]\n", "[pour.rounds]\nwalk = []\n\n[pour.concrete]\n"), encoding="utf-8"
    )
    with pytest.raises(BadInput, match="because"):
        rounds_of(place)


def test_hold_points_stand_even_where_their_round_is_not_walked(
    walked: Path, tmp_path: Path, signer: DeviceSigner
) -> None:
    place = tmp_path / "pour"
    shutil.copytree(walked, place)
    set_off(place, "[1]")
    found = says(place, MONDAY + timedelta(hours=2))
    assert "rounds-hold-FW-17" in found
    assert "rounds-hold-RC-01" in found
    assert not any(
        key.startswith(("rounds-signature-2", "rounds-signature-3", "rounds-open-2")) for key in found
    )


def test_who_only_looks_in_the_last_round_has_not_documented_the_work(walked: Path) -> None:
    """Kept apart are fixer and checker, contractor and inspector (IBC 1703.1.1, 1704); the last round only looks."""
    from verifier.record.ledger import Ledger

    ledger = Ledger.open(walked)
    try:
        ledger.records()
        documented = set(ledger.standing.documented)
        kinds = {r.type for r in ledger.records() if r.body.get("claimed_by") == "inspector-1"}
    finally:
        ledger.close()
    assert documented == {"foreman-1", "engineer-1"}
    assert kinds == {"inspection"}


@pytest.mark.parametrize(
    "body",
    [
        {"answer": {"round": 2, "word": "conforming"}, "rounds": 3},
        {"answer": {"round": 3, "word": "put right"}, "rounds": 3},
        {"answer": {"word": "conforming"}},
        {},
    ],
)
def test_an_earlier_answer_or_a_repair_can_not_pass_as_an_inspection(
    walked: Path, tmp_path: Path, signer: DeviceSigner, body: dict[str, object]
) -> None:
    from verifier.errors import NotAllowed
    from verifier.record.audit.persons import _inspection_faults
    from verifier.record.ledger import Ledger

    place = tmp_path / "pour"
    shutil.copytree(walked, place)
    ledger = Ledger.open(place)
    try:
        ledger.records()
        with pytest.raises(NotAllowed, match="last round"):
            ledger.append("inspection", body, signer.on_behalf_of("eor-1"), MONDAY + timedelta(hours=1))
    finally:
        ledger.close()
    assert _inspection_faults(body), "the audit says the same with its own code"


def test_walked_rounds_leave_hold_points_and_the_last_walk(walked: Path) -> None:
    found = says(walked, MONDAY + timedelta(hours=2))
    assert all(key.startswith(("rounds-hold-", "rounds-at-start-")) for key in found), found
    assert {"rounds-hold-FW-17", "rounds-at-start-CL-05"} <= set(found)


def test_what_was_seen_counts_for_its_hours_and_no_longer(walked: Path) -> None:
    assert "rounds-lapsed" not in says(walked, MONDAY + timedelta(hours=24))
    assert "rounds-lapsed" in says(walked, MONDAY + timedelta(hours=24, seconds=1))


def test_rain_and_a_trade_open_items_again_within_the_hours(
    walked: Path, tmp_path: Path, signer: DeviceSigner
) -> None:
    """Common practice, no source: rain opens cleaning, release agent, ground, old faces and leads; a trade opens its own."""
    place = tmp_path / "pour"
    shutil.copytree(walked, place)
    rain = Happened(what=Happening.RAIN, at=MONDAY + timedelta(hours=8), by="engineer-1")
    trade = Happened(
        what=Happening.OTHER_TRADE,
        at=MONDAY + timedelta(hours=21),
        by="engineer-1",
        trade="electrical",
        items=("CV-04",),
    )
    start = MONDAY + timedelta(hours=23, minutes=30)
    opened = [
        *record_round_event(place, rain, Act("engineer-1", rain.at, signer)),
        *record_round_event(place, trade, Act("engineer-1", trade.at, signer)),
    ]
    assert opened
    found = reasons_of_rounds(place, start)
    about = {item for r in found for item in r.about}
    assert {"CL-01", "CL-02", "FW-09", "FW-10", "JT-03", "AS-06", "CV-04"} <= about
    assert any(item.startswith("SV-") for item in about)
    assert "CV-01" not in about
    assert any(r.key == "rounds-signature-3" and r.weight == "stops" for r in found)
    assert "rounds-lapsed" not in {r.key for r in found}, "it is still inside its hours; the events end it"


def test_a_defect_stops_until_put_right_and_seen_again(
    walked: Path, tmp_path: Path, signer: DeviceSigner
) -> None:
    place = tmp_path / "pour"
    shutil.copytree(walked, place)
    at = MONDAY + timedelta(hours=1)
    bad = Answer(item="CL-01", round=3, word=Word.NOT_CONFORMING, by="inspector-1", at=at, remark="sawdust")
    record_answers(place, [bad], Act("inspector-1", at, signer))
    (found,) = (r for r in reasons_of_rounds(place, at) if r.kind == "non-conforming")
    assert (found.weight, "sawdust" in found.says) == ("stops", True)
    later = at + timedelta(hours=1)
    done = Answer(item="CL-01", round=3, word=Word.PUT_RIGHT, by="foreman-1", at=later)
    record_answers(place, [done], Act("foreman-1", later, signer))
    left = reasons_of_rounds(place, later)
    assert not [r for r in left if r.kind == "non-conforming"]
    assert any("CL-01" in r.about for r in left)


def test_a_defect_of_the_last_walk_stops_also_when_its_hour_has_passed(
    walked: Path, tmp_path: Path, signer: DeviceSigner
) -> None:
    place = tmp_path / "pour"
    shutil.copytree(walked, place)
    at = MONDAY + timedelta(hours=1)
    bad = Answer(
        item="CL-05", round=3, word=Word.NOT_CONFORMING, by="inspector-1", at=at, remark="tools left"
    )
    record_answers(place, [bad], Act("inspector-1", at, signer))
    for asked in (at, at + timedelta(hours=3)):
        (found,) = (r for r in reasons_of_rounds(place, asked) if r.key == "rounds-at-start-CL-05")
        assert (found.weight, "tools left" in found.says) == ("stops", True)


def test_the_list_in_the_record_outlives_a_changed_file(walked: Path, tmp_path: Path) -> None:
    place = tmp_path / "pour"
    shutil.copytree(walked, place)
    before: Rounds = rounds_of(place)
    (place / "items.xlsx").write_bytes(b"no list at all")
    assert rounds_of(place).checklist == before.checklist


def test_a_changed_drawing_unsigns_the_rounds(walked: Path, tmp_path: Path) -> None:
    place = tmp_path / "pour"
    shutil.copytree(walked, place)
    with (place / "pour.toml").open("a", encoding="utf-8") as file:
        file.write("\n# a note\n")
    assert "drawing revision" in says(place, MONDAY)["rounds-signature-3"]


def test_a_hold_point_is_not_released_by_a_device(walked: Path, signer: DeviceSigner) -> None:
    from verifier.rounds.answers import HoldReleased

    event = HoldReleased(item="FW-17", by="engineer-1", at=MONDAY)
    with pytest.raises(BadInput, match="own key"):
        record_round_event(walked, event, Act("engineer-1", MONDAY, signer))
    assert "rounds-hold-FW-17" in says(walked, MONDAY)


def test_nobody_unnamed_answers(walked: Path, signer: DeviceSigner) -> None:
    answer = Answer(item="CL-01", round=1, word=Word.CONFORMING, by="nobody-1", at=MONDAY)
    with pytest.raises(BadInput, match="not named"):
        record_answers(walked, [answer], Act("nobody-1", MONDAY, signer))


def test_the_sealed_bundle_holds_answers_list_and_photo(
    walked: Path, tmp_path: Path, signer: DeviceSigner
) -> None:
    import zipfile

    out = tmp_path / "bundle.zip"
    seal_folder(walked, out, MONDAY + timedelta(hours=2), signer)
    assert not audit_bundle(out).alarms
    version = rounds_of(walked).checklist.version
    with zipfile.ZipFile(out) as packed:
        kept = [packed.read(name) for name in packed.namelist() if version in name]
        places = [name for name in packed.namelist() if version in name]
    assert kept
    assert places[0].split("/")[1:3] == ["data", "rules"]
    told = [e for e in timeline_of(out) if e.what == "a version of the inspection list came into force"]
    assert [e.original for e in told] == [version], "told once, before the first answer with it"
    assert json.loads(kept[0])["title"] == rounds_of(walked).checklist.title


def test_a_hold_point_is_released_with_the_own_key_and_opened_by_a_moved_prop(
    walked: Path, tmp_path: Path, signer: DeviceSigner
) -> None:
    from verifier.pipeline.people.acting import open_record
    from verifier.record.keys import PersonSigner, make_person_key
    from verifier.record.people import enrol, enrolment
    from verifier.rounds.answers import HoldReleased

    place, key, words = tmp_path / "pour", tmp_path / "inspector.key", "words of a test"
    shutil.copytree(walked, place)
    with (place / "rounds.toml").open("a", encoding="utf-8") as file:
        file.write('[[person]]\nname = "works-1"\nroles = ["temporary works"]\n')
    make_person_key(key, words, rounds=1)
    at = MONDAY + timedelta(minutes=5)
    act = Act("works-1", at, signer)
    ledger = open_record(place, rounds_of(place).pour, act)
    request = enrolment(ledger.pour, "works-1", [], PersonSigner(key, words))
    enrol(ledger, request, PersonSigner(key, words), at)
    ledger.close()
    released = HoldReleased(item="FW-17", by="works-1", at=at)
    record_round_event(place, released, act, own_key=PersonSigner(key, words))
    assert "rounds-hold-FW-17" not in says(place, at)
    moved = Happened(what=Happening.PROP_MOVED, at=at + timedelta(hours=1), by="engineer-1")
    record_round_event(place, moved, Act("engineer-1", moved.at, signer))
    assert "opened again" in says(place, moved.at)["rounds-hold-FW-17"]
