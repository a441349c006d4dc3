"""Directions of the layers of a mat, from where the labels see bars."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from verifier.vision.bars.layer_axes import Floats, Map, MatMaps, Plane, cell_px

DIRECTIONS_APART_DEG = 25.0
"""Two layers of a mat are taken to cross at this angle or more (common practice, no source)."""

MOST_CELLS, COARSE = 12000, 2
"""Of more cells than about this many, every second, third ... is used; of these again every second in the first look, to a degree."""

Directions = tuple[float | None, float | None]
"""Of the upper and the lower layer of a mat, in degrees."""


def layer_directions(
    maps: MatMaps,
    plane: Plane,
    heights_mm: tuple[float, float],
    centre_mm: tuple[float, float],
    reach_mm: float,
) -> Directions:
    """Directions of the upper and lower layer: along each the labelled cells, projected, pile up most sharply.

    Args:
        maps: Label maps of this mat.
        plane: Metric model of the photo.
        heights_mm: Depth of the upper and of the lower axis plane below the printed face.
        centre_mm: The board's centre in board coordinates.
        reach_mm: Radius around the board; cells beyond it are not used.

    Returns:
        Upper and lower direction in board coordinates, 0 to 180 degrees, or None where too few cells say such a bar. With
        both layers seen they are apart by ``DIRECTIONS_APART_DEG`` or more before each is sharpened to a tenth of a
        degree; a single one is given to a whole degree.
    """
    curves = [
        _sharpness(weight * maps.centre, maps, plane, height, centre_mm, reach_mm)
        for weight, height in zip((maps.upper, maps.lower), heights_mm, strict=True)
    ]
    grid = np.arange(180.0)
    if curves[0] is None or curves[1] is None:
        return tuple(None if c is None else float(np.argmax(c.coarse)) for c in curves)  # type: ignore[return-value]
    apart = np.abs((grid[:, None] - grid[None, :] + 90) % 180 - 90) >= DIRECTIONS_APART_DEG
    total = np.where(apart, curves[0].coarse[:, None] + curves[1].coarse[None, :], -1.0)
    i, j = np.unravel_index(int(np.argmax(total)), total.shape)
    return curves[0].refine(float(i)), curves[1].refine(float(j))


@dataclass(frozen=True, slots=True)
class _Sharpness:
    xy: Floats
    weight: Floats
    coarse: Floats

    def refine(self, direction_deg: float) -> float:
        """Sharpen a direction to a tenth of a degree."""
        fine = direction_deg + np.arange(-1.5, 1.51, 0.1)
        return float(fine[int(np.argmax(_pile_up(self.xy, self.weight, fine, 3.0)))] % 180.0)


def _sharpness(
    weight: Map,
    maps: MatMaps,
    plane: Plane,
    height_mm: float,
    centre_mm: tuple[float, float],
    reach_mm: float,
) -> _Sharpness | None:
    cells = np.flatnonzero(weight > 0.2)
    if len(cells) < 60:
        return None
    rows, cols = np.divmod(cells[:: 1 + len(cells) // MOST_CELLS], weight.shape[1])
    xy = plane.to_plane_mm(cell_px(maps.px_per_cell, cols, rows), height_mm) - np.asarray(centre_mm)
    near = np.hypot(xy[:, 0], xy[:, 1]) <= reach_mm
    if int(near.sum()) < 40:
        return None
    xy, w = xy[near], weight[rows, cols][near].astype(np.float64)
    return _Sharpness(xy, w, _pile_up(xy[::COARSE], w[::COARSE], np.arange(180.0), 8.0))


def _pile_up(xy: Floats, weight: Floats, directions_deg: Floats, bin_mm: float) -> Floats:
    """Sum of squares of the projected weights: largest where parallel lines fall into few bins."""
    out = np.empty(len(directions_deg))
    x, y = (xy / bin_mm).T
    # Whole bins beyond the farthest cell, so that cutting off digits rounds down.
    beyond = math.ceil(float(np.hypot(x, y).max())) + 1
    for k, direction in enumerate(np.radians(directions_deg)):
        across = y * math.cos(direction) - x * math.sin(direction) + beyond
        piled = np.bincount(across.astype(np.int64), weight)
        out[k] = piled @ piled
    return out / float(weight.sum()) ** 2
