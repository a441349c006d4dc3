"""Inspection rounds of a pour: answers and events in the record, what is open for whom, and what that means for the decision.

FOLDER/rounds.toml   optional: ``[[person]]`` with name, roles, firm and built, for everybody who walks a round
FOLDER/items.xlsx    optional: the firm's own list, or items.toml; without either the shipped one. Once the first answer is given, the list in the
                     record rules.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.keys import PersonSigner
from verifier.record.ledger import Ledger, Record
from verifier.rounds.answer_file import read_answers
from verifier.rounds.answers import Answer, Event, HoldReleased, PutRight, RoundSigned, Word
from verifier.rounds.items import CheckList, Role, faults_of, load_list
from verifier.rounds.setting import Person, RoundsSetting, usual_setting
from verifier.rounds.sheet import from_sheet
from verifier.rounds.standing import Standing, against_concrete, all_rounds
from verifier.rounds.state import RoundState
from verifier.store import sha256_of
from verifier.store.table import table_text

POSTS_FILE = "rounds.toml"
LIST_FILE = "items.xlsx"
LIST_TEXT = "items.toml"
_EVENT: TypeAdapter[Event] = TypeAdapter(Event)
_KINDS = {"happened": "remark", "witness_told": "remark", "put_right": "correction"}
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
    def walked(self) -> tuple[int, ...]:
        """Numbers of the rounds that this pour walks: all of the project, unless pour.toml says otherwise."""
        asked = self.pour.pour.rounds.walk
        held = tuple(rule.number for rule in self.setting.round)
        return held if asked is None else tuple(n for n in held if n in asked)

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
    path, text = folder / LIST_FILE, folder / LIST_TEXT
    if path.is_file():
        return from_sheet(path.read_bytes(), where=str(path))
    return load_list(text if text.is_file() else None)


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
        _in_force(ledger, "rounds.list", "items.json", digest, act)
        posts, named = folder / POSTS_FILE, {}
        if posts.is_file():
            named = {"posts": {"sha256": ledger.store.objects.put_file(posts)}}
            _in_force(ledger, "rounds.people", POSTS_FILE, named["posts"]["sha256"], act)
        for one in answers:
            body: dict[str, object] = named | {
                "item": one.item,
                "text": f"round {one.round}, {one.place}: {one.word}",
                "answer": one.model_dump(mode="json", exclude={"by", "at"}),
                "list": {"sha256": digest},
                "originals": [{"sha256": h} for h in (*one.photos, *one.documents)],
                "rounds": len(rounds.setting.round),
            }
            looked = one.round == len(rounds.setting.round) and one.word is not Word.PUT_RIGHT
            record_event(ledger, "inspection" if looked else "item", body, act)
    finally:
        ledger.close()


def _in_force(ledger: Ledger, kind: str, name: str, sha256: str, act: Act) -> None:
    """Tell once that another list, or other people, rule the rounds from here on."""
    if ledger.standing.in_force.get(kind) != sha256:
        record_event(ledger, kind, {"name": name, "sha256": sha256}, act)


def record_answer_file(folder: Path, file: Path, act: Act) -> tuple[Answer, ...]:
    """Put a whole file of answers into the record: a round walked on paper or with a spreadsheet.

    Args:
        folder: The pour folder.
        file: CSV as `verifier.rounds.answer_file` reads it; photos and documents lie beside it.
        act: Who answered, and when.

    Returns:
        The answers.

    Raises:
        BadInput: If a line can't be used; nothing is recorded then.
    """
    used: dict[str, Path] = {}

    def hash_of(name: str) -> str:
        path = file.parent / name
        if not path.is_file() or not path.stat().st_size:
            raise BadInput(f"There is no file {name} beside it.", where=str(file), todo="Correct the name.")
        used[name] = path
        return sha256_of(path)

    try:
        data = file.read_bytes()
    except OSError as error:
        raise BadInput(
            f"It can't be read: {error.strerror}.", where=str(file), todo="Name a CSV file in UTF-8."
        ) from error
    text = table_text(data, where=str(file))
    answers = read_answers(text, rounds_of(folder).checklist, act.person, act.at, hash_of, where=str(file))
    record_answers(folder, answers, act, list(used.values()))
    return answers


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
    body: dict[str, object] = {
        "text": event.kind.replace("_", " ")
        + (f": {event.what.replace('_', ' ')}" if event.kind == "happened" else ""),
        "event": event.model_dump(mode="json", exclude={"by", "at"}),
    }
    if isinstance(event, PutRight | HoldReleased):
        body["item"] = event.item
    ledger = open_record(folder, rounds.pour, act)
    try:
        if isinstance(event, RoundSigned):
            body["rounds"] = len(rounds.setting.round)
            last = event.round == len(rounds.setting.round)
            record_event(ledger, "inspection" if last else "item", body, act)
        elif not isinstance(event, HoldReleased):
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


def sign_round(folder: Path, number: int, act: Act) -> tuple[str, ...]:
    """Record that a person signs a round for the list and the drawing revision now in force.

    Args:
        folder: The pour folder.
        number: Number of the round.
        act: Who signs, and when.

    Returns:
        What is open after it and was not before, as sentences.

    Raises:
        BadInput: If the person is not named, or the project holds no such round.
    """
    found = rounds_of(folder)
    found.setting.rule(number)
    signed = RoundSigned(
        round=number,
        by=act.person,
        at=act.at,
        list_version=found.checklist.version,
        revision=found.revision,
    )
    return record_round_event(folder, signed, act)


def release_hold(
    folder: Path, item: str, act: Act, own_key: PersonSigner, *, remark: str = ""
) -> tuple[str, ...]:
    """Record that the named person releases a hold point.

    Args:
        folder: The pour folder.
        item: Item of the list.
        act: Who releases it, and when.
        own_key: The person's own key, opened for this one signature.
        remark: What belongs to it.

    Returns:
        What is open after it and was not before, as sentences.

    Raises:
        BadInput: If the person is not named, or there is no such item.
    """
    event = HoldReleased(item=item, by=act.person, at=act.at, remark=remark)
    return record_round_event(folder, event, act, own_key=own_key)


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
