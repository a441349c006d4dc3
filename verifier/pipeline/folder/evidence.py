"""What lies in a pour folder: photos and tape files, in the record or loose, and where each was taken.

FOLDER/pour.toml     drawing values, edited by hand
FOLDER/photos/       loose photos: read by a check, said to be not yet in the record
FOLDER/tape/         loose tape files, likewise
FOLDER/boards.toml   measured check lengths of printed boards
FOLDER/cameras/*.toml   camera profiles of this pour
FOLDER/record/       originals under their hash and the signed ledger; written by ``add`` and ``tape`` only
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal

from pydantic import BaseModel

from verifier.record.ledger import Ledger, Record
from verifier.release.reason import Reason
from verifier.rules.placing import Mat
from verifier.store import sha256_of

PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
TAPE_ENDINGS = (".csv",)
_SPOT_IN_NAME = re.compile(r"^[-_ ]*spot[-_ ]*(?P<spot>\d+)(?![\d])", re.IGNORECASE)


class Placement(BaseModel, frozen=True, extra="forbid"):
    """Which element and spot a photo shows, and who says so.

    ``basis`` ``file name`` is a claim of the name alone, ``board``
    what the number of the scale board in the picture tells.
    """

    element: str | None = None
    spot: str | None = None
    mat: Mat | None = None
    basis: Literal["said", "file name", "board", "none"] = "none"

    @property
    def complete(self) -> bool:
        """Whether the photo counts for a spot."""
        return self.element is not None and self.spot is not None


class Original(BaseModel, frozen=True, extra="forbid"):
    """One file of evidence. ``path`` is where its bytes lie now; ``seq`` its number in the record, None for a loose file."""

    kind: Literal["photo", "tape"]
    name: str
    sha256: str
    path: Path
    placement: Placement = Placement()
    seq: int | None = None
    received_at: datetime | None = None
    person: str | None = None

    @property
    def in_record(self) -> bool:
        """Whether the record holds it."""
        return self.seq is not None


class Evidence(BaseModel, frozen=True, extra="forbid"):
    """All files of evidence, in the order received, and remarks about files that were not taken.

    ``unfit`` holds number and faults of records that somebody wrote around the rules of the record.
    """

    photos: tuple[Original, ...]
    tapes: tuple[Original, ...]
    remarks: tuple[str, ...] = ()
    unfit: tuple[tuple[int, str], ...] = ()


def evidence_in(folder: Path, marks: Sequence[str]) -> Evidence:
    """List the evidence of a pour folder without changing anything.

    Args:
        folder: The pour folder.
        marks: Marks of the elements on the drawing.

    Returns:
        Originals of the record first, then loose files by name. The same bytes count once.
    """
    recorded, replaced, unfit = _recorded(folder, marks)
    loose, remarks = _loose(folder, marks)
    remarks = [*replaced, *remarks]
    seen = {o.sha256: o.name for o in recorded}
    for original in loose:
        if original.sha256 not in seen:
            seen[original.sha256] = original.name
            recorded.append(original)
        elif seen[original.sha256] != original.name:
            remarks.append(
                f"{original.name} holds the same bytes as {seen[original.sha256]}: it is counted once, as {seen[original.sha256]}."
            )
    return Evidence(
        photos=tuple(o for o in recorded if o.kind == "photo"),
        tapes=tuple(o for o in recorded if o.kind == "tape"),
        remarks=tuple(remarks),
        unfit=unfit,
    )


def has_record(folder: Path) -> bool:
    """Tell whether a pour folder has a record yet.

    Args:
        folder: The pour folder.

    Returns:
        True if its ledger is there.
    """
    return (folder / "record" / "ledger.sqlite").is_file()


def is_intact(original: Original) -> bool:
    """Hash the bytes of an original again.

    Args:
        original: A file of evidence.

    Returns:
        True if they are there and still have the hash under which they are known.
    """
    return original.path.is_file() and sha256_of(original.path) == original.sha256


def placed_by_name(name: str, marks: Iterable[str]) -> Placement:
    """Read element, spot and mat from a file name like ``s1-spot2-top.jpg``.

    Args:
        name: The file name.
        marks: Marks of the elements on the drawing.

    Returns:
        What the name claims; nothing if it doesn't begin with a mark of this pour followed by ``spot`` and a number.
    """
    stem = Path(name).stem
    for mark in sorted(marks, key=len, reverse=True):
        if not stem.casefold().startswith(mark.casefold()):
            continue
        found = _SPOT_IN_NAME.match(stem[len(mark) :])
        if found is not None:
            words = re.split(r"[-_ ]", stem[len(mark) + found.end() :].casefold())
            mat: Mat | None = "bottom" if "bottom" in words else "top" if "top" in words else None
            return Placement(element=mark, spot=str(int(found["spot"])), mat=mat, basis="file name")
    return Placement()


def _recorded(
    folder: Path, marks: Sequence[str]
) -> tuple[list[Original], list[str], tuple[tuple[int, str], ...]]:
    """Originals of the record; a tape file put right and added again under its name replaces the earlier one."""
    if not has_record(folder):
        return [], [], ()
    ledger = Ledger.open(folder)
    try:
        newest: dict[str, Original] = {}
        remarks: list[str] = []
        for record in ledger.records():
            if record.type not in ("photo", "tape"):
                continue
            original = _from_record(record, ledger, marks)
            key = original.sha256 if record.type == "photo" else f"tape file {original.name}"
            if record.type == "tape" and key in newest and newest[key].sha256 != original.sha256:
                remarks.append(
                    f"{original.name}, record {original.seq}, takes the place of the file of this name in record "
                    f"{newest[key].seq}; both stay in the record."
                )
            newest[key] = original
        unfit = tuple((seq, "; ".join(faults)) for seq, faults in ledger.unfit.items())
        return list(newest.values()), remarks, unfit
    finally:
        ledger.close()


def _from_record(record: Record, ledger: Ledger, marks: Sequence[str]) -> Original:
    """A file named twice in the record was placed anew; the last word counts, both stay in the record."""
    body = record.body
    name = str(body["name"])
    placement = Placement(
        element=body.get("element"), spot=body.get("spot"), mat=body.get("mat"), basis="said"
    )
    if placement.element is None and record.type == "photo":
        placement = placed_by_name(name, marks)
    return Original(
        kind="photo" if record.type == "photo" else "tape",
        name=name,
        sha256=str(body["sha256"]),
        path=ledger.store.objects.path_of(str(body["sha256"])),
        placement=placement,
        seq=record.seq,
        received_at=record.instant,
        person=body.get("claimed_by"),
    )


def _loose(folder: Path, marks: Sequence[str]) -> tuple[list[Original], list[str]]:
    found: list[Original] = []
    remarks: list[str] = []
    kinds: tuple[tuple[Literal["photo", "tape"], str, tuple[str, ...]], ...] = (
        ("photo", "photos", PHOTO_ENDINGS),
        ("tape", "tape", TAPE_ENDINGS),
    )
    for kind, place, endings in kinds:
        if not (folder / place).is_dir():
            continue
        for path in sorted((folder / place).iterdir()):
            if path.name.startswith("."):
                continue
            if not path.is_file() or path.suffix.casefold() not in endings:
                remarks.append(f"{place}/{path.name} is not read: {', '.join(endings)} files are.")
                continue
            placement = placed_by_name(path.name, marks) if kind == "photo" else Placement()
            found.append(
                Original(kind=kind, name=path.name, sha256=sha256_of(path), path=path, placement=placement)
            )
    return found, remarks


def damaged(original: Original) -> Reason:
    """Say that an original is no longer what the record says; nothing is worse.

    Args:
        original: A file of evidence whose bytes have changed, or that is missing.

    Returns:
        The reason.
    """
    return Reason(
        key=f"evidence/{original.sha256[:12]}/damaged",
        room="evidence",
        weight="stops",
        kind="evidence-damaged",
        says=f"{original.name} is missing or no longer has the bytes that were recorded.",
        clears="Keep the folder as it is and bring the true file back from a copy; the hash will tell.",
        about=(original.name,),
    )
