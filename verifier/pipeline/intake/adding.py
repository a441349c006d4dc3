"""Putting evidence into a pour: a new folder, photos, tape files. Originals first, untouched; then what was measured in them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta, timezone
from pathlib import Path

from pydantic import BaseModel

from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.drawing.template import write_template
from verifier.errors import BadInput
from verifier.photo.exif import ExifClaims
from verifier.photo.intake import Intake, KnownPhoto
from verifier.pipeline.folder.cameras import carry_cameras
from verifier.pipeline.folder.evidence import PHOTO_ENDINGS, Placement, placed_by_name
from verifier.pipeline.folder.intakes import intake_of, limits_mark, recorded_intakes
from verifier.pipeline.measurement.measuring import WORKERS, Job, Measure, Progress, Settings, measure_photos
from verifier.pipeline.measurement.photos import boards_seen, measured_in, recorded_measurement
from verifier.pipeline.measurement.settings import settings_of
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.ledger import Ledger
from verifier.store import sha256_of
from verifier.vision.photo_measurement import PhotoMeasurement
from verifier.wording import counted

__all__ = ["Act", "Added", "add_photos", "add_tape", "flat", "new_folder"]

LOOSE_FOLDERS = ("photos", "tape")


class Added(BaseModel, frozen=True, extra="forbid"):
    """What became of one file: in the record, or why not.

    ``intake`` is what a photo's file claims and shows, ``seen`` what was measured in it; ``asks`` what must be put right in a
    tape file, which is then added again.
    """

    name: str
    sha256: str | None
    placement: Placement = Placement()
    in_record: bool
    says: str
    intake: Intake | None = None
    seen: PhotoMeasurement | None = None
    asks: tuple[str, ...] = ()


def new_folder(folder: Path) -> tuple[Path, ...]:
    """Make a pour folder with a commented pour.toml to fill in.

    Args:
        folder: The folder; made if absent. A pour.toml that is there is left alone.

    Returns:
        What was made.

    Raises:
        BadInput: If there is a pour.toml already, or the place can't be written.
    """
    try:
        for place in (folder, *(folder / name for name in LOOSE_FOLDERS)):
            place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(
            f"The folder can't be made ({error.strerror}).", where=str(folder), todo="Choose another place."
        ) from error
    write_template(folder / "pour.toml")
    return folder / "pour.toml", *(folder / name for name in LOOSE_FOLDERS)


def add_photos(
    folder: Path,
    files: Sequence[Path],
    act: Act,
    *,
    placement: Placement | None = None,
    workers: int = WORKERS,
    progress: Progress | None = None,
    measure: Measure | None = None,
) -> tuple[Added, ...]:
    """Put photos into the record of a pour and measure them.

    Every original is stored and recorded before the first one is measured, so that nothing is lost on the way. A profile
    of this user's that fits a photo's camera is copied into the folder, so that the pour carries it along. A file that
    is no readable photo is told and left where it is; the others go on. A photo that is in the record already is placed
    anew if element and spot are given.

    Args:
        folder: The pour folder.
        files: Photos, or folders of photos.
        act: Who adds them, and when.
        placement: Element, spot and mat of all these photos; from the file name where not given.
        workers: Worker processes for measuring.
        progress: Told after each photo measured.
        measure: Standing workers that measure; some are started for these photos where none are given.

    Returns:
        What became of each file, in order.

    Raises:
        BadInput: If the folder has no usable pour.toml, the disk is full, or the element is not on the drawing.
        NotAllowed: If the person may not send photos or say where they were taken.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.SEND_PHOTOS)
    if placement is not None:
        demand(pour, act.person, Action.PLACE_PHOTO)
    if placement is not None and placement.element is not None and placement.element not in pour.marks:
        raise BadInput(
            f"{placement.element} is not on the drawing.",
            where="element",
            todo=f"Elements of this pour: {', '.join(pour.marks)}.",
        )
    ledger = open_record(folder, pour, act)
    try:
        ledger.store.objects.ensure_room(sum(f.stat().st_size for f in flat(files) if f.is_file()))
        known = [intake.known for intake in recorded_intakes(ledger, pour).values()]
        kept = [_keep(ledger, pour, path, act, placement, known) for path in flat(files)]
        carry_cameras(folder, recorded_intakes(ledger, pour).values())
        settings = settings_of(folder)

        def by_pool(jobs: Sequence[Job], settings: Settings) -> Iterator[PhotoMeasurement]:
            return measure_photos(jobs, settings, workers=workers, progress=progress)

        return _measured(ledger, settings, kept, act, measure or by_pool)
    finally:
        ledger.close()


def add_tape(folder: Path, files: Sequence[Path], act: Act) -> tuple[Added, ...]:
    """Put tape files into the record of a pour.

    Args:
        folder: The pour folder.
        files: CSV files of readings.
        act: Who adds them, and when.

    Returns:
        What became of each file, in order. Rows that can't be read or are asked about are told by the check.

    Raises:
        BadInput: If the folder has no usable pour.toml, or a file is no table of readings at all; nothing is recorded then.
        NotAllowed: If the person may not put in readings.
    """
    from verifier.pipeline.intake.tapes import read_tape

    pour = read_pour(folder)
    demand(pour, act.person, Action.TYPE_READINGS)
    read = [read_tape(folder, path, pour) for path in files]
    ledger = open_record(folder, pour, act)
    try:
        added = []
        for path, file in zip(files, read, strict=True):
            digest = ledger.store.objects.put_file(path)
            record_event(ledger, "tape", {"name": path.name, "sha256": digest}, act)
            asks = (*(q.asks for q in file.questions), *(f.text for f in file.faults))
            says = f"in the record, {counted(len(file.readings), 'reading')}" + (
                ", and to be put right:" if asks else ""
            )
            added.append(Added(name=path.name, sha256=digest, in_record=True, says=says, asks=asks))
        return tuple(added)
    finally:
        ledger.close()


