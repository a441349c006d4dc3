"""Facts, brackets and limits: what an audit answers, each question apart."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

HOLDS, FAILS, OPEN = "holds", "does not hold", "not proven"

LIMITS = (
    "That the steel in a photo is the steel of this pour: a staged scene, or old steel with the right board laid on it, "
    "passes every check here. The board ties a photo to a head, the sun and a second person to a day; only a visit ties it "
    "to the steel.",
    "That a person acted freely and read what was signed: a signature proves the key.",
    "That what people typed is true, such as the check length of a board, which scales every gap, a tape reading, the place of a "
    "photo or a time in the log; and that a verdict follows from its measurements: originals can be measured again here, verdicts "
    "are not judged anew.",
    "That nothing was left out before it entered the record: a photo never added leaves no trace.",
    "If no head held outside is given: that the whole history was not rewritten by somebody who holds all keys.",
    "By the short form of a head alone: that nobody prepared two histories with the same 80 bits beforehand (some 2^40 tries, "
    "within reach of whoever makes the record). The code on the print and the checkpoint hold all 256.",
)


@dataclass(frozen=True, slots=True)
class Fact:
    """One question and its answer.

    Attributes:
        topic: The question, a few words.
        state: ``holds``, ``does not hold`` or ``not proven``.
        say: The answer in one sentence.
        details: Every single finding behind it.
    """

    topic: str
    state: str
    say: str
    details: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Bracket:
    """Between which instants a photo was taken, as far as the record proves or claims it (UTC texts).

    Attributes:
        seq: Number of the photo's record.
        name: File name as received.
        sha256: Hash of the original.
        not_before: Earliest instant; None if nothing bounds it.
        not_before_by: What bounds it.
        not_after: Latest instant.
        not_after_by: What bounds it.
        claims: What the photo says of itself, as it was read at intake.
        impossible: True if a board is said to be seen that was made from a head in which the photo already lay.
        stamped: True if both bounds rest on time stamps of an authority that somebody vouches for.
    """

    seq: int
    name: str
    sha256: str
    not_before: str | None
    not_before_by: str
    not_after: str | None
    not_after_by: str
    claims: Mapping[str, Any] = field(default_factory=dict)
    stamped: bool = False
    impossible: bool = False


@dataclass(frozen=True, slots=True)
class Replayed:
    """What measuring an original again gave.

    Attributes:
        differences: Where it gives another result, in words; none if every printed digit is the same.
        not_compared: Results that can't be compared, and why: another version of the method made them.
    """

    differences: tuple[str, ...] = ()
    not_compared: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Audit:
    """The outcome: facts, brackets, and what can't be proven. There is deliberately no single verdict."""

    facts: tuple[Fact, ...]
    brackets: tuple[Bracket, ...]
    limits: tuple[str, ...] = LIMITS

    @property
    def alarms(self) -> tuple[Fact, ...]:
        """The facts that do not hold."""
        return tuple(one for one in self.facts if one.state == FAILS)


def fact(topic: str, faults: Sequence[str], good: str, bad: str) -> Fact:
    """Return a fact that fails if anything speaks against it, and holds otherwise.

    Args:
        topic: The question.
        faults: Everything that speaks against it.
        good: What to say if nothing does.
        bad: What to say if something does.

    Returns:
        The fact.
    """
    return Fact(topic, FAILS, bad, tuple(faults)) if faults else Fact(topic, HOLDS, good)


def on_one_line(text: str) -> str:
    """Write foreign text so that it can neither begin a line of its own nor steer a terminal.

    Args:
        text: Any text, such as the name of a file as it was received.

    Returns:
        The text; what is no visible character and no blank (line breaks, escapes, marks that turn the direction of reading,
        lone surrogates) is spelled as its code point.
    """
    return "".join(f"[U+{ord(c):04X}]" if unicodedata.category(c) in _UNSEEN else c for c in text)


_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_MARKS = {HOLDS: "[holds]         ", FAILS: "[DOES NOT HOLD] ", OPEN: "[not proven]    "}


def report(outcome: Audit) -> str:
    """Write an audit as plain text, a fact a line, the limits last.

    Args:
        outcome: What :func:`audit` returned.

    Returns:
        Text for a terminal or a file.
    """
    lines = []
    for one in outcome.facts:
        lines.append(f"{_MARKS[one.state]}{one.topic}: {on_one_line(one.say)}")
        lines += [f"                   {on_one_line(detail)}" for detail in one.details]
    lines += ["", "What no record can prove:", *(f"  - {limit}" for limit in outcome.limits)]
    return "\n".join(lines) + "\n"
