"""Upright pixels from a photo's bytes, and the way between stored and upright coordinates."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from verifier.photo.exif import orientation_of
from verifier.photo.exif_block import exif_block
from verifier.photo.formats import OpenedPhoto, PhotoLimits, decode, open_photo

Pixels = NDArray[np.uint8]

_REDUCED_SIDE_PX = 256
_STRIP_ROWS = 64
_TURN: dict[int, Any] = {
    1: lambda a: a,
    2: lambda a: cv2.flip(a, 1),
    3: lambda a: cv2.rotate(a, cv2.ROTATE_180),
    4: lambda a: cv2.flip(a, 0),
    5: cv2.transpose,
    6: lambda a: cv2.rotate(a, cv2.ROTATE_90_CLOCKWISE),
    7: lambda a: cv2.rotate(cv2.transpose(a), cv2.ROTATE_180),
    8: lambda a: cv2.rotate(a, cv2.ROTATE_90_COUNTERCLOCKWISE),
}


def upright_pixels(data: bytes, name: str = "photo", limits: PhotoLimits | None = None) -> Pixels:
    """Decode a photo strictly and turn it the way its camera was held.

    Pillow decodes, because it refuses a file that ends early; OpenCV is only ever given the array. Transparency is
    dropped. Nothing is resized, sharpened or colour-managed.

    Args:
        data: The whole file, JPEG, PNG or HEIC.
        name: File name, for messages.
        limits: What a photo may ask of this machine.

    Returns:
        (H, W, 3) uint8, blue-green-red, upright; writable and contiguous.

    Raises:
        BadInput: If it is no photo, too large or damaged.

    Source:
        Exif 2.32 (CIPA DC-008), tag 0x0112; HEIF turns its pictures itself (ISO/IEC 23008-12, irot and imir).
    """
    opened = open_photo(data, name, limits)
    return _turned(decode(opened, name), orientation_to_apply(opened))


def _turned(image: Image.Image, orientation: int) -> Pixels:
    """Turn a decoded picture strip by strip: each strip stays in the processor's cache, which halves the time."""
    width, height = image.size
    on_its_side, from_the_end = orientation >= 5, orientation in (3, 4, 6, 7)
    upright = np.empty((width, height, 3) if on_its_side else (height, width, 3), dtype=np.uint8)
    for top in range(0, height, _STRIP_ROWS):
        below = min(height, top + _STRIP_ROWS)
        strip = image.crop((0, top, width, below))
        # Four bytes a pixel, as the decoder keeps them: the quickest way out of it.
        raw = (strip if strip.mode == "RGB" else strip.convert("RGB")).tobytes("raw", "RGBX")
        stored = np.frombuffer(raw, np.uint8).reshape(below - top, width, 4)
        place = slice(height - below, height - top) if from_the_end else slice(top, below)
        if orientation == 1:
            cv2.cvtColor(stored, cv2.COLOR_RGBA2BGR, dst=upright[place])
            continue
        turned = _TURN[orientation](cv2.cvtColor(stored, cv2.COLOR_RGBA2BGR))
        if on_its_side:
            upright[:, place] = turned
        else:
            upright[place] = turned
    return upright


def orientation_to_apply(opened: OpenedPhoto) -> int:
    """Return the orientation from stored to upright pixels.

    Args:
        opened: An opened photo.

    Returns:
        1 to 8. For HEIC always 1: its decoder has turned the picture already.

    Source:
        Exif 2.32, tag 0x0112; ISO/IEC 23008-12 (HEIF), irot and imir.
    """
    return 1 if opened.kind == "HEIC" else orientation_of(exif_block(opened.image))


def stored_to_upright(orientation: int, width_px: int, height_px: int) -> NDArray[np.float64]:
    """Return the map from stored to upright pixel coordinates.

    Args:
        orientation: Exif orientation, 1 to 8.
        width_px: Width of the stored picture.
        height_px: Height of the stored picture.

    Returns:
        (2, 3) float: upright = map @ (x, y, 1).

    Raises:
        KeyError: If the orientation is not 1 to 8.

    Source:
        Exif 2.32 (CIPA DC-008), tag 0x0112.
    """
    right, down = width_px - 1.0, height_px - 1.0
    rows = {
        1: [[1, 0, 0], [0, 1, 0]],
        2: [[-1, 0, right], [0, 1, 0]],
        3: [[-1, 0, right], [0, -1, down]],
        4: [[1, 0, 0], [0, -1, down]],
        5: [[0, 1, 0], [1, 0, 0]],
        6: [[0, -1, down], [1, 0, 0]],
        7: [[0, -1, down], [-1, 0, right]],
        8: [[0, 1, 0], [-1, 0, right]],
    }
    return np.array(rows[orientation], dtype=np.float64)


def reduced_grey(opened: OpenedPhoto, name: str = "photo") -> Pixels:
    """Decode a photo strictly at low resolution, in grey, as stored.

    A JPEG is decoded at up to one eighth of its size: every coded bit is still read, so a file that ends early is
    still found, at a third of the time.

    Args:
        opened: An opened photo; its picture is used up.
        name: File name, for messages.

    Returns:
        (h, w) uint8, the longer side at least 256 px unless the photo is smaller.

    Raises:
        BadInput: If the photo is damaged.
    """
    image = opened.image
    if opened.kind == "JPEG":
        image.draft("L", (_REDUCED_SIDE_PX, _REDUCED_SIDE_PX))
    decode(opened, name)
    grey = image if image.mode == "L" else image.convert("RGB").convert("L")
    shrink = max(1, max(grey.size) // _REDUCED_SIDE_PX)
    return np.asarray(grey.reduce(shrink) if shrink > 1 else grey)


def as_grey(image: Image.Image) -> Pixels:
    """Return any small picture as grey values.

    Args:
        image: A picture.

    Returns:
        (h, w) uint8.
    """
    return np.asarray(image.convert("RGB").convert("L"))
