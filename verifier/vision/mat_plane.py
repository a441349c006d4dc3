"""The plane of the bars: parallel to the board only within a degree or so, and the bars themselves say how it tilts.

Bars of a layer are laid parallel. On the true plane their lines run parallel; on a plane tilted by mistake they
converge. So the tilt of the mat against the board is estimated from all bars of both layers together, held by a prior
(a card lying on bars), and what remains unknown of it goes into the budget of every gap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from verifier.vision.find_bars import Floats, Plane
from verifier.vision.read_layers import ReadLayer

TILT_PRIOR_RAD = math.radians(0.8)
"""Standard deviation, per axis, of the angle between a card and the mat that it lies on."""

BAR_TURN_RAD = math.radians(0.4)
"""Standard deviation of a single bar's direction about its layer's (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Rays:
    """Viewing rays in board coordinates: a point at depth h is ``start + h * per_depth``."""

    start: Floats
    per_depth: Floats

    def on(self, depth_mm: Floats, tilt: Floats) -> Floats:
        """Board coordinates (k, 2) where the rays meet ``h = depth + tilt . (x, y)``."""
        h = (depth_mm + self.start @ tilt) / (1.0 - self.per_depth @ tilt)
        return self.start + h[:, None] * self.per_depth


def rays(plane: Plane, px: Floats) -> Rays:
    """Viewing rays of pixels (k, 2)."""
    at_face, below = plane.to_plane_mm(px, 0.0), plane.to_plane_mm(px, 100.0)
    return Rays(at_face, (below - at_face) / 100.0)


@dataclass(frozen=True, slots=True)
class MatTilt:
    """Slope of the mat against the board, along board x and y, and its covariance (2, 2)."""

    slope: Floats
    covariance: Floats

    @property
    def degrees(self) -> float:
        """Angle between mat and board."""
        return float(np.degrees(np.hypot(*self.slope)))


@dataclass(frozen=True, slots=True)
class BarEnds:
    """Both ends of every bar that tells something about the tilt.

    Attributes:
        px: (2 k, 2) pixels, both ends of a bar after each other.
        depth_mm: (k,) depth of the bar's plane at the board.
        u_rad: (k,) standard uncertainty of its direction about its layer's.
        layer: (k,) its layer.
    """

    px: Floats
    depth_mm: Floats
    u_rad: Floats
    layer: NDArray[np.int64]


def bar_ends(plane: Plane, layers: Sequence[ReadLayer]) -> BarEnds | None:
    """Ends of the bars of a mat in pixels, None where fewer than four bars can be used.

    Args:
        plane: Metric model with which the layers were read.
        layers: Layers of the mat that the board lies on.
    """
    px, depth, u, member = [], [], [], []
    for k, layer in enumerate(layers):
        usable = [b for b in layer.bars if b.seen_s_mm[1] - b.seen_s_mm[0] > 300.0]
        if len(usable) < 2:
            continue
        for bar in usable:
            length = bar.seen_s_mm[1] - bar.seen_s_mm[0]
            px.append(layer.points_px(plane, bar, np.array(bar.seen_s_mm)))
            depth.append(layer.axes.height_mm)
            u.append(math.hypot(BAR_TURN_RAD, 1.5 * math.sqrt(2.0) / length))
            member.append(k)
    if len(px) < 4:
        return None
    return BarEnds(np.concatenate(px), np.array(depth), np.array(u), np.array(member))


def estimate_tilt(plane: Plane, ends: BarEnds | None) -> MatTilt:
    """Estimate the tilt of the mat from the directions of its bars.

    Args:
        plane: Metric model of the photo, or one with a parameter moved.
        ends: The bars as seen.

    Returns:
        Tilt and covariance; the prior alone where too few bars are seen.

    Source:
        Linearised least squares with a prior (Gauss-Markov; from memory). The weights are Cauchy's, so that a bar laid
        askew pulls little.
    """
    prior = np.eye(2) / TILT_PRIOR_RAD**2
    if ends is None:
        return MatTilt(np.zeros(2), np.asarray(np.linalg.inv(prior), np.float64))
    return _solve(_Bars(rays(plane, ends.px), ends.depth_mm, ends.u_rad, ends.layer), prior)


@dataclass(frozen=True, slots=True)
class _Bars:
    """Viewing rays of both ends of every bar (2k), depth of its plane, doubt of its direction, and its layer (k)."""

    ends: Rays
    depth_mm: Floats
    u_rad: Floats
    layer: NDArray[np.int64]


def _solve(bars: _Bars, prior: Floats) -> MatTilt:
    slope, step = np.zeros(2), 1e-4
    weight = 1.0 / bars.u_rad**2
    covariance = np.asarray(np.linalg.inv(prior), np.float64)
    for _ in range(5):
        residual = _turns(bars, slope)
        jacobian = np.stack([(_turns(bars, slope + step * e) - residual) / step for e in np.eye(2)], axis=1)
        # Each layer's own direction is free: take the weighted mean out of both sides.
        r, j = residual.copy(), jacobian.copy()
        for k in range(int(bars.layer.max()) + 1):
            at = bars.layer == k
            w = weight[at] / weight[at].sum()
            r[at] -= w @ residual[at]
            j[at] -= w @ jacobian[at]
        normal = j.T @ (weight[:, None] * j) + prior
        slope = slope - np.linalg.solve(normal, j.T @ (weight * r) + prior @ slope)
        covariance = np.asarray(np.linalg.inv(normal), np.float64)
        weight = 1.0 / (bars.u_rad**2 * (1.0 + (r / (2.4 * bars.u_rad)) ** 2))
    return MatTilt(slope, covariance)


def _turns(bars: _Bars, slope: Floats) -> Floats:
    """Direction of every bar on the tilted plane, in radians, counted from its layer's first bar."""
    xy = bars.ends.on(np.repeat(bars.depth_mm, 2), slope)
    run = xy[1::2] - xy[::2]
    angle = np.arctan2(run[:, 1], run[:, 0])
    first = angle[np.searchsorted(bars.layer, bars.layer)]
    return np.asarray((angle - first + math.pi / 2) % math.pi - math.pi / 2)
