"""The state of a round at a given time: what is open, who must close it, which hold points stand."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Literal

from pydantic import AwareDatetime, BaseModel

from verifier.rounds.answers import Answer, Event, HoldReleased, PutRight, RoundSigned, WitnessTold, Word
from verifier.rounds.items import CheckItem, CheckList, ItemId, Point, Role
from verifier.rounds.known import Known, known_at, why_open
from verifier.rounds.setting import Person, RoundsSetting


class OpenItem(BaseModel, frozen=True, extra="forbid"):
    """An item that does not yet stand: why, who must close it, and who may not."""

    item: ItemId
    round: int
    place: str
    word: Word
    why: tuple[str, ...]
    who: tuple[Role, ...]
    not_by: tuple[str, ...] = ()


class HoldOpen(BaseModel, frozen=True, extra="forbid"):
    """A hold point that its named post has not released."""

    item: ItemId
    who: Role
    why: str


WitnessSays = Literal[
    "not told",
    "told too late",
    "told, time to come",
    "attendance not written",
    "attended",
    "invited, did not attend",
]


class WitnessState(BaseModel, frozen=True, extra="forbid"):
    """What is known of a witness point. Absence is written as such and never as conforming."""

    item: ItemId
    says: WitnessSays
    told: str = ""
    for_time: AwareDatetime | None = None


class RoundState(BaseModel, frozen=True, extra="forbid"):
    """One round at one time. ``complete``: every item stands and an entitled person signed after that.

    ``at_start`` names items of the round that are looked at right before concrete and not before, see `open_at_start`.
    """

    number: int
    title: str
    at: AwareDatetime
    list_version: str
    items: int
    open: tuple[OpenItem, ...]
    holds_not_released: tuple[HoldOpen, ...]
    at_start: tuple[ItemId, ...]
    witness: tuple[WitnessState, ...]
    signed_by: str | None
    not_signed_because: str

    @property
    def complete(self) -> bool:
        """Whether the round is done."""
        return not self.open and self.signed_by is not None


def state_of_round(
    items: CheckList,
    answers: Iterable[Answer],
    events: Iterable[Event],
    at: datetime,
    *,
    number: int,
    revision: str,
    people: Iterable[Person],
    setting: RoundsSetting,
) -> RoundState:
    """Say how a round stands at a given time.

    Args:
        items: The list in use.
        answers: All answers of the pour, of every round, in any order.
        events: All events of the pour, in any order.
        at: Time of the question, with zone; what came later is left out.
        number: Number of the round.
        revision: Drawing revision in force.
        people: Those named for the pour, with their posts.
        setting: Rounds and hours of the project.

    Returns:
        What is open and for whom, hold points not released, witness points, signature.

    Raises:
        BadInput: If the project has no such round, or an answer or event names an item that is not in the list.

    Source:
        Point types and independence after IBC 1703.1.1 and road-authority inspection plans; reopening is common practice.
    """
    rule = setting.rule(number)
    known = known_at(items, answers, events, at, people, setting)
    mine = tuple(i for i in items.of_round(number) if i.within_h_of_start is None and not i.is_release)
    still_open = tuple(o for i in mine for o in _open_places(known, i, number))
    signed_by, because = _signature(known, number, revision)
    return RoundState(
        number=number,
        title=rule.title,
        at=at,
        list_version=items.version,
        items=len(mine),
        open=still_open,
        holds_not_released=tuple(h for i in mine if (h := _hold(known, i)) is not None),
        at_start=tuple(i.id for i in items.of_round(number) if i.within_h_of_start is not None),
        witness=tuple(_witness(known, i) for i in mine if i.point is Point.WITNESS),
        signed_by=signed_by,
        not_signed_because=because,
    )


def open_at_start(
    items: CheckList,
    answers: Iterable[Answer],
    events: Iterable[Event],
    start: datetime,
    *,
    people: Iterable[Person],
    setting: RoundsSetting,
) -> tuple[OpenItem, ...]:
    """Say what is still open of the last look before concrete: last walk, first reading of the tell-tales.

    Args:
        items: The list in use.
        answers: All answers of the pour.
        events: All events of the pour.
        start: Time at which concrete is to start.
        people: Those named for the pour.
        setting: Rounds of the project.

    Returns:
        Items without a good answer within their hours before the start.

    Source:
        Common practice, no source.
    """
    known = known_at(items, answers, events, start, people, setting)
    still_open = []
    for item in items.item:
        if item.within_h_of_start is None:
            continue
        since = start - timedelta(hours=item.within_h_of_start)
        fresh = [a for a in known.answers if a.item == item.id and a.at >= since]
        why = (
            why_open(known, item, fresh[-1])
            if fresh
            else [f"not looked at within {item.within_h_of_start:g} h of the start"]
        )
        if why:
            number = fresh[-1].round if fresh else max(item.rounds)
            still_open.append(
                OpenItem(
                    item=item.id,
                    round=number,
                    place=fresh[-1].place if fresh else "whole pour",
                    word=fresh[-1].word if fresh else Word.NOT_LOOKED_AT,
                    why=tuple(why),
                    who=known.acting.entitled(item, number),
                )
            )
    return tuple(still_open)


def _open_places(known: Known, item: CheckItem, number: int) -> list[OpenItem]:
    """Look at each place of an item on its own: a good answer at one place says nothing of another."""
    latest = {a.place: a for a in known.answers if a.item == item.id and a.round == number}
    repaired: dict[str, None] = {}
    if number > 1 or max(item.rounds) == 1:
        repaired = {e.place: None for e in known.events if isinstance(e, PutRight) and e.item == item.id}
    places = tuple(dict.fromkeys((*latest, *repaired))) or ("whole pour",)
    found = (_open_place(known, item, number, place, latest.get(place)) for place in places)
    return [o for o in found if o is not None]


def _open_place(
    known: Known, item: CheckItem, number: int, place: str, answer: Answer | None
) -> OpenItem | None:
    repaired = known.put_right_at(item.id, place) is not None
    if answer is None:
        why = ["put right, not yet seen again in this round" if repaired else "nobody looked at it yet"]
    else:
        why = why_open(known, item, answer)
    if not why:
        return None
    who = known.acting.entitled(item, number)
    if repaired and number == max(item.rounds):
        who = (item.closes, *(role for role in who if role is not item.closes))
    return OpenItem(
        item=item.id,
        round=number,
        place=place,
        word=answer.word if answer else Word.NOT_LOOKED_AT,
        why=tuple(why),
        who=who,
        not_by=known.acting.fixers(item) if number > 1 else (),
    )


def _hold(known: Known, item: CheckItem) -> HoldOpen | None:
    if item.point is not Point.HOLD or item.is_release:
        return None
    given = [e for e in known.events if isinstance(e, HoldReleased) and e.item == item.id]
    if not given:
        return HoldOpen(item=item.id, who=item.closes, why="not released in writing")
    last = given[-1]
    if not known.acting.holds(last.by, item.closes):
        return HoldOpen(item=item.id, who=item.closes, why=f"{last.by} is not the {item.closes} of this pour")
    if last.by in known.acting.fixers(item):
        return HoldOpen(item=item.id, who=item.closes, why=f"{last.by} did or repaired this work")
    later = [r.say for r in known.reopened if item.id in r.items and r.at >= last.at]
    if later:
        return HoldOpen(item=item.id, who=item.closes, why=f"opened again since: {later[-1]}")
    bad = (Word.NOT_CONFORMING, Word.CANNOT_TELL)
    mine = [a for a in known.answers if a.item == item.id]
    if any(a.word in bad and a.at >= last.at for a in mine):
        return HoldOpen(item=item.id, who=item.closes, why="a later answer speaks against it")
    standing = (Word.CONFORMING, Word.DOES_NOT_APPLY, Word.DECIDED)
    if not any(a.word in standing and a.at <= last.at and not known.voided(a) for a in mine):
        return HoldOpen(item=item.id, who=item.closes, why="released before anybody had looked at it")
    return None


def _witness(known: Known, item: CheckItem) -> WitnessState:
    told = [e for e in known.events if isinstance(e, WitnessTold) and e.item == item.id]
    if not told:
        return WitnessState(item=item.id, says="not told")
    last = told[-1]
    notice = timedelta(hours=known.setting.notice_hours)
    first = min(e.at for e in told if e.for_time == last.for_time)
    says: WitnessSays = "attendance not written"
    if last.attended:
        says = "attended"
    elif last.for_time - first < notice:
        says = "told too late"
    elif last.for_time > known.at:
        says = "told, time to come"
    elif last.attended is False:
        says = "invited, did not attend"
    return WitnessState(item=item.id, says=says, told=last.told, for_time=last.for_time)


def _signature(known: Known, number: int, revision: str) -> tuple[str | None, str]:
    """Return who signed the round, or None with the reason why no signature stands."""
    signed = [e for e in known.events if isinstance(e, RoundSigned) and e.round == number]
    if not signed:
        return None, "nobody signed it yet"
    last = signed[-1]
    rule = known.setting.rule(number)
    if not any(known.acting.holds(last.by, role) for role in rule.roles):
        return None, f"{last.by} holds no post that signs this round"
    if rule.not_the_fixer and known.acting.built_anything(last.by):
        return None, f"{last.by} carried out part of the work"
    if last.list_version != known.checklist.version:
        return None, "it was signed with another version of the list"
    if last.revision != revision:
        return None, f"it was signed for drawing revision {last.revision}; now {revision} is in force"
    if any(a.round == number and a.at > last.at for a in known.answers):
        return None, f"answers were written after {last.by} signed"
    mine = {i.id for i in known.checklist.of_round(number) if number > 1 or max(i.rounds) == 1}
    if any(mine & set(r.items) and r.at >= last.at for r in known.reopened):
        return None, f"items were opened again after {last.by} signed"
    return last.by, ""
