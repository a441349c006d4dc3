"""Errors that a person can meet, and refusals, which are values."""

from __future__ import annotations

from dataclasses import dataclass


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
