"""Label maps laid onto the plane of a layer: rows across its bars, columns along them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.vision.bars.layer_axes import Floats, LayerAxes, Map, MatMaps, Plane

STEP_S_MM, STEP_N_MM = 8.0, 2.0
"""Raster steps along and across a layer. Across: well below the smallest bar; along: a fifth of a mesh, at least."""


@dataclass(frozen=True, slots=True)
class Raster:
    """Label maps laid onto a layer: rows across (n), columns along (s).

    Attributes:
        upper, lower: Probability of an upper and of a lower bar.
        centre: Centre-line cue.
        open: Where a bar could be seen: in the photo, within reach, not under the card.
        s, n: Station of each column, offset of each row. [mm]
        powers: 1, z and z^2 of each column with z = s in metres: a curve times these is its offset.
    """

    upper: Map
    lower: Map
    centre: Map
    open: NDArray[np.bool_]
    s: Floats
    n: Floats
    powers: Floats


def lay(
    maps: MatMaps, plane: Plane, axes: LayerAxes, reach_mm: float, board_mm: tuple[float, float]
) -> Raster:
    """Lay the label maps onto a layer's plane.

    Args:
        maps: Label maps of the layer's mat.
        plane: Metric model of the photo.
        axes: Axes of the layer.
        reach_mm: Radius around the board within which bars are sought.
        board_mm: Width and height of the card, which hides what lies under it.

    Returns:
        The raster.
    """
    s = np.arange(-reach_mm, reach_mm + 0.1, STEP_S_MM)
    n = np.arange(-reach_mm, reach_mm + 0.1, STEP_N_MM)
    coarse_s, coarse_n = np.linspace(s[0], s[-1], 33), np.linspace(n[0], n[-1], 33)
    grid_s, grid_n = np.meshgrid(coarse_s, coarse_n)
    px = axes.to_px(plane, grid_s.ravel(), grid_n.ravel())
    cell = ((px + 0.5) / np.asarray(maps.px_per_cell) - 0.5).astype(np.float32).reshape(33, 33, 2)
    at = _upsample(cell, len(n), len(s))
    x, y = np.ascontiguousarray(at[..., 0]), np.ascontiguousarray(at[..., 1])
    around = s**2 + n[:, None] ** 2 <= reach_mm**2
    height, width = maps.upper.shape
    inside = (x > 0) & (y > 0) & (x < width - 1) & (y < height - 1)
    together = cv2.merge([maps.upper, maps.lower, maps.centre])
    laid = cv2.remap(together, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    upper, lower, centre = (np.where(around, m, np.float32(0.0)) for m in cv2.split(laid))
    z = s / 1000.0
    return Raster(
        upper,
        lower,
        centre,
        inside & around & ~_under_card(axes, s, n, board_mm),
        s,
        n,
        np.stack([np.ones_like(z), z, z * z]),
    )


def _upsample(grid: Map, rows: int, cols: int) -> Map:
    """Bilinear from the corners of a coarse grid to a fine one whose first and last points coincide with it."""
    x = np.linspace(0, grid.shape[1] - 1, cols, dtype=np.float32)
    y = np.linspace(0, grid.shape[0] - 1, rows, dtype=np.float32)
    at_x, at_y = np.meshgrid(x, y)
    return np.asarray(cv2.remap(grid, at_x, at_y, cv2.INTER_LINEAR), np.float32)


def _under_card(axes: LayerAxes, s: Floats, n: Floats, board_mm: tuple[float, float]) -> NDArray[np.bool_]:
    c, d = math.cos(axes.direction_rad), math.sin(axes.direction_rad)
    x, y = s * c - n[:, None] * d, s * d + n[:, None] * c
    return np.asarray((np.abs(x) <= board_mm[0] / 2) & (np.abs(y) <= board_mm[1] / 2))
