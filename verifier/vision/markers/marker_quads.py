"""Quadrilaterals in a photo that may be markers, and reading them: strictly by the library, softly by correlation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from cv2.typing import MatLike

from verifier.board.definition import DICTIONARIES
from verifier.vision.markers.corners import SAMPLES_A_CELL, Floats, Grey, correlations

SOFT_GUESS = 0.72
"""Correlation of the cells with a pattern from which on an unread quadrilateral is followed up."""

SURE = 0.85
"""Correlation from which on a marker that was read is taken to be really there."""

ALIKE, LIKELIEST = 0.5, 2
"""Correlation from which on a quadrilateral may be a marker, wide of what the library reads, and for how many of those that it
resembles most it is looked at."""

_UNIT = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])


@dataclass(frozen=True, slots=True)
class Quad:
    """Four corners (4, 2) in full-size pixels, from the marker's own top-left one when it was read, and its id."""

    px: Floats
    id: int | None

    @property
    def side_px(self) -> float:
        """Mean side."""
        return float(np.linalg.norm(np.roll(self.px, -1, axis=0) - self.px, axis=1).mean())


@cache
def pattern_of(dictionary: str, marker_id: int) -> Floats:
    """Cells of a marker with its border: 0 black, 1 white.

    Args:
        dictionary: Name of the dictionary.
        marker_id: Id in it.

    Returns:
        (c, c) array, read-only.
    """
    book = cv2.aruco.getPredefinedDictionary(DICTIONARIES[dictionary])
    cells = book.markerSize + 2
    pattern = (cv2.aruco.generateImageMarker(book, marker_id, cells, borderBits=1) > 127).astype(float)
    pattern.setflags(write=False)
    return pattern


def sure_ones(grey: Grey, quads: Sequence[Quad], dictionary: str) -> list[Quad]:
    """Those quadrilaterals whose cells clearly show the id that was read.

    Args:
        grey: (h, w) photo, 8 bits.
        quads: Quadrilaterals in pixels of it.
        dictionary: Name of the dictionary in which their ids were read.

    Returns:
        The read ones whose cells correlate with the marker's pattern by more than ``SURE``, in their order.
    """
    read = [(quad, pattern_of(dictionary, quad.id)) for quad in quads if quad.id is not None]
    if not read:
        return []
    patterns = np.array([pattern for _, pattern in read])
    cells = quad_cells(grey, np.array([quad.px for quad, _ in read]), patterns.shape[1])
    alike = correlations(cells, patterns) > SURE
    return [quad for (quad, _), sure in zip(read, alike, strict=True) if sure]


def unit_to(px: Floats) -> Floats:
    """Homography from the unit square to four corners.

    Args:
        px: (4, 2) pixels of the photo, in the order top left, top right, bottom right, bottom left of the marker.

    Returns:
        (3, 3) matrix that takes (0, 0), (1, 0), (1, 1), (0, 1) to them.
    """
    return np.asarray(cv2.getPerspectiveTransform(_UNIT.astype(np.float32), px.astype(np.float32)), float)


def find_quads(
    picture: Grey, scale: float, dictionary: str, *, quick_from_px: float | None = None
) -> list[Quad]:
    """Search a picture for markers and for quadrilaterals that might be some.

    Args:
        picture: The photo, perhaps resized and with its contrast changed.
        scale: Its size against the full-size photo.
        dictionary: Name of the dictionary to read them with.
        quick_from_px: Look once only, at one size of neighbourhood for black and white, and for markers with sides from this
            on, in pixels of ``picture``.

    Returns:
        Read ones first, in full-size pixels.
    """
    how = _parameters(picture, quick_from_px)
    # The library compares each quadrilateral with every marker of a dictionary in turn, a thousand here, which takes nearly
    # all of its time. So it is asked for the quadrilaterals first, and then to read them as the few markers they resemble.
    every = _parameters(picture, quick_from_px)
    # Of quadrilaterals close to each other the library keeps those that it reads: the others count here, too.
    every.minGroupDistance = every.minMarkerDistanceRate = 0.0
    corners, _, rejected = _detected(picture, every, dictionary, (0,))
    ids = _resembled(picture, _corner_lists((*corners, *rejected)), dictionary)
    corners, read, rejected = _detected(picture, how, dictionary, ids or (0,))
    # A pixel of the resized picture covers 1/scale pixels; centres of corner pixels don't coincide.
    full = (_corner_lists((*corners, *rejected)) + 0.5) / scale - 0.5
    return [Quad(px, read[k] if k < len(read) else None) for k, px in enumerate(full)]


def _parameters(picture: Grey, quick_from_px: float | None) -> cv2.aruco.DetectorParameters:
    how = cv2.aruco.DetectorParameters()
    how.minMarkerPerimeterRate = 0.02
    how.polygonalApproxAccuracyRate = 0.05
    how.perspectiveRemovePixelPerCell = 6
    if quick_from_px is not None:
        how.minMarkerPerimeterRate = 4.0 * quick_from_px / max(picture.shape)
        how.adaptiveThreshWinSizeMin = how.adaptiveThreshWinSizeMax
    return how


