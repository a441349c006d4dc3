"""From a few markers to the whole board: project, look, refine, project further."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from cv2.typing import MatLike
from numpy.typing import NDArray

from verifier.board.definition import BoardDefinition
from verifier.metrology.order_statistics import median
from verifier.vision.markers.align_board import align
from verifier.vision.markers.corners import (
    Floats,
    Grey,
    mapped,
    marker_corners,
    marker_matches,
    saddle_points,
)
from verifier.vision.markers.marker_quads import Quad, pattern_of

SEEN = 0.62
"""Correlation of a marker's cells with its pattern from which on it counts as seen."""

ROUNDS = 8
"""Steps of growth; each reaches two squares further."""

ENOUGH_ALONE, ENOUGH_SHARE = 4, 0.3
"""So many markers, and so large a share of the board's, are a guess of their own."""

CLEARLY_SEEN = 0.8
"""A guess that shows this share of the board's markers needs no better one before the board is aligned."""

IN_PLACE_PX = 0.25
"""A board whose corners move less than this in an alignment was in its place: patches cut a little aside of theirs are found
some tenth of that aside."""


@dataclass(frozen=True, slots=True)
class GrownBoard:
    """A board that the picture confirms.

    Attributes:
        definition: Which board.
        to_px: (3, 3) homography from board mm to pixels.
        seen: (m,) whether each marker is seen.
        points_mm, points_px: (n, 2) points that look the same from all sides.
        outlined: Indices of markers with a clear outline.
        outer_px: (k, 4, 2) their corners.
        blur_px: Standard deviation of the blur.
    """

    definition: BoardDefinition
    to_px: Floats
    seen: NDArray[np.bool_]
    points_mm: Floats
    points_px: Floats
    outlined: NDArray[np.int64]
    outer_px: Floats
    blur_px: float


def grow(
    grey: Grey, sizes: Sequence[BoardDefinition], marks: Sequence[Quad], least_seen: int = 1
) -> GrownBoard | None:
    """Follow a board from markers that were read to all that can be seen of it.

    Args:
        grey: (h, w) full-size photo.
        sizes: Boards that carry the ids read; the one that shows most of its markers is taken.
        marks: Markers read, with ids of these boards.
        least_seen: Markers that must be seen before the board is looked at closely.

    Returns:
        The board, or None where the picture does not bear it out.
    """
    through = [(d, _through_markers(d, marks)) for d in sizes]
    if all(h is None for _, h in through):
        through = [(d, _through_markers(d, marks, strays=True)) for d in sizes]
    guesses = [_Guess(d, h, _seen(grey, d, h)) for d, h in through if h is not None]
    # In the dark or in blur the crossings can lead astray, and what many markers say together is the better guess.
    told = [g for g in guesses if len(marks) >= max(ENOUGH_ALONE, ENOUGH_SHARE * len(g.seen))]
    if not any(g.seen.mean() >= CLEARLY_SEEN for g in told):
        ways = [(g.definition, _followed(grey, g.definition, g.to_px, marks)) for g in guesses]
        told += [_Guess(d, h, _seen(grey, d, h)) for d, h in ways if h is not None]
    if not told:
        return None
    best = max(told, key=lambda g: (int(g.seen.sum()), float(g.seen.mean())))
    return _confirmed(grey, best.definition, best.to_px) if best.seen.sum() >= least_seen else None


@dataclass(frozen=True, slots=True)
class _Guess:
    """Where a board may lie, and which of its markers are then seen."""

    definition: BoardDefinition
    to_px: Floats
    seen: NDArray[np.bool_]


def _pairs(definition: BoardDefinition, marks: Sequence[Quad]) -> tuple[Floats, Floats, float]:
    """Corners of the markers that were read, on the board and in the photo, and the median side there."""
    corners_mm = definition.corners_mm()
    index = {marker_id: k for k, marker_id in enumerate(definition.ids)}
    known_mm = np.concatenate([corners_mm[index[q.id]] for q in marks if q.id is not None])
    return known_mm, np.concatenate([q.px for q in marks]), median(np.array([q.side_px for q in marks]))


def _through_markers(
    definition: BoardDefinition, marks: Sequence[Quad], *, strays: bool = False
) -> Floats | None:
    """Homography of a presumed board from its markers alone: through all of them, or leaving out strays."""
    known_mm, known_px, side_px = _pairs(definition, marks)
    return _homography(known_mm, known_px, 0.15 * side_px, strays=strays)


def _followed(grey: Grey, definition: BoardDefinition, to_px: Floats, marks: Sequence[Quad]) -> Floats | None:
    """Homography of a presumed board, from its markers outwards."""
    known_mm, known_px, side_px = _pairs(definition, marks)
    near = np.abs(mapped(to_px, known_mm) - known_px).max(axis=1) < 0.3 * side_px
    trusted, count = known_mm[near], 0
    for _ in range(ROUNDS):
        sight = _look(grey, definition, to_px, trusted)
        better = None if sight is None else _homography(sight.mm, sight.px, max(1.0, 0.06 * side_px))
        if sight is None or better is None:
            return None
        to_px, trusted = better, sight.mm
        if len(sight.mm) == count:
            break
        count = len(sight.mm)
    return to_px


def _seen(grey: Grey, definition: BoardDefinition, to_px: Floats) -> NDArray[np.bool_]:
    """Whether each marker of a presumed board is seen."""
    patterns = np.array([pattern_of(definition.dictionary, i) for i in definition.ids])
    return np.asarray(marker_matches(grey, to_px, patterns, definition.corners_mm()) > SEEN)


@dataclass(frozen=True, slots=True)
class _Sight:
    mm: Floats
    px: Floats