def flat(files: Iterable[Path]) -> list[Path]:
    """Open up folders.

    Args:
        files: Files and folders.

    Returns:
        Files as given, and the photos of folders by name.
    """
    found: list[Path] = []
    for path in files:
        if path.is_dir():
            found += sorted(p for p in path.iterdir() if p.suffix.casefold() in PHOTO_ENDINGS)
        else:
            found.append(path)
    return found


def _keep(
    ledger: Ledger, pour: Pour, path: Path, act: Act, said: Placement | None, known: list[KnownPhoto]
) -> Added:
    """Store and record one photo with what its file shows; ``known`` grows by it."""
    placement = (
        said if said is not None and said.element is not None else placed_by_name(path.name, pour.marks)
    )
    if not path.is_file():
        return Added(name=path.name, sha256=None, in_record=False, says=f"There is no file {path}.")
    digest = sha256_of(path)
    again = digest in ledger.recorded_objects()
    if again and said is None:
        return Added(
            name=path.name,
            sha256=digest,
            placement=placement,
            in_record=True,
            says="was in the record already; nothing was added",
        )
    try:
        intake = intake_of(path.read_bytes(), path.name, pour, received_at=act.at, known=known)
    except BadInput as error:
        return Added(name=path.name, sha256=digest, in_record=False, says=f"{error.wrong} {error.todo}")
    ledger.store.objects.put_file(path)
    body: dict[str, object] = {"name": path.name, "sha256": digest, "claims": told_by_file(intake.claims)}
    if said is not None and said.element is not None:
        body |= {"element": said.element, "spot": said.spot, "mat": said.mat}
    record_event(ledger, "photo", body, act)
    if not again:
        known.append(intake.known)
        result = ledger.store.objects.put(intake.model_dump_json().encode())
        observed = {
            "name": path.name,
            "sha256": digest,
            "limits": limits_mark(pour),
            "intake_sha256": result,
            "keys": [o.key.value for o in intake.observations],
        }
        record_event(ledger, "observation", observed, act)
    return Added(
        name=path.name,
        sha256=digest,
        placement=placement,
        in_record=True,
        says="placed anew" if again else "in the record",
        intake=intake,
    )


def told_by_file(claims: ExifClaims) -> dict[str, str]:
    """What a photo file says about its own time and place, in words for the record; claims, not facts.

    Args:
        claims: Its Exif block as read.

    Returns:
        Claim -> value, without those that the file doesn't make.
    """
    offset = claims.utc_offset_min
    zone = None if offset is None else timezone(timedelta(minutes=offset))
    taken = claims.captured_local
    place = claims.position
    told = {
        "camera_clock": None if taken is None else taken.replace(tzinfo=zone).isoformat(),
        "gps_time": None if claims.gps_time is None else claims.gps_time.isoformat(),
        "position": None if place is None else f"{place.latitude:.5f}, {place.longitude:.5f}",
        "camera": " ".join(filter(None, (claims.make, claims.model))) or None,
    }
    return {name: value for name, value in told.items() if value is not None}


def _measured(
    ledger: Ledger,
    settings: Settings,
    kept: Sequence[Added],
    act: Act,
    measure: Measure,
) -> tuple[Added, ...]:
    """Measure what the record holds no measurement of, and record the results; a photo placed anew is not measured again."""
    there = measured_in(ledger, settings)
    fresh = list({a.sha256: a for a in kept if a.in_record and a.sha256 and a.sha256 not in there}.values())
    jobs = [Job(ledger.store.objects.path_of(a.sha256 or ""), a.name) for a in fresh]
    answers = measure(jobs, settings)
    seen: dict[str, PhotoMeasurement] = {}
    issued = {board.number for board in settings.issued}
    for added, answer in zip(fresh, answers, strict=True):
        result = ledger.store.objects.put(answer.model_dump_json().encode())
        body = {
            "name": added.name,
            "sha256": added.sha256,
            "method": answer.method.name,
            "version": answer.method.version,
            "settings": settings.mark,
            "boards": settings.checks.to_toml(),
            "cameras": [camera.to_toml() for camera in settings.cameras],
            "issued": [board.to_toml() for board in settings.issued],
            "ids_seen": [i for board in answer.recognised for i in board.ids],
            "boards_seen": [
                one | ({"pour": ledger.pour} if one["number"] in issued else {})
                for one in boards_seen(answer)
            ],
            "result_sha256": result,
        }
        record_event(ledger, "measurement", body, act)
        seen[added.sha256 or ""] = answer
    for digest in {a.sha256 for a in kept if a.sha256 in there} - seen.keys():
        seen[digest] = recorded_measurement(ledger, there[digest])
    return tuple(_with_measured(a, seen.get(a.sha256 or "")) for a in kept)


def _with_measured(added: Added, seen: PhotoMeasurement | None) -> Added:
    camera = None if seen is None else seen.method.parameters.get("camera")
    says = added.says if camera is None else f"{added.says}, measured with the {camera}"
    return added.model_copy(update={"seen": seen, "says": says})
