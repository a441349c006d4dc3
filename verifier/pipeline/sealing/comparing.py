"""Two states of one pour's record side by side: of one record at two moments, or of two copies of it."""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from verifier.errors import BadInput
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.sealing.telling import Told, is_bundle, told
from verifier.record import merkle
from verifier.record.checkpoint import read_head
from verifier.record.records import Record
from verifier.record.timeline import Difference, difference
from verifier.wording import counted

_SHORT = re.compile(r"(\d{1,9})-([A-Z2-7]{4}(?:-[A-Z2-7]{4}){3})")


@dataclass(frozen=True, slots=True)
class State:
    """A record as it stood at one moment.

    Attributes:
        says: Which one, in a few words.
        records: Its records.
        size: Number of records under its head.
    """

    says: str
    records: Sequence[Record]
    size: int

    @property
    def whole(self) -> bool:
        """Whether all its records are shown."""
        return len(self.records) == self.size


def difference_of(place: Path, states: Sequence[str]) -> tuple[State, State, Difference]:
    """Compare two states of one pour's record.

    Args:
        place: The pour folder, or a sealed bundle of it.
        states: One or two, the earlier first; a single one is compared with the record as it stands. Each is a number of
            records, the short form of a head, a file with a head, or another folder or bundle of the same pour.

    Returns:
        The earlier state, the later one, and what differs.

    Raises:
        BadInput: If a state can't be found, is of another pour, or contradicts the record.
    """
    of = told(place)
    named = [_state(of, given) for given in states]
    now = State(f"{place}, {counted(len(of.records), 'record')}", of.records, of.head.size)
    pair = [*named, now][:2] if len(named) < 2 else named
    old, new = sorted(pair, key=lambda state: state.size)
    return old, new, difference(old.records, new.records, of.places)


def _state(of: Told, given: str) -> State:
    path = Path(given)
    if has_record(path) or is_bundle_file(path):
        other = told(path)
        if other.head.origin != of.head.origin:
            raise BadInput(
                f"It is the record of another pour: {other.head.origin}, not {of.head.origin}.",
                where=given,
                todo="Compare two states of one pour.",
            )
        return State(f"{given}, {counted(len(other.records), 'record')}", other.records, other.head.size)
    if given.isdecimal():
        return _first(of, int(given), f"records 1 to {given}")
    short = _SHORT.fullmatch(given.strip())
    if short is not None:
        size = int(short[1])
        state = _first(of, size, f"head {given.strip()}")
        text = base64.b32encode(_root(of, size)[:10]).decode()
        return _agreed(state, text == short[2].replace("-", ""), given)
    if path.is_file():
        head = read_head(path.read_text(encoding="utf-8", errors="replace"))
        state = _first(of, head.size, f"head in {path.name}, {counted(head.size, 'record')}")
        same = head.origin == of.head.origin and head.root == _root(of, head.size)
        return _agreed(state, same, given)
    raise BadInput(
        "This names no state of a record.",
        where=given,
        todo="Give a number of records, the short form of a head, a file with a head, or another folder or bundle.",
    )


def is_bundle_file(path: Path) -> bool:
    """Tell a bundle from a file that holds only a head.

    Args:
        path: Any path.

    Returns:
        True for a zip or the folder of a bag.
    """
    if path.is_file():
        with path.open("rb") as stream:
            return stream.read(2) == b"PK"
    return is_bundle(path)


def _first(of: Told, size: int, says: str) -> State:
    """A state that this record went through; a part of a record doesn't tell what came before."""
    if not of.whole:
        raise BadInput(
            f"This bundle shows {len(of.records)} of {of.head.size} records, so an earlier state can't be told from it.",
            where=str(of.place),
            todo="Take the whole record: the pour folder, or its bundle without --element and --photo.",
        )
    if not 0 <= size <= len(of.records):
        raise BadInput(
            f"There is no state of {counted(size, 'record')}: the record holds {len(of.records)}.",
            where=str(of.place),
            todo=f"Give a number from 0 to {len(of.records)}.",
        )
    return State(says, of.records[:size], size)


def _root(of: Told, size: int) -> bytes:
    return merkle.root([merkle.leaf_hash(r.line) for r in of.records[:size]])


def _agreed(state: State, same: bool, given: str) -> State:
    if not same:
        raise BadInput(
            f"This head contradicts the record: up to record {state.size} it has another root here.",
            where=given,
            todo="One of the two was rewritten, or the head is of another record. Keep both and run the audit.",
        )
    return state
