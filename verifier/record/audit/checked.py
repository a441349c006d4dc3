"""Whether each release says what the last check before it said."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from .facts import FAILS, HOLDS, OPEN, Fact
from .persons import Persons
from .shown import Shown

TOPIC = "release and check"
_TO_SIGN = re.compile(r"Engineer\sof\srecord\s(.+)\shas\snot\ssigned\.")


def checked_fact(shown: Shown, persons: Persons) -> Fact:
    """Hold each release against the last check that was recorded before it.

    What stopped the pour must have been accepted in writing between the two, in the very words, and every condition must stand
    in the release; only the signature of the engineer of record is no longer one once that person releases.

    Args:
        shown: The records.
        persons: The acts in them, judged.

    Returns:
        The fact; open where no check was recorded, and for a part of a record.
    """
    releases = [r for r in shown.records if r["type"] == "release"]
    if not releases:
        return Fact(TOPIC, OPEN, "The records shown hold no release.")
    faults, unchecked = [], []
    for given in releases:
        before = [r for r in shown.records if r["seq"] < given["seq"]]
        check = next((r for r in reversed(before) if r["type"] == "check"), None)
        if check is None:
            unchecked.append(f"record {given['seq']}: no check was recorded before this release")
        else:
            faults += [f"record {given['seq']}: {fault}" for fault in _faults(given, check, before, persons)]
    if not shown.whole:
        return Fact(TOPIC, OPEN, "What the last check before a release said takes the whole record.")
    if faults:
        return Fact(
            TOPIC, FAILS, "A release says other than the last check before it.", (*faults, *unchecked)
        )
    if unchecked:
        return Fact(TOPIC, OPEN, "A release rests on no check in this record.", tuple(unchecked))
    return Fact(TOPIC, HOLDS, "Each release carries what the last check before it asked for.")


def _faults(
    given: Mapping[str, Any],
    check: Mapping[str, Any],
    before: Sequence[Mapping[str, Any]],
    persons: Persons,
) -> list[str]:
    accepted = {
        str(r["body"].get("says"))
        for r in before
        if r["type"] == "acceptance" and r["seq"] not in persons.unfit
    }
    signed = given["body"].get("conditions")
    conditions = {" ".join(str(c).split()) for c in signed} if isinstance(signed, list) else set()
    person = str(given["body"].get("person"))
    number = check["seq"]
    faults = [
        f"the check of record {number} stopped the pour, and nobody accepted it in writing: {reason}"
        for reason in _texts(check["body"].get("reasons"))
        if reason not in accepted
    ]
    return faults + [
        f"the check of record {number} asked for a condition that was not signed: {condition}"
        for condition in _texts(check["body"].get("conditions"))
        if " ".join(condition.split()) not in conditions and not _own_signature(condition, person)
    ]


def _own_signature(condition: str, person: str) -> bool:
    """Whether a condition asks for nothing but the signature of the person who now gives it."""
    asked = _TO_SIGN.fullmatch(condition)
    return asked is not None and person in asked[1].split(", ")


def _texts(value: Any) -> list[str]:
    return [str(text) for text in value] if isinstance(value, list) else []
