"""What happened since an item was looked at, and which items must be looked at again for it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from datetime import datetime, timedelta
from functools import cache
from importlib import resources

from pydantic import AwareDatetime, BaseModel, TypeAdapter

from verifier.rounds.answers import Event, Happened, Happening, Hash, PutRight
from verifier.rounds.items import CheckList, ItemId, Role, Words
from verifier.rounds.setting import Person, RoundsSetting


class ReopeningRule(BaseModel, frozen=True, extra="forbid"):
    """One row of the table in ``data/reopening.toml``."""

    say: str
    reopens: tuple[str, ...]
    named_items: bool
    if_unnamed: tuple[str, ...]
    services_of_trade: bool = False
    trade_signs_again: str = ""


class Reopening(BaseModel, frozen=True, extra="forbid"):
    """Items that one event opened again. ``place`` is set where only that place is concerned."""

    items: tuple[ItemId, ...]
    at: AwareDatetime
    say: str
    place: str | None = None


class ReleaseGranted(BaseModel, frozen=True, extra="forbid"):
    """A release as signed: for one pour, one drawing revision and one list, with the last round it rests on."""

    pour: Words
    revision: Words
    list_version: Hash
    last_round_signed_at: AwareDatetime
    by: Words
    at: AwareDatetime


class Validity(BaseModel, frozen=True, extra="forbid"):
    """Whether a release still holds; if not, every reason and the items that must be signed again."""

    valid: bool
    reasons: tuple[str, ...]
    reopened: tuple[ItemId, ...]
    ends_at: AwareDatetime


@cache
def reopening_table() -> dict[str, ReopeningRule]:
    """Return what each event reopens.

    Returns:
        Rule by event. Common practice, no source.
    """
    text = resources.files("verifier.rounds").joinpath("data/reopening.toml").read_text(encoding="utf-8")
    return TypeAdapter(dict[str, ReopeningRule]).validate_python(tomllib.loads(text))


def reopened_by(event: Happened | PutRight, checklist: CheckList) -> Reopening:
    """Name the items that an event opens again.

    Where the event does not name what it touched, everything that it could have touched is opened.

    Args:
        event: What happened.
        checklist: The list in use.

    Returns:
        The items in the order of the list.
    """
    if isinstance(event, PutRight):
        say = f"{reopening_table()[Happening.PUT_RIGHT].say} ({event.place})"
        return Reopening(items=(event.item,), at=event.at, say=say, place=event.place)
    rule = reopening_table()[event.what]
    patterns = list(rule.reopens)
    if rule.named_items:
        patterns += event.items or rule.if_unnamed
    opened = {i.id for i in checklist.item if any(_matches(i.id, p) for p in patterns)}
    if rule.services_of_trade:
        services = [i for i in checklist.item if i.id.startswith("SV-")]
        opened |= {i.id for i in services if not (event.trade and i.trades) or event.trade in i.trades}
        opened |= {rule.trade_signs_again}
    items = tuple(i.id for i in checklist.item if i.id in opened)
    return Reopening(items=items, at=event.at, say=rule.say)


def _matches(item_id: str, pattern: str) -> bool:
    """Tell whether an id belongs to ``*``, ``CL-*``, ``FW-10..FW-16`` or is the id itself."""
    if pattern == "*":
        return True
    if pattern.endswith("-*"):
        return item_id.startswith(pattern[:-1])
    first, dots, last = pattern.partition("..")
    if dots:
        return item_id[:3] == first[:3] and first <= item_id <= last
    return item_id == pattern


def reopenings(events: Iterable[Event], checklist: CheckList, at: datetime) -> tuple[Reopening, ...]:
    """Collect what all events up to a time opened again.

    Args:
        events: Events of the pour, in any order.
        checklist: The list in use.
        at: Time of the question; later events are not known yet.

    Returns:
        One entry per event that reopens something, earliest first.
    """
    happened = [e for e in events if isinstance(e, Happened | PutRight) and e.at <= at]
    return tuple(reopened_by(e, checklist) for e in sorted(happened, key=lambda e: e.at))


def release_valid(
    granted: ReleaseGranted,
    checklist: CheckList,
    events: Iterable[Event],
    at: datetime,
    *,
    pour: str,
    revision: str,
    people: Iterable[Person],
    setting: RoundsSetting,
) -> Validity:
    """Say whether concrete may start under a release at a given time.

    A release holds for one pour, one drawing revision and one list, for a start within the set hours after the signature
    of the last round, and ends with any event that reopens items. It can't be mended: the reopened items are looked at
    again, the last round is signed again, and a new release is given.

    Args:
        granted: The release as signed.
        checklist: The list in use now.
        events: Everything that happened to the pour.
        at: Time of the start.
        pour: The pour that is to start.
        revision: Drawing revision in force now.
        people: Those named for the pour.
        setting: Hours and rounds of the project.

    Returns:
        Valid or not, with every reason.

    Source:
        Common practice, no source. ISO 9000:2015, 3.12.7 for the word release.
    """
    reasons = _release_mismatches(granted, checklist, pour, revision, people)
    ends_at = granted.last_round_signed_at + timedelta(hours=setting.validity_hours)
    opened: set[str] = set()
    if at < granted.at:
        reasons.append(f"it was given at {granted.at:%Y-%m-%d %H:%M}, after the time asked about")
    if at > ends_at:
        very = at > ends_at + timedelta(hours=setting.very_late_hours)
        late = Happened(
            what=Happening.VERY_LATE_START if very else Happening.LATE_START, at=at, by=granted.by
        )
        found = reopened_by(late, checklist)
        opened |= set(found.items)
        reasons.append(f"{found.say}; it ended at {ends_at:%Y-%m-%d %H:%M}")
    for found in reopenings(events, checklist, at):
        if found.at >= granted.last_round_signed_at:
            opened |= set(found.items)
            reasons.append(f"{found.say}, at {found.at:%Y-%m-%d %H:%M}, after the last round was signed")
    reopened = tuple(i.id for i in checklist.item if i.id in opened)
    return Validity(valid=not reasons, reasons=tuple(reasons), reopened=reopened, ends_at=ends_at)


def _release_mismatches(
    granted: ReleaseGranted, checklist: CheckList, pour: str, revision: str, people: Iterable[Person]
) -> list[str]:
    reasons = []
    if granted.pour != pour:
        reasons.append(f"it was given for the pour {granted.pour}, not for {pour}")
    if granted.revision != revision:
        reasons.append(f"it was given for drawing revision {granted.revision}; now {revision} is in force")
    if granted.list_version != checklist.version:
        reasons.append("it was given with another version of the list of items")
    signer = next((p for p in people if p.name == granted.by), None)
    if signer is None or Role.ENGINEER_OF_RECORD not in signer.roles:
        reasons.append(f"{granted.by} is not named as engineer of record for this pour")
    elif signer.built:
        reasons.append(f"{granted.by} carried out part of the work and can't release it")
    return reasons
