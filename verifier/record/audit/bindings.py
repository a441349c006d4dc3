"""What a release and a seal bind, held against the record that they stand in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from .canonical_form import unbase64
from .policy import BOUND_LATER
from .release_text import statement
from .shown import Shown


def release_faults(
    record: Mapping[str, Any], person: str, shown: Shown, in_force: Mapping[str, str], judged: int
) -> list[str]:
    """Say what a release fails to bind.

    Args:
        record: The release.
        person: Whose key signed.
        shown: The records.
        in_force: Kind of version -> hash of the newest one before it.
        judged: Number of the newest record before it that adds something to judge.

    Returns:
        One sentence for each fault.
    """
    body = record["body"]
    held = body.get("held") if isinstance(body.get("held"), dict) else {}
    text = str(body.get("statement")).splitlines()
    lines = {
        "the pour": f"pour: {record['pour']}",
        "the person": f"released by: {person}",
        "the drawing in force": f"drawing sha256: {in_force.get('drawing')}",
        "the rules in force": f"rules sha256: {in_force.get('rules')}",
        "the records": f"records looked at: 1 to {body.get('size')}",
        "the root": f"root over them: {body.get('root')}",
        "the head held outside": f"head held outside: {held.get('size')} records, root {held.get('root')}",
    }
    faults = [f"the release does not bind {what}" for what, line in lines.items() if line not in text]
    if body.get("statement") != statement(body, held):
        faults.append("what the person signed is not what the record says of the release")
    if body.get("pour") != record["pour"] or body.get("person") != person:
        faults.append("the release is made out for another pour or person")
    faults += [
        f"the release does not bind the {words} in force"
        for name, (version, words) in BOUND_LATER.items()
        if body.get(name) != in_force.get(version)
    ]
    for what, claim in (("looked at", body), ("held outside", held)):
        if not shown.belongs(claim.get("size"), unbase64(claim.get("root"))):
            faults.append(f"the head {what} is not of this record")
    if isinstance(body.get("size"), int) and body["size"] < judged:
        faults.append(f"record {judged} came before the release and was not looked at")
    return faults


def seal_faults(record: Mapping[str, Any], person: str, shown: Shown) -> list[str]:
    """Say what a seal fails to bind: so many records; and, where it was signed elsewhere, the very text that was signed.

    Args:
        record: The seal.
        person: Whose key signed.
        shown: The records.

    Returns:
        One sentence for each fault.
    """
    body, size = record["body"], record["body"].get("records")
    faults = (
        [] if isinstance(size, int) and 0 < size < record["seq"] else ["it seals records that did not exist"]
    )
    if "statement_signature" not in body:
        return faults
    text = str(body.get("statement"))
    root = re.search(r"^root over them: (\S+)$", text, re.MULTILINE)
    faults += [
        f"the text signed does not say {line!r}"
        for line in _lines_of_seal(record, person)
        if line not in text.splitlines()
    ]
    if root is None or not shown.belongs(size, unbase64(root[1])):
        faults.append("the head in the text signed is not of this record")
    return faults


def _lines_of_seal(record: Mapping[str, Any], person: str) -> tuple[str, ...]:
    """What the text of a seal must say, line by line."""
    return (
        f"pour: {record['pour']}",
        f"sealed by: {person}",
        f"records sealed: 1 to {record['body'].get('records')}",
        f"release document sha256: {record['body'].get('release_pdf_sha256') or 'none'}",
    )
