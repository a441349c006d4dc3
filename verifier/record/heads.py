"""The heads that a reviewer has seen, kept outside of the record, so that a rewritten history contradicts them."""

from __future__ import annotations

import base64
import json
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from verifier.errors import BadInput, NotAllowed, RecordDamaged
from verifier.record import merkle
from verifier.record.approval import HeldHead
from verifier.record.canonical import utc_text
from verifier.record.checkpoint import Head, read_head
from verifier.wording import counted


@dataclass(frozen=True, slots=True)
class KeptHead:
    """A head and when this file first saw it (by the keeper's clock, UTC)."""

    head: Head
    seen_at: str
    note: str


class KeptHeads:
    """A file with one line for each head its keeper has seen. It only grows.

    Args:
        path: The file; it must not lie inside the pour folder, or it would be lost with it.
        holder: Who keeps it.
    """

    def __init__(self, path: Path, holder: str) -> None:
        self._path = path
        self._holder = holder

    def of(self, origin: str) -> list[KeptHead]:
        """Return the heads seen of one record, in the order they were seen.

        Args:
            origin: Name of the record, as in its checkpoints.

        Returns:
            Heads with the time they were seen.

        Raises:
            RecordDamaged: If the file can't be read as what this class wrote.
        """
        if not self._path.exists():
            return []
        found = []
        for number, line in enumerate(self._path.read_text(encoding="utf-8").splitlines(), 1):
            try:
                entry = json.loads(line)
                kept = KeptHead(read_head(entry["note"]), entry["seen_at"], entry["note"])
            except (ValueError, KeyError, TypeError, BadInput) as error:
                raise RecordDamaged(
                    "This line is no head.",
                    where=f"{self._path}, line {number}",
                    todo="Restore the file from a copy; don't go on without it.",
                ) from error
            if kept.head.origin == origin:
                found.append(kept)
        return found

    def accept(self, note: str, proof: Sequence[bytes], at: datetime) -> Head:
        """Keep a new head, if the record proves that it grew from the last one seen.

        Args:
            note: Checkpoint text. Its signatures are for the audit; what counts here is that history only grew.
            proof: Consistency proof from the newest head kept (:meth:`needs_proof_from`); empty for the first.
            at: Time by the keeper's clock.

        Returns:
            The head.

        Raises:
            RecordDamaged: If the new head contradicts one seen before: history was cut or rewritten.
        """
        head = read_head(note)
        kept = self.of(head.origin)
        if kept:
            last = max((k.head for k in kept), key=lambda h: h.size)
            if not merkle.consistent(last.size, last.root, head.size, head.root, proof):
                raise RecordDamaged(
                    f"The head over {counted(head.size, 'record')} does not continue the head over {last.size} kept here: "
                    "records were cut, changed or replaced.",
                    where=head.origin,
                    todo="Do not release. Keep both heads and ask for the record that the earlier one belongs to.",
                )
            if head.size == last.size:
                return head
        self._write({"note": note, "origin": head.origin, "seen_at": utc_text(at), "size": head.size})
        return head

    def needs_proof_from(self, origin: str) -> int:
        """Return the size of the newest head kept of a record, 0 if none: the proof must start there.

        Args:
            origin: Name of the record.

        Returns:
            Number of records.
        """
        return max((kept.head.size for kept in self.of(origin)), default=0)

    def held(self, origin: str, *, outside: Path) -> HeldHead:
        """Return the newest head kept, as a release binds it.

        Args:
            origin: Name of the record.
            outside: The pour folder, which must not contain this file.

        Returns:
            The held head.

        Raises:
            NotAllowed: If nothing is kept yet, or the file lies inside the pour folder.
        """
        if self._path.resolve().is_relative_to(outside.resolve()):
            raise NotAllowed(
                "The file of kept heads lies inside the pour folder.",
                where=str(self._path),
                todo="Keep it on the reviewer's own machine: whoever rewrites the folder would rewrite it too.",
            )
        kept = self.of(origin)
        if not kept:
            raise NotAllowed(
                "No head of this record is held outside of it.",
                where=str(self._path),
                todo="Take over the present head first; without one a rewritten record could not be told.",
            )
        last = max((k.head for k in kept), key=lambda h: h.size)
        root = base64.b64encode(last.root).decode()
        return HeldHead(size=last.size, root=root, holder=self._holder, kept="file of kept heads")

    def _write(self, entry: dict[str, str | int]) -> None:
        self._path.parent.mkdir(parents=True, exist_ok=True)
        with self._path.open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(entry, ensure_ascii=False, sort_keys=True) + "\n")
            stream.flush()
            os.fsync(stream.fileno())


def notes_in(text: str, *, where: str) -> list[str]:
    """Read the checkpoints out of a file of kept heads, for the audit.

    Args:
        text: Content of the file.
        where: Its name, for the error.

    Returns:
        Texts of the checkpoints, in the order they were seen.

    Raises:
        BadInput: If a line is no head.
    """
    try:
        return [str(json.loads(line)["note"]) for line in text.splitlines()]
    except (ValueError, KeyError, TypeError) as error:
        raise BadInput(
            "This is no file of kept heads.",
            where=where,
            todo="Give your own file of heads, unchanged.",
            command="the file of --head-out",
        ) from error
