"""Inspection rounds of a pour as they stand in folder and record: list, people, answers, events, and what is open for whom.

FOLDER/rounds.toml   optional: ``[[person]]`` with name, roles, firm and built, for everybody who walks a round
FOLDER/items.xlsx    optional: the firm's own list, or items.toml; without either the shipped one. Once the first answer is given, the list in the
                     record rules.
"""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, faults_of
from verifier.pipeline.folder.evidence import has_record
from verifier.record.ledger import Ledger, Record
from verifier.rounds.answers import Answer, Event
from verifier.rounds.items import CheckList, Role, load_list
from verifier.rounds.setting import Person, RoundsSetting, usual_setting
from verifier.rounds.sheet import from_sheet
from verifier.rounds.standing import Standing, against_concrete, all_rounds
from verifier.rounds.state import RoundState

POSTS_FILE = "rounds.toml"
LIST_FILE = "items.xlsx"
LIST_TEXT = "items.toml"
_EVENT: TypeAdapter[Event] = TypeAdapter(Event)
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
