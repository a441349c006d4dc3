"""A board drawn as it was printed, to compare a photo with."""

from __future__ import annotations

import math
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.board.definition import BoardDefinition
from verifier.vision.markers.corners import Floats
from verifier.vision.markers.marker_quads import pattern_of

Singles = NDArray[np.float32]
"""Brightness, of pixels and of what is drawn for them: single precision holds more digits of it than a photo."""

_UNIT = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])

FINER = 8
"""So many times finer is a marker drawn that does not lie along the axes of its board."""


@lru_cache(maxsize=8)
def drawn(definition: BoardDefinition, px_per_mm: float) -> tuple[NDArray[np.float32], Floats]:
    """Draw a board without blur: each pixel as light as the share of it that is white.

    Args:
        definition: The board.
        px_per_mm: Resolution.

    Returns:
        (h, w) brightness from 0 to 1 on white ground, and the place in board mm of its top-left edge.
    """
    corners = definition.corners_mm().reshape(-1, 2)
    fields = [
        (quad, pattern_of(definition.dictionary, marker_id))
        for marker_id, quad in zip(definition.ids, definition.corners_mm(), strict=True)
    ]
    if definition.chessboard:
        (columns, rows), side = definition.chessboard.squares, definition.chessboard.square_mm
        corners = np.r_[corners, [[0, 0], [columns * side, rows * side]]]
        black = [(c, r) for r in range(rows) for c in range(columns) if (r + c) % 2 == 0]
        fields += [((_UNIT + place) * side, np.zeros((1, 1))) for place in black]
    margin = 0.1 * float(np.ptp(corners, axis=0).max())
    origin = corners.min(axis=0) - margin
    width, height = np.ceil((np.ptp(corners, axis=0) + 2 * margin) * px_per_mm).astype(int)
    picture = np.ones((height, width), np.float32)
    for quad, cells in fields:
        _blacken(picture, (quad - origin) * px_per_mm, cells)
    return picture, origin


def _blacken(picture: Singles, quad_px: Floats, cells: Floats) -> None:
    """Take away what the black cells of a field cover of each pixel.

    Args:
        picture: (h, w) to draw in.
        quad_px: (4, 2) corners of the field in it, from its own top-left one clockwise.
        cells: (n, n) cells of the field, 0 black and 1 white.
    """
    (left, top), (right, bottom) = quad_px.min(axis=0), quad_px.max(axis=0)
    x0, y0, x1, y1 = int(left), int(top), math.ceil(right), math.ceil(bottom)
    if np.abs(quad_px - (left, top) - _UNIT * (right - left, bottom - top)).max() < 1e-3:
        edges = np.linspace(0.0, 1.0, len(cells) + 1)
        down = _shares(top - y0 + edges * (bottom - top), y1 - y0)
        along = _shares(left - x0 + edges * (right - left), x1 - x0)
        black = np.asarray(down @ (1.0 - cells) @ along.T, np.float32)
    else:
        size = ((x1 - x0) * FINER, (y1 - y0) * FINER)
        source = (_UNIT * len(cells) - 0.5).astype(np.float32)
        target = ((quad_px - (x0, y0)) * FINER - 0.5).astype(np.float32)
        warp = cv2.getPerspectiveTransform(source, target)
        fine = cv2.warpPerspective(1.0 - cells, warp, size, flags=cv2.INTER_NEAREST)
        average = cv2.resize(fine, None, fx=1 / FINER, fy=1 / FINER, interpolation=cv2.INTER_AREA)
        black = np.asarray(average, np.float32)
    picture[y0:y1, x0:x1] -= black


def _shares(edges: Floats, count: int) -> Floats:
    """Share (count, n) of each pixel that lies between one edge (n + 1,) and the next, along one axis."""
    pixel = np.arange(count)[:, None]
    return np.asarray(np.clip(np.minimum(edges[1:], pixel + 1) - np.maximum(edges[:-1], pixel), 0.0, None))
