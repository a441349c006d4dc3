"""Errors that a person can meet, and refusals, which are values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pydantic import ValidationError
    from pydantic_core import ErrorDetails


class VerifierError(Exception):
    """Something a person must put right; its text is complete enough to act on.

    Args:
        wrong: What was found, in one sentence.
        where: File, key, line or photo it was found in.
        todo: What to do next, for whoever meets it on the page, too.
        command: How that is done in a terminal; told there only.
    """

    def __init__(self, wrong: str, *, where: str, todo: str, command: str = "") -> None:
        self.wrong = wrong
        self.where = where
        self.todo = todo
        self.command = command
        super().__init__(f"{where}: {wrong} {todo}")


class BadInput(VerifierError):  # noqa: N818 - it reads as what it is
    """The input can't be used as it stands. The command line ends with exit code 2."""


class RecordDamaged(VerifierError):  # noqa: N818
    """Stored evidence does not match what was recorded about it."""


class NotAllowed(VerifierError):  # noqa: N818
    """The person may not do this; nothing was changed."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why something was not measured. A value, not an exception: the reviewer must see it in the record.

    Attributes:
        reason: Short stable key, words joined by hyphens, for example ``board-too-small``.
        say: What was found, what was needed and what to do, for the person on the deck.
    """

    reason: str
    say: str


def faults_of(error: ValidationError) -> str:
    """Say all faults of an entry in one sentence.

    Args:
        error: What the model found.

    Returns:
        Place and fault of each, joined by semicolons.
    """
    return "; ".join(_with_place(".".join(map(str, line["loc"])), line) for line in error.errors())


def _with_place(place: str, line: ErrorDetails) -> str:
    return f"{place}: {fault_in_words(line)}" if place else fault_in_words(line)


def fault_in_words(line: ErrorDetails) -> str:
    """Say one fault of an entry in our own words: the library's are for programmers.

    Args:
        line: What the model found at one place.

    Returns:
        The end of a sentence that begins with the place.
    """
    kind, limits = line["type"], line.get("ctx", {})
    said = _IN_WORDS.get(kind)
    if said is None:
        said = _beyond_a_limit(kind, limits)
    return said or line["msg"].removeprefix("Value error, ")


_NO_NUMBER = "is no number"
_WHOLE_NUMBER = "must be a whole number"
_NO_TIME = "is no time: write it as 2026-05-14T06:30:00+02:00"
_IN_WORDS = {
    "missing": "is missing",
    "extra_forbidden": "is not known here",
    "timezone_aware": "has no time zone: write it as 2026-05-14T06:30:00+02:00",
    "float_parsing": _NO_NUMBER,
    "float_type": _NO_NUMBER,
    "finite_number": "must be a finite number",
    "int_parsing": _WHOLE_NUMBER,
    "int_type": _WHOLE_NUMBER,
    "int_from_float": _WHOLE_NUMBER,
    "bool_parsing": "is neither yes nor no",
    "bool_type": "is neither yes nor no",
    "datetime_parsing": _NO_TIME,
    "datetime_from_date_parsing": _NO_TIME,
    "datetime_type": _NO_TIME,
    "string_type": "is no text",
    "string_pattern_mismatch": "is not written as it should be",
    "list_type": "is no list",
    "tuple_type": "is no list",
    "dict_type": "is no table of keys",
    "model_type": "is no table of keys",
    "union_tag_not_found": "does not say of which kind it is",
}


def _beyond_a_limit(kind: str, limits: dict[str, Any]) -> str:
    match kind:
        case "greater_than":
            return f"must be more than {_plain(limits['gt'])}"
        case "greater_than_equal":
            return f"must be at least {_plain(limits['ge'])}"
        case "less_than":
            return f"must be less than {_plain(limits['lt'])}"
        case "less_than_equal":
            return f"may be {_plain(limits['le'])} at most"
        case "literal_error" | "enum":
            return f"must be one of {limits['expected']}"
        case "string_too_short" | "too_short" if limits["min_length"] == 1:
            return "is empty"
        case "string_too_short":
            return f"needs at least {limits['min_length']} characters"
        case "string_too_long":
            return f"may have no more characters than {limits['max_length']}"
        case "too_short":
            return f"needs at least {limits['min_length']} entries"
        case "too_long":
            return f"may have no more entries than {limits['max_length']}"
        case "union_tag_invalid":
            return f"must be of one of these kinds: {str(limits['expected_tags']).replace(chr(39), '')}"
        case _:
            return ""


def _plain(limit: object) -> str:
    return f"{limit:g}" if isinstance(limit, int | float) else str(limit)
