"""Pictures of photos for the page, and one gap shown on a photo."""

from __future__ import annotations

import cv2
import numpy as np

from verifier.metrology.measurement import Measurement
from verifier.pipeline.measurement import pictures
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.pipeline.measurement.pictures import Kind

__all__ = ["Kind", "marked_at", "picture_of", "pointed_at"]

_RING, _AROUND = 0.05, 0.6
"""Radius of the ring around a place, and how much of the photo is shown around it, as shares of its width."""
_STROKES = (((255, 255, 255), 11), ((36, 31, 28), 5))


def picture_of(entry: PhotoEntry, kind: Kind) -> bytes | None:
    """A picture of a photo.

    Args:
        entry: The photo.
        kind: With what was measured drawn in, as taken, the mat seen from above, or small.

    Returns:
        JPEG bytes, None where there is no such picture.

    Raises:
        BadInput: If the photo can't be decoded.
    """
    if entry.state == "damaged":
        return None
    return pictures.picture_of(entry.original.path, entry.seen, kind)


def pointed_at(entry: PhotoEntry, measured: Measurement) -> bytes | None:
    """The photo as taken, with the one line on it along which a value was measured.

    Args:
        entry: The photo that the value rests on.
        measured: The value; it has a line in pixels of the upright full-size photo.

    Returns:
        JPEG bytes, None where there is no such picture.
    """
    data = picture_of(entry, "taken")
    if data is None:
        return None
    photo = _pixels(data)
    scale = photo.shape[1] / entry.seen.photo.width_px
    line = [(round((x + 0.5) * scale), round((y + 0.5) * scale)) for x, y in measured.trace.line_px or ()]
    middle = tuple(round(float(v)) for v in np.mean(line, axis=0)) if line else None
    for colour, width in _STROKES:
        for a, b in zip(line[::2], line[1::2], strict=False):
            cv2.line(photo, a, b, colour, width, cv2.LINE_AA)
        if middle is not None:
            reach = round(0.62 * max(np.ptp(np.asarray(line), axis=0).max(), 60))
            cv2.circle(photo, (middle[0], middle[1]), reach, colour, max(2, width // 2), cv2.LINE_AA)
    return _jpeg(photo)


def marked_at(entry: PhotoEntry, point_px: tuple[float, float]) -> bytes | None:
    """The photo as taken, with a ring around one place, cut to what lies around it.

    Args:
        entry: The photo.
        point_px: The place, in pixels of the upright full-size photo.

    Returns:
        JPEG bytes, None where there is no such picture.
    """
    data = picture_of(entry, "taken")
    if data is None:
        return None
    photo = _pixels(data)
    height, width = photo.shape[:2]
    scale = width / entry.seen.photo.width_px
    x, y = (round((v + 0.5) * scale) for v in point_px)
    for colour, thick in _STROKES:
        cv2.circle(photo, (x, y), round(_RING * width), colour, thick, cv2.LINE_AA)
    wide, high = round(_AROUND * width), round(_AROUND * height)
    left, top = min(max(x - wide // 2, 0), width - wide), min(max(y - high // 2, 0), height - high)
    return _jpeg(np.ascontiguousarray(photo[top : top + high, left : left + wide]))


def _pixels(jpeg: bytes) -> pictures.Picture:
    return np.asarray(cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR), np.uint8)


def _jpeg(picture: pictures.Picture) -> bytes | None:
    done, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 86])
    return bytes(data) if done else None
