"""Odd names, clocks and states: nothing a person may be called or a clock may read can break or bend the record."""

from __future__ import annotations

from datetime import timedelta

import pytest
from record_world import PASSPHRASE, failing, open_pour, run, state_of, tool, unpack

from verifier.errors import BadInput, NotAllowed
from verifier.record import Ledger, PersonSigner, make_person_key
from verifier.record.audit import OPEN, audit
from verifier.record.bundle import bundle_records, write_bundle
from verifier.record.people import (
    allowed_signers,
    enrol,
    enrolment,
    import_release,
    note_clock,
    principal_of,
    release,
    revoke,
)
from verifier.record.timeline import difference, events, timeline_text


@pytest.mark.parametrize("name", ["reviewer 2", "x'; touch broken; '", "*", "rév,iewer", "$(id)", "-n file"])
def test_a_name_is_only_ever_a_name(pour, tmp_path, name):
    """Signed with OpenSSH under an odd name, checked with OpenSSH by the very command in HOW-TO-CHECK."""
    make_person_key(tmp_path / "key", PASSPHRASE, rounds=1)
    request = enrolment(pour.ledger.pour, name, ["reviewer"], PersonSigner(tmp_path / "key", PASSPHRASE))
    enrol(pour.ledger, request, pour.person("eor-1"), pour.tick())
    approval = pour.approval(name)
    text = tmp_path / "a.txt"
    text.write_text(approval.body()["statement"], encoding="utf-8")
    (tmp_path / "key").chmod(0o600)
    run(tool("ssh-keygen"), "-p", "-P", PASSPHRASE, "-N", "", "-f", str(tmp_path / "key"))
    assert (
        run(
            tool("ssh-keygen"), "-Y", "sign", "-f", str(tmp_path / "key"), "-n", "pour-release", str(text)
        ).returncode
        == 0
    )
    import_release(pour.ledger, approval, (tmp_path / "a.txt.sig").read_text(), pour.device, pour.tick())
    bag = unpack(write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path, tmp_path / "x")
    assert failing(audit(bag)) == set()
    lines = (bag / "HOW-TO-CHECK.txt").read_text(encoding="utf-8").splitlines()
    command = next(line for line in lines if "ssh-keygen -Y verify" in line)
    found = run(tool("sh"), "-c", command, cwd=bag)
    assert f'Good "pour-release" signature for {principal_of(name)}' in found.stdout
    assert not (bag / "broken").exists()
    assert allowed_signers(pour.ledger).count("\n") == 4


@pytest.mark.parametrize("name", ["a\nb", "two  blanks", "", "tab\tname"])
def test_a_name_that_reads_differently_on_paper_is_refused(pour, tmp_path, name):
    request = enrolment(pour.ledger.pour, name, ["reviewer"], pour.person("thief"))
    with pytest.raises(NotAllowed, match="no plain name"):
        enrol(pour.ledger, request, pour.person("eor-1"), pour.tick())
    (tmp_path / "new").mkdir()
    with pytest.raises(BadInput, match="no plain pour id"):
        Ledger.open(tmp_path / "new", pour=name)