def _detected(
    picture: Grey, how: cv2.aruco.DetectorParameters, dictionary: str, ids: tuple[int, ...]
) -> tuple[Sequence[MatLike], list[int], Sequence[MatLike]]:
    """Corners of the markers read, their ids, and corners of what was not read; only the given ids can be read."""
    book = cv2.aruco.getPredefinedDictionary(DICTIONARIES[dictionary])
    few = cv2.aruco.Dictionary(book.bytesList[list(ids)], book.markerSize, book.maxCorrectionBits)
    corners, places, rejected = cv2.aruco.ArucoDetector(few, how).detectMarkers(picture)
    read = [] if places is None else [ids[int(i)] for i in np.asarray(places).ravel()]
    return corners, read, rejected


def _corner_lists(corners: Sequence[MatLike]) -> Floats:
    return np.array([np.reshape(c, (4, 2)) for c in corners], float).reshape(-1, 4, 2)


def _resembled(picture: Grey, quads: Floats, dictionary: str) -> tuple[int, ...]:
    """Ids of the markers that quadrilaterals (n, 4, 2) look like: for each the likeliest few, if it looks like any."""
    if len(quads) == 0:
        return ()
    book = cv2.aruco.getPredefinedDictionary(DICTIONARIES[dictionary])
    patterns = _turned_patterns(dictionary, tuple(range(len(book.bytesList))))
    cells = quad_cells(picture, quads, book.markerSize + 2).reshape(len(quads), -1)
    cells = cells - cells.mean(axis=1, keepdims=True)
    match = cells @ patterns.T / np.maximum(np.linalg.norm(cells, axis=1, keepdims=True), 1.0)
    by_id = np.maximum.reduce([match[:, turn::4] for turn in range(4)])
    likeliest = np.argpartition(-by_id, min(LIKELIEST, by_id.shape[1] - 1), axis=1)[:, :LIKELIEST]
    alike = np.take_along_axis(by_id, likeliest, axis=1) > ALIKE
    return tuple(int(i) for i in np.unique(likeliest[alike]))


def quad_cells(picture: Grey, quads: Floats, cells: int) -> Floats:
    """Mean brightness of the cells of quadrilaterals, each over its middle part.

    Args:
        picture: (h, w) photo, 8 bits.
        quads: (n, 4, 2) corners in pixels of it, clockwise. [px]
        cells: Cells a side, border included.

    Returns:
        (n, cells, cells) brightness, 0 to 255, row by row from each first corner.
    """
    step = (np.arange(cells)[:, None] + np.linspace(0.3, 0.7, SAMPLES_A_CELL)).ravel() / cells
    u, v = np.meshgrid(step, step)
    at = np.stack([u.ravel(), v.ravel(), np.ones(u.size)], axis=1)
    across = at @ np.array([unit_to(q).T for q in quads])
    x, y = (np.ascontiguousarray(across[..., k] / across[..., 2], np.float32) for k in (0, 1))
    values = cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    grid = np.asarray(values, float).reshape(-1, cells, SAMPLES_A_CELL, cells, SAMPLES_A_CELL)
    return np.asarray(grid.mean(axis=(2, 4)))


def read_softly(grey: Grey, quads: list[Quad], dictionary: str, wanted: list[int]) -> list[Quad]:
    """Read quadrilaterals by correlation of their cells with the patterns of the wanted markers.

    Args:
        grey: (h, w) full-size photo.
        quads: Unread quadrilaterals; read ones are passed over.
        dictionary: Name of the dictionary.
        wanted: Ids that may be there.

    Returns:
        Those that look like one of them, best first, corners turned to the marker's own order.
    """
    unread = [quad for quad in quads if quad.id is None and quad.side_px >= 10]
    if not unread:
        return []
    patterns = _turned_patterns(dictionary, tuple(wanted))
    cells = quad_cells(grey, np.array([q.px for q in unread]), int(np.sqrt(patterns.shape[1])))
    cells = cells.reshape(len(unread), -1)
    cells = cells - cells.mean(axis=1, keepdims=True)
    size = np.linalg.norm(cells, axis=1)
    guesses = []
    for k in np.flatnonzero(size >= 20):
        match = patterns @ (cells[k] / size[k])
        best = int(match.argmax())
        if match[best] > SOFT_GUESS:
            marker, turn = divmod(best, 4)
            guesses.append((float(match[best]), Quad(np.roll(unread[k].px, turn, axis=0), wanted[marker])))
    return [quad for _, quad in sorted(guesses, key=lambda g: -g[0])]


@cache
def _turned_patterns(dictionary: str, wanted: tuple[int, ...]) -> Floats:
    """Each wanted pattern in four turns, as rows of length one: row 4m + t is what a quadrilateral shows whose corner
    list must be rolled by t to start at the marker's own top-left corner.
    """  # noqa: D205 - one sentence that doesn't fit one line
    rows = [np.rot90(pattern_of(dictionary, i), turn).ravel() for i in wanted for turn in range(4)]
    patterns = np.array(rows) - np.mean(rows, axis=1, keepdims=True)
    return np.asarray(patterns / np.linalg.norm(patterns, axis=1, keepdims=True))
