"""Pictures of photos, made once for each photo and kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Literal

import cv2
import streamlit as st

from verifier.photo.pixels import upright_pixels
from verifier.pipeline.photos import PhotoEntry
from verifier.pipeline.pictures import Picture, overlay_of, rectified_of

Kind = Literal["measured", "taken", "above"]
WIDTH_PX = 1560
KEPT = 150
"""Pictures held in memory, about half a megabyte each."""


def picture_of(entry: PhotoEntry, kind: Kind) -> bytes | None:
    """A picture of a photo.

    Args:
        entry: The photo.
        kind: With what was measured drawn in, as taken, or the mat seen from above.

    Returns:
        JPEG bytes, None where there is no such picture.

    Raises:
        BadInput: If the photo can't be decoded.
    """
    if entry.seen.photo.width_px == 0 or entry.state == "damaged":
        return None
    return _drawn(entry.original.sha256, entry.original.name, kind, entry.seen.method.version, entry)


@st.cache_data(show_spinner=False, max_entries=KEPT)
def _drawn(sha256: str, name: str, kind: Kind, version: str, _entry: PhotoEntry) -> bytes | None:
    del sha256, name, version  # the key; the underscore keeps the entry itself out of it
    ways: dict[Kind, Callable[[Path, PhotoEntry], Picture | None]] = {
        "measured": lambda path, e: overlay_of(path, e.seen, width_px=WIDTH_PX),
        "taken": lambda path, e: _scaled(upright_pixels(path.read_bytes(), e.original.name)),
        "above": lambda path, e: rectified_of(path, e.seen, width_px=WIDTH_PX),
    }
    picture = ways[kind](_entry.original.path, _entry)
    if picture is None:
        return None
    done, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 86])
    return bytes(data) if done else None


def _scaled(pixels: Picture) -> Picture:
    height = max(1, round(pixels.shape[0] * WIDTH_PX / pixels.shape[1]))
    small: Picture = cv2.resize(pixels, (WIDTH_PX, height), interpolation=cv2.INTER_AREA)  # type: ignore[assignment]  # OpenCV's stubs give no element type
    return small