def test_a_clock_that_ran_ahead(pour, tmp_path):
    """Work goes on after the clock was put right, and the audit points at the step."""
    ahead = pour.now + timedelta(days=1)
    pour.ledger.append("remark", {"text": "clock a day ahead"}, pour.device, ahead)
    with pytest.raises(NotAllowed, match="the time goes back"):
        pour.ledger.append("remark", {"text": "right time"}, pour.device, pour.tick())
    note_clock(pour.ledger, pour.device, pour.tick())
    pour.ledger.append("remark", {"text": "right time"}, pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    outcome = audit(tmp_path / "b.zip")
    assert failing(outcome) == set()
    assert state_of(outcome, "order") == OPEN


def test_a_time_without_zone_is_refused(pour):
    with pytest.raises(BadInput, match="has no zone"):
        pour.ledger.append("remark", {"text": "x"}, pour.device, pour.now.replace(tzinfo=None))


def test_a_new_key_after_a_loss(pour):
    """The old key's acts stand, the new key is introduced like any other."""
    pour.ledger.append("remark", {"text": "before"}, pour.person("reviewer-1"), pour.tick())
    revoke(pour.ledger, "reviewer-1", "lost", pour.person("eor-1"), pour.tick())
    with pytest.raises(BadInput, match="no valid key"):
        revoke(pour.ledger, "reviewer-1", "lost twice", pour.person("eor-1"), pour.tick())
    request = enrolment(pour.ledger.pour, "reviewer-1", ["reviewer"], pour.person("thief"))
    enrol(pour.ledger, request, pour.person("eor-1"), pour.tick())
    release(pour.ledger, pour.approval(), pour.person("thief"), pour.tick())


def test_short_passphrases_and_overwriting_are_refused(tmp_path):
    with pytest.raises(BadInput, match="has 5 characters; 8 are needed"):
        make_person_key(tmp_path / "key", "short")
    make_person_key(tmp_path / "key", PASSPHRASE, rounds=1)
    before = (tmp_path / "key").read_bytes()
    with pytest.raises(BadInput, match="never overwritten"):
        make_person_key(tmp_path / "key", PASSPHRASE, rounds=1)
    assert (tmp_path / "key").read_bytes() == before
    assert b"OPENSSH PRIVATE KEY" in before
    refused = run(tool("ssh-keygen"), "-y", "-P", "wrong", "-f", str(tmp_path / "key"))
    assert refused.returncode != 0, "OpenSSH itself finds the key encrypted"
    opened = run(tool("ssh-keygen"), "-y", "-P", PASSPHRASE, "-f", str(tmp_path / "key"))
    assert opened.stdout.split()[:2] == (tmp_path / "key.pub").read_text().split()[:2]


# --- the timeline of the third person


def test_the_timeline_tells_who_what_when_on_which_original(pour, tmp_path):
    digest = pour.add_photo("p3.jpg", b"third")
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    told = events(pour.ledger.records())
    assert [e.seq for e in told] == list(range(1, len(told) + 1))
    photo = next(e for e in told if e.original == digest)
    assert (photo.who, photo.what) == ("engineer-1", "a photo was received")
    assert photo.how_known.startswith("claimed, signed by device-")
    assert (told[-1].who, told[-1].how_known) == ("reviewer-1", "own key")
    path = write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path
    assert events(bundle_records(path)) == told, "folder and bundle tell the same"
    with pytest.raises(BadInput, match="can't be read"):
        bundle_records(pour.folder / "pour.toml")


def test_foreign_text_cannot_break_a_line_of_the_timeline(pour):
    pour.ledger.append("remark", {"text": "one\n99\tnever\tsaid"}, pour.device, pour.tick())
    lines = timeline_text(events(pour.ledger.records())).splitlines()
    assert len(lines) == len(pour.ledger.records()) + 1
    assert {line.count("\t") for line in lines} == {9}


def test_the_difference_of_two_states(pour):
    first = {"requirement": "S1/B1/mean", "verdict": "non_conforming"}
    pour.ledger.append("finding", first, pour.device, pour.tick())
    old = len(pour.ledger.records())
    pour.add_photo("p4.jpg", b"corrected steel")
    pour.ledger.append("finding", {**first, "verdict": "conforming"}, pour.device, pour.tick())
    pour.ledger.append(
        "finding", {"requirement": "S1/B2/mean", "verdict": "conforming"}, pour.device, pour.tick()
    )
    rules = pour.ledger.store.objects.put(b"# new limits\n")
    before = pour.ledger.standing.in_force["rules"]
    pour.ledger.append("rules", {"sha256": rules, "name": "rules.toml"}, pour.device, pour.tick())
    records = pour.ledger.records()
    changed = difference(records[:old], records)
    assert changed.findings == {
        "S1/B1/mean": ("non_conforming", "conforming"),
        "S1/B2/mean": ("-", "conforming"),
    }
    assert changed.versions == {"rules": (before, rules)}
    assert [e.seq for e in changed.events] == list(range(old + 1, len(records) + 1))
    assert (changed.gone, changed.parts_at) == ((), None)
    assert difference(records, records).events == ()


def test_two_copies_that_part_are_told_where(pour, tmp_path, people_keys):
    """A record written anew beside the old one: the first record that differs is named, and what each holds after it."""
    anew = open_pour(tmp_path / "anew", people_keys)
    anew.add_photo("p1.jpg", b"kinder steel")
    then, now = pour.ledger.records(), anew.ledger.records()
    found = difference(then, now)
    assert found.parts_at == 1  # another device's key, so even its first record is another one
    assert len(found.events) == len(now)
    assert len(found.gone) == len(then)
    anew.ledger.close()
