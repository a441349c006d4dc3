"""A reason in a go / no-go decision. Any room can bring its own: rounds, formwork, order, weather, record."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

Weight = Literal["stops", "condition", "caution"]
Room = Literal["evidence", "findings", "coverage", "rounds", "formwork", "order", "weather", "signature"]

# How bad a reason is, worst first; reasons of one severity keep the order of their finer figure.
SEVERITY = {
    "evidence-damaged": 0,
    "non-conforming": 10,
    "contradiction": 20,
    "not-decided": 30,
    "place-or-time": 40,
    "not-covered": 50,
    "not-done": 60,
    "to-sign": 70,
    "to-know": 80,
}


class Reason(BaseModel, frozen=True, extra="forbid"):
    """One thing that stops the pour, stands as a condition, or must be known.

    ``says`` is what is so, ``clears`` what would clear it, ``owner`` who can. ``about`` names findings or photos.
    ``kind`` is a key of SEVERITY; ``finer`` orders reasons of one kind, smaller is worse. ``command`` does it in a terminal, and is
    told there only.
    """

    key: str
    room: Room
    weight: Weight
    kind: str
    says: str
    clears: str
    owner: str = "site engineer"
    about: tuple[str, ...] = ()
    finer: float = 0.0
    command: str = ""

    @property
    def order(self) -> tuple[int, float, str]:
        """Sort key, worst first."""
        return SEVERITY[self.kind], self.finer, self.key
