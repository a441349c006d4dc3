"""What is known of the items at a time: which answers still count, and why one does not close its item."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from verifier.rounds.answers import Answer, Event, HoldReleased, PutRight, Word, faults_in
from verifier.rounds.independence import Acting
from verifier.rounds.items import CheckItem, CheckList
from verifier.rounds.reopening import Reopening, reopenings
from verifier.rounds.setting import Person, RoundsSetting


@dataclass(frozen=True, slots=True)
class Known:
    """All that is known at the time of the question."""

    checklist: CheckList
    answers: tuple[Answer, ...]
    events: tuple[Event, ...]
    reopened: tuple[Reopening, ...]
    acting: Acting
    setting: RoundsSetting
    at: datetime

    def voided(self, answer: Answer) -> str:
        """Say what makes an answer count no more.

        Args:
            answer: An answer of the pour.

        Returns:
            What happened at or after it; empty if it still counts. A first round is not opened where later rounds look again.
        """
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
        """Find the last repair of an item at a place.

        Args:
            item_id: The item.
            place: The place.

        Returns:
            Its time, or None.
        """
        times = [
            e.at for e in self.events if isinstance(e, PutRight) and (e.item, e.place) == (item_id, place)
        ]
        return max(times, default=None)


def known_at(
    items: CheckList,
    answers: Iterable[Answer],
    events: Iterable[Event],
    at: datetime,
    people: Iterable[Person],
    setting: RoundsSetting,
) -> Known:
    """Gather what is known at a time.

    Args:
        items: The list in use.
        answers: All answers of the pour, in any order.
        events: All events of the pour, in any order.
        at: Time of the question; what came later is left out.
        people: Those named for the pour.
        setting: Rounds of the project.

    Returns:
        Answers and events in order of time. An answer that says ``put right`` counts as a repair by its writer.

    Raises:
        BadInput: If an answer or event names an item that is not in the list.
    """
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
    return Known(items, known_answers, known_events, reopenings(known_events, items, at), acting, setting, at)


def why_open(known: Known, item: CheckItem, answer: Answer) -> list[str]:
    """Say why an answer does not close its item.

    Args:
        known: What is known at the time.
        item: The item.
        answer: Its answer at one place in one round.

    Returns:
        One sentence per reason; empty if the item stands there.
    """
    voided = known.voided(answer)
    if voided and answer.word is not Word.PUT_RIGHT:
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


def _faults_after_defect(known: Known, item: CheckItem, answer: Answer) -> list[str]:
    """A place once written as not conforming needs a repair, a new photo and the eye of whom the item demands."""
    same = [a for a in known.answers if (a.item, a.place) == (item.id, answer.place) and a is not answer]
    before = [a for a in same if a.at <= answer.at]
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
