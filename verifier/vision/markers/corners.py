"""Sub-pixel corners of a board whose place in the picture is roughly known.

Inner corners of a checkered field are saddle points: light that spills from white to black moves both edges towards
each other and leaves the crossing where it is. Outer corners of a marker have no such luck; all four edges move
outwards by the same amount, which the fit of the camera carries as a parameter of its own.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]

EDGE_SAMPLES = 16
"""Profiles across each side of a marker."""

SAMPLES_A_CELL = 3
"""A cell's brightness is the mean of so many samples, squared, over its middle part."""


def saddle_points(grey: Grey, guess_px: Floats, square_px: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Find the crossings of a checkered field near their expected places.

    Args:
        grey: (h, w) picture.
        guess_px: (n, 2) expected places. [px]
        square_px: (n,) side of a square there. [px]

    Returns:
        (n, 2) refined places and (n,) whether a crossing was found close by.
    """
    found = np.full_like(guess_px, np.nan)
    good = np.zeros(len(guess_px), bool)
    height, width = grey.shape
    # No further than to the corner of the next marker, which would pull.
    reach = np.clip(np.nan_to_num(0.13 * square_px), 2, 12).astype(int)
    inside = (guess_px > (reach + 3)[:, None]).all(axis=1) & (
        guess_px < np.array([width, height]) - (reach + 4)[:, None]
    ).all(axis=1)
    for half in np.unique(reach[inside]):
        chosen = np.flatnonzero(inside & (reach == half))
        points = guess_px[chosen].astype(np.float32).reshape(-1, 1, 2).copy()
        cv2.cornerSubPix(
            grey,
            points,
            (int(half), int(half)),
            (-1, -1),
            (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_MAX_ITER, 40, 0.003),
        )
        found[chosen] = points.reshape(-1, 2)
    moved = np.hypot(*(found - guess_px).T)
    for k in np.flatnonzero(inside & (moved < 0.2 * square_px + 1.0)):
        good[k] = _is_crossing(grey, found[k], 0.13 * square_px[k])
    return found, good


def _is_crossing(grey: Grey, centre: Floats, radius: float) -> bool:
    """Four alternating sectors on a circle around the point, with clear contrast."""
    angle = np.arange(48) * (2 * np.pi / 48)
    circle = centre + max(radius, 2.5) * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    ring = _sampled(grey, circle[None])[0]
    spectrum = np.abs(np.fft.rfft(ring - ring.mean())) / len(ring)
    # Two periods a turn are the crossing; one period is a plain edge, or a crossing half in shade.
    return bool(spectrum[2] > 4.0 and spectrum[2] > 1.2 * max(spectrum[1], spectrum[3]))


def marker_corners(grey: Grey, guess_px: Floats) -> tuple[Floats, bool]:
    """Refine the outer corners of one marker by lines through its four edges.

    Args:
        grey: (h, w) picture.
        guess_px: (4, 2) rough corners, clockwise in the picture or not. [px]

    Returns:
        (4, 2) intersections of neighbouring edge lines, and whether all four edges were clear.
    """
    corners = guess_px.copy()
    for _ in range(2):
        lines = [_edge_line(grey, corners[i], corners[(i + 1) % 4], corners.mean(axis=0)) for i in range(4)]
        if any(line is None for line in lines):
            return guess_px, False
        crossed = [_crossing(lines[i - 1], lines[i]) for i in range(4)]
        corners = np.array(crossed)
        if (
            not np.isfinite(corners).all()
            or np.abs(corners - guess_px).max() > 0.25 * np.linalg.norm(guess_px[1] - guess_px[0]) + 1
        ):
            return guess_px, False
    return corners, True


def _edge_line(grey: Grey, a: Floats, b: Floats, centre: Floats) -> tuple[Floats, Floats] | None:
    side = float(np.linalg.norm(b - a))
    if side < 6:
        return None
    along = (b - a) / side
    outward = np.array([-along[1], along[0]])
    outward *= np.sign((0.5 * (a + b) - centre) @ outward) or 1.0
    # A cell is a seventh of the side or so: reach no further in than the border, no further out than the quiet zone.
    reach = float(np.clip(side / 9, 1.5, 8.0))
    steps = np.linspace(-reach, reach, 17)
    station = np.linspace(0.12, 0.88, EDGE_SAMPLES)
    places = a + station[:, None, None] * (b - a) + steps[None, :, None] * outward
    profile = _sampled(grey, places)
    rise = np.clip(np.diff(profile, axis=1), 0, None)
    weight = rise.sum(axis=1)
    clear = weight > max(12.0, 0.35 * median(weight))
    if clear.sum() < EDGE_SAMPLES // 2:
        return None
    middle = 0.5 * (steps[1:] + steps[:-1])
    # Centroid of the rise above its own tail: sub-pixel, and steady under blur.
    rise = np.clip(rise - 0.15 * rise.max(axis=1, keepdims=True), 0, None)
    offset = (rise * middle).sum(axis=1) / np.maximum(rise.sum(axis=1), 1e-9)
    points = (a + station[:, None] * (b - a) + offset[:, None] * outward)[clear]
    for _ in range(2):
        origin = points.mean(axis=0)
        direction = np.linalg.svd(points - origin)[2][0]
        away = np.abs((points - origin) @ np.array([-direction[1], direction[0]]))
        keep = away <= 2.5 * max(median(away), 0.05)
        if keep.all() or keep.sum() < 6:
            break
        points = points[keep]
    return origin, direction


def _crossing(first: tuple[Floats, Floats] | None, second: tuple[Floats, Floats] | None) -> Floats:
    if first is None or second is None:
        return np.full(2, np.nan)
    (p, d), (q, e) = first, second
    turn = d[0] * e[1] - d[1] * e[0]
    if abs(turn) < 0.1:
        return np.full(2, np.nan)
    along = ((q - p)[0] * e[1] - (q - p)[1] * e[0]) / turn
    return np.asarray(p + along * d)


def _sampled(grey: Grey, px: Floats) -> Floats:
    """Bilinear values (r, c) at pixel places (r, c, 2); outside, the nearest pixel."""
    x, y = (np.ascontiguousarray(px[..., k], np.float32) for k in (0, 1))
    return np.asarray(cv2.remap(grey, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), float)


def marker_matches(grey: Grey, to_px: Floats, patterns: Floats, corners_mm: Floats) -> Floats:
    """How well the picture shows markers at expected places.

    Args:
        grey: (h, w) picture.
        to_px: (3, 3) homography from board mm to pixels.
        patterns: (n, c, c) cells of the markers with their borders, 0 black, 1 white.
        corners_mm: (n, 4, 2) corners of the markers, each from its own top-left one, clockwise. [mm]

    Returns:
        (n,) correlation of the cells' mean brightness with the pattern, -1 to 1.
    """
    count, cells = patterns.shape[:2]
    step = (np.arange(cells)[:, None] + np.linspace(0.3, 0.7, SAMPLES_A_CELL)).ravel() / cells
    v, u = np.meshgrid(step, step, indexing="ij")
    first = corners_mm[:, None, 0]
    right, down = corners_mm[:, None, 1] - first, corners_mm[:, None, 3] - first
    places = first + u.reshape(-1, 1) * right + v.reshape(-1, 1) * down
    values = _sampled(grey, mapped(to_px, places.reshape(-1, 2)).reshape(places.shape))
    grid = values.reshape(count, cells, SAMPLES_A_CELL, cells, SAMPLES_A_CELL)
    return correlations(np.asarray(grid.mean(axis=(2, 4))), patterns)


def correlations(a: Floats, b: Floats) -> Floats:
    """Normalised correlation of each of several arrays with another; 0 where one of them is flat.

    Args:
        a: (n, ...) arrays, in any unit: mean and size drop out.
        b: Arrays of the same shape.

    Returns:
        (n,) from -1 (opposite) to 1 (alike up to brightness and contrast).

    Source:
        Pearson's coefficient (textbook, from memory).
    """
    rows = (len(a), math.prod(a.shape[1:]))
    x, y = (v - v.mean(axis=1, keepdims=True) for v in (a.reshape(rows), b.reshape(rows)))
    size = np.sqrt((x * x).sum(axis=1) * (y * y).sum(axis=1))
    return np.asarray(np.where(size > 1e-9, (x * y).sum(axis=1) / np.maximum(size, 1e-9), 0.0))


def mapped(homography: Floats, points: Floats) -> Floats:
    """Map points by a homography.

    Args:
        homography: (3, 3), acts on columns (x, y, 1).
        points: (n, 2), in the unit of the plane it maps from.

    Returns:
        (n, 2), in the unit of the plane it maps to; a point on the vanishing line comes back infinite or NaN.
    """
    out = points @ homography[:, :2].T + homography[:, 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(out[:, :2] / out[:, 2:])
