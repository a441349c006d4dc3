"""One fault of a file of drawing values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one key.

    Attributes:
        key: Where it stands: table, number in its list, mark, key.
        value: What was found, None where nothing was.
        wrong: What is wrong, as the end of a sentence that starts with the key.
        allowed: What is allowed there.
    """

    key: str
    value: object
    wrong: str
    allowed: str

    @property
    def text(self) -> str:
        """The fault in one line."""
        found = "" if self.value is None else f" = {_short(self.value)}"
        return f"{self.key}{found}: {self.wrong}. Allowed: {self.allowed}."


def _short(value: object) -> str:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    text = f"{value:g}" if isinstance(value, float) else repr(value)
    return text if len(text) <= 80 else f"{text[:77]}..."
