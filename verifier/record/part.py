"""A part of a record that is shown to somebody: the records about one element or one photo, and what is held back.

Keys, versions, boards, time stamps and releases belong to every part, for without them nobody could say who was allowed to do
what. Originals that belong to something else, and the order with the names and numbers in it, are named by the records shown
and held back, and the bundle says which.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from verifier.record.records import Record, named_objects

ALWAYS = frozenset(
    {
        *("device.enrol", "device.clock", "key.enrol", "key.revoke"),
        *("drawing", "rules", "rounds.list", "rounds.people", "falsework.file", "order.file"),
        *("board", "token", "release"),
    }
)
"""Kinds that every part shows."""

Places = Mapping[str, Collection[str]]
"""Hash of an original -> marks of the elements that it shows, as far as that is known."""


@dataclass(frozen=True, slots=True)
class Part:
    """What of a record is shown.

    Attributes:
        says: What it is about, in a few words.
        seqs: Numbers of the records shown, in order.
        withheld: Hashes of originals that these records name and that are held back.
    """

    says: str
    seqs: tuple[int, ...]
    withheld: frozenset[str]


def part_of_element(records: Sequence[Record], element: str, places: Places) -> Part:
    """Choose the records about one element.

    Args:
        records: All records.
        element: Mark of the element, as in the drawing.
        places: Which elements an original shows.

    Returns:
        The part; originals of which it is known that they show other elements only are held back.
    """
    mine = [r for r in records if r.type in ALWAYS or element in elements_of(r, places)]
    held = {sha256 for sha256, marks in places.items() if marks and element not in marks}
    return _part(f"element {element}", mine, held)


def part_of_photo(records: Sequence[Record], sha256: str) -> Part:
    """Choose the records about one original.

    Args:
        records: All records.
        sha256: Hash of the original.

    Returns:
        The part; every other original of the pour is held back.
    """
    mine = [r for r in records if r.type in ALWAYS or sha256 in named_objects(r.body)]
    names = (str(r.body.get("name", "")) for r in records if r.body.get("sha256") == sha256)
    held = {name for r in records for name in _evidence(r)} - {sha256}
    return _part(f"original {next(names, '')} {sha256}", mine, held)


def elements_of(record: Record, places: Places) -> frozenset[str]:
    """Tell which elements a record is about.

    Args:
        record: The record.
        places: Which elements an original shows.

    Returns:
        Marks: those that it names, else the place that it names and what its originals show.
    """
    named = frozenset(str(v) for v in values_of(record.body, "element") if v)
    if named:
        return named
    walked = {str(v) for v in values_of(record.body, "place") if isinstance(v, str)}
    return frozenset(walked.union(*(places.get(sha256, ()) for sha256 in named_objects(record.body))))


def values_of(body: Any, key: str) -> Iterator[Any]:
    """Yield every value that a body holds under a key, at any depth.

    Args:
        body: Body of a record, or any part of one.
        key: Name of the entries looked for.

    Yields:
        Their values in the order of the body; what lies inside such a value is not searched again.
    """
    if isinstance(body, Mapping):
        for name, value in body.items():
            if name == key:
                yield value
            else:
                yield from values_of(value, key)
    elif isinstance(body, list):
        for value in body:
            yield from values_of(value, key)


def _part(says: str, mine: Sequence[Record], held: Collection[str]) -> Part:
    named = {name for r in mine for name in named_objects(r.body)}
    private = {str(r.body.get("sha256")) for r in mine if r.type == "order.file"}
    return Part(" ".join(says.split()), tuple(r.seq for r in mine), frozenset(named & (private | set(held))))


def _evidence(record: Record) -> Iterator[str]:
    """Originals that came from outside: photos, readings, and what an answer or a finding rests on."""
    if record.type in {"photo", "tape"}:
        yield str(record.body.get("sha256"))
    for listed in values_of(record.body, "originals"):
        yield from named_objects(listed)
