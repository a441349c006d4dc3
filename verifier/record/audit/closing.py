"""Whether the closing of a pour was signed by all posts, after everything that it rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from .facts import FAILS, HOLDS, OPEN, Fact
from .persons import Persons
from .policy import CLOSING_RESTS_ON, CLOSING_ROLES
from .release_text import same_name
from .shown import Shown

TOPIC = "closing"
_WRITES = {"closing", "closing.sign", "propping", "pour.log"}


def closing_fact(shown: Shown, persons: Persons) -> Fact:
    """Say whether what was written after the pour is covered by the signatures under it.

    Args:
        shown: The records.
        persons: The acts in them, judged.

    Returns:
        The fact; it fails only where the record was closed all the same, and is open for a part of a record.
    """
    records = [r for r in shown.records if r["seq"] not in persons.unfit]
    signed = _newest(records)
    closed = next((r["seq"] for r in records if r["type"] == "close"), None)
    if not signed and closed is None:
        return Fact(TOPIC, OPEN, "The records shown hold no signature under a closing.")
    faults = [*_missing(records, signed, closed), *_other_hands(signed, persons)]
    if closed is not None:
        faults += [
            f"record {r['seq']} ({r['type']}) came after the record was closed"
            for r in records
            if r["type"] in _WRITES and r["seq"] > closed
        ]
    if closed is None:
        say = "The closing is signed by some or all posts, and the record is not closed."
        return Fact(TOPIC, OPEN, say, tuple(faults))
    if not shown.whole:
        say = "What a closing rests on, and who signed it, takes the whole record."
        return Fact(TOPIC, OPEN, say)
    if faults:
        return Fact(TOPIC, FAILS, "The record was closed on signatures that do not cover it.", tuple(faults))
    say = f"All posts signed the closing after everything that it rests on; record {closed} closed it."
    return Fact(TOPIC, HOLDS, say)


def _newest(records: Sequence[Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    """Post -> newest record that signs for it; decisions on single things are no signatures under the whole."""
    found: dict[str, Mapping[str, Any]] = {}
    for record in records:
        told = record["body"].get("signed")
        if record["type"] == "closing.sign" and isinstance(told, dict) and not told.get("decides"):
            found[str(told.get("post"))] = record
    return found


def _missing(
    records: Sequence[Mapping[str, Any]], signed: Mapping[str, Mapping[str, Any]], closed: int | None
) -> list[str]:
    """Posts that have not signed, or that signed before later entries."""
    found = []
    for post in CLOSING_ROLES:
        if post not in signed:
            found.append(f"the {post} has not signed")
            continue
        number = signed[post]["seq"]
        later = (
            r["seq"]
            for r in records
            if r["type"] in CLOSING_RESTS_ON and number < r["seq"] and (closed is None or r["seq"] < closed)
        )
        first = next(later, None)
        if first is not None:
            found.append(
                f"the {post} signed (record {number}) before later entries (record {first}): sign again"
            )
    return found


def _other_hands(signed: Mapping[str, Mapping[str, Any]], persons: Persons) -> list[str]:
    """Posts signed by somebody who does not hold them, and one person in two posts that check each other."""
    found, names = [], {}
    for post, record in signed.items():
        key = persons.keys.get(record["by"])
        if key is None or not CLOSING_ROLES.get(post, frozenset()) & set(key.roles):
            found.append(f"record {record['seq']}: whoever signed as {post} does not hold that post")
        else:
            names[post] = same_name(key.name)
    if names.get("contractor's engineer", 0) == names.get("independent inspector", 1):
        found.append("one person signed as contractor's engineer and as independent inspector")
    return found
