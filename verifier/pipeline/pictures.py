"""Pictures of what was measured, for people: the photo with everything drawn in, and the mat from above."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.errors import BadInput
from verifier.photo.pixels import upright_pixels
from verifier.vision.overlay import draw_overlay, draw_rectified
from verifier.vision.photo_measurement import PhotoMeasurement

Picture = NDArray[np.uint8]


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
