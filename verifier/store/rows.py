"""The rows of the ledger: exact bytes in SQLite, added at the end and never changed."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from verifier.errors import BadInput, RecordDamaged

LAYOUT_VERSION = 1
APPLICATION_ID = 0x504F5552  # "POUR" in ASCII, seen by file(1)

_LAYOUT = """
CREATE TABLE IF NOT EXISTS record (seq INTEGER PRIMARY KEY, line BLOB NOT NULL);
CREATE TRIGGER IF NOT EXISTS record_stays BEFORE UPDATE ON record
BEGIN SELECT RAISE(ABORT, 'records are never changed'); END;
CREATE TRIGGER IF NOT EXISTS record_remains BEFORE DELETE ON record
BEGIN SELECT RAISE(ABORT, 'records are never deleted'); END;
CREATE TRIGGER IF NOT EXISTS record_follows BEFORE INSERT ON record
WHEN NEW.seq IS NOT (SELECT COALESCE(MAX(seq), 0) + 1 FROM record)
BEGIN SELECT RAISE(ABORT, 'records are added at the end only'); END;
"""
_WHAT_IS_THERE = "SELECT type, name, sql FROM sqlite_master"


@cache
def _expected_layout() -> frozenset[tuple[str, str, str]]:
    """What a ledger holds: a trigger or a view more could drop or change rows while they are written or read."""
    db = sqlite3.connect(":memory:")
    try:
        db.executescript(_LAYOUT)
        return frozenset(db.execute(_WHAT_IS_THERE))
    finally:
        db.close()


class Rows:
    """An append-only table of byte strings, numbered from 1 without a gap.

    One connection, guarded by a lock, so that threads of one process may share it; several processes take turns through
    SQLite's own lock. Readers are never blocked (write-ahead log), and a committed row survives a loss of power
    (``synchronous=FULL``).

    A record on a medium that can't be written is read from a copy, so that SQLite may put its own files beside it.

    Args:
        path: The database file; made if absent.
        writable: False to read only; nothing is then made or changed where the file lies.

    Raises:
        RecordDamaged: If the file is not such a database or fails SQLite's own check.
        BadInput: If it can't be opened or was written by a later version.
    """

    def __init__(self, path: Path, *, writable: bool = True) -> None:
        self._path = path
        self._lock = threading.RLock()
        self._copy = None if writable else _copied(path)
        place = path if self._copy is None else Path(self._copy.name) / path.name
        try:
            self._db = sqlite3.connect(place, timeout=30.0, isolation_level=None, check_same_thread=False)
            self._prepare()
        except sqlite3.OperationalError as error:
            raise BadInput(
                f"The ledger can't be opened ({error}).",
                where=str(path),
                todo="Check that the disk has room and the folder may be written.",
            ) from error
        except sqlite3.DatabaseError as error:
            raise RecordDamaged(
                f"The ledger file is damaged ({error}).",
                where=str(path),
                todo="Keep it as found and restore a copy; never repair it in place.",
            ) from error

    def _prepare(self) -> None:
        self._db.execute("PRAGMA journal_mode=WAL")
        self._db.execute("PRAGMA synchronous=FULL")
        version = self._db.execute("PRAGMA user_version").fetchone()[0]
        if version > LAYOUT_VERSION:
            raise BadInput(
                f"The ledger has layout {version}; this version reads {LAYOUT_VERSION}.",
                where=str(self._path),
                todo="Use a newer version of this program.",
            )
        verdict = self._db.execute("PRAGMA integrity_check").fetchone()[0]
        if verdict != "ok":
            raise sqlite3.DatabaseError(verdict)
        if version == 0:
            self._db.executescript(
                f"BEGIN IMMEDIATE; {_LAYOUT} PRAGMA application_id={APPLICATION_ID}; "
                f"PRAGMA user_version={LAYOUT_VERSION}; COMMIT;"
            )
        strange = set(self._db.execute(_WHAT_IS_THERE)) ^ _expected_layout()
        if strange:
            names = ", ".join(sorted({str(name) for _, name, _ in strange}))
            raise sqlite3.DatabaseError(f"its layout was changed: {names}")

    def lines(self, after: int = 0) -> Iterator[tuple[int, bytes]]:
        """Yield number and bytes of every row behind a given one.

        Args:
            after: Last row number already known; 0 for all rows.

        Yields:
            ``(seq, line)`` in order.

        Raises:
            RecordDamaged: If a row holds something else than bytes.
        """
        with self._lock:
            found = self._db.execute(
                "SELECT seq, line FROM record WHERE seq > ? ORDER BY seq", (after,)
            ).fetchall()
        yield from _bytes_of(found)

    def count(self) -> int:
        """Return the number of rows.

        Returns:
            The number of the last row; 0 for an empty ledger.
        """
        with self._lock:
            return int(self._db.execute("SELECT COALESCE(MAX(seq), 0) FROM record").fetchone()[0])

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """Hold the only right to write until the block ends; rows added inside are kept together or not at all.

        Yields:
            A writer that reads the rows that others added since, and adds new ones.

        Raises:
            BadInput: If the disk is full or another writer doesn't finish within half a minute.
        """
        if self._copy is not None:
            raise BadInput(
                "The record can be read here, but not written.",
                where=str(self._path),
                todo="Work in the folder that it was copied from, or make this one writable; nothing was recorded.",
            )
        with self._lock:
            try:
                self._db.execute("BEGIN IMMEDIATE")
                try:
                    yield Writer(self._db)
                    self._db.execute("COMMIT")
                except BaseException:
                    if self._db.in_transaction:
                        self._db.execute("ROLLBACK")
                    raise
            except sqlite3.OperationalError as error:
                raise BadInput(
                    f"The ledger can't be written ({error}).",
                    where=str(self._path),
                    todo="Free some space, or wait until the other program has finished; nothing was recorded.",
                ) from error

    def backup(self, target: Path) -> None:
        """Write a consistent copy of the ledger while it is in use.

        Args:
            target: New database file.
        """
        with self._lock, sqlite3.connect(target) as copy:
            self._db.backup(copy)
        copy.close()

    def close(self) -> None:
        """Let go of the database file."""
        with self._lock:
            self._db.close()
        if self._copy is not None:
            self._copy.cleanup()


class Writer:
    """The right to add rows, inside one transaction.

    Args:
        db: Connection with an open write transaction.
    """

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def lines(self, after: int) -> list[tuple[int, bytes]]:
        """Return number and bytes of every row behind a given one, as this transaction sees them.

        Args:
            after: Last row number already known.

        Returns:
            ``(seq, line)`` in order.

        Raises:
            RecordDamaged: If a row holds something else than bytes.
        """
        found = self._db.execute(
            "SELECT seq, line FROM record WHERE seq > ? ORDER BY seq", (after,)
        ).fetchall()
        return _bytes_of(found)

    def add(self, seq: int, line: bytes) -> None:
        """Add a row; its number must be the next one.

        Args:
            seq: The next number.
            line: Exact bytes.
        """
        self._db.execute("INSERT INTO record (seq, line) VALUES (?, ?)", (seq, line))


def _bytes_of(rows: list[tuple[object, object]]) -> list[tuple[int, bytes]]:
    """Rows as they must be; SQLite itself takes a number or a text for bytes, if somebody writes one."""
    found = []
    for seq, line in rows:
        if not isinstance(seq, int) or not isinstance(line, bytes):
            raise RecordDamaged(
                f"Row {seq!r} of the ledger holds no bytes.",
                where="ledger.sqlite",
                todo="Somebody changed it. Keep it as found and compare it with a copy.",
            )
        found.append((seq, line))
    return found


def _copied(path: Path) -> tempfile.TemporaryDirectory[str]:
    """Copy the database, with the log that may lie beside it, to where SQLite can open it."""
    copy = tempfile.TemporaryDirectory()
    for file in (path, path.with_name(f"{path.name}-wal")):
        if file.is_file():
            shutil.copyfile(file, Path(copy.name) / file.name)
    return copy
