"""Inspection rounds of a pour: answers and events in the record, what is open for whom, and what that means for the decision.

FOLDER/rounds.toml   optional: ``[[person]]`` with name, roles, firm and built, for everybody who walks a round
FOLDER/items.xlsx    optional: the firm's own list; without it the shipped one. Once the first answer is given, the list in the
                     record rules.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.acting import Act, open_record, record_event
from verifier.pipeline.evidence import has_record
from verifier.pipeline.permissions import Action, demand
from verifier.record.keys import PersonSigner
from verifier.record.ledger import Ledger, Record
from verifier.release.reason import Reason
from verifier.rounds.answers import Answer, Event, HoldReleased, PutRight, RoundSigned, Word
from verifier.rounds.items import CheckList, Role, faults_of, load_list
from verifier.rounds.setting import Person, RoundsSetting, usual_setting
from verifier.rounds.sheet import from_sheet
from verifier.rounds.standing import Standing, against_concrete, all_rounds
from verifier.rounds.state import RoundState, open_at_start

POSTS_FILE = "rounds.toml"
LIST_FILE = "items.xlsx"
_EVENT: TypeAdapter[Event] = TypeAdapter(Event)
_KINDS = {"happened": "remark", "witness_told": "remark", "put_right": "correction", "round_signed": "item"}
_ACTION = {
    "put_right": Action.CLOSE_DEFECT,
    "hold_released": Action.RELEASE_HOLD,
    "round_signed": Action.SIGN_ROUND,
}
"""Any other event - rain, a repair nearby, a witness told - is a remark."""
_POSTS = (
    ("site_engineer", Role.CONTRACTORS_ENGINEER),
    ("quality_engineer", Role.CONTRACTORS_ENGINEER),
    ("reviewer", Role.INDEPENDENT_INSPECTOR),
    ("engineer_of_record", Role.ENGINEER_OF_RECORD),
)


@dataclass(frozen=True, slots=True)
class Rounds:
    """All that the rounds of a pour rest on: list, people, settings, and what the record holds."""

    pour: Pour
    checklist: CheckList
    people: tuple[Person, ...]
    setting: RoundsSetting
    revision: str
    answers: tuple[Answer, ...]
    events: tuple[Event, ...]

    @property
    def begun(self) -> bool:
        """Whether the record holds anything of the rounds."""
        return bool(self.answers or self.events)

    @property
    def named(self) -> tuple[str, ...]:
        """Names of all who walk these rounds."""
        return tuple(p.name for p in self.people)

    def states(self, at: datetime) -> tuple[RoundState, ...]:
        """Say how each round stands.

        Args:
            at: Time of the question, with zone.

        Returns:
            One state per round, first to last.
        """
        return all_rounds(
            self.checklist,
            self.answers,
            self.events,
            at,
            revision=self.revision,
            people=self.people,
            setting=self.setting,
        )

    def against(self, at: datetime) -> tuple[Standing, ...]:
        """List what stands against concrete, worst first.

        Args:
            at: Time of the question, with zone.

        Returns:
            Defects, hold points, open items and missing signatures.
        """
        return against_concrete(self.states(at), self.checklist)

    def person(self, name: str) -> str:
        """Check that somebody is named for the rounds.

        Args:
            name: As given.

        Returns:
            The name.

        Raises:
            BadInput: If nobody of that name is.
        """
        if any(p.name == name for p in self.people):
            return name
        raise BadInput(
            f"{name} is not named for the rounds of this pour.",
            where="person",
            todo=f"Add a [[person]] with name and roles to {POSTS_FILE}, or give one of: "
            f"{', '.join(p.name for p in self.people)}.",
        )


def rounds_of(folder: Path) -> Rounds:
    """Read the rounds of a pour.

    Args:
        folder: The pour folder.

    Returns:
        List, people, settings, answers and events.

    Raises:
        BadInput: If drawing values, people or list can't be used.
    """
    pour = read_pour(folder)
    digest = hashlib.sha256((folder / "pour.toml").read_bytes()).hexdigest()
    answers: list[Answer] = []
    events: list[Event] = []
    checklist = None
    if has_record(folder):
        ledger = Ledger.open(folder)
        try:
            for record in ledger.records():
                if isinstance(record.body.get("answer"), dict):
                    answers.append(Answer.model_validate(record.body["answer"] | _behind(ledger, record)))
                    if checklist is None:
                        text = ledger.store.objects.read(record.body["list"]["sha256"])
                        checklist = CheckList.model_validate_json(text)
                elif isinstance(record.body.get("event"), dict):
                    events.append(_EVENT.validate_python(record.body["event"] | _behind(ledger, record)))
        finally:
            ledger.close()
    return Rounds(
        pour=pour,
        checklist=checklist or list_in(folder),
        people=_people(folder, pour),
        setting=usual_setting(),
        revision=f"{pour.pour.drawing or 'pour.toml'} ({digest[:12]})",
        answers=tuple(answers),
        events=tuple(events),
    )


def list_in(folder: Path) -> CheckList:
    """The list that lies in a folder: the firm's own, or the shipped one.

    Args:
        folder: The pour folder.

    Returns:
        The list.

    Raises:
        BadInput: If the firm's list can't be used.
    """
    path = folder / LIST_FILE
    return from_sheet(path.read_bytes(), where=str(path)) if path.is_file() else load_list()


def take_list(folder: Path, file: Path) -> CheckList:
    """Put a firm's own list into a pour folder, as long as no answer is given.

    Args:
        folder: The pour folder.
        file: Spreadsheet in the form that the list is written out in.

    Returns:
        The list.

    Raises:
        BadInput: If the sheet can't be used, or answers were given with another list.
    """
    try:
        data = file.read_bytes()
    except OSError as error:
        raise BadInput(f"It can't be read: {error}.", where=str(file), todo="Name a spreadsheet.") from error
    checklist = from_sheet(data, where=str(file))
    rounds = rounds_of(folder)
    if rounds.answers and rounds.checklist.version != checklist.version:
        raise BadInput(
            f"Answers were given with version {rounds.checklist.version[:12]} of the list, which is in the record.",
            where=str(file),
            todo="Go on with that list; take the new one for the next pour.",
        )
    (folder / LIST_FILE).write_bytes(data)
    return checklist


def record_answers(folder: Path, answers: Sequence[Answer], act: Act, files: Sequence[Path] = ()) -> None:
    """Put answers into the record, all by one person at one moment, with the list that they answer.

    Args:
        folder: The pour folder.
        answers: Answers; writer and time must be those of the act.
        act: Who answers, and when.
        files: Photos and documents named by the answers, to be kept.

    Raises:
        BadInput: If writer or time are others, an item or round is unknown, or the record can't be written.
        NotAllowed: If the person may not answer items.
    """
    rounds = rounds_of(folder)
    rounds.person(act.person)
    demand(rounds.pour, act.person, Action.ANSWER_ITEM, named=rounds.named)
    for one in answers:
        item = rounds.checklist.find(one.item)
        if (one.by, one.at) != (act.person, act.at):
            raise BadInput(
                "An answer is signed by its writer, at its time.", where=one.item, todo="Sign it so."
            )
        if one.round not in item.rounds:
            raise BadInput(
                f"{one.item} is looked at in round {' and '.join(map(str, item.rounds))}, not {one.round}.",
                where="round",
                todo="Give one of its rounds.",
            )
    text = json.dumps(
        rounds.checklist.model_dump(mode="json"), sort_keys=True, separators=(",", ":"), ensure_ascii=False
    )
    ledger = open_record(folder, rounds.pour, act)
    try:
        digest = ledger.store.objects.put(text.encode())
        for path in files:
            ledger.store.objects.put_file(path)
        posts = folder / POSTS_FILE
        named = {"posts": {"sha256": ledger.store.objects.put_file(posts)}} if posts.is_file() else {}
        for one in answers:
            body: dict[str, object] = named | {
                "item": one.item,
                "text": f"round {one.round}, {one.place}: {one.word}",
                "answer": one.model_dump(mode="json", exclude={"by", "at"}),
                "list": {"sha256": digest},
                "originals": [{"sha256": h} for h in (*one.photos, *one.documents)],
            }
            record_event(ledger, "item", body, act)
    finally:
        ledger.close()


def record_round_event(
    folder: Path, event: Event, act: Act, *, own_key: PersonSigner | None = None
) -> tuple[str, ...]:
    """Put an event of the rounds into the record.

    Args:
        folder: The pour folder.
        event: What happened; writer and time must be those of the act.
        act: Who says so, and when.
        own_key: The person's own key; a hold point is released with nothing less.

    Returns:
        What is open after it and was not before, as sentences.

    Raises:
        BadInput: If the person is not named, a hold point is to be released without the own key, or the record refuses it.
        NotAllowed: If the person may not.
    """
    rounds = rounds_of(folder)
    rounds.person(act.person)
    demand(rounds.pour, act.person, _ACTION.get(event.kind, Action.REMARK), named=rounds.named)
    if (event.by, event.at) != (act.person, act.at):
        raise BadInput("An event is signed by its writer, at its time.", where=event.kind, todo="Sign it so.")
    if isinstance(event, PutRight | HoldReleased):
        rounds.checklist.find(event.item)
    before = {s.says for s in rounds.against(act.at)}
    body = {
        "text": event.kind.replace("_", " ")
        + (f": {event.what.replace('_', ' ')}" if event.kind == "happened" else ""),
        "event": event.model_dump(mode="json", exclude={"by", "at"}),
    }
    if isinstance(event, PutRight | HoldReleased):
        body["item"] = event.item
    ledger = open_record(folder, rounds.pour, act)
    try:
        if not isinstance(event, HoldReleased):
            record_event(ledger, _KINDS[event.kind], body, act)
        elif own_key is None:
            raise BadInput(
                "A hold point is released with the person's own key.",
                where=event.item,
                todo="Give it: --key FILE. The key must be enrolled for this pour.",
            )
        else:
            ledger.append("hold.release", body, own_key, act.at)
    finally:
        ledger.close()
    return tuple(s.says for s in rounds_of(folder).against(act.at) if s.says not in before)


def reasons_of_rounds(folder: Path, at: datetime) -> tuple[Reason, ...]:
    """What the rounds bring to the decision: defects, hold points, open items, signatures, lapsed validity.

    Rounds that nobody has begun are one condition, since they may be kept elsewhere.

    Args:
        folder: The pour folder.
        at: The moment of the decision, with its zone.

    Returns:
        Reasons in any order.

    Raises:
        BadInput: If drawing values, people or list can't be used.
    """
    rounds = rounds_of(folder)
    if not rounds.begun:
        return (
            Reason(
                key="rounds-not-begun",
                room="rounds",
                weight="condition",
                kind="not-done",
                says="The inspection rounds are not in this record.",
                clears="Hold them and record each answer: verifier answer FOLDER ITEM. What is open: verifier rounds FOLDER",
            ),
        )
    states = rounds.states(at)
    against = against_concrete(states, rounds.checklist)
    single = [_reason(s) for s in against if s.kind != "not done"]
    return (*single, *_not_done(states), *_lapsed(rounds, states, at), *_at_start(rounds, at))


def _reason(standing: Standing) -> Reason:
    kinds = {"not conforming": "non-conforming", "hold point": "not-done", "not signed": "to-sign"}
    return Reason(
        key=f"rounds-{standing.key}",
        room="rounds",
        weight="stops",
        kind=kinds[standing.kind],
        says=standing.says,
        clears=standing.clears,
        owner=standing.who,
        finer=-1.0 if standing.kind == "hold point" else 0.0,
    )


def _not_done(states: Sequence[RoundState]) -> list[Reason]:
    """Open items of one round in one reason: a hundred lines would hide the others."""
    reasons = []
    for state in states:
        left = [o for o in state.open if o.word is not Word.NOT_CONFORMING]
        if not left:
            continue
        again = [f"{o.item}: {'; '.join(o.why)}" for o in left if o.word != "not looked at"]
        never = list(dict.fromkeys(o.item for o in left if o.word == "not looked at"))
        told = again + ([f"nobody looked at {', '.join(never)}"] if never else [])
        reasons.append(
            Reason(
                key=f"rounds-open-{state.number}",
                room="rounds",
                weight="stops",
                kind="not-done",
                says=f"Round {state.number} ({state.title}): {len(left)} items are open. {'. '.join(told)}.",
                clears="Look at each of them and record the answer.",
                owner=" or ".join(dict.fromkeys(role for o in left for role in o.who)),
                about=tuple(dict.fromkeys(o.item for o in left)),
                finer=float(state.number),
            )
        )
    return reasons


def _lapsed(rounds: Rounds, states: Sequence[RoundState], at: datetime) -> list[Reason]:
    last = states[-1]
    signed = [
        e.at for e in rounds.events if isinstance(e, RoundSigned) and e.round == last.number and e.at <= at
    ]
    hours = rounds.setting.validity_hours
    if last.signed_by is None or not signed or at <= max(signed) + timedelta(hours=hours):
        return []
    return [
        Reason(
            key="rounds-lapsed",
            room="rounds",
            weight="stops",
            kind="not-done",
            says=f"The last round was signed on {max(signed):%Y-%m-%d %H:%M %z} and counts for {hours:g} h.",
            clears="Look at it again and sign the last round again.",
            owner="those of the last round",
        )
    ]


def _at_start(rounds: Rounds, at: datetime) -> list[Reason]:
    left = open_at_start(
        rounds.checklist, rounds.answers, rounds.events, at, people=rounds.people, setting=rounds.setting
    )
    reasons = []
    for one in left:
        title = rounds.checklist.find(one.item).item
        # A defect stays one when its hour has passed: the last word on the item counts, however old it is.
        said = [a for a in rounds.answers if a.item == one.item and a.at <= at]
        last = max(said, key=lambda a: a.at, default=None)
        bad = last is not None and last.word in (Word.NOT_CONFORMING, Word.CANNOT_TELL)
        told = f" Last word: {last.word}: {last.remark}" if bad and last is not None else ""
        reasons.append(
            Reason(
                key=f"rounds-at-start-{one.item}",
                room="rounds",
                weight="stops" if bad else "condition",
                kind="non-conforming"
                if last is not None and last.word is Word.NOT_CONFORMING
                else "not-done",
                says=f"{one.item} {title}: {'; '.join(one.why)}.{told}",
                clears="Look at it right before concrete and record the answer.",
                owner=" or ".join(one.who),
            )
        )
    return reasons


def _behind(ledger: Ledger, record: Record) -> dict[str, Any]:
    """Writer and time as the record has them, not as a body may claim."""
    key = ledger.standing.actor(record)
    own = key is not None and key.person
    return {
        "by": key.name if key is not None and own else record.body.get("claimed_by"),
        "at": record.instant,
    }


def _people(folder: Path, pour: Pour) -> tuple[Person, ...]:
    """Those of rounds.toml, and those of pour.toml with the post that their role there stands for."""
    path = folder / POSTS_FILE
    named: dict[str, Person] = {}
    if path.is_file():
        try:
            table = tomllib.loads(path.read_text(encoding="utf-8"))
            named = {p.name: p for p in map(Person.model_validate, table.get("person", []))}
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            raise BadInput(
                f"It is not readable TOML: {error}.", where=str(path), todo="Correct it."
            ) from error
        except ValidationError as error:
            raise BadInput(f"{faults_of(error)}.", where=str(path), todo="Correct these entries.") from error
    for field, post in _POSTS:
        for name in getattr(pour.people, field):
            if name not in named:
                named[name] = Person(name=name, roles=(post,))
    return tuple(named.values())
