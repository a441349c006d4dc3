"""What people write during the rounds: answers, and what happened to the work between them."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import AwareDatetime, BaseModel, Field, model_validator

from verifier.rounds.items import CheckItem, Evidence, ItemId, Text, Words

Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Finite = Annotated[float, Field(allow_inf_nan=False)]

SLACK = 1e-9
"""Absorbs the last binary digit of a difference such as 150.3 - 131.3; far below any reading."""


class Word(StrEnum):
    """What an answer says. An item without an answer is ``not looked at``."""

    NOT_LOOKED_AT = "not looked at"
    CONFORMING = "conforming"
    NOT_CONFORMING = "not conforming"
    CANNOT_TELL = "cannot tell"
    DOES_NOT_APPLY = "does not apply"
    PUT_RIGHT = "put right"
    DECIDED = "decided by engineer"


class Value(BaseModel, frozen=True, extra="forbid"):
    """A measured value with what it is held against, in the unit of the item.

    ``planned`` is the drawing value. ``low`` and ``high`` bound the value itself and are needed where the list has no limit;
    ``limit_source`` says where they come from.
    """

    value: Finite
    unit: Words
    planned: Finite | None = None
    low: Finite | None = None
    high: Finite | None = None
    limit_source: Text = ""

    @model_validator(mode="after")
    def _a_limit_of_ones_own_has_a_source(self) -> Self:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        if (self.low is not None or self.high is not None) and not self.limit_source:
            raise ValueError("a limit brought by the answer names where it comes from")
        return self


class Answer(BaseModel, frozen=True, extra="forbid"):
    """One person's answer to one item in one round, at one place of the pour.

    ``photos`` and ``documents`` are hashes of originals in the record. A later answer to the same item, round and place
    replaces an earlier one for the state of the round; both stay in the record.
    """

    item: ItemId
    round: Annotated[int, Field(ge=1, le=9)]
    place: Words = "whole pour"
    word: Word
    by: Words
    at: AwareDatetime
    value: Value | None = None
    photos: tuple[Hash, ...] = ()
    documents: tuple[Hash, ...] = ()
    remark: Text = ""

    @model_validator(mode="after")
    def _words_that_need_a_reason_have_one(self) -> Self:
        if self.word in (Word.DOES_NOT_APPLY, Word.DECIDED, Word.NOT_CONFORMING) and not self.remark:
            raise ValueError(f'{self.item}: "{self.word}" needs a remark that says why')
        return self


class Happening(StrEnum):
    """Events that reopen items; what each reopens stands in ``data/reopening.toml``."""

    PUT_RIGHT = "put_right"
    NEIGHBOURS_MOVED = "neighbours_moved"
    LATE_START = "late_start"
    VERY_LATE_START = "very_late_start"
    RAIN = "rain"
    WIND = "wind"
    HEAT = "heat"
    FROST = "frost"
    OTHER_TRADE = "other_trade"
    NEW_REVISION = "new_revision"
    PROP_MOVED = "prop_moved"
    IMPACT = "impact"
    OTHER_SUPPLY = "other_supply"
    POUR_STOPPED = "pour_stopped"


class Happened(BaseModel, frozen=True, extra="forbid"):
    """Something that happened to the work. ``items`` names those it touched, ``trade`` who was on the deck."""

    kind: Literal["happened"] = "happened"
    what: Happening
    at: AwareDatetime
    by: Words
    items: tuple[ItemId, ...] = ()
    trade: Text = ""
    remark: Text = ""


class PutRight(BaseModel, frozen=True, extra="forbid"):
    """A defect was put right by somebody, who from then on is the fixer of that item."""

    kind: Literal["put_right"] = "put_right"
    item: ItemId
    place: Words = "whole pour"
    by: Words
    at: AwareDatetime
    photos: tuple[Hash, ...] = ()
    remark: Text = ""


class HoldReleased(BaseModel, frozen=True, extra="forbid"):
    """The named person released a hold point in writing."""

    kind: Literal["hold_released"] = "hold_released"
    item: ItemId
    by: Words
    at: AwareDatetime
    remark: Text = ""


class WitnessTold(BaseModel, frozen=True, extra="forbid"):
    """A witness was told of a time; ``attended`` stays empty until that time is past."""

    kind: Literal["witness_told"] = "witness_told"
    item: ItemId
    told: Words
    by: Words
    at: AwareDatetime
    for_time: AwareDatetime
    attended: bool | None = None


class RoundSigned(BaseModel, frozen=True, extra="forbid"):
    """A round was signed for one list version and one drawing revision."""

    kind: Literal["round_signed"] = "round_signed"
    round: Annotated[int, Field(ge=1, le=9)]
    by: Words
    at: AwareDatetime
    list_version: Hash
    revision: Words


Event = Annotated[
    Happened | PutRight | HoldReleased | WitnessTold | RoundSigned,
    Field(discriminator="kind"),
]
"""Everything but answers that a round knows of; told apart by ``kind`` when read from a record."""


def faults_in(item: CheckItem, answer: Answer) -> tuple[str, ...]:
    """Hold an answer against what its item asks for.

    A measured value beyond its limit can't be called conforming, and a value without any limit can't be judged: both are
    said here, never decided in silence.

    Args:
        item: The line of the list.
        answer: What was written.

    Returns:
        One sentence per fault; empty if the answer may close the item.
    """
    if answer.word is not Word.CONFORMING:
        return ()
    faults = []
    if Evidence.PHOTO in item.evidence and not answer.photos:
        faults.append("a photo is asked for and none is there")
    if Evidence.DOCUMENT in item.evidence and not answer.documents:
        faults.append("a document is asked for and none is there")
    if Evidence.VALUE in item.evidence:
        faults += _faults_of_value(item, answer.value)
    return tuple(faults)


def _faults_of_value(item: CheckItem, value: Value | None) -> list[str]:
    if value is None:
        return [f"a measured value in {item.unit} is asked for and none is there"]
    if value.unit != item.unit:
        return [f"the value is in {value.unit}, the item asks for {item.unit}: write it again in {item.unit}"]
    bounds = [(value.value, value.low, value.high)]
    if item.has_limit and item.basis == "absolute":
        bounds.append((value.value, item.low, item.high))
    if item.has_limit and item.basis == "deviation":
        if value.planned is None:
            return ["the drawing value is missing, so the difference can't be judged"]
        bounds.append((value.value - value.planned, item.low, item.high))
    if all(low is None and high is None for _, low, high in bounds):
        return ["neither list nor answer has a limit for the value, so it can't be judged"]
    faults = []
    for found, low, high in bounds:
        if low is not None and found < low - SLACK:
            faults.append(f"{found:g} {item.unit} is under its limit {low:g} {item.unit}")
        if high is not None and found > high + SLACK:
            faults.append(f"{found:g} {item.unit} is over its limit {high:g} {item.unit}")
    return faults
