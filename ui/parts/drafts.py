"""Readings typed and not yet sent: kept on disk, so that a reload, a lost connection or a second tab loses nothing."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from ui.parts import visits
from ui.parts.pour import DRAFTS
from verifier.record.people import principal_of

Row = dict[str, str]
"""Text by column of a tape file."""

_FILE = "readings.json"


def typed(folder: Path) -> list[Row]:
    """Read what was typed and not yet sent.

    Args:
        folder: The pour folder.

    Returns:
        Rows in the order typed.
    """
    path = _path(folder)
    return list(json.loads(path.read_text(encoding="utf-8"))) if path.is_file() else []


def keep(folder: Path, rows: Sequence[Row]) -> None:
    """Keep what was typed, in one step: a power cut leaves the old rows or the new ones.

    Args:
        folder: The pour folder.
        rows: All rows, in order.
    """
    path = _path(folder)
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_suffix(".new")
    fresh.write_text(json.dumps(rows, ensure_ascii=False), encoding="utf-8")
    fresh.replace(path)


def _path(folder: Path) -> Path:
    """Everybody who is logged in has an own file: two people typing at once don't overwrite each other."""
    person = visits.person()
    place = folder / DRAFTS
    return (place if person is None else place / principal_of(person)) / _FILE
