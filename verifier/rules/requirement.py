"""A requirement: one thing that the drawing or the code asks, with its limits and where they come from."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

from verifier.metrology.measurement import Measurand

SourceKind = Literal["drawing", "project", "code"]


class Source(BaseModel, frozen=True, extra="forbid"):
    """Where a limit comes from, and how well it is known.

    ``status`` is ``as drawn``, ``agreed for the project`` or, for a code of practice, how its value got here: ``read``,
    ``from memory``, ``disagreement noted``, ``calculated``.
    """

    kind: SourceKind
    document: str
    clause: str
    status: str
    note: str = ""

    @property
    def words(self) -> str:
        """The source in one line, for tables and paper."""
        return f"{self.document}, {self.clause} ({self.status})" + (f": {self.note}" if self.note else "")


_RULE_WORDS = {
    "least-steel": "mean spacing for the least steel",
    "clear-distance": "spacing for the clear distance",
}


class Requirement(BaseModel, frozen=True, extra="forbid"):
    """One thing asked of one element.

    ``rule`` names the kind of requirement (``single-gap``, ``mean-spacing``, ``largest-spacing``, ``clear-distance``,
    ``least-steel``, ``diameter``, ``cover`` and so on); several rules can limit the same measurand.
    A side that is not limited is None. ``by_tape`` says that a photo can never decide it, ``when_measured`` that it is
    asked only where it occurs (laps).
    """

    key: str
    element: str
    layer: str | None
    rule: str
    measurand: Measurand
    asks: str
    lower: float | None = None
    upper: float | None = None
    nominal: float | None = None
    unit: Literal["mm", "count"] = "mm"
    sources: tuple[Source, ...]
    by_tape: bool = False
    when_measured: bool = False

    @property
    def rule_words(self) -> str:
        """The rule as people say it beside a value; the limit of a spacing that stands for something else says so."""
        return _RULE_WORDS.get(self.rule, self.rule.replace("-", " "))

    @property
    def limits_words(self) -> str:
        """The limits as people say them."""
        unit = "" if self.unit == "count" else f" {self.unit}"
        if self.lower is not None and self.upper is not None:
            return f"{self.lower:.4g} to {self.upper:.4g}{unit}"
        if self.upper is not None:
            return f"at most {self.upper:.4g}{unit}"
        if self.lower is not None:
            return f"at least {self.lower:.4g}{unit}"
        return "no limit"
