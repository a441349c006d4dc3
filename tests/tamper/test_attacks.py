"""Each attack on a record by name: the alarm it must raise, and, where there is none, what can't be caught and why.

The attacker of these tests has write access to everything and holds the device's key unless a test says otherwise, so that
no alarm is owed to a mere checksum that could be computed again.
"""

from __future__ import annotations

import base64
import re
import sqlite3
from datetime import timedelta

import forgery
import pytest
from record_world import PASSPHRASE, failing, open_pour, run, state_of, tool, unpack

from verifier.errors import BadInput, NotAllowed, RecordDamaged
from verifier.record import Ledger, PersonSigner
from verifier.record.audit import FAILS, HOLDS, OPEN, Replayed, audit
from verifier.record.bundle import write_bundle
from verifier.record.checkpoint import read_head, sign_head
from verifier.record.part import part_of_photo
from verifier.record.people import enrol, enrolment, import_release, release, revoke
from verifier.record.sealing import seal
from verifier.record.stamps import issue_board


def in_database(folder, change) -> None:
    """Change the database file as somebody with a database program would: the guards are dropped first."""
    with sqlite3.connect(folder / "record" / "ledger.sqlite") as db:
        for name in ("record_stays", "record_remains", "record_follows"):
            db.execute(f"DROP TRIGGER {name}")
        change(db)
    db.close()


def sealed_folder(pour, tmp_path):
    """A bag laid out as a folder, and the head that the reviewer holds."""
    bag = unpack(pour.release_and_seal(tmp_path / "b.zip"), tmp_path / "bag")
    return bag, pour.kept.of(pour.ledger.head().origin)[-1].note


# --- originals


def test_edit_a_photo(pour, tmp_path):
    """Alarm: originals - even though the attacker seals the bundle anew."""
    bag, _ = sealed_folder(pour, tmp_path)
    photo = next((bag / "data/originals").iterdir())
    forgery.write(photo, b"other steel")
    assert failing(audit(bag)) == {"bytes intact", "originals"}
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"originals"}


def test_edit_a_photo_in_the_folder(pour):
    """Alarm: reading the original refuses, so nobody ever measures on changed bytes."""
    digest = pour.add_photo("p3.jpg", b"third original")
    path = pour.ledger.store.objects.path_of(digest)
    path.chmod(0o644)
    path.write_bytes(b"another picture")
    with pytest.raises(RecordDamaged, match="have changed"):
        pour.ledger.store.objects.read(digest)
    with pytest.raises(RecordDamaged, match="have changed"):
        pour.add_photo("p3.jpg", b"third original")


def test_drop_a_photo_file(pour, tmp_path):
    """Alarm: originals (missing)."""
    bag, _ = sealed_folder(pour, tmp_path)
    next((bag / "data/originals").iterdir()).unlink()
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"originals"}


def test_drop_a_photo_with_its_records(pour, tmp_path):
    """Alarm: chain; and once chained anew: signatures of every person after it, the approval, the held head."""
    bag, held = sealed_folder(pour, tmp_path)
    lines = forgery.lines_of(bag)
    photo = next(i for i, line in enumerate(lines) if b'"type":"photo"' in line)
    kept = lines[:photo] + lines[photo + 2 :]
    forgery.put_lines(bag, kept, pour.device)
    forgery.reseal(bag, pour.device)
    assert "chain" in failing(audit(bag))
    forgery.put_lines(bag, forgery.rechained(kept, pour.device), pour.device)
    forgery.reseal(bag, pour.device)
    outcome = audit(bag, heads=[held])
    assert {"signatures", "approvals", "held head"} <= failing(outcome)
    assert "chain" not in failing(outcome)


# --- records


