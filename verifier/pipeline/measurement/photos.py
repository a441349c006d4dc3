"""Each photo of a pour: what its file claims, what was measured in it, and what became of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ValidationError

from verifier.drawing.pour import Pour, Slab
from verifier.errors import BadInput, RecordDamaged
from verifier.metrology.measurement import Measurement
from verifier.photo.intake import Intake, KnownPhoto
from verifier.pipeline.folder.evidence import Original, Placement, has_record, is_intact
from verifier.pipeline.folder.intakes import intake_of, recorded_intakes
from verifier.pipeline.measurement.measuring import Job, Progress, Settings, measure_photos, refused
from verifier.pipeline.measurement.values import measurements_of
from verifier.record.ledger import Ledger, Record
from verifier.vision.photo_measurement import PhotoMeasurement, Saying
from verifier.wording import counted

State = Literal["counted", "superseded", "refused", "unplaced", "not counted", "damaged"]


class PhotoEntry(BaseModel, frozen=True, extra="forbid"):
    """One photo and what became of it.

    A ``damaged`` one no longer has the bytes that the record names; nothing of it counts. ``layers`` names the layers of ``seen`` in their order, None where a layer could not be named. ``intake`` is None for a
    file that is no readable photo; ``seen`` then says why.
    """

    original: Original
    intake: Intake | None
    seen: PhotoMeasurement
    layers: tuple[str | None, ...] = ()
    state: State = "not counted"
    remarks: tuple[str, ...] = ()

    @property
    def taken_at(self) -> str | None:
        """Time of the photo with its zone, as its file claims."""
        if self.intake is None or self.intake.claims.captured is None:
            return None
        return self.intake.claims.captured.isoformat()


def photos_of(
    folder: Path,
    pour: Pour,
    originals: Sequence[Original],
    settings: Settings,
    *,
    at: datetime,
    workers: int,
    progress: Progress | None,
) -> tuple[tuple[PhotoEntry, ...], tuple[Measurement, ...]]:
    """Take in and measure the photos of a pour; measurements that the record holds are not made again.

    Args:
        folder: The pour folder.
        pour: Drawing values.
        originals: The photos.
        settings: Boards and their print scale.
        at: Moment of the check; loose photos count as received then.
        workers: Worker processes for photos still to be measured.
        progress: Told after each photo measured.

    Returns:
        An entry for each photo, in order, and all measurements placed on the drawing.
    """
    kept, observed = _from_record(folder, pour, settings)
    damaged = {o.sha256 for o in originals if not is_intact(o)}
    todo = [o for o in originals if o.sha256 not in kept and o.sha256 not in damaged]
    fresh = measure_photos([Job(o.path, o.name) for o in todo], settings, workers=workers, progress=progress)
    seen = kept | {o.sha256: measured for o, measured in zip(todo, fresh, strict=True)}
    entries: list[PhotoEntry] = []
    measurements: list[Measurement] = []
    known: list[KnownPhoto] = []
    for original in originals:
        if original.sha256 in damaged:
            entries.append(_damaged(original))
            continue
        intake = observed.get(original.sha256) or _intake(original, pour, at, known)
        if intake is not None:
            known.append(intake.known)
        entry = PhotoEntry(original=original, intake=intake, seen=_named(seen[original.sha256], original))
        on_drawing, found = placed(entry, pour)
        entries.append(on_drawing)
        measurements += found
    return tuple(entries), tuple(measurements)


def _from_record(
    folder: Path, pour: Pour, settings: Settings
) -> tuple[dict[str, PhotoMeasurement], dict[str, Intake]]:
    """What the record holds of its photos: measurements and intakes."""
    if not has_record(folder):
        return {}, {}
    ledger = Ledger.open(folder)
    try:
        return recorded_measurements(ledger, settings), recorded_intakes(ledger, pour)
    finally:
        ledger.close()


def recorded_measurements(ledger: Ledger, settings: Settings) -> dict[str, PhotoMeasurement]:
    """Read the measurements that the record holds, newest of each photo, made by the method as it is now.

    Args:
        ledger: The record.
        settings: Boards and their print scale; a measurement made with others is left out.

    Returns:
        Measurements by the hash of the photo. One made by another version of the method is left out: the photo is measured
        again.

    Raises:
        RecordDamaged: If one can't be read.
    """
    there = measured_in(ledger, settings)
    return {sha256: recorded_measurement(ledger, record) for sha256, record in there.items()}


def measured_in(ledger: Ledger, settings: Settings) -> dict[str, Record]:
    """Find the records of measurements made by the method as it is now, newest of each photo, without reading the results.

    Args:
        ledger: The record.
        settings: Boards and their print scale.

    Returns:
        Records by the hash of the photo.
    """
    from verifier.vision.measure import METHOD_VERSION

    now = (METHOD_VERSION, settings.mark)
    return {
        str(record.body["sha256"]): record
        for record in ledger.records("measurement")
        if (record.body.get("version"), record.body.get("settings")) == now
    }


def boards_seen(seen: PhotoMeasurement) -> list[dict[str, object]]:
    """Name the boards recognised in a photo as its record names them, also where nothing could be measured in it.

    Args:
        seen: What the photo gave.

    Returns:
        Number and markers of each board, largest in the picture first.
    """
    return [{"number": board.number, "ids": list(board.ids)} for board in seen.recognised]


def recorded_measurement(ledger: Ledger, record: Record) -> PhotoMeasurement:
    """Read one measurement of the record.

    Args:
        ledger: The record.
        record: Its record of kind ``measurement``.

    Returns:
        The measurement.

    Raises:
        RecordDamaged: If it can't be read.
    """
    data = ledger.store.objects.read(str(record.body["result_sha256"]))
    try:
        return PhotoMeasurement.model_validate_json(data)
    except ValidationError as error:
        raise RecordDamaged(
            f"The measurement of {record.body.get('name')} can't be read ({counted(error.error_count(), 'fault')}).",
            where=str(ledger.store.path),
            todo="Use the version of this program that wrote it, or add the photo again.",
        ) from error


def _damaged(original: Original) -> PhotoEntry:
    say = f"{original.name} is missing or no longer has the bytes that were recorded. Bring the true file back from a copy."
    seen = refused(Job(original.path, original.name), Saying(reason="changed-after-recording", say=say))
    return PhotoEntry(original=original, intake=None, seen=seen, state="damaged", remarks=(say,))


def _named(seen: PhotoMeasurement, original: Original) -> PhotoMeasurement:
    """The measurement under the name that this pour knows the photo by."""
    return seen.model_copy(update={"photo": seen.photo.model_copy(update={"name": original.name})})


def _intake(original: Original, pour: Pour, at: datetime, known: Sequence[KnownPhoto]) -> Intake | None:
    try:
        return intake_of(
            original.path.read_bytes(),
            original.name,
            pour,
            received_at=original.received_at or at,
            known=known,
        )
    except BadInput:
        return None  # measuring the same file says why


def placed(entry: PhotoEntry, pour: Pour) -> tuple[PhotoEntry, tuple[Measurement, ...]]:
    """Put what a photo shows onto the drawing, as far as that can be done without guessing.

    Args:
        entry: A photo with what was measured in it.
        pour: Drawing values.

    Returns:
        The entry with its place, its layers' names and what became of it; and the measurements of those layers.
    """
    placement, told = _by_board(entry, pour)
    entry = entry.model_copy(update={"original": entry.original.model_copy(update={"placement": placement})})
    name = entry.original.name
    remarks = [*told]
    state: State = "not counted"
    found: tuple[Measurement, ...] = ()
    layers: tuple[str | None, ...] = tuple(None for _ in entry.seen.layers)
    if not entry.seen.usable:
        state = "refused"
    elif not placement.complete:
        state = "unplaced"
        remarks.append(
            f"{name} does not say which element and spot it shows: say so, or name it like s1-spot2.jpg."
        )
    elif placement.element not in pour.marks:
        state = "unplaced"
        remarks.append(f"{name} is said to show {placement.element}, which is not on the drawing.")
    else:
        element = pour.element(placement.element)
        if isinstance(element, Slab):
            drawn = {layer.layer for layer in element.layers}
            found, layers, more = measurements_of(entry.seen, placement, drawn, taken_at=entry.taken_at)
            remarks += more
            state = "counted" if found else "not counted"
        else:
            remarks.append(
                f"{name} shows beam {element.mark}: photos of beams are kept, its bars are counted and taped."
            )
    update = {"layers": layers, "state": state, "remarks": tuple(remarks)}
    return entry.model_copy(update=update), found


def _by_board(entry: PhotoEntry, pour: Pour) -> tuple[Placement, tuple[str, ...]]:
    """The place of a photo: as said, else as the board in it tells, else as its name claims; a contradiction is told."""
    placement, board = entry.original.placement, entry.seen.board
    here = None if board is None or board.number is None else pour.place_of_board(board.number)
    if here is None or board is None:
        return placement, ()
    element, spot = here
    if placement.element is None:
        return Placement(element=element, spot=spot, mat=placement.mat, basis="board"), ()
    if placement.element == element and spot in (None, placement.spot):
        return placement, ()
    lies = element if spot is None else f"{element}, spot {spot}"
    said = f"{placement.element}, spot {placement.spot}"
    return placement, (
        f"{entry.original.name} is said to show {said}, but board {board.number} in it is kept for {lies}: see which is right.",
    )
