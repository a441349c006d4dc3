"""Figures of standards and of the trade outside the codes of practice: value, unit, where it stands, how it is known."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, Field, ValidationError

from verifier.errors import BadInput
from verifier.wording import counted

Known = Literal["read", "from memory", "disagreement noted", "common practice"]
"""``read``: a page that quotes the clause was read; ``from memory``: open the standard before relying on it."""


class Cited(BaseModel, frozen=True, extra="forbid"):
    """What every entry of such a data file carries."""

    standard: Annotated[str, Field(min_length=1)]
    clause: Annotated[str, Field(min_length=1)]
    status: Known
    note: str = ""

    @property
    def source(self) -> str:
        """Standard, clause and status in one line."""
        return f"{self.standard}, {self.clause} ({self.status})"


class Figure(Cited, frozen=True):
    """One value with its unit."""

    value: float
    unit: str


Data = TypeVar("Data", bound=BaseModel)


def read_data(package: str, name: str, model: type[Data]) -> Data:
    """Read a data file of a room.

    Args:
        package: Package that holds a ``data`` folder.
        name: File name in it.
        model: What the file must hold; a missing or unknown key is an error.

    Returns:
        The checked data.

    Raises:
        BadInput: If the installed file was damaged.
    """
    raw: dict[str, Any] = tomllib.loads(files(package).joinpath(f"data/{name}").read_text(encoding="utf-8"))
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        raise BadInput(
            f"{first['msg']} ({counted(error.error_count(), 'fault')} in all).",
            where=f"{name}, {'.'.join(map(str, first['loc']))}",
            todo="Restore the data file of the installed version, or correct this key.",
        ) from error
