"""The ledger: signed records in a chain, added at the end and read back as the exact bytes that were signed."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from verifier.errors import BadInput, NotAllowed, RecordDamaged
from verifier.record import merkle
from verifier.record.audit.canonical_form import signed_part, unbase64
from verifier.record.canonical import canonical, signable, utc_instant, utc_text
from verifier.record.checkpoint import Head, origin_of
from verifier.record.keys import Signer
from verifier.record.public_keys import key_id, signature_sound
from verifier.record.records import FIRST_PREV, FORMAT_VERSION, Entry, Record, named_objects, read_record
from verifier.record.standing import Standing, plain_name
from verifier.store import PourFolder, Sweep

WAITS_AT_MOST_S = 30
"""So long a writer waits for its turn; a clock that is behind the record by more than this is told, not overlooked."""
__all__ = ["Entry", "Ledger", "Record"]


class Ledger:
    """The record of one pour.

    Use :meth:`open`. Every record is checked against the chain and its signature when it is read, and judged once more by the
    rules for adding it; what may be added is judged before it is signed into the chain, in one database transaction, so that
    two writers can't overtake each other.

    Attributes:
        store: Originals and rows.
        pour: Pour id.
        standing: Keys, roles and versions in force.
        swept: What the start-up sweep found.
    """

    def __init__(self, store: PourFolder, pour: str) -> None:
        self.store = store
        self.pour = pour
        self.standing = Standing()
        self.swept = Sweep()
        self._records: list[Record] = []
        self._leaves: list[bytes] = []
        self._unfit: dict[int, tuple[str, ...]] = {}

    @classmethod
    def open(cls, folder: Path, *, pour: str | None = None) -> Ledger:
        """Open the record of a pour folder; the first call with a pour id makes it.

        Args:
            folder: The pour folder.
            pour: Pour id; must be given for a new record, and must match an old one.

        Returns:
            The ledger, up to date.

        Raises:
            BadInput: If the folder can't be used, or the record belongs to another pour.
            RecordDamaged: If the chain or a signature doesn't hold.
        """
        store = PourFolder(folder)
        ledger = cls(store, pour or "")
        try:
            ledger._begin(pour)
        except BaseException:
            store.close()
            raise
        return ledger

    def _begin(self, pour: str | None) -> None:
        records = self.records()
        if not records and pour is None:
            raise BadInput(
                "There is no record yet.", where=str(self.store.path), todo="Name the pour to begin one."
            )
        if not records and not plain_name(str(pour)):
            raise BadInput(
                f"{pour!r} is no plain pour id.",
                where=str(self.store.path),
                todo="Use letters, digits and single blanks, on one line.",
            )
        if records and pour not in {None, records[0].pour}:
            raise BadInput(
                f"This record is of pour {records[0].pour!r}, not {pour!r}.",
                where=str(self.store.path),
                todo="Every pour has its own folder; don't carry a record over.",
            )
        self.pour = records[0].pour if records else self.pour
        self.swept = self.store.sweep(self.recorded_objects())

    def append(self, type: str, body: Any, signer: Signer, at: datetime) -> Record:  # noqa: A002 - the record's word
        """Record one event.

        Args:
            type: Kind of event, one of :data:`verifier.record.kinds.KINDS`.
            body: Model, dataclass or dictionary; floats become decimal text (:func:`signable`).
            signer: Who signs: a person's key, or a device on a person's behalf.
            at: Time by the signer's clock, with its zone. Behind the last record by up to half a minute, as after waiting
                for another writer, the time of that record is taken: this one is written no earlier.

        Returns:
            The record as kept.

        Raises:
            NotAllowed: If the rules of the record speak against it; nothing was recorded.
            BadInput: If the body can't be signed, or the disk is full.
        """
        return self.append_all([Entry(type, body)], signer, at)[0]

    def append_all(self, entries: Sequence[Entry], signer: Signer, at: datetime) -> list[Record]:
        """Record several events of one signer together, or none of them.

        Args:
            entries: Kind and body of each, in order. A person's key gives one signature, so it takes one entry.
            signer: Who signs.
            at: Time by the signer's clock, with its zone.

        Returns:
            The records as kept.

        Raises:
            NotAllowed: If the rules of the record speak against any of them.
            BadInput: If a body can't be signed, or the disk is full.
        """
        prepared = [(entry.type, self._body(entry.body, signer)) for entry in entries]
        kept = len(self._records)
        try:
            with self.store.rows.writing() as writer:
                self._take(iter(writer.lines(after=kept)))
                kept = len(self._records)
                for kind, body in prepared:
                    record = self._signed(kind, body, signer, self._in_turn(at))
                    writer.add(record.seq, record.line)
                    self._admit(record)
        except BaseException:
            self._forget(kept)
            raise
        return self._records[kept:]

    def records(self, type: str | None = None) -> tuple[Record, ...]:  # noqa: A002 - the record's word
        """Return the records so far, with those that other programs have added since.

        Args:
            type: Only this kind, or all kinds if not given.

        Returns:
            Records in order.

        Raises:
            RecordDamaged: If what was added since does not follow, or is not soundly signed.
        """
        self._take(self.store.rows.lines(after=len(self._records)))
        return tuple(r for r in self._records if type is None or r.type == type)

    @property
    def unfit(self) -> Mapping[int, tuple[str, ...]]:
        """Number of a record -> what speaks against it, for records that this program would not have added.

        They are there because somebody wrote them around it. Nothing may rest on them, and the audit tells the same.
        """
        return self._unfit

    def head(self, size: int | None = None) -> Head:
        """Return the head over the first records.

        Args:
            size: How many records; all if not given.

        Returns:
            Size, Merkle root and the hash of the last line.

        Raises:
            BadInput: If there are not so many records.
        """
        size = len(self._records) if size is None else size
        if not 0 < size <= len(self._records):
            raise BadInput(
                f"The record ends with number {len(self._records)}, so there is no head over {size}.",
                where=str(self.store.path),
                todo="Compare the number with the print it comes from.",
            )
        return Head(
            origin_of(self.pour),
            size,
            merkle.root(self._leaves[:size]),
            bytes.fromhex(self._records[size - 1].sha256),
        )

    def inclusion(self, seq: int) -> list[bytes]:
        """Return the proof that record ``seq`` is under the present head.

        Args:
            seq: Number of the record.

        Returns:
            Neighbour hashes, from the leaf upwards.
        """
        return self.inclusions([seq])[0]

    def inclusions(self, seqs: Iterable[int]) -> list[list[bytes]]:
        """Return the proofs of several records under the present head, at the cost of one.

        Args:
            seqs: Numbers of records.

        Returns:
            One path for each, from the leaf upwards.

        Raises:
            ValueError: If there is no record of one of the numbers.
        """
        tree = merkle.levels(self._leaves)
        return [merkle.path(tree, seq - 1) for seq in seqs]

    def consistency(self, old_size: int) -> list[bytes]:
        """Return the proof that the present record grew from its first ``old_size`` entries.

        Args:
            old_size: Number of records then.

        Returns:
            Hashes in the order of the RFC.

        Raises:
            ValueError: If there were never so many records, or none.
        """
        return merkle.consistency_proof(self._leaves, old_size)

    def recorded_objects(self) -> set[str]:
        """Return the hashes of all originals that the records name.

        Returns:
            Hexadecimal SHA-256 of each.
        """
        return {name for record in self._records for name in named_objects(record.body)}

    def close(self) -> None:
        """Let go of the files."""
        self.store.close()

    def _in_turn(self, at: datetime) -> str:
        """Give a writer that read its clock and then waited for another's record the time of that record."""
        text, floor = utc_text(at), self.standing.clock_floor
        waited = floor > text and (utc_instant(floor) - utc_instant(text)).total_seconds() <= WAITS_AT_MOST_S
        return floor if waited else text

    def _body(self, body: Any, signer: Signer) -> dict[str, Any]:
        plain = signable(body)
        if not isinstance(plain, dict):
            raise BadInput("The body of a record is a table.", where="record", todo="Give named values.")
        if signer.claims is not None:
            plain["claimed_by"] = signer.claims
        for name in named_objects(plain):
            if not self.store.objects.path_of(name).exists():
                raise BadInput(
                    "The record would name an original that isn't stored.",
                    where=name,
                    todo="Store the original first, then record it.",
                )
        return plain

    def _signed(self, kind: str, body: dict[str, Any], signer: Signer, at: str) -> Record:
        last = self._records[-1] if self._records else None
        raw: dict[str, Any] = {
            "v": FORMAT_VERSION,
            "seq": last.seq + 1 if last else 1,
            "prev": last.sha256 if last else FIRST_PREV,
            "type": kind,
            "pour": self.pour,
            "by": key_id(signer.public),
            "at": at,
            "body": body,
        }
        draft = Record(**{name: value for name, value in raw.items() if name != "v"}, sig="", line=b"")
        faults = self.standing.faults(draft) + self._root_faults(draft)
        if faults:
            raise NotAllowed(
                f"The record doesn't take this ({'; '.join(faults)}).",
                where=f"{kind}, record {draft.seq}",
                todo="Nothing was recorded. Put the cause right and try again; if this device's clock had run ahead, that is recorded first.",
                command="verifier clock FOLDER",
            )
        raw["sig"] = base64.b64encode(signer.sign(canonical(raw))).decode()
        return read_record(canonical(raw))

    def _root_faults(self, draft: Record) -> list[str]:
        if draft.type != "release":
            return []
        found = []
        for what, claim in (("looked at", draft.body), ("held outside", draft.body.get("held") or {})):
            size, root = claim.get("size"), claim.get("root")
            if not isinstance(size, int) or not 0 < size <= len(self._leaves):
                found.append(f"the head {what} is not a head of this record")
            elif base64.b64encode(merkle.root(self._leaves[:size])).decode() != root:
                found.append(f"the head {what} contradicts this record")
        return found

    def _take(self, lines: Iterable[tuple[int, bytes]]) -> None:
        for seq, line in lines:
            try:
                record = read_record(line)
            except (ValueError, TypeError, RecursionError, BadInput) as error:
                raise self._damaged(seq, f"is unreadable ({error})") from error
            before = self._records[-1].sha256 if self._records else FIRST_PREV
            if record.seq != seq or seq != len(self._records) + 1 or record.prev != before:
                raise self._damaged(seq, "does not follow from the one before it")
            signer = self.standing.keys.get(record.by)
            if signer is not None and not _line_sound(signer.public, record.sig, record.line):
                raise self._damaged(seq, "carries a signature that is not sound")
            faults = self.standing.faults(record) + self._root_faults(record)
            if faults:
                self._unfit[seq] = tuple(faults)
            self._admit(record)

    def _admit(self, record: Record) -> None:
        self._records.append(record)
        self._leaves.append(merkle.leaf_hash(record.line))
        self.standing.add(record)

    def _forget(self, kept: int) -> None:
        """Return to the state before a transaction that was not committed."""
        if len(self._records) == kept:
            return
        del self._records[kept:], self._leaves[kept:]
        self._unfit = {seq: faults for seq, faults in self._unfit.items() if seq <= kept}
        self.standing = Standing()
        for record in self._records:
            self.standing.add(record)

    def _damaged(self, seq: int, what: str) -> RecordDamaged:
        return RecordDamaged(
            f"Record {seq} {what}.",
            where=str(self.store.path),
            todo="Somebody or something changed the ledger. Keep the folder as it is and compare it with a copy.",
        )


@lru_cache(maxsize=20_000)
def _line_sound(public: bytes, signature: str, line: bytes) -> bool:
    """Whether a line carries a sound signature; what was once found out about the same bytes is not worked out again."""
    return signature_sound(public, unbase64(signature), signed_part(line))
