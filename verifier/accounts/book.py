"""The book of accounts: one SQLite file beside the pours, readable by its owner only."""

from __future__ import annotations

import hashlib
import secrets
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final, Literal

from verifier.accounts.file import changed
from verifier.accounts.passphrase import fits, hashed, plain
from verifier.accounts.waits import FORGOTTEN_AFTER, MOST_TRIES, wait_after
from verifier.errors import BadInput

MOST_NAMES: Final = 10_000
"""Names whose tries are remembered at once: a flood of made-up names must not fill the disk."""


@dataclass(frozen=True, slots=True)
class Account:
    """One account, without its passphrase.

    Attributes:
        name: Name as in ``[people]``.
        since: Day and time it was made, UTC.
        stopped: When it was stopped, None while it counts.
        identity: Name at the identity provider, if linked.
        passphrase: Whether it has one.
    """

    name: str
    since: str
    stopped: str | None
    identity: str | None
    passphrase: bool


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a name and a passphrase. Without ``name`` nobody came in; ``again`` says when a next try counts."""

    name: str | None = None
    again: datetime | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """How long a visit lasts: without being used, and in all. Source: NIST SP 800-63B-4, 2.2.3 names 24 h and 1 h at most."""

    idle: timedelta = timedelta(minutes=30)
    whole: timedelta = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class Visit:
    """A visit that is known: in use, or idle for too long, so that the passphrase is asked for again."""

    name: str
    state: Literal["open", "idle"]


@dataclass(frozen=True, slots=True)
class Book:
    """The accounts in one file.

    Attributes:
        path: The file; made by the first account.
        limits: How long visits last.
    """

    path: Path
    limits: Limits = Limits()

    @property
    def begun(self) -> bool:
        """Whether there are accounts at all. A file that can't be read counts: nobody may come in for that."""
        return self.path.exists()

    def add(self, name: str, passphrase: str, at: datetime) -> None:
        """Make an account, or give one that is there a new passphrase; it counts again and its visits end.

        Args:
            name: Name as in ``[people]``.
            passphrase: As typed.
            at: Moment of the act.

        Raises:
            BadInput: If name or passphrase can't be used.
        """
        who, kept = _name(name), hashed(name, passphrase)
        with changed(self.path) as db:
            db.execute(
                "INSERT INTO account (name, passphrase, since) VALUES (?, ?, ?) "
                "ON CONFLICT (name) DO UPDATE SET passphrase = excluded.passphrase, stopped = NULL",
                (who, kept, _moment(at)),
            )
            db.execute("DELETE FROM visit WHERE name = ?", (who,))
            db.execute("DELETE FROM tries WHERE name = ?", (_tried_as(who),))

    def link(self, name: str, identity: str, at: datetime) -> None:
        """Say which person an identity provider means; the account is made if it is not there.

        Args:
            name: Name as in ``[people]``.
            identity: As the page shows it to somebody who logged in there and is not linked yet.
            at: Moment of the act.

        Raises:
            BadInput: If another person has this identity.
        """
        try:
            with changed(self.path) as db:
                db.execute(
                    "INSERT INTO account (name, identity, since) VALUES (?, ?, ?) "
                    "ON CONFLICT (name) DO UPDATE SET identity = excluded.identity, stopped = NULL",
                    (_name(name), identity.strip(), _moment(at)),
                )
        except sqlite3.IntegrityError as error:
            raise BadInput(
                "This identity is another person's.",
                where=identity,
                todo="Stop that account, or link another.",
            ) from error

    def stop(self, name: str, at: datetime) -> None:
        """Stop an account; visits of this person end at once. What the person did stays.

        Args:
            name: Whose account.
            at: Moment of the act.

        Raises:
            BadInput: If there is no such account.
        """
        who = _name(name)
        with changed(self.path) as db:
            found = db.execute(
                "UPDATE account SET stopped = ?, identity = NULL WHERE name = ? AND stopped IS NULL",
                (_moment(at), who),
            )
            if found.rowcount == 0:
                raise BadInput(
                    "There is no account of this name that counts.",
                    where=name,
                    todo="Look at the list of names.",
                    command="verifier account list FOLDER",
                )
            db.execute("DELETE FROM visit WHERE name = ?", (who,))

    def listed(self) -> tuple[Account, ...]:
        """List all accounts.

        Returns:
            By name.
        """
        if not self.begun:
            return ()
        with changed(self.path) as db:
            rows = db.execute(
                "SELECT name, since, stopped, identity, passphrase IS NOT NULL FROM account ORDER BY name"
            ).fetchall()
        return tuple(
            Account(name, since, stopped, identity, bool(passphrase))
            for name, since, stopped, identity, passphrase in rows
        )

    def person_of(self, identity: str) -> str | None:
        """Name the person that an identity provider means.

        Args:
            identity: As that provider says it.

        Returns:
            The person, None if nobody is linked.
        """
        if not self.begun:
            return None
        with changed(self.path) as db:
            row = db.execute(
                "SELECT name FROM account WHERE identity = ? AND stopped IS NULL", (identity,)
            ).fetchone()
        return None if row is None else str(row[0])

    def try_passphrase(self, name: str, passphrase: str, at: datetime) -> Tried:
        """Hold a passphrase against the book.

        Unknown names, stopped accounts and wrong passphrases get the same answer after the same work, and wait alike. A
        try is counted before it is made, so that many at once are no way around the wait.

        Args:
            name: As typed.
            passphrase: As typed.
            at: Moment of the try.

        Returns:
            The person, or when to try again.
        """
        who = plain(name).strip()
        key, now = _tried_as(who), at.timestamp()
        with changed(self.path) as db:
            self._forget(db, now)
            row = db.execute("SELECT failed, last FROM tries WHERE name = ?", (key,)).fetchone()
            failed, last = row or (0, 0.0)
            again = last + wait_after(failed).total_seconds()
            if failed >= MOST_TRIES or now < again:
                until = max(again, now + wait_after(MOST_TRIES).total_seconds() * (failed >= MOST_TRIES))
                return Tried(again=datetime.fromtimestamp(until, at.tzinfo))
            db.execute(
                "INSERT INTO tries (name, failed, last) VALUES (?, 1, ?) "
                "ON CONFLICT (name) DO UPDATE SET failed = failed + 1, last = excluded.last",
                (key, now),
            )
            found = db.execute(
                "SELECT passphrase FROM account WHERE name = ? AND stopped IS NULL", (who,)
            ).fetchone()
        if not fits(None if found is None else found[0], passphrase):
            wait = wait_after(failed + 1)
            return Tried(again=at + wait if wait else None)
        with changed(self.path) as db:
            db.execute("DELETE FROM tries WHERE name = ?", (key,))
        return Tried(name=who)

    def begin(self, name: str, at: datetime, *, token: str | None = None) -> str:
        """Begin a visit.

        Args:
            name: Who came in.
            at: Moment.
            token: What the browser brings if somebody else gave it out; a new one if not given.

        Returns:
            A token that only this visitor gets; the book keeps its hash.
        """
        token = token or secrets.token_urlsafe(32)
        with changed(self.path) as db:
            db.execute("DELETE FROM visit WHERE begun < ?", ((at - self.limits.whole).timestamp(),))
            db.execute(
                "INSERT INTO visit VALUES (?, ?, ?, ?)",
                (_hash(token), name, at.timestamp(), at.timestamp()),
            )
        return token

    def visit(self, token: str, at: datetime, *, used: bool = False) -> Visit | None:
        """Say whose visit a token is.

        Args:
            token: As the browser brings it.
            at: Moment.
            used: Whether the person does something just now, which keeps an open visit open.

        Returns:
            The visit, None if there is none of this token, or it is over.
        """
        if not self.begun:
            return None
        with changed(self.path) as db:
            row = db.execute(
                "SELECT v.name, v.begun, v.seen FROM visit v JOIN account a ON a.name = v.name "
                "WHERE v.token = ? AND a.stopped IS NULL",
                (_hash(token),),
            ).fetchone()
            if row is None or at.timestamp() - row[1] > self.limits.whole.total_seconds():
                return None
            if at.timestamp() - row[2] > self.limits.idle.total_seconds():
                return Visit(row[0], "idle")
            if used:
                db.execute("UPDATE visit SET seen = ? WHERE token = ?", (at.timestamp(), _hash(token)))
        return Visit(row[0], "open")

    def go_on(self, token: str, passphrase: str, at: datetime) -> Tried:
        """Go on with a visit that was idle for too long.

        Args:
            token: As the browser brings it.
            passphrase: Of the person whose visit it is.
            at: Moment.

        Returns:
            The person, or when to try again.
        """
        known = self.visit(token, at)
        if known is None:
            return Tried()
        tried = self.try_passphrase(known.name, passphrase, at)
        if tried.name is not None:
            with changed(self.path) as db:
                db.execute("UPDATE visit SET seen = ? WHERE token = ?", (at.timestamp(), _hash(token)))
        return tried

    def end(self, token: str) -> None:
        """End a visit.

        Args:
            token: As the browser brings it.
        """
        if self.begun:
            with changed(self.path) as db:
                db.execute("DELETE FROM visit WHERE token = ?", (_hash(token),))

    def _forget(self, db: sqlite3.Connection, now: float) -> None:
        db.execute(
            "DELETE FROM tries WHERE failed < ? AND last < ?",
            (MOST_TRIES, now - FORGOTTEN_AFTER.total_seconds()),
        )
        db.execute(
            "DELETE FROM tries WHERE name IN (SELECT name FROM tries ORDER BY failed DESC, last DESC LIMIT -1 OFFSET ?)",
            (MOST_NAMES,),
        )


def _name(name: str) -> str:
    who = plain(name).strip()
    if not who or len(who) > 200 or not who.isprintable():
        raise BadInput("This is no name.", where="person", todo="Give a name as it stands under [people].")
    return who


def _tried_as(name: str) -> str:
    """Names that were tried are kept as hashes: somebody may type a passphrase there by mistake."""
    return _hash(f"name {name.casefold()}")


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def _moment(at: datetime) -> str:
    return at.astimezone(UTC).strftime("%Y-%m-%d %H:%M:%SZ")
