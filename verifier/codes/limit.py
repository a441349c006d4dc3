"""A published value with where it stands and how well it is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BaseModel, Field

Status = Literal["read", "from memory", "disagreement noted"]


class Provision(BaseModel, frozen=True, extra="forbid"):
    """What every entry of a data file carries.

    ``edition`` is filled in by the loader from the head of the file that the entry stands in.
    """

    clause: Annotated[str, Field(min_length=1)]
    status: Status
    note: str = ""
    edition: str = ""


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit, ready to be shown wherever it is used.

    Attributes:
        value: The figure itself.
        unit: ``mm``, ``mm2``, ``mm2/m``, ``%`` or ``-``.
        clause: Clause or table that gives it.
        edition: Title of the document with its edition.
        status: ``read``, ``from memory`` or ``disagreement noted``.
        note: What a reader must know beside the value.
    """

    value: float
    unit: str
    clause: str
    edition: str
    status: Status
    note: str = ""

    @property
    def source(self) -> str:
        """Edition, clause and status in one line."""
        return f"{self.edition}, {self.clause} ({self.status})"


def limit(value: float, unit: str, provision: Provision, *, note: str = "") -> Limit:
    """Give a calculated value the provenance of the provision that it comes from.

    Args:
        value: The figure.
        unit: Its unit.
        provision: The entry of the data file.
        note: What the calculation adds to the provision's own note.

    Returns:
        The limit with clause, edition and status.
    """
    told = " ".join(part for part in (note, provision.note) if part)
    return Limit(value, unit, provision.clause, provision.edition, provision.status, told)
