"""What was written and signed after the pour, as the record holds it, and whether it still counts."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, TypeAdapter

from verifier.concrete.after import (
    AfterEntry,
    DefectSeen,
    Level,
    Propping,
    Result,
    Struck,
    Terms,
)
from verifier.errors import BadInput
from verifier.pipeline.folder.evidence import has_record
from verifier.record.kinds import CLOSING_RESTS_ON
from verifier.record.ledger import Ledger

ENTRY: TypeAdapter[AfterEntry] = TypeAdapter(AfterEntry)
"""Reads one entry from its fields, as typed or as recorded."""
Post = Literal["contractor's engineer", "independent inspector", "engineer of record"]


class SignedAs(BaseModel, frozen=True, extra="forbid"):
    """A signature under the closing, or a decision of the engineer of record, made with the person's own key.

    ``after_entries`` is how many entries of `After` stood there when it was given; ``overtaken_by`` the number of the first record
    that came later and that a signature would have to cover, None while there is none. Decisions are judged by what they decide.
    """

    post: Post
    by: str
    at: datetime
    decides: str = ""
    decision: str = ""
    after_entries: int = 0
    overtaken_by: int | None = None


class After(BaseModel, frozen=True, extra="forbid"):
    """Everything written after the pour, in the order of the record. ``closed_by`` is empty while the record is open."""

    terms: Terms | None
    entries: tuple[AfterEntry, ...]
    signed: tuple[SignedAs, ...]
    closed_by: str = ""
    closed_at: datetime | None = None


def after_of(folder: Path) -> After:
    """Read what was written after the pour.

    Args:
        folder: The pour folder.

    Returns:
        Entries, signatures, and whether the record is closed.
    """
    entries: list[AfterEntry] = []
    signed: list[SignedAs] = []
    closed: tuple[str, datetime] | None = None
    if has_record(folder):
        ledger = Ledger.open(folder)
        try:
            records = ledger.records()
            rests_on = [r.seq for r in records if r.type in CLOSING_RESTS_ON]
            for record in records:
                actor = ledger.standing.actor(record)
                if record.type in {"closing", "propping"}:
                    entries.append(ENTRY.validate_python(record.body["entry"]))
                elif record.type == "closing.sign" and actor is not None:
                    signed.append(
                        SignedAs.model_validate(
                            record.body["signed"]
                            | {"by": actor.name, "at": record.instant}
                            | {"after_entries": sum(not isinstance(e, Terms) for e in entries)}
                            | {"overtaken_by": next((n for n in rests_on if n > record.seq), None)}
                        )
                    )
                elif record.type == "close" and actor is not None:
                    closed = (actor.name, record.instant)
        finally:
            ledger.close()
    terms = [e for e in entries if isinstance(e, Terms)]
    return After(
        terms=terms[-1] if terms else None,
        entries=tuple(e for e in entries if not isinstance(e, Terms)),
        signed=tuple(signed),
        closed_by=closed[0] if closed else "",
        closed_at=closed[1] if closed else None,
    )


def signatures_of(after: After) -> dict[Post, SignedAs]:
    """The newest signature of each post under the closing, whether or not something came after it.

    Args:
        after: What was written after the pour.

    Returns:
        Post -> signature; those that only decide on something are left out.
    """
    return {s.post: s for s in after.signed if not s.decides}


def decisions_of(after: After) -> dict[str, SignedAs]:
    """Decisions of the engineer of record that still stand.

    Args:
        after: What was written after the pour.

    Returns:
        What is decided -> the decision. One is left out once something of its kind was written after it: it was given for less.
    """
    return {
        s.decides: s
        for s in after.signed
        if s.decides and not any(_concerns(e, s.decides) for e in after.entries[s.after_entries :])
    }


def _concerns(entry: AfterEntry, decides: str) -> bool:
    match entry:
        case Result():
            return decides == "results"
        case Level():
            return decides == "levels"
        case Struck() | Propping():
            return decides == "striking"
        case DefectSeen():
            return decides == f"defect {entry.defect.number}"
        case _:
            return False


def still_open(folder: Path) -> None:
    """Refuse to go on with a record that was closed.

    Args:
        folder: The pour folder.

    Raises:
        BadInput: If it was closed; says by whom and when.
    """
    after = after_of(folder)
    if after.closed_by and after.closed_at is not None:
        raise BadInput(
            f"The record was closed by {after.closed_by} on {after.closed_at:%Y-%m-%d %H:%M}.",
            where=str(folder),
            todo="What comes later goes into a record of its own; the closed one stays as it is.",
        )
