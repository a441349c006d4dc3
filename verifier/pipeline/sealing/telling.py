"""A record as it is told to a third person, out of a pour folder or a sealed bundle alike: records, places, originals."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from verifier.drawing.pour import Pour
from verifier.drawing.read import pour_from_text
from verifier.errors import BadInput, VerifierError
from verifier.photo.intake import Intake
from verifier.pipeline.folder.evidence import Placement, has_record, placed_by_name
from verifier.pipeline.people.acting import existing
from verifier.record.audit.container import Bag
from verifier.record.bundle import bundle_records
from verifier.record.checkpoint import Head, read_head
from verifier.record.part import Places
from verifier.record.records import Record
from verifier.record.stamps import brackets_in
from verifier.record.timeline import Event, events
from verifier.tape.rows import read_tape_csv
from verifier.vision.photo_measurement import PhotoMeasurement


@dataclass(frozen=True, slots=True)
class Told:
    """A record, and the originals behind it as far as they are there.

    Attributes:
        place: The pour folder, or the bundle.
        records: Its records; of a part, those shown.
        read: Hash of an original -> its bytes, None where it is not there or was changed.
        head: Head over the whole record.
        note: Its signed text, as it lies in a bundle; empty for a folder, where a device signs it when asked.
        pour: Drawing values in force at its end, None where they can't be read.
        places: Hash of a photo or tape file -> marks of the elements that it shows.
        spots: Hash of a photo -> where it was taken.
    """

    place: Path
    records: Sequence[Record]
    read: Callable[[str], bytes | None]
    head: Head
    note: str
    pour: Pour | None
    places: Places = field(default_factory=dict)
    spots: Mapping[str, Placement] = field(default_factory=dict)

    @property
    def whole(self) -> bool:
        """Whether all records under the head are here."""
        return [r.seq for r in self.records] == list(range(1, self.head.size + 1))


def told(place: Path) -> Told:
    """Open a record for reading; nothing in it is changed.

    Args:
        place: The pour folder, or a sealed bundle of it.

    Returns:
        The record.

    Raises:
        BadInput: If there is no record yet, or the bundle can't be read.
        RecordDamaged: If the record does not hold.
    """
    if not place.exists():
        raise BadInput("There is no such folder or bundle.", where=str(place), todo="Correct the name.")
    if is_bundle(place):
        records: Sequence[Record] = bundle_records(place)
        bag = Bag(place)
        note = bag.text("data/checkpoint.txt")
        head = read_head(note)
        names = {digest: name for name, digest in bag.sha256.items()}

        def read(sha256: str) -> bytes | None:
            return bag.read(names[sha256]) if sha256 in names else None
    else:
        ledger = existing(place)
        try:
            records, store, head, note = ledger.records(), ledger.store.objects, ledger.head(), ""
        finally:
            ledger.close()

        def read(sha256: str) -> bytes | None:
            path = store.path_of(sha256)
            data = path.read_bytes() if path.is_file() else None
            return data if data is not None and hashlib.sha256(data).hexdigest() == sha256 else None

    pour = _drawing(records, read)
    spots = _spots(records, read, pour)
    return Told(place, records, read, head, note, pour, _places(records, read, spots), spots)


def timeline_of(place: Path) -> list[Event]:
    """Tell the record of a pour in order, each photo with its bracket of time.

    Args:
        place: The pour folder, or a sealed bundle of it.

    Returns:
        One event a record.

    Raises:
        BadInput: If there is no record yet, or the bundle can't be read.
    """
    return events_of(told(place))


def events_of(of: Told) -> list[Event]:
    """Tell a record in order, each photo with its bracket of time.

    Args:
        of: The record.

    Returns:
        One event a record.
    """
    return events(of.records, brackets_in(of.records), of.places)


def is_bundle(place: Path) -> bool:
    """Tell a sealed bundle, packed or unpacked, from a pour folder.

    Args:
        place: Either.

    Returns:
        True for a bundle.
    """
    return not has_record(place) and (place.is_file() or (place / "bagit.txt").is_file())


def intakes_in(of: Told) -> dict[str, Intake]:
    """Read what was seen on each photo's file when it came in: its claims, and what speaks against them.

    Args:
        of: The record.

    Returns:
        Intakes by the hash of the photo, newest of each; one that is not there or can't be read is left out.
    """
    found: dict[str, Intake] = {}
    for record in of.records:
        data = of.read(str(record.body.get("intake_sha256"))) if record.type == "observation" else None
        if data is not None:
            try:
                found[str(record.body.get("sha256"))] = Intake.model_validate_json(data)
            except (
                ValidationError
            ):  # written by a later version: the record's own words still tell the claims
                continue
    return found


def _drawing(records: Sequence[Record], read: Callable[[str], bytes | None]) -> Pour | None:
    named = [str(r.body.get("sha256")) for r in records if r.type == "drawing"]
    data = read(named[-1]) if named else None
    try:
        return pour_from_text(data, where="drawing in the record") if data is not None else None
    except VerifierError:  # of another version of this program: marks and zone are then not known
        return None


def _spots(
    records: Sequence[Record], read: Callable[[str], bytes | None], pour: Pour | None
) -> dict[str, Placement]:
    """Where each photo was taken: as said last, else as its name claims, else as the board in it tells."""
    marks = pour.marks if pour is not None else ()
    spots: dict[str, Placement] = {}
    for record in records:
        body, sha256 = record.body, str(record.body.get("sha256"))
        if record.type == "photo" and body.get("element"):
            said = {key: body.get(key) for key in ("element", "spot", "mat")}
            spots[sha256] = Placement.model_validate({**said, "basis": "said"})
        elif record.type == "photo":
            spots.setdefault(sha256, placed_by_name(str(body.get("name")), marks))
        elif record.type == "measurement" and sha256 in spots and spots[sha256].element is None:
            spots[sha256] = _by_board(read(str(body.get("result_sha256"))), pour)
    return spots


def _by_board(result: bytes | None, pour: Pour | None) -> Placement:
    if result is None or pour is None:
        return Placement()
    try:
        board = PhotoMeasurement.model_validate_json(result).board
    except ValidationError:  # measured by another version
        return Placement()
    here = pour.place_of_board(board.number) if board is not None and board.number is not None else None
    return Placement() if here is None else Placement(element=here[0], spot=here[1], basis="board")


def _places(
    records: Sequence[Record], read: Callable[[str], bytes | None], spots: dict[str, Placement]
) -> Places:
    places = {sha256: ({at.element} if at.element else set()) for sha256, at in spots.items()}
    for record in records:
        if record.type != "tape":
            continue
        sha256 = str(record.body.get("sha256"))
        data = read(sha256)
        try:
            file = read_tape_csv(data, str(record.body.get("name"))) if data is not None else None
        except BadInput:  # a table that can't be read shows no element
            file = None
        rows = (*file.readings, *file.asked) if file is not None else ()
        places[sha256] = {row.element for row in rows}
    return places
