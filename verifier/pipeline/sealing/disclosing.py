"""What leaves a record: the whole of it, a part about one element or photo, the pictures beside it, one record's proof."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import cv2
import numpy as np
from pydantic import ValidationError

from verifier.errors import BadInput
from verifier.pipeline.intake.boards import ids_from_head
from verifier.pipeline.measurement.pictures import Kind, picture_of
from verifier.pipeline.people.acting import existing
from verifier.pipeline.sealing.telling import Told, told
from verifier.record.audit import Audit, audit
from verifier.record.bundle import Sealed, write_bundle
from verifier.record.bundle_files import inclusion_text
from verifier.record.checkpoint import sign_head
from verifier.record.derived import Derived
from verifier.record.keys import DeviceSigner, device_signer
from verifier.record.ledger import Ledger
from verifier.record.part import Part, part_of_element, part_of_photo
from verifier.record.people import join_device
from verifier.record.public_keys import key_id
from verifier.record.records import Record
from verifier.vision.photo_measurement import PhotoMeasurement

_SHOWS: dict[Kind, str] = {
    "measured": "the photo with what was measured drawn in",
    "above": "the mat seen from straight above, with a grid of 100 mm",
}
_SHORTEST_HASH = 8


@dataclass(frozen=True, slots=True)
class Asked:
    """Which part of a record somebody asks for; neither means the whole.

    Attributes:
        element: Mark of an element.
        photo: Name of a photo, or the beginning of its SHA-256.
    """

    element: str | None = None
    photo: str | None = None


def part_asked(of: Told, asked: Asked) -> Part | None:
    """Find the part of a record that is asked for.

    Args:
        of: The record.
        asked: What is asked for.

    Returns:
        The part, None for the whole record.

    Raises:
        BadInput: If both are asked for, or the record holds nothing of that name.
    """
    if asked.element is not None and asked.photo is not None:
        raise BadInput(
            "One element and one photo were asked for at once.",
            where="--element, --photo",
            todo="Ask for either; the bundle of an element holds its photos.",
        )
    if asked.element is not None:
        return part_of_element(of.records, _known_element(of, asked.element), of.places)
    if asked.photo is not None:
        return part_of_photo(of.records, _known_photo(of, asked.photo))
    return None


def derived_of(ledger: Ledger, part: Part | None = None) -> list[Derived]:
    """Draw the pictures of a record's photos: with what was measured, and from above.

    Args:
        ledger: The record.
        part: What is shown, None for all of it.

    Returns:
        Pictures, two a photo at most, each with a line that says what it is. A photo whose result was written by another
        version of the method has none: its result and the original lie in the bundle, and this version draws its own only.
    """
    shown = set(part.seqs) if part is not None else None
    photos = {str(r.body.get("sha256")): r for r in reversed(ledger.records("photo"))}
    measured = {str(r.body.get("sha256")): r for r in ledger.records("measurement")}
    found: list[Derived] = []
    for sha256, record in reversed(photos.items()):
        drawn = measured.get(sha256)
        if drawn is not None and (shown is None or {record.seq, drawn.seq} <= shown):
            found += _pictures(ledger, record, drawn)
    return found


def seal_folder(
    folder: Path,
    out: Path,
    at: datetime,
    device: DeviceSigner | None = None,
    *,
    asked: Asked | None = None,
    pictures: bool = True,
) -> Sealed:
    """Write the record of a pour, or a part of it, as a bundle that a stranger can check with common tools.

    Args:
        folder: The pour folder.
        out: The zip to write.
        at: Date of sealing.
        device: This device's key; that of this installation if not given.
        asked: Which part; the whole record if not given.
        pictures: Whether to put derived pictures beside the originals.

    Returns:
        What was written, with the head to hand to somebody outside.

    Raises:
        BadInput: If there is no record, it holds nothing of what is asked for, the file can't be written, or one of that
            name is there already.
        RecordDamaged: If an original is missing or changed.
    """
    if out.exists():
        raise BadInput(
            "There is a file of that name already; a sealed bundle is never written over.",
            where=str(out),
            todo="Give another name, or move that file away first.",
            command="--out FILE",
        )
    signer = device or device_signer()
    ledger = existing(folder)
    try:
        join_device(ledger, signer, at)  # first, so that a part shows the key that seals it
        part = part_asked(told(folder), asked) if asked is not None else None
        derived = derived_of(ledger, part) if pictures else []
        return write_bundle(ledger, out, signer, at, derived=derived, part=part)
    finally:
        ledger.close()


def audit_now(folder: Path, at: datetime, heads: Sequence[str] = ()) -> Audit:
    """Seal the whole record where nobody keeps it, and audit that as a stranger would.

    Args:
        folder: The pour folder.
        at: Moment of the act.
        heads: Heads held outside: texts of checkpoints or their short forms.

    Returns:
        Facts, time brackets and limits.

    Raises:
        BadInput: If there is no record.
        RecordDamaged: If an original is missing or changed, so that nothing can be sealed.
    """
    with tempfile.TemporaryDirectory() as scratch:
        sealed = seal_folder(folder, Path(scratch) / "bundle.zip", at, pictures=False)
        return audit(sealed.path, heads=heads, board_ids=ids_from_head)


def has_joined(folder: Path, device: DeviceSigner | None = None) -> bool:
    """Tell whether this device is known to a record, so that sealing adds nothing to it.

    Args:
        folder: The pour folder.
        device: This device's key; that of this installation if not given.

    Returns:
        True if it is.

    Raises:
        BadInput: If there is no record.
    """
    ledger = existing(folder)
    try:
        ledger.records()
        return key_id((device or device_signer()).public) in ledger.standing.keys
    finally:
        ledger.close()


def proof_of(folder: Path, seq: int, at: datetime, device: DeviceSigner | None = None) -> str:
    """Prove that one record lies under the present head, for somebody who has the record's line and the head.

    Args:
        folder: The pour folder.
        seq: Number of the record.
        at: Moment of the act.
        device: This device's key; that of this installation if not given.

    Returns:
        The proof with the signed head, and no word of any record.

    Raises:
        BadInput: If there is no record of that number.

    Source:
        C2SP tlog-proof; RFC 9162, 2.1.3.
    """
    signer = device or device_signer()
    ledger = existing(folder)
    try:
        join_device(ledger, signer, at)
        size = len(ledger.records())
        if not 1 <= seq <= size:
            raise BadInput(
                f"There is no record {seq}.", where=str(folder), todo=f"Give a number from 1 to {size}."
            )
        (proof,) = ledger.inclusions([seq])
        return inclusion_text(seq, proof, sign_head(ledger.head(), signer))
    finally:
        ledger.close()


def _known_element(of: Told, element: str) -> str:
    named = {mark for marks in of.places.values() for mark in marks}
    named |= {str(r.body["element"]) for r in of.records if isinstance(r.body.get("element"), str)}
    known = sorted({*named, *(of.pour.marks if of.pour is not None else ())})
    if element not in known:
        raise BadInput(
            f"The record holds nothing about an element {element!r}.",
            where=str(of.place),
            todo=f"Give one of: {', '.join(known) or 'none is named in it'}.",
        )
    return element


def _known_photo(of: Told, asked: str) -> str:
    """A photo by its name, or by the beginning of its hash."""
    photos = {str(r.body.get("sha256")): str(r.body.get("name")) for r in of.records if r.type == "photo"}
    wanted = asked.casefold()
    by_hash = [s for s in photos if len(wanted) >= _SHORTEST_HASH and s.startswith(wanted)]
    found = by_hash or [s for s, name in photos.items() if name == asked]
    if len(found) == 1:
        return found[0]
    told = ", ".join(f"{s[:16]} ({photos[s]})" for s in found)
    raise BadInput(
        f"{len(found)} photos are called {asked!r}: {told}."
        if found
        else f"The record holds no photo {asked!r}.",
        where=str(of.place),
        todo=f"Give its name as received, or at least {_SHORTEST_HASH} digits of its SHA-256; the timeline lists them.",
        command="verifier timeline FOLDER",
    )


def _pictures(ledger: Ledger, photo: Record, drawn: Record) -> Iterator[Derived]:
    objects = ledger.store.objects
    try:
        seen = PhotoMeasurement.model_validate_json(objects.read(str(drawn.body.get("result_sha256"))))
    except ValidationError:
        return
    original = objects.path_of(str(photo.body["sha256"]))
    for kind, shows in _SHOWS.items():
        try:
            data = picture_of(original, seen, kind)
        except BadInput:  # a file that is no picture: the record of its measurement says so
            continue
        if data is not None:
            name = f"record-{photo.seq}-{_plain(str(photo.body.get('name', '')))}-{kind}.jpg"
            yield Derived(name, _labelled(data, photo, drawn), shows, photo, drawn)


def _labelled(data: bytes, photo: Record, drawn: Record) -> bytes:
    """Set a line under a picture, so that it says what it is wherever it is carried to."""
    picture = np.asarray(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR), np.uint8)
    lines: Sequence[str] = (
        "DERIVED PICTURE, NOT EVIDENCE. Drawn by a program from",
        f"record {photo.seq}, original {str(photo.body['sha256'])[:16]}, and record {drawn.seq}, its measurement.",
    )
    scale = picture.shape[1] / 1560
    strip = np.full((round(108 * scale), picture.shape[1], 3), 255, np.uint8)
    for number, line in enumerate(lines):
        foot = (round(18 * scale), round((42 + 46 * number) * scale))
        cv2.putText(strip, line, foot, cv2.FONT_HERSHEY_SIMPLEX, 1.15 * scale, (36, 31, 28), 2, cv2.LINE_AA)
    done, encoded = cv2.imencode(".jpg", np.vstack([picture, strip]), [cv2.IMWRITE_JPEG_QUALITY, 86])
    assert done
    return bytes(encoded)


def _plain(name: str) -> str:
    """A file name kept to characters that mean the same on every system, without its ending."""
    stem = name.rpartition(".")[0] or name
    return "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "_" for c in stem)[:60] or "photo"
