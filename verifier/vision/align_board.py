"""Exact places of a board's points: the board is drawn as the photo should show it, and shifted patch by patch.

A patch lies around an inner corner of the checkered field or around a whole marker. Both look the same from all sides,
so light that spills over from white to black does not move them; that is why their places, and not the outlines of the
markers, carry the metric model.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.board.definition import BoardDefinition
from verifier.vision.corners import Floats, Grey, correlation, mapped
from verifier.vision.marker_quads import pattern_of

BLURS_PX = (0.6, 0.9, 1.3, 1.8, 2.5, 3.5, 5.0)
"""Standard deviations of the blur that are tried."""

PIXELS_A_PATCH = 900
"""More pixels than this are thinned out: they add little and cost time."""

STEPS = 5
OVERSAMPLING = 2.0
MAX_SHIFT_SHARE = 0.2
"""A patch that moves further than this share of its half side has lost its place."""


@dataclass(frozen=True, slots=True)
class AlignedPoints:
    """Places of points that look the same from all sides.

    Attributes:
        mm: (n, 2) in board axes.
        px: (n, 2) in the photo.
        match: (n,) correlation of each patch with the drawing, those of lost patches set to 0.
        blur_px: Standard deviation of the blur that fits best.
    """

    mm: Floats
    px: Floats
    match: Floats
    blur_px: float

    @property
    def good(self) -> NDArray[np.bool_]:
        """Patches that are as clear as most of the others."""
        return np.asarray(self.match > max(0.75, 1.0 - 3.0 * (1.0 - float(np.median(self.match)))))


def align(grey: Grey, definition: BoardDefinition, to_px: Floats) -> AlignedPoints:
    """Find the exact places of all points of a board.

    Args:
        grey: (h, w) full-size photo.
        definition: The board.
        to_px: (3, 3) homography from board mm to pixels, right to within a pixel or two.

    Returns:
        Points with their places and how well each fits.
    """
    centres, halves = _patches(definition)
    corners = definition.corners_mm().reshape(-1, 2)
    px_per_mm = float(np.sqrt(abs(np.linalg.det(_slope(to_px, corners.mean(axis=0))))))
    scale = float(np.clip(OVERSAMPLING * px_per_mm, 0.5, 12.0))
    sample = np.linspace(0, len(centres) - 1, min(6, len(centres))).astype(int)
    trials = []
    for blur in BLURS_PX:
        drawing = _Drawing(definition, scale, blur * scale / px_per_mm)
        trials.append(
            (
                float(
                    np.median([_shifted(grey, drawing, to_px, centres[k], halves[k], 2)[1] for k in sample])
                ),
                blur,
            )
        )
        if len(trials) > 2 and trials[-1][0] < trials[-2][0] < trials[-3][0]:
            break
    blur = max(trials)[1]
    drawing = _Drawing(definition, scale, blur * scale / px_per_mm)
    found = [_shifted(grey, drawing, to_px, c, h, STEPS) for c, h in zip(centres, halves, strict=True)]
    return AlignedPoints(centres, np.array([f[0] for f in found]), np.array([f[1] for f in found]), blur)


def _patches(definition: BoardDefinition) -> tuple[Floats, Floats]:
    """Centres (n, 2) and half sides (n,) of the patches, in mm."""
    markers = definition.corners_mm()
    centres, halves = markers.mean(axis=1), 0.5 * definition.marker_sides_mm() * 1.12
    if definition.chessboard:
        inner = definition.chessboard.inner_corners_mm()
        centres = np.r_[inner, centres]
        halves = np.r_[np.full(len(inner), 0.42 * definition.chessboard.square_mm), halves]
    return centres, halves


class _Drawing:
    """The board as a blurred picture that can be sampled anywhere."""

    def __init__(self, definition: BoardDefinition, px_per_mm: float, blur: float) -> None:
        sharp, self.origin_mm = drawn(definition, round(px_per_mm, 2))
        self.px_per_mm = round(px_per_mm, 2)
        self.picture = cv2.GaussianBlur(sharp, (0, 0), max(blur, 0.3))

    def at(self, mm: Floats) -> Floats:
        """Brightness, 0 to 1, at (n, 2) places."""
        px = ((mm - self.origin_mm) * self.px_per_mm - 0.5).astype(np.float32)
        return np.asarray(
            cv2.remap(
                self.picture,
                px[None, :, 0],
                px[None, :, 1],
                cv2.INTER_LINEAR,
                borderMode=cv2.BORDER_REPLICATE,
            )[0],
            float,
        )


@lru_cache(maxsize=8)
def drawn(definition: BoardDefinition, px_per_mm: float) -> tuple[NDArray[np.float32], Floats]:
    """Draw a board without blur.

    Args:
        definition: The board.
        px_per_mm: Resolution.

    Returns:
        (h, w) brightness from 0 to 1 on white ground, and the place in board mm of its top-left edge.
    """
    corners = definition.corners_mm().reshape(-1, 2)
    polygons: list[tuple[Floats, float]] = []
    if definition.chessboard:
        (columns, rows), side = definition.chessboard.squares, definition.chessboard.square_mm
        corners = np.r_[corners, [[0, 0], [columns * side, rows * side]]]
        square = np.array([[0.0, 0.0], [side, 0.0], [side, side], [0.0, side]])
        polygons += [
            (square + np.array([c * side, r * side]), 0.0)
            for r in range(rows)
            for c in range(columns)
            if (r + c) % 2 == 0
        ]
    for marker_id, quad in zip(definition.ids, definition.corners_mm(), strict=True):
        pattern = pattern_of(definition.dictionary, marker_id)
        polygons.append((quad, 0.0))
        step = (quad[1] - quad[0]) / len(pattern), (quad[3] - quad[0]) / len(pattern)
        cell = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
        for row, column in np.argwhere(pattern > 0.5):
            places = cell + np.array([column, row])
            polygons.append((quad[0] + places[:, :1] * step[0] + places[:, 1:] * step[1], 1.0))
    margin = 0.1 * float(np.ptp(corners, axis=0).max())
    origin = corners.min(axis=0) - margin
    width, height = np.ceil((np.ptp(corners, axis=0) + 2 * margin) * px_per_mm).astype(int)
    picture = np.ones((height, width), np.float32)
    for polygon, value in polygons:
        points = np.round(((polygon - origin) * px_per_mm - 0.5) * 256).astype(np.int32)
        cv2.fillConvexPoly(picture, points, value, cv2.LINE_8, 8)
    return picture, origin


def _shifted(
    grey: Grey, drawing: _Drawing, to_px: Floats, centre: Floats, half_mm: float, steps: int
) -> tuple[Floats, float]:
    """Shift one patch of the drawing until it fits the photo; brightness and contrast are free."""
    start = mapped(to_px, centre[None])[0]
    box = mapped(to_px, centre + half_mm * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]))
    low, high = np.floor(box.min(axis=0)).astype(int), np.ceil(box.max(axis=0)).astype(int)
    height, width = grey.shape
    if (low < 2).any() or high[0] > width - 3 or high[1] > height - 3 or (high - low).min() < 5:
        return start, 0.0
    y, x = np.mgrid[low[1] : high[1] + 1, low[0] : high[0] + 1]
    pixels = np.stack([x.ravel(), y.ravel()], axis=1).astype(float)
    back = np.asarray(np.linalg.inv(to_px), np.float64)
    inside = (np.abs(mapped(back, pixels) - centre) <= half_mm).all(axis=1)
    pixels = pixels[inside]
    seen = grey[low[1] : high[1] + 1, low[0] : high[0] + 1].ravel()[inside].astype(float)
    stride = max(1, len(seen) // PIXELS_A_PATCH)
    pixels, seen = pixels[::stride], seen[::stride]
    shift, fit = np.zeros(2), np.zeros_like(seen)
    reach = MAX_SHIFT_SHARE * 0.5 * float((high - low).min()) + 1.0
    for _ in range(steps):
        here = pixels - shift
        model = drawing.at(mapped(back, here))
        slope = [
            drawing.at(mapped(back, here + d)) - drawing.at(mapped(back, here - d))
            for d in (np.array([0.5, 0.0]), np.array([0.0, 0.5]))
        ]
        design = np.stack([model, np.ones_like(model), -slope[0], -slope[1]], axis=1)
        solution = np.linalg.lstsq(design.T @ design + 1e-9 * np.eye(4), design.T @ seen, rcond=None)[0]
        if solution[0] <= 1.0:
            return start, 0.0
        step = solution[2:] / solution[0]
        shift = shift + np.clip(step, -1.5, 1.5)
        fit = model
        if np.abs(shift).max() > reach:
            return start, 0.0
        if np.abs(step).max() < 0.003:
            break
    return start + shift, correlation(fit, seen)


def _slope(to_px: Floats, at_mm: Floats) -> Floats:
    """Derivative (2, 2) of the homography at a place."""
    around = mapped(to_px, at_mm + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    return np.stack([around[1] - around[0], around[2] - around[0]], axis=1)