def test_edit_a_measurement_in_the_database(pour):
    """Alarm: the ledger does not open. The guards of the database refuse the edit to begin with."""
    row = next(r for r in pour.ledger.records() if r.type == "measurement")
    with sqlite3.connect(pour.folder / "record" / "ledger.sqlite") as db:
        with pytest.raises(sqlite3.IntegrityError, match="never changed"):
            db.execute("UPDATE record SET line = ? WHERE seq = ?", (row.line, row.seq))
        with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
            db.execute("DELETE FROM record WHERE seq = ?", (row.seq,))
        with pytest.raises(sqlite3.IntegrityError, match="end only"):
            db.execute("INSERT OR REPLACE INTO record VALUES (?, ?)", (row.seq, row.line))
    db.close()
    changed = row.line.replace(b"150.4", b"148.4")
    pour.ledger.close()
    in_database(
        pour.folder, lambda db: db.execute("UPDATE record SET line = ? WHERE seq = ?", (changed, row.seq))
    )
    with pytest.raises(RecordDamaged, match=f"Record {row.seq + 1} does not follow"):
        Ledger.open(pour.folder)


def test_edit_a_measurement_and_seal_anew_with_the_stolen_device(pour, tmp_path):
    """Alarms: signatures of the persons after it, the approval that bound the old root, the head held outside."""
    bag, held = sealed_folder(pour, tmp_path)
    lines = [x.replace(b'"value":"150.4"', b'"value":"148.4"') for x in forgery.lines_of(bag)]
    forgery.put_lines(bag, lines, pour.device)
    forgery.reseal(bag, pour.device)
    assert {"chain", "signatures", "approvals", "held head"} <= failing(audit(bag, heads=[held]))
    forgery.put_lines(bag, forgery.rechained(lines, pour.device), pour.device)
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag, heads=[held])) == {"signatures", "approvals", "held head"}


def test_edit_and_recompute_the_chain_without_any_key(pour, tmp_path):
    """Alarm: every signature from the edit on fails."""
    bag, _ = sealed_folder(pour, tmp_path)
    lines = [x.replace(b'"value":"150.4"', b'"value":"148.4"') for x in forgery.lines_of(bag)]
    first = next(i for i, (a, b) in enumerate(zip(lines, forgery.lines_of(bag), strict=True), 1) if a != b)
    forgery.write(bag / "data/ledger.jsonl", b"".join(x + b"\n" for x in forgery.rechained(lines, None)))
    fact = next(f for f in audit(bag).facts if f.topic == "signatures")
    assert len(fact.details) == len(lines) - first + 1


def test_cut_the_tail_to_hide_a_refusal(pour, tmp_path):
    """Alarm: only a head held outside. Without one a shorter record is a record like any other."""
    pour.ledger.append("refusal", {"reason": "zone A too wide"}, pour.person("reviewer-1"), pour.tick())
    held = pour.reviewer_keeps_head()
    seal(pour.ledger, None, pour.person("eor-1"), pour.tick())
    bag = unpack(
        write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path, tmp_path / "bag"
    )
    forgery.put_lines(bag, forgery.lines_of(bag)[:-2], pour.device)
    (bag / "data/keys/people.txt").chmod(0o644)
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == set(), "not caught without a head from outside"
    assert state_of(audit(bag), "held head") == OPEN, "and the audit says that none was given"
    assert failing(audit(bag, heads=[held])) == {"held head"}
    assert failing(audit(bag, heads=[read_head(held).short])) == {"held head"}, (
        "the short form on a print is enough"
    )


def test_reorder(pour, tmp_path):
    """Alarm: chain; chained anew: signatures."""
    bag, _ = sealed_folder(pour, tmp_path)
    lines = forgery.lines_of(bag)
    lines[-1], lines[-2] = lines[-2], lines[-1]
    forgery.put_lines(bag, lines, pour.device)
    assert {"chain", "order"} <= failing(audit(bag))
    forgery.put_lines(bag, forgery.rechained(lines, pour.device), pour.device)
    assert "signatures" in failing(audit(bag))


def test_backdate_by_a_holder_of_the_key(pour, tmp_path):
    """Refused on entry; slipped in: order. A clock set back openly is allowed, and the audit points at it."""
    digest = pour.ledger.store.objects.put(b"late photo")
    early = pour.now - timedelta(hours=2)
    with pytest.raises(NotAllowed, match="the time goes back"):
        pour.ledger.append("photo", {"sha256": digest, "name": "late.jpg"}, pour.device, early)
    reads = early.strftime("%Y-%m-%dT%H:%M:%SZ")
    pour.ledger.append("device.clock", {"clock_reads": reads}, pour.device, pour.now)
    pour.ledger.append("photo", {"sha256": digest, "name": "late.jpg"}, pour.device, early)
    write_bundle(pour.ledger, tmp_path / "open.zip", pour.device, pour.now)
    assert failing(audit(tmp_path / "open.zip")) == set()
    assert state_of(audit(tmp_path / "open.zip"), "order") == OPEN
    forgery.slip_in(pour.ledger, "remark", {"text": "long ago"}, pour.device, early - timedelta(hours=1))
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.now)
    assert failing(audit(tmp_path / "b.zip")) == {"order"}


