"""The state of a round at a given time: what is open, who must close it, which hold points stand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from pydantic import AwareDatetime, BaseModel

from verifier.rounds.answers import (
    Answer,
    Event,
    HoldReleased,
    PutRight,
    RoundSigned,
    WitnessTold,
    Word,
    faults_in,
)
from verifier.rounds.independence import Acting
from verifier.rounds.items import CheckItem, CheckList, ItemId, Point, Role
from verifier.rounds.reopening import Reopening, reopenings
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
    """One round at one time. ``complete``: every item stands and an entitled person signed after that."""

    number: int
    title: str
    at: AwareDatetime
    list_version: str
    items: int
    open: tuple[OpenItem, ...]
    holds_not_released: tuple[HoldOpen, ...]
    witness: tuple[WitnessState, ...]
    signed_by: str | None
    not_signed_because: str

    @property
    def complete(self) -> bool:
        """Whether the round is done."""
        return not self.open and self.signed_by is not None


@dataclass(frozen=True, slots=True)
class _Known:
    """All that is known at the time of the question."""

    checklist: CheckList
    answers: tuple[Answer, ...]
    events: tuple[Event, ...]
    reopened: tuple[Reopening, ...]
    acting: Acting
    setting: RoundsSetting
    at: datetime

    def voided(self, answer: Answer) -> str:
        """Say what happened at or after an answer that makes it count no more; empty if nothing did."""
        item = self.checklist.find(answer.item)
        above_first = any(r > 1 for r in item.rounds)
        if answer.round == 1 and above_first:
            return ""
        for found in self.reopened:
            here = found.place is None or found.place == answer.place
            if answer.item in found.items and here and found.at >= answer.at:
                return found.say
        return ""

    def put_right_at(self, item_id: str, place: str) -> datetime | None:
        """Time of the last repair of an item at a place."""
        times = [
            e.at for e in self.events if isinstance(e, PutRight) and (e.item, e.place) == (item_id, place)
        ]
        return max(times, default=None)


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
    known_answers = tuple(sorted((a for a in answers if a.at <= at), key=lambda a: a.at))
    repairs = (
        PutRight(item=a.item, place=a.place, by=a.by, at=a.at, photos=a.photos, remark=a.remark)
        for a in known_answers
        if a.word is Word.PUT_RIGHT
    )
    known_events = tuple(sorted((e for e in (*events, *repairs) if e.at <= at), key=lambda e: e.at))
    for named in (*known_answers, *(e for e in known_events if isinstance(e, PutRight | HoldReleased))):
        items.find(named.item)
    acting = Acting(tuple(people), setting, known_answers, known_events)
    reopened = reopenings(known_events, items, at)
    known = _Known(items, known_answers, known_events, reopened, acting, setting, at)
    mine = items.of_round(number)
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
        witness=tuple(_witness(known, i) for i in mine if i.point is Point.WITNESS),
        signed_by=signed_by,
        not_signed_because=because,
    )


def _open_places(known: _Known, item: CheckItem, number: int) -> list[OpenItem]:
    """Look at each place of an item on its own: a good answer at one place says nothing of another."""
    latest = {a.place: a for a in known.answers if a.item == item.id and a.round == number}
    repaired: dict[str, None] = {}
    if number > 1 or max(item.rounds) == 1:
        repaired = {e.place: None for e in known.events if isinstance(e, PutRight) and e.item == item.id}
    places = tuple(dict.fromkeys((*latest, *repaired))) or ("whole pour",)
    found = (_open_place(known, item, number, place, latest.get(place)) for place in places)
    return [o for o in found if o is not None]


def _open_place(
    known: _Known, item: CheckItem, number: int, place: str, answer: Answer | None
) -> OpenItem | None:
    repaired = known.put_right_at(item.id, place) is not None
    if answer is None:
        why = ["put right, not yet seen again in this round" if repaired else "nobody looked at it yet"]
    else:
        why = _why_open(known, item, answer)
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


def _why_open(known: _Known, item: CheckItem, answer: Answer) -> list[str]:
    voided = known.voided(answer)
    if voided:
        return [f"opened again: {voided}"]
    match answer.word:
        case Word.NOT_LOOKED_AT | Word.CANNOT_TELL | Word.NOT_CONFORMING:
            return [f"{answer.word}: {answer.remark}" if answer.remark else str(answer.word)]
        case Word.PUT_RIGHT:
            return [f"put right by {answer.by}, waits to be seen again"]
        case Word.CONFORMING | Word.DOES_NOT_APPLY | Word.DECIDED:
            why = list(known.acting.faults(item, answer))
            why += faults_in(item, answer)
            if answer.word is not Word.DECIDED:
                why += _faults_after_defect(known, item, answer)
            return why


def _faults_after_defect(known: _Known, item: CheckItem, answer: Answer) -> list[str]:
    """A place once written as not conforming needs a repair, a new photo and the eye of whom the item demands."""
    before = [a for a in known.answers if (a.item, a.place) == (item.id, answer.place) and a.at < answer.at]
    defects = [a for a in before if a.word is Word.NOT_CONFORMING]
    if not defects:
        return []
    repaired = known.put_right_at(item.id, answer.place)
    if repaired is None or repaired < defects[-1].at:
        return ["it was written as not conforming, and nothing says that it was put right since"]
    faults = []
    old_photos = {photo for a in before for photo in a.photos if a.at <= repaired}
    if not set(answer.photos) - old_photos:
        faults.append("a new photo of the same place is asked for after a repair")
    if answer.round == max(item.rounds):
        seen = [
            a
            for a in known.answers
            if (a.item, a.place, a.word) == (item.id, answer.place, Word.CONFORMING) and a.at >= repaired
        ]
        fixers = known.acting.fixers(item) if answer.round > 1 else ()
        if not any(known.acting.holds(a.by, item.closes) and a.by not in fixers for a in seen):
            faults.append(
                f"put right, not yet seen again by the {item.closes} ({item.closes} closes this item)"
            )
    return faults


def _hold(known: _Known, item: CheckItem) -> HoldOpen | None:
    if item.point is not Point.HOLD:
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


def _witness(known: _Known, item: CheckItem) -> WitnessState:
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


def _signature(known: _Known, number: int, revision: str) -> tuple[str | None, str]:
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
