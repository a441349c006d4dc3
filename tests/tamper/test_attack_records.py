"""Attacks on the chain of records: edited, recomputed, cut, reordered, backdated; each test states its alarm.

The attacker has write access to everything and holds the device's key unless a test says otherwise, so that no alarm is owed to a
mere checksum that could be computed again.
"""

from __future__ import annotations

import sqlite3
from datetime import timedelta

import forgery
import pytest
from record_world import failing, in_database, sealed_folder, state_of, unpack

from verifier.errors import NotAllowed, RecordDamaged
from verifier.record import Ledger
from verifier.record.audit import OPEN, audit
from verifier.record.bundle import write_bundle
from verifier.record.checkpoint import read_head
from verifier.record.sealing import seal


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
    with pytest.raises(RecordDamaged, match=f"Record {row.seq} carries a signature that is not sound"):
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


@pytest.mark.parametrize(
    "body",
    [
        {"ids_seen": [[1], {}]},
        {"boards_seen": [7, {"number": [], "ids": 3}]},
        {"held": 3},
        {"head": {"size": "x"}},
        {"claims": 7},
    ],
)
def test_values_of_the_wrong_kind_are_a_fact_not_a_crash(pour, tmp_path, body):
    """Alarm or answer, never an exception: an insider can sign any nonsense."""
    forgery.slip_in(pour.ledger, "photo", {"name": "x", **body}, pour.device, pour.tick())
    forgery.slip_in(pour.ledger, "board", {"ids": [1], **body}, pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert audit(tmp_path / "b.zip").facts
