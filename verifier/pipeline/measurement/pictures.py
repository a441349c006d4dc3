"""Pictures of what was measured, for people: the photo with everything drawn in, and the mat from above.

They are made when photos come in and kept in the cache of this machine's user, outside any pour folder: nothing rests on
them, and whoever can write into a pour folder can't put another picture in front of a reviewer. The cache may be deleted
at any time.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Literal, get_args

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.errors import BadInput
from verifier.photo.pixels import upright_pixels
from verifier.vision.photo_measurement import PhotoMeasurement
from verifier.vision.pictures.overlay import draw_overlay, draw_rectified

Picture = NDArray[np.uint8]
Kind = Literal["measured", "taken", "above", "small"]
"""With what was measured drawn in, as taken, the mat seen from above, and as taken in small."""

WIDTH_PX: dict[Kind, int] = {"measured": 1560, "taken": 1560, "above": 1560, "small": 320}
DRAWN_BY = 1
"""Raised whenever the same measurement is drawn in another way, so that no older picture is shown."""


def overlay_of(original: Path, seen: PhotoMeasurement, *, width_px: int = 1560) -> Picture:
    """Draw what was measured into the upright photo.

    Args:
        original: Bytes of the photo.
        seen: What was measured in it.
        width_px: Width of the picture.

    Returns:
        The picture (h, width_px, 3), blue-green-red.

    Raises:
        BadInput: If the photo can't be decoded.
    """
    return draw_overlay(upright_pixels(original.read_bytes(), seen.photo.name), seen, width_px=width_px)


def rectified_of(original: Path, seen: PhotoMeasurement, *, width_px: int = 1560) -> Picture | None:
    """Draw the mat as seen from straight above, with a grid of 100 mm.

    Args:
        original: Bytes of the photo.
        seen: What was measured in it.
        width_px: Width of the picture.

    Returns:
        The picture, None where no plane was found.

    Raises:
        BadInput: If the photo can't be decoded.
    """
    return draw_rectified(upright_pixels(original.read_bytes(), seen.photo.name), seen, width_px=width_px)


def picture_of(original: Path, seen: PhotoMeasurement, kind: Kind) -> bytes | None:
    """A picture of a photo, from the cache if it was made before.

    Args:
        original: Bytes of the photo, as the record names them.
        seen: What was measured in it.
        kind: Which picture.

    Returns:
        JPEG bytes, None where there is no such picture.

    Raises:
        BadInput: If the photo can't be decoded.
    """
    if seen.photo.width_px == 0 or (kind == "above" and (seen.mat_to_px is None or seen.board is None)):
        return None
    place = _place(seen, kind)
    try:
        return place.read_bytes()
    except OSError:  # not made yet, or the cache can't be read: it is drawn now
        data = _drawn(upright_pixels(original.read_bytes(), seen.photo.name), seen, kind)
        _keep(place, data)
        return data


def thumbnail_of(sha256: str, read: Callable[[str], bytes | None], *, width_px: int = 320) -> bytes | None:
    """An original in small, whether or not anything was measured in it; from the cache if it was made before.

    Args:
        sha256: Hash of the original.
        read: Hash -> bytes, None where they are not there.
        width_px: Width of the picture.

    Returns:
        JPEG bytes, None where the original is not there or is no picture.
    """
    name = hashlib.sha256(f"{DRAWN_BY} original {width_px} {sha256}".encode()).hexdigest()
    place = cache_folder() / name[:2] / f"{name}.jpg"
    try:
        return place.read_bytes()
    except OSError:  # not made yet, or the cache can't be read: it is drawn now
        original = read(sha256)
    if original is None or hashlib.sha256(original).hexdigest() != sha256:
        return None
    try:
        data = _encoded(_in_small(upright_pixels(original, sha256), width_px))
    except BadInput:
        return None
    _keep(place, data)
    return data


def keep_pictures(photos: Sequence[tuple[Path, PhotoMeasurement]], *, workers: int = 1) -> None:
    """Make all pictures of photos that have just come in, so that nobody waits for them later.

    Args:
        photos: Bytes of each photo, and what was measured in it; those that can't be decoded are left out.
        workers: Threads that draw.
    """
    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(_all_of, photos))


def _all_of(photo: tuple[Path, PhotoMeasurement]) -> None:
    original, seen = photo
    if seen.photo.width_px == 0:
        return
    todo = [kind for kind in get_args(Kind) if not _place(seen, kind).is_file()]
    if not todo:
        return
    try:
        pixels = upright_pixels(original.read_bytes(), seen.photo.name)
    except (BadInput, OSError):
        return  # said where the photo is looked at
    for kind in todo:
        if kind != "above" or (seen.mat_to_px is not None and seen.board is not None):
            _keep(_place(seen, kind), _drawn(pixels, seen, kind))


def _drawn(pixels: Picture, seen: PhotoMeasurement, kind: Kind) -> bytes:
    width = WIDTH_PX[kind]
    if kind == "measured":
        picture: Picture | None = draw_overlay(pixels, seen, width_px=width)
    elif kind == "above":
        picture = draw_rectified(pixels, seen, width_px=width)
    else:
        picture = _in_small(pixels, width)
    assert picture is not None  # a mat without a plane was sorted out before
    return _encoded(picture)


def _in_small(pixels: Picture, width: int) -> Picture:
    height = max(1, round(pixels.shape[0] * width / pixels.shape[1]))
    return np.asarray(cv2.resize(pixels, (width, height), interpolation=cv2.INTER_AREA), np.uint8)


def _encoded(picture: Picture) -> bytes:
    done, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 86])
    assert done
    return bytes(data)


def _place(seen: PhotoMeasurement, kind: Kind) -> Path:
    """Named by everything that the picture is drawn from: another measurement of the same photo is another picture."""
    told = f"{DRAWN_BY} {kind} {WIDTH_PX[kind]} {seen.model_dump_json()}"
    name = hashlib.sha256(told.encode()).hexdigest()
    return cache_folder() / name[:2] / f"{name}.jpg"


def cache_folder() -> Path:
    """Where pictures are kept.

    Returns:
        A folder of the user; it need not exist.

    Source:
        XDG Base Directory Specification 0.8.
    """
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "verifier" / "pictures"


def _keep(place: Path, data: bytes) -> None:
    """A cache that can't be written costs time, nothing else."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=place.parent, suffix=".new", delete=False) as fresh:
            fresh.write(data)
        Path(fresh.name).replace(place)
    except OSError:
        return


def write_overlay(original: Path, seen: PhotoMeasurement, folder: Path) -> Path:
    """Write the overlay of a photo beside others.

    Args:
        original: Bytes of the photo.
        seen: What was measured in it.
        folder: Where to; made if absent.

    Returns:
        The JPEG written, named after the photo.

    Raises:
        BadInput: If the folder can't be written.
    """
    done, data = cv2.imencode(".jpg", overlay_of(original, seen), [cv2.IMWRITE_JPEG_QUALITY, 88])
    target = folder / f"{Path(seen.photo.name).stem}-measured.jpg"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        target.write_bytes(bytes(data) if done else b"")
    except OSError as error:
        raise BadInput(
            f"The picture can't be written ({error.strerror}).",
            where=str(target),
            todo="Choose another folder.",
        ) from error
    return target
