"""Attacks on the database of a pour folder: rewritten without a key, with triggers and views, with records slipped in.

The attacker has write access to the folder and any database program; each test states its alarm.
"""

from __future__ import annotations

import shutil
import sqlite3

import forgery
import pytest
from record_world import in_database

from verifier.errors import RecordDamaged
from verifier.record import Ledger


def test_edit_in_the_database_and_chain_anew_without_any_key(pour):
    """Alarm: the ledger does not open, so no check and no page ever rests on it. The chain alone would hold."""
    lines = [r.line.replace(b"150.4", b"148.4") for r in pour.ledger.records()]
    forged = forgery.rechained(lines, None)
    pour.ledger.close()

    def change(db):
        db.executemany("UPDATE record SET line = ? WHERE seq = ?", [(x, n) for n, x in enumerate(forged, 1)])

    in_database(pour.folder, change)
    with pytest.raises(RecordDamaged, match="carries a signature that is not sound"):
        Ledger.open(pour.folder)


@pytest.mark.parametrize(
    "sql",
    [
        "CREATE TRIGGER quietly AFTER INSERT ON record WHEN NEW.line LIKE '%refusal%' BEGIN DELETE FROM record WHERE seq = NEW.seq; END",
        "ALTER TABLE record RENAME TO rows; CREATE VIEW record AS SELECT seq, line FROM rows WHERE seq < 9",
        "CREATE TABLE notes (text TEXT)",
        "CREATE INDEX lines ON record (line)",
    ],
    ids=["a trigger that drops refusals", "a view that shows a part", "a further table", "an index"],
)
def test_a_database_with_more_in_it_than_records(pour, sql):
    """Alarm: the ledger does not open. A trigger or a view would drop or hide rows while everybody follows the rules."""
    pour.ledger.close()
    in_database(pour.folder, lambda db: db.executescript(sql), tidy="VIEW" not in sql)
    with pytest.raises(RecordDamaged, match="layout was changed"):
        Ledger.open(pour.folder)


def test_a_database_without_its_guards(pour):
    """Alarm: the ledger does not open."""
    pour.ledger.close()
    in_database(pour.folder, lambda db: None, tidy=False)
    with pytest.raises(
        RecordDamaged, match="layout was changed: record_follows, record_remains, record_stays"
    ):
        Ledger.open(pour.folder)


@pytest.mark.parametrize("line", ["a text", 10**12, 1.5])
def test_a_row_that_holds_no_bytes(pour, line):
    """Alarm: the ledger does not open - neither with another error nor with a terabyte of zeros."""
    number = len(pour.ledger.records()) + 1
    pour.ledger.close()
    in_database(pour.folder, lambda db: db.execute("INSERT INTO record VALUES (?, ?)", (number, line)))
    with pytest.raises(RecordDamaged, match="holds no bytes"):
        Ledger.open(pour.folder)


def test_a_log_of_other_rows_left_beside_the_database(pour, tmp_path):
    """Alarm: the ledger does not open. SQLite takes a left log for its own last writes, here of a copy without its guards; with
    the guards put back it would be a tail that was cut, which only a head held outside tells."""
    other = tmp_path / "copy"
    shutil.copytree(pour.folder, other)
    pour.ledger.append("refusal", {"reason": "too wide"}, pour.person("reviewer-1"), pour.tick())
    with sqlite3.connect(other / "record" / "ledger.sqlite") as db:
        db.execute("PRAGMA journal_mode=WAL")
        for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            db.execute(f"DROP TRIGGER {name}")
        db.execute("DELETE FROM record WHERE seq > 5")
        db.commit()
        log = (other / "record" / "ledger.sqlite-wal").read_bytes()
    db.close()
    pour.ledger.close()
    (pour.folder / "record" / "ledger.sqlite-wal").write_bytes(log)
    with pytest.raises(RecordDamaged, match="layout was changed"):
        Ledger.open(pour.folder)


@pytest.mark.parametrize("kind", ["release", "acceptance", "refusal"])
def test_a_decision_slipped_into_the_database_by_an_enrolled_key(pour, kind):
    """Alarm: the ledger names it as unfit, so that nothing rests on it; the audit says the same (persons)."""
    body = pour.approval().body() if kind == "release" else {"requirement": "S1", "says": "x", "reason": "y"}
    forgery.slip_in(pour.ledger, kind, body, pour.person("engineer-1"), pour.tick())
    number = len(pour.ledger.records())
    assert set(pour.ledger.unfit) == {number}
    assert any("has not the role" in fault for fault in pour.ledger.unfit[number])
    again = Ledger.open(pour.folder)
    assert dict(again.unfit) == dict(pour.ledger.unfit)
    again.close()
