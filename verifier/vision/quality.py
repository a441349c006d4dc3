"""Whether a photo is good enough to measure in: sharpness as an edge spread in mm on the mat, and exposure."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.errors import Refusal
from verifier.metrology.order_statistics import percentile
from verifier.vision.markers.find_board import FoundBoard

SPREAD_PER_SIGMA = 2.563
"""10-90 % width of an edge blurred by a normal curve, over its standard deviation."""

WIDEST_EDGE_MM = 6.5
"""An edge wider than this is as wide as the smallest bar: its two sides melt."""

WIDEST_EDGE_SHARE = 0.0017
"""Edge width as a share of the long side from which on a board that should be there can't be read."""

BLACK_GREY, WHITE_GREY = 14, 252
MOST_LOST = 0.35
"""Share of the mat's pixels that may be black or white through and through."""


def sharpness(board: FoundBoard, mm_per_px: float) -> tuple[float, Refusal | None]:
    """Edge spread on the board in mm, and a refusal where it is too wide.

    Args:
        board: The board as found, with the blur of its edges.
        mm_per_px: Size of a pixel on the mat.

    Returns:
        10-90 % width of a black-white edge in mm, and why not to go on, or None.
    """
    spread = SPREAD_PER_SIGMA * board.blur_px * mm_per_px
    if spread <= WIDEST_EDGE_MM:
        return spread, None
    say = (
        f"Edges on the board are {spread:.0f} mm wide; {WIDEST_EDGE_MM:.0f} mm is the most that can be measured. "
        "Hold the phone still, let it focus on the board, and take the photo again."
    )
    return spread, Refusal("blurred", say)


def shaken(grey: NDArray[np.uint8]) -> Refusal | None:
    """Refuse a photo without a readable board whose sharpest edges are wide: the board may be there, but smeared.

    Args:
        grey: (h, w) upright full-size picture.

    Returns:
        Why the photo has to be taken again, or None where its edges are sharp enough for a board to be read.
    """
    scale = min(1.0, 1600.0 / max(grey.shape))
    small = np.asarray(cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.float32)
    window = np.ones((31, 31), np.uint8)
    rise = cv2.dilate(small, window) - cv2.erode(small, window)
    steepest = np.zeros_like(small)
    for kernel in (np.array([[-0.5, 0, 0.5]], np.float32), np.array([[-0.5], [0], [0.5]], np.float32)):
        steepest = np.maximum(steepest, np.abs(np.asarray(cv2.filter2D(small, -1, kernel), np.float32)))
    steepest = np.asarray(cv2.dilate(steepest, window), np.float32)
    strong = rise >= max(float(percentile(rise.ravel(), 98.0)), 40.0)
    if not strong.any():
        return None
    width = float(np.percentile(0.8 * rise[strong] / np.maximum(steepest[strong], 0.1), 25)) / scale
    share = width / max(grey.shape)
    if share <= WIDEST_EDGE_SHARE:
        return None
    say = (
        f"Even the sharpest edges are {width:.0f} px wide; {WIDEST_EDGE_SHARE * max(grey.shape):.0f} px is the most that can be read. "
        "Hold the phone still, let it focus on the board, and take the photo again."
    )
    return Refusal("blurred", say)


def exposure(grey: NDArray[np.uint8], around_px: NDArray[np.float64]) -> Refusal | None:
    """Refuse a photo whose mat is lost in black or white.

    Args:
        grey: (h, w) grey picture, reduced or not.
        around_px: (k, 2) outline of the region that matters, in its pixels.

    Returns:
        Why not to go on, or None.
    """
    mask = np.zeros(grey.shape, np.uint8)
    cv2.fillPoly(mask, [np.rint(around_px).astype(np.int32)], 1)
    values = grey[mask > 0]
    if values.size == 0:
        return None
    white, black = float(np.mean(values >= WHITE_GREY)), float(np.mean(values <= BLACK_GREY))
    if white > MOST_LOST:
        say = f"{100 * white:.0f} % of the mat is pure white; {100 * MOST_LOST:.0f} % is the most. Tap the steel to set the exposure, and take it again."
        return Refusal("over-exposed", say)
    if black > MOST_LOST:
        say = f"{100 * black:.0f} % of the mat is pure black; {100 * MOST_LOST:.0f} % is the most. Bring light, or tap the steel to set the exposure."
        return Refusal("under-exposed", say)
    return None