# --- releases


def test_replace_the_rules_file(pour, tmp_path):
    """Alarm: the approval is bound to the hash of the old rules, the signatures to the old record."""
    bag, _ = sealed_folder(pour, tmp_path)
    rules = next((bag / "data/rules").iterdir())
    old = rules.name.partition(".")[0]
    rules.unlink()
    easier = b"# wider limits\n"
    new = __import__("hashlib").sha256(easier).hexdigest()
    forgery.write(bag / f"data/rules/{new}.toml", easier)
    lines = [
        x.replace(old.encode(), new.encode()) if b'"type":"rules"' in x else x for x in forgery.lines_of(bag)
    ]
    forgery.put_lines(bag, forgery.rechained(lines, pour.device), pour.device)
    forgery.reseal(bag, pour.device)
    assert {"approvals", "signatures"} <= failing(audit(bag))
    assert "bytes intact" not in failing(audit(bag))


def test_change_the_rules_after_the_review(pour):
    """Refused: what is bound is not what is in force, and the new record was not looked at."""
    approval = pour.approval()
    digest = pour.ledger.store.objects.put(b"# wider limits\n")
    pour.ledger.append("rules", {"sha256": digest, "name": "rules.toml"}, pour.device, pour.tick())
    with pytest.raises(NotAllowed, match="rules version bound is not the one in force"):
        release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())


@pytest.mark.parametrize(
    ("who", "says"),
    [
        ("thief", "not enrolled"),
        ("engineer-1", "has not the role"),
        ("device", "needs the person's own key"),
    ],
)
def test_forge_an_approval(pour, tmp_path, who, says):
    """Refused on entry; slipped in: persons."""
    body = pour.approval().body()
    signer = pour.device.on_behalf_of("reviewer-1") if who == "device" else pour.person(who)
    with pytest.raises(NotAllowed, match=says):
        pour.ledger.append("release", body, signer, pour.tick())
    again = pour.device if who == "device" else pour.person(who)
    forgery.slip_in(pour.ledger, "release", body, again, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert "persons" in failing(audit(tmp_path / "b.zip"))


def test_the_same_person_documents_and_releases(pour, tmp_path):
    """Refused on entry, also if the person was only claimed by a device; slipped in: persons."""
    digest = pour.ledger.store.objects.put(b"by the reviewer")
    body = {"sha256": digest, "name": "own.jpg"}
    pour.ledger.append("photo", body, pour.device.on_behalf_of("reviewer-1"), pour.tick())
    approval = pour.approval()
    with pytest.raises(NotAllowed, match="documented or corrected steel"):
        release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())
    forgery.slip_in(pour.ledger, "release", approval.body(), pour.person("reviewer-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert failing(audit(tmp_path / "b.zip")) == {"persons"}


def test_whoever_corrected_the_steel_cannot_release_it(pour):
    """Refused: a correction counts as documenting, even by the engineer of record."""
    pour.ledger.append(
        "correction", {"element": "S1", "text": "zone A respaced"}, pour.person("eor-1"), pour.tick()
    )
    with pytest.raises(NotAllowed, match="documented or corrected steel"):
        release(pour.ledger, pour.approval("eor-1"), pour.person("eor-1"), pour.tick())


def test_edit_the_statement_of_a_release(pour):
    """Refused: the text that a person reads and the fields that a program reads must say the same."""
    body = pour.approval().body()
    body["conditions"] = ["none of the chairs in zone A"]
    with pytest.raises(NotAllowed, match="does not say what the record says"):
        pour.ledger.append("release", body, pour.person("reviewer-1"), pour.tick())


def test_a_condition_cannot_pretend_to_be_a_field(pour):
    """A line break in foreign text does not begin a new line of the statement."""
    from verifier.record.approval import statement

    approval = pour.approval().model_copy(update={"conditions": ("wet the deck\ndecision: Go",)})
    lines = statement(approval.body()).splitlines()
    assert sum(line.startswith("decision:") for line in lines) == 1
    assert "condition 1: wet the deck decision: Go" in lines


def test_old_release_on_a_new_pour(pour, tmp_path, people_keys):
    """Refused: pour, versions and roots are others. A record does not open under another pour's name either."""
    old = pour.approval().body()
    other = open_pour(tmp_path / "other", people_keys, pour="L3-west")
    other.add_photo("q1.jpg", b"other steel")
    with pytest.raises(NotAllowed, match="the release is for pour 'L2-east'"):
        other.ledger.append("release", old, other.person("reviewer-1"), other.tick())
    renamed = {**old, "pour": "L3-west", "statement": old["statement"].replace("L2-east", "L3-west")}
    with pytest.raises(NotAllowed, match="is not a head of this record"):
        other.ledger.append("release", renamed, other.person("reviewer-1"), other.tick())
    forgery.slip_in(other.ledger, "release", old, other.person("reviewer-1"), other.tick())
    write_bundle(other.ledger, tmp_path / "b.zip", other.device, other.tick())
    assert "approvals" in failing(audit(tmp_path / "b.zip"))
    other.ledger.close()
    with pytest.raises(BadInput, match="of pour 'L3-west'"):
        Ledger.open(other.folder, pour="L2-east")


def test_the_same_release_twice(pour):
    """Refused: the first release itself came after what the second one looked at."""
    approval = pour.approval()
    release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())
    with pytest.raises(NotAllowed, match="were looked at"):
        release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())


