"""Pictures of photos for the page, and one gap shown on a photo."""

from __future__ import annotations

import cv2
import numpy as np

from verifier.metrology.measurement import Measurement
from verifier.pipeline import pictures
from verifier.pipeline.photos import PhotoEntry
from verifier.pipeline.pictures import Kind

__all__ = ["Kind", "picture_of", "pointed_at"]

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
    photo = np.asarray(cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR), np.uint8)
    scale = photo.shape[1] / entry.seen.photo.width_px
    line = [(round((x + 0.5) * scale), round((y + 0.5) * scale)) for x, y in measured.trace.line_px or ()]
    middle = tuple(round(float(v)) for v in np.mean(line, axis=0)) if line else None
    for colour, width in _STROKES:
        for a, b in zip(line[::2], line[1::2], strict=False):
            cv2.line(photo, a, b, colour, width, cv2.LINE_AA)
        if middle is not None:
            reach = round(0.62 * max(np.ptp(np.asarray(line), axis=0).max(), 60))
            cv2.circle(photo, (middle[0], middle[1]), reach, colour, max(2, width // 2), cv2.LINE_AA)
    done, drawn = cv2.imencode(".jpg", photo, [cv2.IMWRITE_JPEG_QUALITY, 86])
    return bytes(drawn) if done else None
