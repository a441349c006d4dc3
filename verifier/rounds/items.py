"""Check items: what is looked at before concrete hides it, why, how, against which limit, and who closes it."""

from __future__ import annotations

import hashlib
import json
import tomllib
from collections import Counter
from enum import StrEnum
from importlib import resources
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BaseModel, Field, StringConstraints, ValidationError, model_validator

from verifier.errors import BadInput, faults_of

Text = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=600, pattern=r"^[^\x00-\x08\x0b\x0c\x0e-\x1f]*$")
]
"""Words of a person or a list: no control characters, which neither spreadsheet nor record can carry."""

Words = Annotated[Text, StringConstraints(min_length=1)]
ItemId = Annotated[str, StringConstraints(pattern=r"^[A-Z]{2}-[0-9]{2}$")]


class Group(StrEnum):
    """Parts of the work that a round goes through."""

    FORMWORK = "formwork"
    REINFORCEMENT = "reinforcement"
    SERVICES = "embedded services and openings"
    GENERAL = "general"
    READINESS = "readiness"


class Method(StrEnum):
    """How an item is checked."""

    SIGHT = "sight"
    TAPE = "tape"
    LEVEL = "level"
    PHOTO = "photo"
    COUNT = "count"
    DOCUMENT = "document"
    METER = "meter"


class Evidence(StrEnum):
    """What an answer must bring along."""

    YES_NO = "yes_no"
    VALUE = "value"
    PHOTO = "photo"
    DOCUMENT = "document"


class Status(StrEnum):
    """How the limit of an item is known."""

    READ = "read"
    FROM_MEMORY = "from memory"
    COMMON_PRACTICE = "common practice"


class Point(StrEnum):
    """Hold: work stops until released in writing. Witness: told in time, may attend, work goes on if absent."""

    HOLD = "hold"
    WITNESS = "witness"
    NONE = "none"


class Role(StrEnum):
    """Posts on a pour. One person may hold several, within the rules of independence."""

    FOREMAN = "foreman"
    CONTRACTORS_ENGINEER = "contractor's engineer"
    TEMPORARY_WORKS = "temporary works"
    SURVEYOR = "surveyor"
    SERVICE_TRADE = "service trade"
    INDEPENDENT_INSPECTOR = "independent inspector"
    ENGINEER_OF_RECORD = "engineer of record"
    SAFETY = "safety"
    POUR_LEADER = "pour leader"
    LABORATORY = "laboratory"


class CheckItem(BaseModel, frozen=True, extra="forbid"):
    """One line of the list.

    ``low`` and ``high`` bound the value itself (``basis`` absolute) or its difference from the drawing (deviation), in
    ``unit``. Where code or drawing sets the limit they are absent and the answer brings the limit it was judged by.
    ``by_sample`` means that the last round may look at a sample of places. ``trades`` narrows who reopens a service item.
    ``within_h_of_start`` marks what is looked at so shortly before concrete that no round can stand in for it. ``is_release``
    marks the gate that the signed release itself is.
    """

    id: ItemId
    group: Group
    item: Words
    why: Words
    how: Words
    methods: Annotated[tuple[Method, ...], Field(min_length=1)]
    limit: Words
    source: Words
    status: Status
    disagreement: Text = ""
    evidence: Annotated[tuple[Evidence, ...], Field(min_length=1)]
    rounds: Annotated[tuple[Annotated[int, Field(ge=1, le=9)], ...], Field(min_length=1)]
    by_sample: bool = False
    point: Point
    closes: Role
    unit: Text = ""
    low: Annotated[float, Field(allow_inf_nan=False)] | None = None
    high: Annotated[float, Field(allow_inf_nan=False)] | None = None
    basis: Literal["absolute", "deviation"] = "absolute"
    trades: tuple[Words, ...] = ()
    within_h_of_start: Annotated[float, Field(gt=0, le=24)] | None = None
    is_release: bool = False

    @model_validator(mode="after")
    def _limits_and_unit_belong_to_a_value(self) -> Self:
        has_value = Evidence.VALUE in self.evidence
        if has_value != bool(self.unit):
            raise ValueError(f"{self.id}: a unit is written exactly where a value is asked for")
        if not has_value and (self.low is not None or self.high is not None):
            raise ValueError(f"{self.id}: low or high is written but no value is asked for")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"{self.id}: low {self.low:g} is above high {self.high:g}")
        if list(self.rounds) != sorted(set(self.rounds)):
            raise ValueError(f"{self.id}: rounds {list(self.rounds)} must rise and not repeat")
        return self

    @property
    def has_limit(self) -> bool:
        """Whether the list itself bounds the value."""
        return self.low is not None or self.high is not None


class CheckList(BaseModel, frozen=True, extra="forbid"):
    """A list of check items with its title and edition. Its version is the hash of its content."""

    title: Words
    edition: Words
    item: Annotated[tuple[CheckItem, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _ids_are_unique(self) -> Self:
        twice = [item_id for item_id, times in Counter(i.id for i in self.item).items() if times > 1]
        if twice:
            raise ValueError(f"written more than once: {', '.join(twice)}")
        return self

    @property
    def version(self) -> str:
        """SHA-256 of the list as sorted JSON, 64 hexadecimal digits: the value that is sealed with a pour."""
        text = json.dumps(
            self.model_dump(mode="json"), sort_keys=True, separators=(",", ":"), ensure_ascii=False
        )
        return hashlib.sha256(text.encode("utf-8")).hexdigest()

    def find(self, item_id: str) -> CheckItem:
        """Return one item.

        Args:
            item_id: For example ``FW-17``.

        Returns:
            The item of that id.

        Raises:
            BadInput: If the list has no such item.
        """
        for item in self.item:
            if item.id == item_id:
                return item
        raise BadInput(
            f"The list has no item {item_id}.",
            where=self.title,
            todo="Use an id of the list, or add the item to it.",
        )

    def of_round(self, number: int) -> tuple[CheckItem, ...]:
        """Return the items that one round goes through.

        Args:
            number: Number of the round, from 1.

        Returns:
            Its items in the order of the list.
        """
        return tuple(i for i in self.item if number in i.rounds)


def read_list(text: str, *, where: str) -> CheckList:
    """Read a list from TOML.

    Args:
        text: Content of the file.
        where: Name of the file, for errors.

    Returns:
        The checked list.

    Raises:
        BadInput: If it is not TOML or an item is not complete; all faults are named.
    """
    try:
        return CheckList.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise BadInput(
            f"It is not readable TOML: {error}.", where=where, todo="Correct that line."
        ) from error
    except ValidationError as error:
        raise BadInput(
            f"{faults_of(error)}.", where=where, todo="Correct these entries; nothing was taken over."
        ) from error


def load_list(path: Path | None = None) -> CheckList:
    """Load a firm's list, or the one that ships with the project.

    Args:
        path: TOML file of the firm; without it the built-in list of 100 items.

    Returns:
        The checked list.

    Raises:
        BadInput: If the file can't be read or is not complete.
    """
    if path is None:
        shipped = resources.files("verifier.rounds").joinpath("data/items.toml").read_text(encoding="utf-8")
        return read_list(shipped, where="items.toml")
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            f"It can't be read: {error}.", where=str(path), todo="Name a TOML file in UTF-8."
        ) from error
    return read_list(text, where=str(path))
