"""Photos chosen and not yet sent: kept on the server, so that a reload, a lost connection or a second tab loses none.

FOLDER/drafts/[PERSON/]chosen/SHA256/NAME   one photo; without log-in PERSON is left out

Nothing in it is evidence: the record knows none of it before the person sends it, and what nobody sends is swept.
"""

from __future__ import annotations

import hashlib
import os
import secrets
import shutil
import time
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from verifier.errors import BadInput
from verifier.photo.formats import PhotoLimits
from verifier.pipeline.intake.arriving import file_name
from verifier.record.people import principal_of
from verifier.store.objects import fsync_folder

DRAFTS = "drafts"
CHOSEN = "chosen"
MOST = 200
"""So many photos of one person wait at a time."""
KEPT_FOR = timedelta(days=14)
"""What nobody has sent by then is swept; a slab is long poured."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """One photo that was chosen and not yet sent.

    Attributes:
        sha256: Hash of its bytes.
        name: Its name without any folder.
        path: Where its bytes lie.
    """

    sha256: str
    name: str
    path: Path


def waiting(folder: Path, person: str | None) -> tuple[Chosen, ...]:
    """List what a person has chosen and not yet sent.

    Args:
        folder: The pour folder.
        person: Who is logged in, None where nobody logs in.

    Returns:
        Photos in the order in which they were chosen.
    """
    place = _place(folder, person)
    found = []
    for shelf in place.iterdir() if place.is_dir() else ():
        if shelf.name.startswith("."):
            continue  # half written, or half dropped
        try:
            path = next(iter(shelf.iterdir()))
            found.append((path.stat().st_mtime_ns, Chosen(shelf.name, path.name, path)))
        except (StopIteration, FileNotFoundError):
            continue  # sent or dropped in another tab since it was listed
    return tuple(photo for _, photo in sorted(found, key=lambda one: (one[0], one[1].name)))


def keep(folder: Path, person: str | None, name: str, data: bytes) -> None:
    """Keep a photo as soon as it is chosen; the same bytes chosen twice wait once.

    Args:
        folder: The pour folder.
        person: Who is logged in, None where nobody logs in.
        name: As the browser tells it.
        data: Its bytes.

    Raises:
        BadInput: If it is larger than any photo that is taken in, too many wait already, or the disk is full.
    """
    called, limit = file_name(name, 1), PhotoLimits().max_bytes
    if len(data) > limit:
        raise BadInput(
            f"The file has {len(data) / 1e6:.0f} MB; at most {limit / 1e6:.0f} MB are taken.",
            where=called,
            todo="Send the photo in the phone's normal resolution, not as raw or video.",
        )
    place = _place(folder, person)
    shelf = place / hashlib.sha256(data).hexdigest()
    if shelf.is_dir():
        return
    if place.is_dir() and sum(not s.name.startswith(".") for s in place.iterdir()) >= MOST:
        raise BadInput(
            f"{MOST} photos wait to be sent already.",
            where=called,
            todo="Send those first, then choose more.",
        )
    try:
        _shelve(shelf, called, data)
    except OSError as error:
        raise BadInput(
            f"The photo can't be kept ({error.strerror}).",
            where=called,
            todo="Free some space on the machine that serves the page, then choose it again.",
        ) from error


def handed_on(photos: Sequence[Chosen]) -> Iterator[tuple[str, bytes]]:
    """Hand photos on to whoever takes them in; each is dropped here once the next one is asked for, and not before.

    Args:
        photos: Those to be sent.

    Yields:
        Name and bytes; a photo that was sent or dropped in another tab meanwhile is passed over.
    """
    for photo in photos:
        try:
            data = photo.path.read_bytes()
        except FileNotFoundError:
            continue
        yield photo.name, data
        _drop(photo.path.parent)


def drop(folder: Path, person: str | None, which: Collection[str]) -> None:
    """Forget photos that the person does not want to send.

    Args:
        folder: The pour folder.
        person: Who is logged in, None where nobody logs in.
        which: Hashes; those that another tab has dropped before are passed over.
    """
    for photo in waiting(folder, person):
        if photo.sha256 in which:
            _drop(photo.path.parent)


def sweep(folder: Path, *, now_s: float | None = None) -> None:
    """Drop what nobody has sent for long, whoever chose it, and what a killed process left half written.

    Args:
        folder: The pour folder.
        now_s: Present time in seconds since 1970; the clock is read if not given.
    """
    before = (time.time() if now_s is None else now_s) - KEPT_FOR.total_seconds()
    drafts = folder / DRAFTS
    for place in (drafts / CHOSEN, *drafts.glob(f"*/{CHOSEN}")):
        for shelf in place.iterdir() if place.is_dir() else ():
            try:
                old = shelf.stat().st_mtime < before
            except FileNotFoundError:
                continue
            if old:
                shutil.rmtree(shelf, ignore_errors=True)


def _place(folder: Path, person: str | None) -> Path:
    drafts = folder / DRAFTS
    return (drafts if person is None else drafts / principal_of(person)) / CHOSEN


def _shelve(shelf: Path, name: str, data: bytes) -> None:
    """In one step and on the disk: a photo that is half there is not there."""
    fresh = shelf.with_name(f".{shelf.name}.{secrets.token_hex(4)}")
    fresh.mkdir(parents=True)
    try:
        with (fresh / name).open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        fsync_folder(fresh)
        if shelf.is_dir():  # another tab was quicker with the same photo
            shutil.rmtree(fresh)
            return
        fresh.rename(shelf)
        fsync_folder(shelf.parent)
    except OSError:
        shutil.rmtree(fresh, ignore_errors=True)
        raise


def _drop(shelf: Path) -> None:
    """Out of sight in one step, then away."""
    aside = shelf.with_name(f".{shelf.name}.{secrets.token_hex(4)}")
    try:
        shelf.rename(aside)
    except FileNotFoundError:
        return
    shutil.rmtree(aside, ignore_errors=True)
