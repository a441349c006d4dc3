"""Attacks on the head of a record: histories written anew, older states, parts; each test states its alarm, or who alone can tell.

The attacker has write access to everything and holds the device's key unless a test says otherwise, so that no alarm is owed to a
mere checksum that could be computed again.
"""

from __future__ import annotations

import base64
import re
import shutil

import forgery
import pytest
from record_world import PASSPHRASE, failing, open_pour, sealed_folder, state_of, unpack

from verifier.errors import NotAllowed, RecordDamaged
from verifier.record import Ledger, PersonSigner
from verifier.record.audit import FAILS, HOLDS, OPEN, audit
from verifier.record.bundle import write_bundle
from verifier.record.checkpoint import read_head, sign_head
from verifier.record.heads import KeptHeads
from verifier.record.part import part_of_photo
from verifier.record.people import release, revoke


def test_no_release_without_a_head_held_outside(pour, tmp_path):
    """Refused three ways: nothing kept, kept inside the folder, or a head made up."""
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
    with pytest.raises(RecordDamaged, match=r"cut, changed or replaced"):
        pour.kept.accept(early, [], pour.tick())


def test_a_head_signed_by_a_stranger(pour, tmp_path):
    """Alarm: head."""
    bag, _ = sealed_folder(pour, tmp_path)
    stranger = PersonSigner(pour.keys / "thief", PASSPHRASE)
    note = sign_head(pour.ledger.head(), stranger)
    forgery.write(bag / "data/checkpoint.txt", note.encode())
    assert "head" in failing(audit(bag))


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


def test_a_good_head_does_not_cover_for_a_bad_one(tmp_path, people_keys):
    """Alarm: held head, in whichever order the heads are given - also where the name of the pour is so long that all heads
    begin alike."""
    pour = open_pour(
        tmp_path, people_keys, pour="L2 east, second part, from axis 4 to axis 9, with both balconies"
    )
    pour.add_photo("p1.jpg", b"first original")
    path = write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path
    good, root = pour.note(), pour.ledger.head().root_text
    bad = good.replace(root, base64.b64encode(bytes(32)).decode())
    assert good[:60] == bad[:60]
    for heads in ([good, bad], [bad, good]):
        assert failing(audit(path, heads=heads)) == {"held head"}
    assert failing(audit(path, heads=[good])) == set()
    pour.ledger.close()


def test_two_heads_of_the_same_size(pour, tmp_path):
    """Alarm: held head, and the reviewer's own file refuses. A device that signs two histories of one length is caught by
    whoever holds the one when shown the other."""
    twin = tmp_path / "twin"
    shutil.copytree(pour.folder, twin)
    held = pour.reviewer_keeps_head()
    other = Ledger.open(twin)
    other.append("remark", {"text": "history two"}, pour.device, pour.tick())
    pour.ledger.append("remark", {"text": "history one"}, pour.device, pour.tick())
    first = pour.reviewer_keeps_head()
    second = sign_head(other.head(), pour.device)
    assert read_head(first).size == read_head(second).size
    with pytest.raises(RecordDamaged, match=r"cut, changed or replaced|does not continue"):
        pour.kept.accept(second, other.consistency(read_head(held).size), pour.tick())
    path = write_bundle(other, tmp_path / "b.zip", pour.device, pour.tick()).path
    assert failing(audit(path, heads=[held])) == set(), "the head from before both is one of either"
    assert failing(audit(path, heads=[held, first])) == {"held head"}
    other.close()


def test_a_head_made_out_for_another_pour(pour, tmp_path):
    """Alarm: head. The records say which pour they are of, and so must the head over them."""
    bag, _ = sealed_folder(pour, tmp_path)
    for name in ("data/checkpoint.txt", "bag-info.txt"):
        forgery.write(bag / name, (bag / name).read_bytes().replace(b"L2-east", b"L3-west"))
    forgery.put_lines(bag, forgery.lines_of(bag), pour.device)
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"head"}


def test_a_part_that_leaves_out_what_speaks_against_it(pour, tmp_path):
    """NOT an alarm, for a part may be shown: but nothing about persons and releases is more than not proven, and the chain
    says how much is missing. Here a revocation is left out, behind which a release was slipped in."""
    digest = pour.ledger.records("photo")[0].body["sha256"]
    approval = pour.approval()
    revoke(pour.ledger, "reviewer-1", "laptop stolen", pour.person("eor-1"), pour.tick())
    forgery.slip_in(pour.ledger, "release", approval.body(), pour.person("reviewer-1"), pour.tick())
    whole = write_bundle(pour.ledger, tmp_path / "whole.zip", pour.device, pour.tick()).path
    assert failing(audit(whole)) == {"persons"}
    part = write_bundle(
        pour.ledger,
        tmp_path / "part.zip",
        pour.device,
        pour.tick(),
        part=part_of_photo(pour.ledger.records(), digest),
    ).path
    bag = unpack(part, tmp_path / "x")
    kept = [line for line in forgery.lines_of(bag) if b'"type":"key.revoke"' not in line]
    forgery.write(bag / "data/ledger.jsonl", b"".join(line + b"\n" for line in kept))
    people = bag / "data/keys/people.txt"
    forgery.write(people, re.sub(rb", revoked by record \d+", b"", people.read_bytes()))
    proof = bag / f"data/proofs/{len(pour.ledger.records()) - 1}.tlog-proof"
    proof.unlink()
    forgery.reseal(bag, pour.device)
    outcome = audit(bag)
    assert failing(outcome) == set()
    assert {state_of(outcome, topic) for topic in ("chain", "persons", "approvals")} == {OPEN}


def test_a_proof_that_is_none(pour, tmp_path):
    """Alarm: head. Proofs travel with a whole bundle too, for whoever takes a single record on."""
    for number, name in enumerate(("*.tlog-proof", "consistency-*.txt")):
        bag = unpack(pour.release_and_seal(tmp_path / f"{number}.zip"), tmp_path / f"x{number}")
        proof = next((bag / "data/proofs").glob(name))
        lines = proof.read_text(encoding="utf-8").split("\n")
        lines[2 if number == 0 else 0] = "A" * 43 + "="
        forgery.write(proof, "\n".join(lines).encode())
        forgery.reseal(bag, pour.device)
        assert failing(audit(bag)) == {"head"}
