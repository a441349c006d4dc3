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

from verifier.vision.find_bars import Floats, Plane
from verifier.vision.read_layers import ReadBar, ReadLayer

TILT_PRIOR_RAD = math.radians(0.8)
"""Standard deviation, per axis, of the angle between a card and the mat that it lies on."""

BAR_TURN_RAD = math.radians(0.4)
"""Standard deviation of a single bar's direction about its layer's (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Rays:
    """Viewing rays in board coordinates: a point at depth h is ``start + h * per_depth``."""

    start: Floats
    per_depth: Floats

    def on(self, depth_mm: float, tilt: Floats) -> Floats:
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
class _Group:
    """End points of the bars of one layer, and the doubt of each bar's direction."""

    depth_mm: float
    first: Rays
    last: Rays
    u_rad: Floats
    layer: int


def estimate_tilt(plane: Plane, layers: Sequence[ReadLayer]) -> MatTilt:
    """Estimate the tilt of the mat from the directions of its bars.

    Args:
        plane: Metric model of the photo.
        layers: Layers of the mat that the board lies on.

    Returns:
        Tilt and covariance; the prior alone where fewer than four bars can be used.

    Source:
        Linearised least squares with a prior (JCGM 102:2011; Gauss-Markov, from memory). The weights are Cauchy's, so
        that a bar laid askew pulls little.
    """
    groups = [g for i, layer in enumerate(layers) if (g := _group(plane, layer, i)) is not None]
    prior = np.eye(2) / TILT_PRIOR_RAD**2
    slope = np.zeros(2)
    covariance = np.asarray(np.linalg.inv(prior), np.float64)
    if sum(len(g.u_rad) for g in groups) < 4:
        return MatTilt(slope, covariance)
    u = np.concatenate([g.u_rad for g in groups])
    member = np.concatenate([np.full(len(g.u_rad), k) for k, g in enumerate(groups)])
    weight = 1.0 / u**2
    for _ in range(6):
        residual = _turns(groups, slope)
        step = 1e-4
        jacobian = np.stack([(_turns(groups, slope + step * e) - residual) / step for e in np.eye(2)], axis=1)
        # Each layer's own direction is free: take the weighted mean out of both sides.
        r, j = residual.copy(), jacobian.copy()
        for k in range(len(groups)):
            at = member == k
            w = weight[at] / weight[at].sum()
            r[at] -= w @ residual[at]
            j[at] -= w @ jacobian[at]
        normal = j.T @ (weight[:, None] * j) + prior
        slope = slope - np.linalg.solve(normal, j.T @ (weight * r) + prior @ slope)
        covariance = np.asarray(np.linalg.inv(normal), np.float64)
        weight = 1.0 / (u**2 * (1.0 + (r / (2.4 * u)) ** 2))
    return MatTilt(slope, covariance)


def _group(plane: Plane, layer: ReadLayer, index: int) -> _Group | None:
    usable = [b for b in layer.bars if b.seen_s_mm[1] - b.seen_s_mm[0] > 300.0]
    if len(usable) < 2:
        return None
    first = np.concatenate([_point(plane, layer, b, b.seen_s_mm[0]) for b in usable])
    last = np.concatenate([_point(plane, layer, b, b.seen_s_mm[1]) for b in usable])
    length = np.array([b.seen_s_mm[1] - b.seen_s_mm[0] for b in usable])
    u = np.hypot(BAR_TURN_RAD, 1.5 / length * math.sqrt(2.0))
    return _Group(layer.axes.height_mm, rays(plane, first), rays(plane, last), u, index)


def _point(plane: Plane, layer: ReadLayer, bar: ReadBar, s: float) -> Floats:

    return layer.points_px(plane, bar, np.array([s]))


def _turns(groups: Sequence[_Group], slope: Floats) -> Floats:
    """Direction of every bar on the tilted plane, in radians, counted from its layer's first bar."""
    out = []
    for g in groups:
        run = g.last.on(g.depth_mm, slope) - g.first.on(g.depth_mm, slope)
        angle = np.arctan2(run[:, 1], run[:, 0])
        out.append((angle - angle[0] + math.pi / 2) % math.pi - math.pi / 2)
    return np.concatenate(out)
