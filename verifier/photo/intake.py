"""Taking photos in: hash first, then claims, then observations. A bad file is refused and the others go on."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta, timezone
from typing import Annotated, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import AwareDatetime, BaseModel, Field

from verifier.errors import BadInput
from verifier.photo.exif import ExifClaims, claims_of
from verifier.photo.exif_block import exif_block, thumbnail_of
from verifier.photo.exif_checks import exif_observations
from verifier.photo.file_checks import (
    history_observations,
    picture_observations,
    thumbnail_observations,
)
from verifier.photo.formats import OpenedPhoto, PhotoLimits, open_photo
from verifier.photo.likeness import copy_observations, hashes_of_turns, likeness
from verifier.photo.observations import Observation, ObservationKey
from verifier.photo.pixels import as_grey, orientation_to_apply, reduced_grey
from verifier.photo.place import SiteLimits, place_observations
from verifier.photo.second_reading import second_reading
from verifier.photo.time_checks import Window, night_observations, time_observations

Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
PerceptualHash = Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")]
_COUNTER = re.compile(r"^(.*?)(\d{3,})(\D*)$")


class KnownPhoto(BaseModel, frozen=True, extra="forbid"):
    """What is kept of a photo to recognise it, or its neighbour, again."""

    name: str
    sha256: Sha256
    perceptual_hash: PerceptualHash
    captured_local: datetime | None = None
    model: str | None = None


class Intake(BaseModel, frozen=True, extra="forbid"):
    """A photo taken in: its hash, what it is, what it claims, what was observed.

    ``width_px`` and ``height_px`` are as stored; ``orientation`` is the turn from stored to upright pixels (1 for
    HEIC, whose decoder turns). ``perceptual_hash`` is that of the upright picture.
    """

    name: str
    sha256: Sha256
    size_bytes: int
    received_at: AwareDatetime
    kind: Literal["JPEG", "PNG", "HEIC"]
    width_px: int
    height_px: int
    orientation: Annotated[int, Field(ge=1, le=8)]
    claims: ExifClaims
    perceptual_hash: PerceptualHash
    observations: tuple[Observation, ...]

    @property
    def upright_size_px(self) -> tuple[int, int]:
        """Width and height of the upright picture."""
        turned = self.orientation >= 5
        return (self.height_px, self.width_px) if turned else (self.width_px, self.height_px)

    @property
    def warnings(self) -> tuple[Observation, ...]:
        """The observations that must be answered before the photo can count."""
        return tuple(o for o in self.observations if o.weight == "warning")

    @property
    def known(self) -> KnownPhoto:
        """What to keep to recognise this photo again."""
        return KnownPhoto(
            name=self.name,
            sha256=self.sha256,
            perceptual_hash=self.perceptual_hash,
            captured_local=self.claims.captured_local,
            model=self.claims.model,
        )


class RefusedFile(BaseModel, frozen=True, extra="forbid"):
    """A file that could not be taken in as a photo. Its bytes are hashed all the same, so that it can be kept."""

    name: str
    sha256: Sha256
    size_bytes: int
    wrong: str
    todo: str


class Batch(NamedTuple):
    """What became of several files."""

    taken: tuple[Intake, ...]
    refused: tuple[RefusedFile, ...]


def take_in(
    data: bytes,
    name: str,
    *,
    received_at: datetime,
    site: SiteLimits | None = None,
    window: Window | None = None,
    known_photos: Sequence[KnownPhoto] = (),
    limits: PhotoLimits | None = None,
) -> Intake:
    """Take one photo in.

    Args:
        data: The bytes exactly as received; they are hashed before any decoder sees them.
        name: File name as received.
        received_at: When they arrived, with zone.
        site: Where photos of this pour may be taken.
        window: When photos of this pour may be taken.
        known_photos: Photos taken in before, to find copies and turned-back clocks.
        limits: What a photo may ask of this machine.

    Returns:
        Hash, claims and observations. No observation is a verdict.

    Raises:
        BadInput: If it is no photo, too large, or damaged.
        ValueError: If ``received_at`` has no zone.

    Source:
        RFC 3227, section 2 (each time with its zone); FIPS 180-4 (SHA-256); Exif 2.32 (CIPA DC-008).
    """
    if received_at.utcoffset() is None:
        raise ValueError(f"received_at {received_at.isoformat()} has no zone")
    sha256 = hashlib.sha256(data).hexdigest()
    opened = open_photo(data, name, limits)
    block = exif_block(opened.image)
    claims = claims_of(block)
    orientation = orientation_to_apply(opened)
    stored_px = opened.image.size
    tables = {k: list(v) for k, v in getattr(opened.image, "quantization", {}).items()}
    grey = reduced_grey(opened, name)
    upright = _turned(grey, orientation)
    turned_hashes = hashes_of_turns(upright)
    zone = timezone((window.start if window else received_at).utcoffset() or timedelta(0))
    observations = [
        *_remarks(opened),
        *exif_observations(block, claims, opened.kind, second_reading(block) if block else None),
        *picture_observations(opened.kind, name, stored_px, claims, tables, bits=opened.bits),
        *history_observations(claims, has_exif=bool(block)),
        *(time_observations(claims, received_at, window) if block else []),
        *(place_observations(claims, site) if block else []),
        *night_observations(claims, zone, float(grey.mean())),
        *_thumbnail(block, grey, stored_px),
        *copy_observations(
            sha256, turned_hashes, [(k.name, k.sha256, int(k.perceptual_hash, 16)) for k in known_photos]
        ),
        *_counter(name, claims, known_photos),
    ]
    return Intake(
        name=name,
        sha256=sha256,
        size_bytes=len(data),
        received_at=received_at,
        kind=opened.kind,
        width_px=stored_px[0],
        height_px=stored_px[1],
        orientation=orientation,
        claims=claims,
        perceptual_hash=f"{turned_hashes[0]:016x}",
        observations=tuple(observations),
    )


def take_in_all(
    files: Iterable[tuple[str, bytes]],
    *,
    received_at: datetime,
    site: SiteLimits | None = None,
    window: Window | None = None,
    known_photos: Sequence[KnownPhoto] = (),
    limits: PhotoLimits | None = None,
) -> Batch:
    """Take several files in; one that can't be read stops none of the others.

    Args:
        files: Name and bytes of each, as received.
        received_at: When they arrived, with zone.
        site: Where photos of this pour may be taken.
        window: When photos of this pour may be taken.
        known_photos: Photos taken in before; each photo of the batch also knows those ahead of it.
        limits: What a photo may ask of this machine.

    Returns:
        Photos taken in, and files refused with the reason; together every file once.

    Raises:
        ValueError: If ``received_at`` has no zone.
    """
    taken: list[Intake] = []
    refused: list[RefusedFile] = []
    known = list(known_photos)
    for name, data in files:
        try:
            photo = take_in(
                data,
                name,
                received_at=received_at,
                site=site,
                window=window,
                known_photos=known,
                limits=limits,
            )
        except BadInput as error:
            sha256 = hashlib.sha256(data).hexdigest()
            refused.append(
                RefusedFile(
                    name=name, sha256=sha256, size_bytes=len(data), wrong=error.wrong, todo=error.todo
                )
            )
            continue
        taken.append(photo)
        known.append(photo.known)
    return Batch(tuple(taken), tuple(refused))


def _turned(grey: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """The reduced picture, upright."""
    flipped = np.fliplr(grey) if orientation in (2, 4, 5, 7) else grey
    return np.rot90(flipped, {1: 0, 2: 0, 3: 2, 4: 2, 5: 1, 6: 3, 7: 3, 8: 1}[orientation])


def _remarks(opened: OpenedPhoto) -> list[Observation]:
    found = [
        Observation(
            key=ObservationKey.DECODER_REMARK,
            weight="note",
            value=remark,
            says="The decoder remarked on the file's structure.",
            todo="The picture could be read. Send it again if it looks wrong.",
            source=f"Decoder of {opened.kind}",
        )
        for remark in opened.remarks
    ]
    if opened.exif_blocks is not None and opened.exif_blocks > 1:
        found.append(
            Observation(
                key=ObservationKey.SEVERAL_EXIF_BLOCKS,
                weight="warning",
                value=float(opened.exif_blocks),
                limit=1.0,
                unit="blocks",
                says="The file carries camera data more than once; which of it is shown depends on the program.",
                todo="Send the photo as the phone stored it: cameras write one block.",
                source="Exif 2.32 (CIPA DC-008), 4.7.2",
            )
        )
    return found


def _thumbnail(block: bytes, grey: NDArray[np.uint8], stored_px: tuple[int, int]) -> list[Observation]:
    thumbnail = thumbnail_of(block) if block else None
    if thumbnail is None:
        return []
    return thumbnail_observations(stored_px, thumbnail.size, likeness(grey, as_grey(thumbnail)))


def _counter(name: str, claims: ExifClaims, known_photos: Sequence[KnownPhoto]) -> list[Observation]:
    """A lower file number with a later time, on one camera: the clock was changed, or files were renamed."""
    mine = _COUNTER.match(name)
    if mine is None or claims.captured_local is None:
        return []
    for other in known_photos:
        theirs = _COUNTER.match(other.name)
        if theirs is None or other.captured_local is None or other.model != claims.model:
            continue
        if (theirs[1], len(theirs[2])) != (mine[1], len(mine[2])) or theirs[2] == mine[2]:
            continue
        if (mine[2] > theirs[2]) != (claims.captured_local >= other.captured_local):
            return [
                Observation(
                    key=ObservationKey.COUNTER_AGAINST_TIME,
                    weight="note",
                    value=f"{name} at {claims.captured_local.isoformat()}",
                    limit=f"{other.name} at {other.captured_local.isoformat()}",
                    says="The order of the file numbers contradicts the order of the times.",
                    todo="Check whether the phone's clock was changed between the two, or a file renamed.",
                    source="DCF numbering (CIPA DC-009), order in time: common practice, no source",
                )
            ]
    return []
