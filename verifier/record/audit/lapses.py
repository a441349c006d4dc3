"""Whether concrete was placed under a release that stood, and what ended each release."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from .facts import FAILS, HOLDS, OPEN, Fact
from .persons import Persons
from .policy import LAPSES_WITH
from .shown import Shown

TOPIC = "release in force"
_DECIDES = {"release", "refusal"}


def standing_fact(shown: Shown, persons: Persons) -> Fact:
    """Say whether a release stood when the first concrete was placed, and what ended the last one.

    What is measured, drawn, listed or ordered anew ends a release with its own record; the time that the release names ends
    it, too. When concrete was placed is what the log of the pour says.

    Args:
        shown: The records.
        persons: The acts in them, judged; what was written around the rules neither releases nor refuses.

    Returns:
        The fact; open before any concrete, and of a part of a record unless that part shows that a release had ended.
    """
    first = _placed(shown.records)
    if first is None:
        return Fact(TOPIC, OPEN, "No concrete is logged in the records shown.", _so_far(shown, persons))
    placed, logged = first
    then = [r for r in shown.records if r["at"] <= placed and r["seq"] < logged]
    last = _last_decision(then, persons)
    ends: tuple[str, ...] = ()
    if last is None:
        state, say = OPEN, "this record held no release"
    elif last["type"] == "refusal":
        state, say = FAILS, f"release had been refused (record {last['seq']})"
    else:
        ends = _ends(then, last, placed)
        state = FAILS if ends else HOLDS
        number = last["seq"]
        say = (
            f"the release of record {number} had lapsed" if ends else f"the release of record {number} stood"
        )
    if not shown.whole:
        say, state = f"as far as the records shown go, {say}", FAILS if ends else OPEN
    return Fact(TOPIC, state, f"When concrete was placed, from {placed} on by the log, {say}.", ends)


def _so_far(shown: Shown, persons: Persons) -> tuple[str, ...]:
    """What stands before any concrete is placed."""
    last = _last_decision(shown.records, persons)
    if last is None:
        return ()
    if last["type"] == "refusal":
        return (f"record {last['seq']} refuses a release, and none shown came after it",)
    ends = _ends(shown.records, last, "")
    return ends or (
        f"nothing shown ends the release of record {last['seq']}, but the time that it names: "
        f"{last['body'].get('valid_until') or 'none'}",
    )


def _last_decision(records: Sequence[Mapping[str, Any]], persons: Persons) -> Mapping[str, Any] | None:
    decisions = (r for r in reversed(records) if r["type"] in _DECIDES and r["seq"] not in persons.unfit)
    return next(decisions, None)


def _placed(records: Sequence[Mapping[str, Any]]) -> tuple[str, int] | None:
    """When the first truck began to discharge (UTC text), and the first record that tells of a discharge.

    Of each ticket what was written last counts. A clock set back between the two must not put a release before the concrete.
    """
    trucks: dict[str, Any] = {}
    told = []
    for record in records:
        entry = record["body"].get("entry")
        if record["type"] == "pour.log" and isinstance(entry, dict) and entry.get("kind") == "truck":
            trucks[str(entry.get("ticket"))] = entry.get("discharge_start_at")
            told += [record["seq"]] if _utc(entry.get("discharge_start_at")) else []
    instants = [instant for said in trucks.values() if (instant := _utc(said)) is not None]
    return (min(instants), min(told)) if instants else None


def _utc(said: Any) -> str | None:
    try:
        instant = datetime.fromisoformat(said)
    except (TypeError, ValueError):
        return None
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ") if instant.tzinfo else None


def _ends(records: Sequence[Mapping[str, Any]], release: Mapping[str, Any], placed: str) -> tuple[str, ...]:
    """What ended a release among these records, in words."""
    number, until = release["seq"], release["body"].get("valid_until")
    found = []
    for record in records:
        kind, body = record["type"], record["body"]
        if record["seq"] <= number:
            continue
        if kind == "lapse" and body.get("release") == number:
            found.append(f"record {record['seq']} notes that the release of record {number} lapsed")
        elif kind in LAPSES_WITH or (kind == "order" and "order" in body):
            found.append(f"record {record['seq']} ({kind}) ended the release of record {number}")
    if isinstance(until, str) and placed > until:
        found.append(f"the release of record {number} ran out at {until}")
    return tuple(found)
