"""Where things of a mat are: a plane of the mat in pixels and in mm, the axes of a layer on it, the label maps above it.

Image points are pixels of the upright full-size photo, x right, y down, (0, 0) the centre of the top-left pixel. A layer has
its own axes on its plane: ``s`` along the bars and ``n`` across them, in mm, with the origin at the board's centre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Map = NDArray[np.float32]


class Plane(Protocol):
    """What is needed of the metric model: both ways between pixels and a plane parallel to the board."""

    def to_plane_mm(self, px: Floats, height_below_face_mm: float) -> Floats:
        """Where the rays of pixels meet a plane parallel to the printed face.

        Args:
            px: (n, 2) pixels of the upright full-size photo.
            height_below_face_mm: Depth of the plane below the printed face, at the board.

        Returns:
            (n, 2) board coordinates in mm.
        """

    def to_px(self, mm: Floats, height_below_face_mm: float) -> Floats:
        """Where points of such a plane are seen; the inverse of ``to_plane_mm``.

        Args:
            mm: (n, 2) board coordinates in mm.
            height_below_face_mm: Depth of the plane below the printed face, at the board.

        Returns:
            (n, 2) pixels of the upright full-size photo.
        """


@dataclass(frozen=True, slots=True)
class MatMaps:
    """What the labels say about one mat.

    Attributes:
        upper: (h, w) probability that the cell shows an upper bar of this mat.
        lower: (h, w) likewise for a lower bar.
        centre: (h, w) centre-line cue, 0 to 1.
        px_per_cell: Pixels of the full-size photo per cell, x and y.
        photo_px: Width and height of the full-size photo.
    """

    upper: Map
    lower: Map
    centre: Map
    px_per_cell: tuple[float, float]
    photo_px: tuple[int, int]


@dataclass(frozen=True, slots=True)
class LayerAxes:
    """Axes of one layer on its plane.

    Attributes:
        direction_rad: Direction of the bars in board coordinates, 0 to pi.
        height_mm: Depth of the axis plane below the printed face.
        origin_mm: Board coordinates of s = n = 0.
    """

    direction_rad: float
    height_mm: float
    origin_mm: tuple[float, float]

    def to_board(self, s: Floats, n: Floats) -> Floats:
        """Board coordinates of points given along and across the layer.

        Args:
            s: (k,) along the bars. [mm]
            n: (k,) across them. [mm]

        Returns:
            (k, 2) board coordinates in mm, on the layer's plane.
        """
        c, d = math.cos(self.direction_rad), math.sin(self.direction_rad)
        return np.stack([self.origin_mm[0] + s * c - n * d, self.origin_mm[1] + s * d + n * c], axis=-1)

    def from_board(self, xy: Floats) -> Floats:
        """Along and across of points given in board coordinates; the inverse of ``to_board``.

        Args:
            xy: (k, 2) board coordinates in mm, on the layer's plane.

        Returns:
            (k, 2) along and across in mm.
        """
        c, d = math.cos(self.direction_rad), math.sin(self.direction_rad)
        q = xy - np.asarray(self.origin_mm)
        return np.stack([q[:, 0] * c + q[:, 1] * d, -q[:, 0] * d + q[:, 1] * c], axis=-1)

    def to_px(self, plane: Plane, s: Floats, n: Floats) -> Floats:
        """Where points given along and across the layer are seen.

        Args:
            plane: Metric model of the photo.
            s: (k,) along the bars. [mm]
            n: (k,) across them. [mm]

        Returns:
            (k, 2) pixels of the upright full-size photo.
        """
        return plane.to_px(self.to_board(s, n), self.height_mm)


def cell_px(px_per_cell: tuple[float, float], cols: NDArray[np.int64], rows: NDArray[np.int64]) -> Floats:
    """Pixels of the centres of label cells.

    Args:
        px_per_cell: Pixels of the full-size photo per cell, x and y.
        cols: (k,) columns of the cells, from 0 at the left.
        rows: (k,) rows of the cells, from 0 at the top.

    Returns:
        (k, 2) pixels of the upright full-size photo.
    """
    return np.stack([(cols + 0.5) * px_per_cell[0] - 0.5, (rows + 0.5) * px_per_cell[1] - 0.5], axis=-1)