def _look(grey: Grey, definition: BoardDefinition, to_px: Floats, trusted: Floats) -> _Sight | None:
    """Corners that can be seen within two squares of what is trusted."""
    corners = definition.corners_mm()
    reach = 1.7 * (
        definition.chessboard.square_mm
        if definition.chessboard
        else 2.0 * float(definition.marker_sides_mm().max())
    )
    close = np.array([_distance(c.mean(axis=0), trusted) < reach for c in corners])
    if not close.any():
        # Markers of a plate may stand far apart: take the nearest ones.
        gap = np.array([_distance(c.mean(axis=0), trusted) for c in corners])
        close = gap <= np.sort(gap)[min(3, len(gap) - 1)]
    mm, px = [], []
    # On a checkered field the crossings lead; outlines of markers are slower to follow and less exact.
    if definition.chessboard is None:
        for k in np.flatnonzero(close & _seen(grey, definition, to_px)):
            mm.append(corners[k])
            px.append(marker_corners(grey, mapped(to_px, corners[k]))[0])
    else:
        inner = definition.chessboard.inner_corners_mm()
        inner = inner[[_distance(p, trusted) < reach for p in inner]]
        found, good = saddle_points(
            grey, mapped(to_px, inner), _square_px(to_px, inner, definition.chessboard.square_mm)
        )
        mm.append(inner[good])
        px.append(found[good])
    if not mm:
        return None
    sight = _Sight(np.concatenate(mm), np.concatenate(px))
    return sight if len(sight.mm) >= 4 else None


def _confirmed(grey: Grey, definition: BoardDefinition, to_px: Floats) -> GrownBoard | None:
    """Align the whole board until it is in its place; None where too little of it is seen."""
    corners = definition.corners_mm()
    side_px = float(
        np.median(_square_px(to_px, corners[:, 0], float(np.median(definition.marker_sides_mm()))))
    )
    tolerance = max(0.06 * side_px, 1.0)
    blur_px = None
    for turn in range(4):
        aligned = align(grey, definition, to_px, blur_px=blur_px, rough=turn == 0)
        good = aligned.good
        outlined, outer = (
            _outlines(grey, definition, to_px) if definition.chessboard is None else ([], np.empty((0, 4, 2)))
        )
        mm, px = (
            np.r_[aligned.mm[good], corners[outlined].reshape(-1, 2)],
            np.r_[aligned.px[good], outer.reshape(-1, 2)],
        )
        better = _homography(mm, px, tolerance)
        if better is None:
            return None
        moved = float(
            np.abs(mapped(better, corners.reshape(-1, 2)) - mapped(to_px, corners.reshape(-1, 2))).max()
        )
        to_px = better
        if turn > 0 and moved < IN_PLACE_PX:
            break
        blur_px = aligned.blur_px if moved < tolerance else None
    seen = _seen(grey, definition, to_px)
    if seen.sum() < (2 if definition.chessboard else 1):
        return None
    keep = np.hypot(*(mapped(to_px, mm) - px).T) < 2 * tolerance
    points, whole = keep[: int(good.sum())], keep[int(good.sum()) :].reshape(-1, 4).all(axis=1)
    return GrownBoard(
        definition,
        to_px,
        seen,
        aligned.mm[good][points],
        aligned.px[good][points],
        np.array(outlined, int)[whole],
        outer[whole],
        aligned.blur_px,
    )


def _outlines(grey: Grey, definition: BoardDefinition, to_px: Floats) -> tuple[list[int], Floats]:
    """Markers whose four edges are clear, and their corners (k, 4, 2)."""
    found = [(k, *marker_corners(grey, mapped(to_px, c))) for k, c in enumerate(definition.corners_mm())]
    seen = _seen(grey, definition, to_px)
    clear = [(k, quad) for k, quad, good in found if good and seen[k]]
    return [k for k, _ in clear], np.array([quad for _, quad in clear], float).reshape(-1, 4, 2)


def _homography(mm: Floats, px: Floats, tolerance_px: float, *, strays: bool = True) -> Floats | None:
    """Homography through point pairs, robust against strays if there may be some; None where they don't fix one."""
    if len(mm) < 4:
        return None
    matrix, _ = cv2.findHomography(mm, px, 0)
    if len(mm) > 4 and not _fits(matrix, mm, px, tolerance_px):
        if not strays:
            return None
        # Only where there are strays is it worth looking for them.
        matrix, inliers = cv2.findHomography(mm, px, cv2.RANSAC, tolerance_px, maxIters=500)
        if inliers is not None and inliers.sum() < max(4, 0.5 * len(mm)):
            return None
    if matrix is None or not np.isfinite(matrix).all():
        return None
    return np.asarray(matrix, float)


def _fits(matrix: MatLike | None, mm: Floats, px: Floats, tolerance_px: float) -> bool:
    """Whether every point lies within the tolerance."""
    if matrix is None:
        return False
    return bool((np.hypot(*(mapped(np.asarray(matrix, float), mm) - px).T) <= tolerance_px).all())


def _square_px(to_px: Floats, at_mm: Floats, side_mm: float) -> Floats:
    """Smaller side of a square in the photo, at each place (n, 2); NaN on the vanishing line of a wild guess."""
    here = mapped(to_px, at_mm)
    with np.errstate(invalid="ignore"):
        sides = [
            np.hypot(*(mapped(to_px, at_mm + step) - here).T) for step in ([side_mm, 0.0], [0.0, side_mm])
        ]
    return np.asarray(np.minimum(*sides))


def _distance(point: Floats, others: Floats) -> float:
    return float(np.hypot(*(others - point).T).min())
