"""Attacks on what a release rests on after it was given; each test states its alarm, and what an honest record shows instead."""

from __future__ import annotations

from datetime import datetime, timedelta

import forgery
import pytest
from record_world import failing, state_of
from test_attack_releases import write_release

from verifier.concrete.pour_log import Truck
from verifier.errors import NotAllowed
from verifier.pipeline.release.pour_release import release_alarms
from verifier.pipeline.release.released import release_state_then
from verifier.record.audit import FAILS, HOLDS, OPEN, audit
from verifier.record.bundle import write_bundle
from verifier.record.canonical import utc_text
from verifier.record.people import note_clock, release

IN_FORCE = "release in force"


def version(pour, kind: str, text: bytes):
    digest = pour.ledger.store.objects.put(text)
    body = {"sha256": digest, "name": f"{kind.partition('.')[0]}.toml"}
    return pour.ledger.append(kind, body, pour.device, pour.tick())


def truck(pour, ticket: str, minutes: int = 0):
    """A delivery whose discharge began so many minutes from now."""
    entry = {"kind": "truck", "ticket": ticket}
    began = pour.tick() + timedelta(minutes=minutes)
    entry["discharge_start_at"] = began.isoformat()
    return pour.ledger.append("pour.log", {"text": ticket, "entry": entry}, pour.device, pour.tick())


def delivery(record) -> Truck:
    """What the page reads of such a record."""
    entry = record.body["entry"]
    arrived = {"batch_at": None, "arrived_at": entry["discharge_start_at"]}
    return Truck(plant="A", mix="M25", volume_m3=6, taken_by="engineer-1", **entry, **arrived)


def audited(pour, tmp_path):
    return audit(write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path)


@pytest.mark.parametrize(
    "ends",
    [
        lambda p: version(p, "falsework.file", b"props further apart"),
        lambda p: version(p, "order.file", b"another grade"),
        lambda p: p.ledger.append("order.file", {"name": "order.toml"}, p.device, p.tick()),
        lambda p: p.ledger.append("order", {"order": {"grade": "M20"}}, p.device, p.tick()),
        lambda p: p.add_photo("late.jpg", b"steel looked at again"),
        lambda p: p.ledger.append("propping", {"text": "back-props under L1 taken away"}, p.device, p.tick()),
    ],
    ids=["falsework", "order file", "order file taken away", "ordered anew", "photo", "back-props"],
)
def test_concrete_on_a_release_whose_ground_was_changed(pour, tmp_path, ends):
    """Alarm: release in force. Everything is signed and in order; only the release no longer stood, and the bundle shows it."""
    version(pour, "falsework.file", b"props")
    version(pour, "order.file", b"order")
    given = release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    assert release_state_then(pour.ledger, pour.now).state == "stands"
    ends(pour)
    assert release_state_then(pour.ledger, pour.now).state == "lapsed", "the page says it, too"
    looked = audited(pour, tmp_path)
    assert state_of(looked, IN_FORCE) == OPEN, "nothing is placed yet"
    assert f"ended the release of record {given.seq}" in " ".join(next_details(looked))
    truck(pour, "1")
    assert failing(audited(pour, tmp_path)) == {IN_FORCE}


def next_of(outcome, topic: str):
    return next(fact for fact in outcome.facts if fact.topic == topic)


def next_details(outcome) -> tuple[str, ...]:
    return next_of(outcome, IN_FORCE).details


def test_concrete_on_a_release_that_stood_and_what_comes_after_it(pour, tmp_path):
    """No alarm: what is changed after the first truck ends nothing, and a plant's later word on the same order does not either."""
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    pour.ledger.append("order", {"confirmation": {"plant": "plant-1"}}, pour.device, pour.tick())
    truck(pour, "1")
    version(pour, "falsework.file", b"props")
    outcome = audited(pour, tmp_path)
    assert failing(outcome) == set()
    assert state_of(outcome, IN_FORCE) == HOLDS


def test_a_release_signed_after_the_concrete_was_placed(pour, tmp_path):
    """NOT an alarm, for no release is contradicted, but not proven: at the time that the log itself tells there was none."""
    truck(pour, "1", minutes=-30)
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    outcome = audited(pour, tmp_path)
    assert state_of(outcome, IN_FORCE) == OPEN
    assert "this record held no release" in next(f.say for f in outcome.facts if f.topic == IN_FORCE)


def test_concrete_after_the_end_of_a_release(pour, tmp_path):
    """Alarm: release in force, by the time that the release itself names."""
    ends = utc_text(pour.now + timedelta(minutes=30))
    approval = pour.approval().model_copy(update={"valid_until": ends})
    release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())
    truck(pour, "1", minutes=45)
    outcome = audited(pour, tmp_path)
    assert failing(outcome) == {IN_FORCE}
    assert next_details(outcome)[0].endswith(f"ran out at {ends}")


def test_a_release_slipped_before_the_concrete_by_a_clock_set_back(pour, tmp_path):
    """NOT an alarm, but not proven that it stood, and the order tells of the clock: what counts is what was recorded first.

    The page stops the pour over it.
    """
    first = truck(pour, "1")
    early = pour.now - timedelta(minutes=30)
    note_clock(pour.ledger, pour.device, early)
    pour.now = early
    given = release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    outcome = audited(pour, tmp_path)
    assert failing(outcome) == set()
    assert state_of(outcome, IN_FORCE) == OPEN
    assert state_of(outcome, "order") == OPEN
    (alarm,) = release_alarms(pour.folder, [delivery(first)], pour.now + timedelta(days=1))
    assert alarm.weight == "stop"
    assert f"record {given.seq} that decides on the release came into the record only after" in alarm.says
    assert f"record {first.seq}," in alarm.says