def test_a_signature_made_for_another_purpose(pour, tmp_path):
    """Refused: OpenSSH's namespace keeps a signature over a file from being passed off as a release."""
    approval = pour.approval()
    text = tmp_path / "a.txt"
    text.write_text(approval.body()["statement"], encoding="utf-8")
    key = tmp_path / "key"
    key.write_bytes((pour.keys / "reviewer-1").read_bytes())
    key.chmod(0o600)
    run(tool("ssh-keygen"), "-p", "-P", PASSPHRASE, "-N", "", "-f", str(key))
    assert run(tool("ssh-keygen"), "-Y", "sign", "-f", str(key), "-n", "file", str(text)).returncode == 0
    with pytest.raises(NotAllowed, match="pour-release"):
        import_release(pour.ledger, approval, (tmp_path / "a.txt.sig").read_text(), pour.device, pour.tick())


# --- keys


def test_stolen_laptop_with_a_revoked_key(pour, tmp_path):
    """Refused by place in the ledger, whatever time the thief writes; slipped in: persons. What came before stays."""
    pour.ledger.append("remark", {"text": "signed before the theft"}, pour.person("reviewer-1"), pour.tick())
    revoke(pour.ledger, "reviewer-1", "laptop stolen", pour.person("eor-1"), pour.tick())
    approval = pour.approval()
    with pytest.raises(NotAllowed, match="was revoked by record"):
        release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "clean.zip", pour.device, pour.tick())
    assert failing(audit(tmp_path / "clean.zip")) == set()
    forgery.slip_in(pour.ledger, "release", approval.body(), pour.person("reviewer-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert failing(audit(tmp_path / "b.zip")) == {"persons"}


def test_a_second_key_in_the_reviewers_name(pour):
    """Refused: one key a person; and whoever is introduced stands in the record with the introducer."""
    request = enrolment(
        pour.ledger.pour, "reviewer-1", ["reviewer"], PersonSigner(pour.keys / "thief", PASSPHRASE)
    )
    with pytest.raises(NotAllowed, match="already has a valid key"):
        enrol(pour.ledger, request, pour.person("engineer-1"), pour.tick())


def test_enrol_somebody_elses_key_in_ones_own_name(pour):
    """Refused: the new key must sign its own enrolment, for this person, role and pour."""
    request = enrolment("another pour", "thief", ["reviewer"], PersonSigner(pour.keys / "thief", PASSPHRASE))
    with pytest.raises(NotAllowed, match="did not sign its own enrolment"):
        enrol(pour.ledger, request, pour.person("engineer-1"), pour.tick())


def test_a_device_introduces_a_reviewer(pour):
    """Refused: a device proves a device."""
    request = enrolment(
        pour.ledger.pour, "thief", ["reviewer"], PersonSigner(pour.keys / "thief", PASSPHRASE)
    )
    with pytest.raises(NotAllowed, match="not by a device"):
        enrol(pour.ledger, request, pour.device, pour.tick())


def test_the_site_engineer_revokes_the_reviewer(pour):
    """Refused: only the own key, or by a reviewer or the engineer of record."""
    with pytest.raises(NotAllowed, match="may revoke only the own key"):
        revoke(pour.ledger, "reviewer-1", "in the way", pour.person("engineer-1"), pour.tick())


def test_a_key_signs_once(pour):
    """An opened key can't be used behind the person's back for a second act."""
    signer = pour.person("reviewer-1")
    pour.ledger.append("remark", {"text": "one"}, signer, pour.tick())
    with pytest.raises(NotAllowed, match="has given it"):
        pour.ledger.append("remark", {"text": "two"}, signer, pour.tick())
    with pytest.raises(NotAllowed, match="doesn't open this key"):
        pour.ledger.append(
            "remark", {"text": "three"}, PersonSigner(pour.keys / "reviewer-1", "a guess"), pour.tick()
        )


def test_no_release_without_a_head_held_outside(pour, tmp_path):
    """Refused three ways: nothing kept, kept inside the folder, or a head made up."""
    from verifier.record.heads import KeptHeads

    empty = KeptHeads(tmp_path / "new" / "heads.jsonl", "reviewer-1")
    origin = pour.ledger.head().origin
    with pytest.raises(NotAllowed, match="No head of this record is held outside"):
        empty.held(origin, outside=pour.folder)
    inside = KeptHeads(pour.folder / "heads.jsonl", "reviewer-1")
    inside.accept(pour.note(), [], pour.tick())
    with pytest.raises(NotAllowed, match="lies inside the pour folder"):
        inside.held(origin, outside=pour.folder)
    body = pour.approval().body()
    del body["held"]
    with pytest.raises(NotAllowed, match="not complete"):
        pour.ledger.append("release", body, pour.person("reviewer-1"), pour.tick())
    body = pour.approval().body()
    made_up = base64.b64encode(b"\0" * 32).decode()
    body["statement"] = body["statement"].replace(body["held"]["root"], made_up)
    body["held"] = {**body["held"], "root": made_up}
    with pytest.raises(NotAllowed, match="held outside contradicts"):
        pour.ledger.append("release", body, pour.person("reviewer-1"), pour.tick())


def test_all_keys_stolen_and_the_whole_history_written_anew(pour, tmp_path, people_keys):
    """Alarm: only a head held outside. Without one nothing contradicts, and the audit says so."""
    _, held = sealed_folder(pour, tmp_path)
    fake = open_pour(tmp_path / "fake", people_keys)
    fake.add_photo("p1.jpg", b"prettier steel")
    path = fake.release_and_seal(tmp_path / "fake.zip")
    outcome = audit(path)
    assert failing(outcome) == set(), "nothing is caught without a head from outside"
    assert any("whole history was not rewritten" in limit for limit in outcome.limits)
    assert failing(audit(path, heads=[held])) == {"held head"}
    with pytest.raises(RecordDamaged, match="does not continue the head"):
        pour.kept.accept(fake.note(), fake.ledger.consistency(8), fake.tick())


def test_a_reviewer_is_shown_an_older_state(pour):
    """Alarm: the reviewer's file of heads demands that history only grows."""
    early = pour.note()
    pour.add_photo("p3.jpg", b"third original")
    pour.reviewer_keeps_head()
    with pytest.raises(RecordDamaged, match="cut, changed or replaced"):
        pour.kept.accept(early, [], pour.tick())


def test_a_head_signed_by_a_stranger(pour, tmp_path):
    """Alarm: head."""
    bag, _ = sealed_folder(pour, tmp_path)
    stranger = PersonSigner(pour.keys / "thief", PASSPHRASE)
    note = sign_head(pour.ledger.head(), stranger)
    forgery.write(bag / "data/checkpoint.txt", note.encode())
    assert "head" in failing(audit(bag))


# --- time and place


def test_a_photo_with_a_board_of_another_pour_is_not_bounded(pour, tmp_path):
    """No bracket from below: the markers seen belong to no board issued from this record."""
    pour.add_photo("p3.jpg", b"with another board", ids=[801, 802, 803, 804, 805])
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    outcome = audit(tmp_path / "b.zip")
    assert outcome.brackets[-1].not_before is None
    assert state_of(outcome, "time brackets") == OPEN


def test_a_photo_that_shows_a_board_made_later(pour, tmp_path):
    """Alarm: time brackets cross. A photo can't show markers that follow from a head which did not exist yet."""
    ids = [11, 22, 33, 44, 55]
    digest = pour.ledger.store.objects.put(b"claimed to be early")
    board_time = pour.now + timedelta(hours=3)
    issue_board(pour.ledger, 1, lambda root, name, number: ids, pour.device, board_time)
    reads = pour.now.strftime("%Y-%m-%dT%H:%M:%SZ")
    pour.ledger.append("device.clock", {"clock_reads": reads}, pour.device, board_time)
    body = {"sha256": digest, "name": "early.jpg", "ids_seen": ids}
    pour.ledger.append("photo", body, pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    bounded = audit(tmp_path / "b.zip").brackets[-1]
    assert bounded.not_before is not None
    assert state_of(audit(tmp_path / "b.zip"), "order") == OPEN


def test_marker_ids_that_do_not_follow_from_the_head(pour, tmp_path):
    """Alarm: boards, when the derivation is at hand; without it the audit says that it was not recomputed."""
    issue_board(pour.ledger, 1, lambda root, name, number: [1, 2, 3, 4, 5], pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert state_of(audit(tmp_path / "b.zip"), "boards") == OPEN
    derive = lambda root, name, number: [6, 7, 8, 9, 10]  # noqa: E731 - a stand-in of one line
    assert failing(audit(tmp_path / "b.zip", board_ids=derive)) == {"boards"}


def test_measuring_again_gives_another_value(pour, tmp_path):
    """Alarm: replay, with the difference in words."""
    path = pour.release_and_seal(tmp_path / "b.zip")
    looked_at = []

    def same(original, bodies):
        looked_at.append(original)
        return Replayed()

    def other(original, bodies):
        return Replayed(tuple(f"mean_spacing 161.0, recorded {b['value']}" for b in bodies))

    def newer(original, bodies):
        return Replayed(
            not_compared=tuple(f"{b['value']}: measured with version 1, this is 2" for b in bodies)
        )

    def broken(original, bodies):
        raise RuntimeError("no such method version")

    assert failing(audit(path, replay=same)) == set()
    assert sorted(looked_at) == [b"first original", b"second original"]
    assert failing(audit(path, replay=other)) == {"replay"}
    assert failing(audit(path, replay=broken)) == {"replay"}
    by_a_newer_program = audit(path, replay=newer)
    assert failing(by_a_newer_program) == set(), (
        "another version may differ for good reason: that is no contradiction"
    )
    assert state_of(by_a_newer_program, "replay") == OPEN
    assert state_of(audit(path), "replay") == OPEN


def test_a_staged_scene(pour, tmp_path):
    """NOT caught: old steel photographed with the right board passes every check. The audit must say so itself."""
    pour.add_photo("staged.jpg", b"steel of another floor")
    outcome = audit(pour.release_and_seal(tmp_path / "b.zip"))
    assert failing(outcome) == set()
    assert any(re.search("staged scene", limit) for limit in outcome.limits)


# --- the bundle itself


def test_mix_records_of_two_pours(pour, tmp_path, people_keys):
    """Alarm: a part that shows records of two pours."""
    digest = pour.add_photo("p3.jpg", b"third")
    part = write_bundle(
        pour.ledger,
        tmp_path / "p.zip",
        pour.device,
        pour.tick(),
        part=part_of_photo(pour.ledger.records(), digest),
    )
    bag = unpack(part.path, tmp_path / "bag")
    other = open_pour(tmp_path / "other", people_keys, pour="L3-west")
    other.add_photo("q1.jpg", b"other steel")
    lines = [*forgery.lines_of(bag), other.ledger.records()[-1].line]
    forgery.write(bag / "data/ledger.jsonl", b"".join(x + b"\n" for x in lines))
    forgery.reseal(bag, pour.device)
    assert {"chain", "head"} <= failing(audit(bag))
    other.ledger.close()


def test_pack_the_bundle_again(bundle, tmp_path):
    """Alarm: container only - whoever unpacked and packed it in good faith hasn't touched the bytes inside."""
    import shutil

    unpack(bundle, tmp_path / "x")
    again = shutil.make_archive(str(tmp_path / "again"), "zip", tmp_path / "x")
    assert failing(audit(again_path(again))) == {"container"}


def again_path(name: str):
    from pathlib import Path

    return Path(name)


def test_a_damaged_container_is_a_fact_not_a_crash(bundle, tmp_path):
    """Alarm: container. Nothing an attacker writes may stop the audit from answering."""
    for content in (b"", b"PK\x05\x06" + b"\0" * 18, b"not a zip", bundle.read_bytes()[:-30]):
        broken = tmp_path / "broken.zip"
        broken.write_bytes(content)
        assert "container" in failing(audit(broken))


@pytest.mark.parametrize(
    "body", [{"ids_seen": [[1], {}]}, {"held": 3}, {"head": {"size": "x"}}, {"claims": 7}]
)
def test_values_of_the_wrong_kind_are_a_fact_not_a_crash(pour, tmp_path, body):
    """Alarm or answer, never an exception: an insider can sign any nonsense."""
    forgery.slip_in(pour.ledger, "photo", {"name": "x", **body}, pour.device, pour.tick())
    forgery.slip_in(pour.ledger, "board", {"ids": [1], **body}, pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert audit(tmp_path / "b.zip").facts


# --- answers that must not say more than they know


def test_an_old_head_beside_a_part_is_not_called_a_contradiction(pour, tmp_path):
    """A part proves only heads that it holds a proof for: of others the audit says that it can't compare, and no more."""
    held_early = pour.note()
    early = pour.ledger.head()
    digest = pour.add_photo("p3.jpg", b"third original")
    pour.reviewer_keeps_head()
    release(pour.ledger, pour.approval(), pour.person("reviewer-1"), pour.tick())
    bound = pour.ledger.head(pour.ledger.records("release")[0].body["size"])
    pour.add_photo("p4.jpg", b"fourth original")
    path = tmp_path / "part.zip"
    part = write_bundle(
        pour.ledger, path, pour.device, pour.tick(), part=part_of_photo(pour.ledger.records(), digest)
    )
    now = pour.ledger.head()
    assert part.shown < part.records
    told = {
        head: state_of(audit(path, heads=[head]), "held head")
        for head in (held_early, early.short, bound.short, now.short, part.checkpoint)
    }
    assert list(told.values()) == [OPEN, OPEN, HOLDS, HOLDS, HOLDS]
    forged = f"{bound.size}-AAAA-AAAA-AAAA-AAAA"
    longer = f"{now.size + 1}-{now.short.partition('-')[2]}"
    for head in (forged, longer, "no head at all", held_early.replace("L2-east", "L3-east")):
        assert state_of(audit(path, heads=[head]), "held head") == FAILS, head
    write_bundle(pour.ledger, tmp_path / "whole.zip", pour.device, pour.tick())
    for head in (held_early, early.short):
        assert state_of(audit(tmp_path / "whole.zip", heads=[head]), "held head") == HOLDS


def test_an_empty_folder_is_no_sound_bundle(tmp_path):
    """Alarm: container. Where there is nothing, nothing is called sound."""
    outcome = audit(tmp_path)
    assert failing(outcome) == {"container"}
    (tmp_path / "bagit.txt").write_text(
        "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n", encoding="utf-8"
    )
    outcome = audit(tmp_path)
    assert {"bytes intact", "listing", "chain", "signatures", "head", "seal"} <= failing(outcome)
