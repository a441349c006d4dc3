"""The file that the accounts lie in: SQLite, changed as a whole, readable by its owner only."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from verifier.errors import BadInput

FILE: Final = "accounts.sqlite"

_LAYOUT: Final = """
CREATE TABLE IF NOT EXISTS account (name TEXT PRIMARY KEY, passphrase TEXT, identity TEXT UNIQUE, since TEXT NOT NULL,
    stopped TEXT);
CREATE TABLE IF NOT EXISTS tries (name TEXT PRIMARY KEY, failed INTEGER NOT NULL, last REAL NOT NULL);
CREATE TABLE IF NOT EXISTS visit (token TEXT PRIMARY KEY, name TEXT NOT NULL, begun REAL NOT NULL, seen REAL NOT NULL);
"""


@contextmanager
def changed(path: Path) -> Iterator[sqlite3.Connection]:
    """Read or change the accounts: one after the other, whatever number of processes, each as a whole or not at all.

    Args:
        path: The file; made if absent.

    Yields:
        A connection.

    Raises:
        BadInput: If others may read the file, or it can't be read or written.
        sqlite3.IntegrityError: If an identity would be two people's.
    """
    try:
        if not path.exists():
            os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
        if os.name != "nt" and path.stat().st_mode & 0o077:
            raise BadInput("Others may read the accounts.", where=str(path), todo=f"Run: chmod 600 {path}")
        with closing(sqlite3.connect(path, timeout=10.0, isolation_level=None)) as db:
            db.executescript(_LAYOUT)
            db.execute("BEGIN IMMEDIATE")
            try:
                yield db
            except BaseException:
                db.execute("ROLLBACK")
                raise
            db.execute("COMMIT")
    except sqlite3.IntegrityError:
        raise
    except (OSError, sqlite3.DatabaseError) as error:
        raise BadInput(
            f"The accounts can't be read or written ({error}).",
            where=str(path),
            todo="Make the folder writable by its owner, or restore the file from a copy.",
        ) from error
