"""Sub-pixel corners of a board whose place in the picture is roughly known.

Inner corners of a checkered field are saddle points: light that spills from white to black moves both edges towards
each other and leaves the crossing where it is. Outer corners of a marker have no such luck; all four edges move
outwards by the same amount, which the fit of the camera carries as a parameter of its own.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median

Floats = NDArray[np.float64]
Grey = NDArray[np.uint8]

EDGE_SAMPLES = 16
"""Profiles across each side of a marker."""


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
    ring = _sampled(grey, centre + max(radius, 2.5) * np.stack([np.cos(angle), np.sin(angle)], axis=1))
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
    profile = _sampled(grey, places.reshape(-1, 2)).reshape(EDGE_SAMPLES, -1)
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
    """Bilinear values at (n, 2) pixel places; outside, the nearest pixel."""
    x, y = px[:, 0].astype(np.float32), px[:, 1].astype(np.float32)
    return np.asarray(
        cv2.remap(grey, x[None], y[None], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[0], float
    )


def marker_match(grey: Grey, to_px: Floats, pattern: Floats, corners_mm: Floats) -> float:
    """How well the picture shows a marker at an expected place.

    Args:
        grey: (h, w) picture.
        to_px: (3, 3) homography from board mm to pixels.
        pattern: (c, c) cells of the marker with its border, 0 black, 1 white.
        corners_mm: (4, 2) corners of the marker. [mm]

    Returns:
        Correlation of the cells' mean brightness with the pattern, -1 to 1.
    """
    cells = cell_brightness(grey, to_px, len(pattern), corners_mm)
    return correlation(cells, pattern)


def cell_brightness(grey: Grey, to_px: Floats, cells: int, corners_mm: Floats) -> Floats:
    """Mean brightness (cells, cells) of a marker's cells, each over its middle part.

    Args:
        grey: (h, w) picture.
        to_px: (3, 3) homography from the plane of ``corners_mm`` to pixels.
        cells: Cells a side, border included.
        corners_mm: (4, 2) corners of the marker, from its own top-left one, clockwise.

    Returns:
        Brightness from top left, row by row.
    """
    sub = 3
    step = (np.arange(cells)[:, None] + np.linspace(0.3, 0.7, sub)).ravel() / cells
    u, v = np.meshgrid(step, step)
    right, down = corners_mm[1] - corners_mm[0], corners_mm[3] - corners_mm[0]
    plane = corners_mm[0] + u.reshape(-1, 1) * right + v.reshape(-1, 1) * down
    values = _sampled(grey, mapped(to_px, plane)).reshape(cells, sub, cells, sub)
    return np.asarray(values.mean(axis=(1, 3)))


def correlation(a: Floats, b: Floats) -> float:
    """Normalised correlation of two arrays; 0 where one of them is flat.

    Args:
        a: Array of any shape, in any unit: mean and size drop out.
        b: Array of the same shape.

    Returns:
        -1 (opposite) to 1 (alike up to brightness and contrast).

    Source:
        Pearson's coefficient (textbook, from memory).
    """
    x, y = a - a.mean(), b - b.mean()
    size = float(np.sqrt((x * x).sum() * (y * y).sum()))
    return float((x * y).sum() / size) if size > 1e-9 else 0.0


def mapped(homography: Floats, points: Floats) -> Floats:
    """Map points by a homography.

    Args:
        homography: (3, 3), acts on columns (x, y, 1).
        points: (n, 2), in the unit of the plane it maps from.

    Returns:
        (n, 2), in the unit of the plane it maps to; a point on the vanishing line comes back infinite or NaN.
    """
    out = np.c_[points, np.ones(len(points))] @ homography.T
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(out[:, :2] / out[:, 2:])
