"""How many rounds a project holds, who walks them, and for how long what they saw counts."""

from __future__ import annotations

import tomllib
from importlib import resources
from typing import Annotated, Self

from pydantic import BaseModel, Field, ValidationError, model_validator

from verifier.errors import BadInput, faults_of
from verifier.rounds.items import Group, Role, Words


class RoundRule(BaseModel, frozen=True, extra="forbid"):
    """One round: who may walk it and what the signature says."""

    number: Annotated[int, Field(ge=1, le=9)]
    title: Words
    roles: Annotated[tuple[Role, ...], Field(min_length=1)]
    not_the_fixer: bool
    signs: Words


class RoundsSetting(BaseModel, frozen=True, extra="forbid"):
    """Settings of a project. Hours are common practice; no code gives them."""

    validity_hours: Annotated[float, Field(gt=0, le=240)] = 24.0
    very_late_hours: Annotated[float, Field(gt=0, le=1000)] = 72.0
    notice_hours: Annotated[float, Field(ge=0, le=240)] = 24.0
    two_posts_allowed: bool = False
    round: Annotated[tuple[RoundRule, ...], Field(min_length=1)]

    @model_validator(mode="after")
    def _numbers_count_up_from_one(self) -> Self:
        numbers = [r.number for r in self.round]
        if numbers != list(range(1, len(numbers) + 1)):
            raise ValueError(f"rounds are numbered 1, 2, 3 ... in order, found {numbers}")
        return self

    def rule(self, number: int) -> RoundRule:
        """Return the rule of one round.

        Args:
            number: Number of the round, from 1.

        Returns:
            Its rule.

        Raises:
            BadInput: If the project holds no such round.
        """
        if not 1 <= number <= len(self.round):
            raise BadInput(
                f"There is no round {number}; the project holds {len(self.round)}.",
                where="rounds",
                todo="Name one of them, or add a round to the settings of the project.",
            )
        return self.round[number - 1]


class Person(BaseModel, frozen=True, extra="forbid"):
    """Somebody named for the pour: posts, employer, and the groups of work that this person carried out."""

    name: Words
    roles: Annotated[tuple[Role, ...], Field(min_length=1)]
    firm: str = ""
    built: tuple[Group, ...] = ()


def read_setting(text: str, *, where: str) -> RoundsSetting:
    """Read the settings of the rounds from TOML.

    Args:
        text: Content of the file.
        where: Name of the file, for errors.

    Returns:
        The checked settings.

    Raises:
        BadInput: If it is not TOML or not complete.
    """
    try:
        return RoundsSetting.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise BadInput(
            f"It is not readable TOML: {error}.", where=where, todo="Correct that line."
        ) from error
    except ValidationError as error:
        raise BadInput(f"{faults_of(error)}.", where=where, todo="Correct these entries.") from error


def usual_setting() -> RoundsSetting:
    """Return the settings that ship with the project: three rounds, 24 hours.

    Returns:
        The settings; common practice, no source.
    """
    text = resources.files("verifier.rounds").joinpath("data/rounds.toml").read_text(encoding="utf-8")
    return read_setting(text, where="rounds.toml")
