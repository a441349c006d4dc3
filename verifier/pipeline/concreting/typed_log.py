"""Short entries of the pour log as they are typed on a phone, turned into lines of the log; each counts once."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from verifier.concrete.pour_log import Entry, Truck
from verifier.errors import BadInput
from verifier.pipeline.concreting.pouring import log_of, record_log
from verifier.pipeline.people.acting import Act

EVENTS = {
    "start": "start",
    "vibrator": "vibrator changed",
    "people": "people",
    "rain": "rain",
    "stop": "stop",
    "go-on": "go on",
    "joint": "joint made",
    "end": "end",
    "other": "other",
}
"""What the short name of an event stands for in the log."""

LONGEST, MOST_FIELDS, MOST_OF_A_NAME = 600, 30, 40


def record_typed(folder: Path, typed: Mapping[str, Any], act: Act) -> Entry | None:
    """Put one typed entry into the record. One that came before counts no second time.

    Args:
        folder: The pour folder.
        typed: ``once`` (its own name), ``what`` (arrived, discharging, emptied, test, water, refused, cube, reading, strip,
            movement, or an event), ``at`` (ISO time of the entry), and the text of its fields.
        act: Who typed it, and when it is recorded.

    Returns:
        The entry, or None if it is in the record already.

    Raises:
        BadInput: If a field is missing or wrong; nothing is recorded then.
        NotAllowed: If the person may not write the log, or nobody is named.
    """
    said = _clean(typed)
    once = said.get("once", "")
    if not once:
        raise BadInput("The entry has no name of its own.", where="pour log", todo="Type it again.")
    return record_log(folder, _fields(folder, said, act.person), act, once=once)


def _clean(typed: Mapping[str, Any]) -> dict[str, str]:
    """Texts only, none longer than a log takes: what a browser sends is input like any other, and none of it is cut short."""
    said = {
        str(name): str(value).strip()
        for name, value in typed.items()
        if isinstance(value, str | int | float) and not isinstance(value, bool)
    }
    long = [name for name, text in said.items() if len(name) > MOST_OF_A_NAME or len(text) > LONGEST]
    if long or len(said) > MOST_FIELDS:
        raise BadInput(
            f"{long[0][:MOST_OF_A_NAME]} is too long." if long else f"It has {len(said)} fields.",
            where="pour log",
            todo=f"Write at most {LONGEST} characters into a field.",
        )
    return said


def _fields(folder: Path, said: Mapping[str, str], person: str) -> dict[str, Any]:
    what, at = said.get("what", ""), _moment(said.get("at", ""), "at")
    if what in EVENTS:
        return {
            "kind": "event",
            "what": EVENTS[what],
            "says": said.get("says") or what,
            "at": at,
            "by": person,
        }
    if what == "reading":
        return {
            "kind": "reading",
            "at": at,
            "by": person,
            "air_c": said.get("air_c"),
            "humidity_percent": said.get("humidity_percent"),
            "wind_km_h": said.get("wind_km_h"),
            "rain": said.get("rain") or "none",
        } | _given(said, "concrete_c")
    if what == "strip":
        return _strip(said, at)
    if what == "movement":
        return {
            "kind": "movement",
            "at": at,
            "by": person,
            "place": said.get("place"),
            "sudden_or_uneven": said.get("sudden") == "yes",
        } | _given(said, "moved_mm", "expected_mm", "seen")
    if what == "cube":
        return {
            "kind": "cube",
            "sample": said.get("sample"),
            "mark": said.get("mark"),
            "ticket": said.get("ticket"),
            "made_at": at,
            "by": person,
            "age_to_test_days": said.get("age_to_test_days") or 28,
        }
    return _truck(folder, said, at, person)


def _strip(said: Mapping[str, str], at: datetime) -> dict[str, Any]:
    """A strip that begins; where it begins beside an older one, fresh concrete meets that face now."""
    beside = {"neighbour": said["neighbour"], "neighbour_covered_at": at} if said.get("neighbour") else {}
    return {"kind": "strip", "name": said.get("name"), "start_at": at} | beside


def _truck(folder: Path, said: Mapping[str, str], at: datetime, person: str) -> dict[str, Any]:
    ticket = said.get("ticket", "")
    known = next((e for e in log_of(folder) if isinstance(e, Truck) and e.ticket == ticket), None)
    head = {"kind": "truck", "ticket": ticket, "taken_by": person}
    what = said.get("what")
    if what == "arrived":
        batch = said.get("batch_at")
        return (
            head
            | {
                "plant": said.get("plant"),
                "volume_m3": said.get("volume_m3"),
                "arrived_at": at,
                "batch_at": _moment(batch, "batch_at") if batch else None,
            }
            | _given(said, "mix", "place")
        )
    if known is None:
        raise BadInput(
            f"There is no ticket {ticket or 'without a number'} in the log.",
            where="pour log",
            todo="Enter the arrival of this truck first.",
        )
    if what == "discharging":
        return head | {"discharge_start_at": at} | _given(said, "place")
    if what == "emptied":
        return head | {"discharge_end_at": at} | _given(said, "returned_m3")
    if what == "refused":
        end = {"discharge_end_at": at} if known.discharge_start_at and not known.discharge_end_at else {}
        return head | end | {"refused_because": said.get("says") or ""} | _given(said, "returned_m3")
    if what == "test":
        return head | _tested(known, said, at)
    if what == "water":
        added: dict[str, Any] = {
            "litres": said.get("litres"),
            "at": at,
            "ordered_by": said.get("ordered_by", ""),
        }
        added["within_hold_back"] = said.get("within_hold_back") == "yes"
        return head | {"water": [*(w.model_dump() for w in known.water), added]}
    raise BadInput(f'"{what}" is no entry of the log.', where="pour log", todo="Choose one of the buttons.")


def _tested(known: Truck, said: Mapping[str, str], at: datetime) -> dict[str, Any]:
    out: dict[str, Any] = _given(said, "concrete_c", "sample")
    if said.get("slump_mm"):
        portion = min(2, len(known.slumps) + 1)
        test = {"slump_mm": said["slump_mm"], "portion": portion, "at": at}
        out["slumps"] = [*(s.model_dump() for s in known.slumps), test]
    if not out:
        raise BadInput("No reading is given.", where="pour log", todo="Give slump, temperature or sample.")
    return out


def _given(said: Mapping[str, str], *names: str) -> dict[str, str]:
    return {name: said[name] for name in names if said.get(name)}


def _moment(text: str, name: str) -> datetime:
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise BadInput(f'"{text}" is no time.', where=name, todo="Give day, time and zone.") from error
    if at.tzinfo is None:
        raise BadInput(f'"{text}" has no zone.', where=name, todo="Give the zone, too.")
    return at
