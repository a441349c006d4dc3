"""What was typed and not yet sent: kept on disk, so that a reload, a lost connection or a second tab loses nothing.

FOLDER/drafts/PERSON/readings/ID.json   one reading; a file each, so that two tabs can't overwrite each other; without
                                        log-in PERSON is left out
FOLDER/drafts/notes/KEY.json     what stands in a form that is not finished
FOLDER/drafts/files/SHA256/NAME  a photo or document chosen in such a form
"""

from __future__ import annotations

import hashlib
import json
import secrets
import shutil
import time
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from ui.parts import visits
from ui.parts.pour import DRAFTS
from verifier.record.people import principal_of

Row = dict[str, str]
"""Text by column of a tape file."""


@dataclass(frozen=True, slots=True)
class Typed:
    """One reading that is not yet sent."""

    id: str
    row: Row


def typed(folder: Path) -> list[Typed]:
    """Read what was typed and not yet sent.

    Args:
        folder: The pour folder.

    Returns:
        Readings in the order typed.
    """
    paths = sorted((_mine(folder) / "readings").glob("*.json"))
    return [Typed(p.stem, dict(json.loads(p.read_text(encoding="utf-8")))) for p in paths]


def add(folder: Path, row: Row) -> None:
    """Keep one more reading.

    Args:
        folder: The pour folder.
        row: Text by column.
    """
    name = f"{time.time_ns():020d}-{secrets.token_hex(4)}.json"
    _write(_mine(folder) / "readings" / name, row)


def drop(folder: Path, ids: Collection[str]) -> None:
    """Forget readings: sent, or undone.

    Args:
        folder: The pour folder.
        ids: Which; those that another tab has dropped before are passed over.
    """
    for one in ids:
        (_mine(folder) / "readings" / f"{one}.json").unlink(missing_ok=True)


def note(folder: Path, key: str) -> dict[str, str]:
    """Read what stands in an unfinished form.

    Args:
        folder: The pour folder.
        key: Which form, of which person.

    Returns:
        Text by field; empty if nothing was typed.
    """
    path = _note(folder, key)
    return dict(json.loads(path.read_text(encoding="utf-8"))) if path.is_file() else {}


def keep_note(folder: Path, key: str, fields: Mapping[str, str]) -> None:
    """Keep what stands in an unfinished form; nothing typed is nothing kept.

    Args:
        folder: The pour folder.
        key: Which form, of which person.
        fields: Text by field.
    """
    if any(fields.values()):
        _write(_note(folder, key), fields)
    else:
        _note(folder, key).unlink(missing_ok=True)


def keep_file(folder: Path, name: str, data: bytes) -> Path:
    """Keep a file that was chosen in an unfinished form.

    Args:
        folder: The pour folder.
        name: Its name without any folder.
        data: Its bytes.

    Returns:
        Where it lies, under its hash.
    """
    place = folder / DRAFTS / "files" / hashlib.sha256(data).hexdigest()
    place.mkdir(parents=True, exist_ok=True)
    fresh = place / f".{secrets.token_hex(4)}"
    fresh.write_bytes(data)
    fresh.replace(place / name)
    return place / name


def file_of(folder: Path, sha256: str) -> Path | None:
    """Find a kept file.

    Args:
        folder: The pour folder.
        sha256: Hash of its bytes.

    Returns:
        Where it lies, None if it is gone.
    """
    place = folder / DRAFTS / "files" / (sha256 or "none")
    return next((p for p in place.iterdir() if not p.name.startswith(".")), None) if place.is_dir() else None


def drop_file(folder: Path, sha256: str) -> None:
    """Forget a kept file: it is in the record, or was taken back.

    Args:
        folder: The pour folder.
        sha256: Hash of its bytes.
    """
    if sha256:
        shutil.rmtree(folder / DRAFTS / "files" / sha256, ignore_errors=True)


def _mine(folder: Path) -> Path:
    """Everybody who is logged in has an own place."""
    person = visits.person()
    place = folder / DRAFTS
    return place if person is None else place / principal_of(person)


def _note(folder: Path, key: str) -> Path:
    """Keys hold names of people and places, which no file name must."""
    return folder / DRAFTS / "notes" / f"{hashlib.sha256(key.encode()).hexdigest()[:32]}.json"


def _write(path: Path, content: Mapping[str, str]) -> None:
    """In one step: a power cut leaves what was there before or what is there now."""
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    fresh.write_text(json.dumps(dict(content), ensure_ascii=False), encoding="utf-8")
    fresh.replace(path)
