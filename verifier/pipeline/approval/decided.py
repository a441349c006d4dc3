"""What people have decided on a pour so far, as the record holds it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from verifier.pipeline.folder.evidence import has_record
from verifier.record.ledger import Ledger

_Kind = Literal["acceptance", "refusal", "release"]
_KINDS: tuple[_Kind, ...] = ("acceptance", "refusal", "release")


@dataclass(frozen=True, slots=True)
class Decided:
    """One decision of a person.

    Attributes:
        kind: What it was.
        person: Whose key signed.
        at: When it went into the record.
        seq: Its number in the record.
        later: Number of records that came after it; a release stands only for what was there then.
        reason: Why, in the person's words; empty for a release.
    """

    kind: _Kind
    person: str
    at: datetime
    seq: int
    later: int
    reason: str


def decided(folder: Path) -> tuple[Decided, ...]:
    """List what people have decided.

    Args:
        folder: The pour folder.

    Returns:
        Acceptances, refusals and releases, newest first.
    """
    if not has_record(folder):
        return ()
    ledger = Ledger.open(folder)
    try:
        size = len(ledger.records())
        found = []
        for kind in _KINDS:
            for record in ledger.records(kind):
                actor = ledger.standing.actor(record)
                # A release signed on an own machine is handed in by a device; the signature in it is the person's.
                name = str(record.body.get("person") or (actor.name if actor is not None else ""))
                reason = str(record.body.get("reason", ""))
                found.append(Decided(kind, name, record.instant, record.seq, size - record.seq, reason))
    finally:
        ledger.close()
    return tuple(sorted(found, key=lambda d: d.seq, reverse=True))