@pytest.mark.parametrize("by", ["truck first", "photo first"])
def test_evidence_slipped_out_of_a_release_by_a_clock_set_back(pour, tmp_path, by):
    """Alarm: release in force, for evidence that stands in the record before the concrete; the page says it, too.

    Behind the first truck it ends nothing, even where its clock claims a time before.
    """
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    if by == "photo first":
        pour.add_photo("late.jpg", b"steel looked at again")
    first = truck(pour, "1")
    if by == "truck first":
        early = pour.now - timedelta(minutes=1)
        note_clock(pour.ledger, pour.device, early)
        pour.now = early - timedelta(minutes=1)
        pour.add_photo("late.jpg", b"steel looked at again")
    placed = datetime.fromisoformat(first.body["entry"]["discharge_start_at"])
    state = release_state_then(pour.ledger, placed, told_by=first.seq).state
    assert state == ("stands" if by == "truck first" else "lapsed")
    assert state_of(audited(pour, tmp_path), IN_FORCE) == (HOLDS if by == "truck first" else FAILS)


def checked(pour, *, reasons: list[str] | None = None, conditions: list[str] | None = None):
    body = {"answer": "no_go" if reasons else "go", "reasons": reasons or [], "conditions": conditions or []}
    return pour.ledger.append("check", body, pour.device, pour.tick())


def accepted(pour, says: str):
    body = {"requirement": "S1/B1", "says": says, "reason": "one bar", "person": "eor-1"}
    return pour.ledger.append("acceptance", body, pour.person("eor-1"), pour.tick())


def test_a_release_that_passes_over_what_stopped_the_pour(pour, tmp_path):
    """Alarm: release and check. Everything is signed; the check that stopped the pour stands in the record before it."""
    checked(pour, reasons=["S1 B1: gap 3 is 190 mm."])
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    assert failing(audited(pour, tmp_path)) == {"release and check"}


def test_a_release_after_what_stopped_it_was_accepted_in_writing(pour, tmp_path):
    """No alarm; in other words than those of the check it would be one."""
    checked(
        pour,
        reasons=["S1 B1: gap 3 is 190 mm."],
        conditions=["Engineer of record reviewer-1 has not signed."],
    )
    accepted(pour, "S1 B1: gap 3 is 190 mm.")
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    outcome = audited(pour, tmp_path)
    assert (failing(outcome), state_of(outcome, "release and check")) == (set(), HOLDS)


def test_a_release_that_leaves_out_a_condition_or_answers_another_check(pour, tmp_path):
    """Alarm: release and check."""
    checked(pour, reasons=["S1 B1: gap 3 is 190 mm."], conditions=["Tape gap 2 of S1."])
    accepted(pour, "S1 B1: gap 3 is 170 mm.")
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    outcome = audited(pour, tmp_path)
    assert failing(outcome) == {"release and check"}
    assert len(next_of(outcome, "release and check").details) == 2


def test_documenting_under_the_name_of_the_last_round(pour, tmp_path):
    """Alarm: persons. Whoever answered round 1 and calls it the last one of one round would else be free to release."""
    answer = {"item": "RB-05", "round": 3, "word": "conforming"}
    pour.ledger.append("inspection", {"answer": answer, "rounds": 3}, pour.person("eor-1"), pour.tick())
    assert failing(audited(pour, tmp_path)) == set()
    pour.ledger.append(
        "inspection", {"answer": answer | {"round": 1}, "rounds": 1}, pour.person("reviewer-1"), pour.tick()
    )
    assert failing(audited(pour, tmp_path)) == {"persons"}


def test_a_refusal_that_the_log_passes_over(pour, tmp_path):
    """Alarm: release in force."""
    pour.ledger.append("refusal", {"reason": "open hooks"}, pour.person("reviewer-1"), pour.tick())
    truck(pour, "1")
    assert failing(audited(pour, tmp_path)) == {IN_FORCE}


@pytest.mark.parametrize("field", ["falsework_sha256", "order_sha256"])
def test_a_release_that_leaves_out_what_it_rests_on(pour, tmp_path, field):
    """Refused; slipped in: approvals. Leaving the line out, as releases of old do, is no way around it either."""
    version(pour, "falsework.file", b"props")
    version(pour, "order.file", b"order")
    approval = pour.approval()
    for changed in (
        approval.model_copy(update={field: approval.rules_sha256}),
        type(approval).model_validate(approval.model_dump(exclude={field})),
    ):
        with pytest.raises(NotAllowed, match="bound is not the one in force"):
            release(pour.ledger, changed, pour.person("reviewer-1"), pour.tick())
        place = tmp_path / str(len(changed.model_fields_set))
        body = changed.body()
        armored = forgery.own_machine_signature(
            pour.keys / "reviewer-1", "four plain words here", body["statement"]
        )
        assert "approvals" in failing(
            audit(write_release(pour, place, body | {"statement_signature": armored}))
        )


def test_a_release_of_old_that_bound_less_still_reads(pour, tmp_path):
    """No alarm: where no such version is in force, a release without these lines binds all there was."""
    plain = {"falsework_sha256", "order_sha256"}
    old = type(pour.approval()).model_validate(pour.approval().model_dump(exclude=plain))
    given = release(pour.ledger, old, pour.person("reviewer-1"), pour.tick())
    assert not plain & given.body.keys()
    assert "falsework" not in given.body["statement"]
    assert failing(audited(pour, tmp_path)) == set()
    assert pour.ledger.unfit == {}
    assert state_of(audited(pour, tmp_path), IN_FORCE) != FAILS
