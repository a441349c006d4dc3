"""The plane of the bars, parallel to the board only within a degree or so, and the lens: the bars say something of both.

Bars of a layer are laid parallel and nearly straight. On the true plane their lines run parallel; on a plane tilted by
mistake they converge. Through the true lens they are straight; through one bent by mistake they bow, the more the
further out they lie. So the tilt of the mat and the bend of the lens are estimated from all bars of both layers
together, held by priors, and what remains unknown of them goes into the budget of every gap. No spacing is presumed.

A metric model may stand for many that differ a little (``PhotoGeometry``); what is computed with it then has their leading
axes, written ``(..., k)`` below.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from verifier.vision.bars.layer_axes import Floats, Plane
from verifier.vision.bars.read_layers import ReadLayer
from verifier.vision.metric.model_priors import MatPrior

TILT_PRIOR_RAD = MatPrior().board_tilt_u_rad
"""Standard deviation, per axis, of the angle between a card and the mat that it lies on."""

BAR_BOW_MM = 2.5
"""Standard deviation of a bar's bow: how far a metre to either side of its middle leaves its tangent. Straightened coil and
handled bars are out of straight by a few mm a metre (common practice, no source); drawn mats of the development pictures have
1.4, one bar in twenty 3.3 and more."""

BAR_TURN_RAD = math.radians(0.75)
"""Standard deviation of a single bar's direction about its layer's: laid to chalk marks within 10 mm at lines a metre and
more apart, 10 mm times the root of two over 1.1 m (common practice, no source); development pictures have 0.45 degrees."""


@dataclass(frozen=True, slots=True)
class Rays:
    """Viewing rays (..., k, 2), counted from the board's centre: a point at depth h is ``start + h * per_depth``."""

    start: Floats
    per_depth: Floats

    def on(self, depth_mm: Floats, tilt: Floats) -> Floats:
        """Places where the rays meet a tilted plane, ``h = depth + tilt . (x, y)``.

        Args:
            depth_mm: (k,) depth of the plane below the face at the board's centre, one for each ray.
            tilt: (..., 2) slope of the plane along board x and y, as tangents.

        Returns:
            (..., k, 2) places in mm, counted from the board's centre, seen square to the board.
        """
        slope = tilt[..., None]
        h = (depth_mm[:, None] + self.start @ slope) / (1.0 - self.per_depth @ slope)
        return np.asarray(self.start + h * self.per_depth)


def rays(plane: Plane, px: Floats, centre_mm: tuple[float, float]) -> Rays:
    """Viewing rays of pixels.

    Args:
        plane: Metric model of the photo.
        px: (k, 2) pixels of the upright photo.
        centre_mm: The board's centre in board coordinates.

    Returns:
        The k rays, each through its places at the face and 100 mm below it.
    """
    at_face, below = plane.to_plane_mm(px, 0.0), plane.to_plane_mm(px, 100.0)
    return Rays(at_face - np.asarray(centre_mm), (below - at_face) / 100.0)


class BentPlane(Plane, Protocol):
    """A metric model whose lens can be bent a little more or less, all else following as its corners ask."""

    @property
    def lens_u(self) -> float:
        """Standard uncertainty of its radial distortion k1; zero where it can't be bent."""

    def bent(self, more: Floats | float) -> Plane:
        """The model with more radial distortion, all else following.

        Args:
            more: Added to k1 (no unit; radius in focal lengths): one for all, or (...,) where this stands for many models.

        Returns:
            The bent model; this one is not changed.
        """


@dataclass(frozen=True, slots=True)
class MatShape:
    """What the bars say: slope of the mat against the board, along board x and y, and how much more the lens bends.

    Attributes:
        slope: (..., 2) tangents.
        bend: (...,) added to k1 of the lens.
        covariance: (..., 3, 3) of slope and bend from what bars don't tell: their own turns and bows, and the prior of the
            slope. The prior of the lens is not in it; it is among the doubts of the metric model.
    """

    slope: Floats
    bend: Floats
    covariance: Floats

    @property
    def degrees(self) -> Floats:
        """Angle between mat and board."""
        return np.asarray(np.degrees(np.hypot(self.slope[..., 0], self.slope[..., 1])))


@dataclass(frozen=True, slots=True)
class BarPoints:
    """Three points of every bar that tells something: both ends and the middle.

    Attributes:
        px: (3 k, 2) pixels: first end, middle, last end, bar after bar.
        depth_mm: (k,) depth of the bar's plane at the board.
        u_turn: (k,) standard uncertainty of its direction about its layer's, in radians.
        u_sagitta_mm: (k,) standard uncertainty of its middle about the line through its ends.
        layer: (k,) its layer, counted from 0.
        centre_mm: Centre of the board, about which the mat tilts.
    """

    px: Floats
    depth_mm: Floats
    u_turn: Floats
    u_sagitta_mm: Floats
    layer: NDArray[np.int64]
    centre_mm: tuple[float, float]


def bar_points(plane: Plane, layers: Sequence[ReadLayer]) -> BarPoints | None:
    """Points of the bars of a mat that are seen along more than 300 mm.

    Args:
        plane: Metric model with which the layers were read.
        layers: Layers of the mat that the board lies on; one with fewer than two such bars tells nothing and is passed over.

    Returns:
        The points in pixels, None where fewer than four bars can be used.
    """
    px: list[Floats] = []
    depth: list[float] = []
    u_turn: list[float] = []
    u_sagitta: list[float] = []
    member: list[int] = []
    for layer in layers:
        usable = [b for b in layer.bars if b.seen_s_mm[1] - b.seen_s_mm[0] > 300.0]
        if len(usable) < 2:
            continue
        index = (max(member) + 1) if member else 0
        for bar in usable:
            low, high = bar.seen_s_mm
            px.append(layer.points_px(plane, bar, np.array([low, (low + high) / 2, high])))
            depth.append(layer.axes.height_mm)
            u_turn.append(math.hypot(BAR_TURN_RAD, 1.5 * math.sqrt(2.0) / (high - low)))
            u_sagitta.append(math.hypot(BAR_BOW_MM * ((high - low) / 2000.0) ** 2, 0.4))
            member.append(index)
    if len(px) < 4:
        return None
    centre = layers[0].axes.origin_mm
    return BarPoints(
        np.concatenate(px), np.array(depth), np.array(u_turn), np.array(u_sagitta), np.array(member), centre
    )


def estimate_shape(plane: Plane, points: BarPoints | None, bend_of: BentPlane | None = None) -> MatShape:
    """Estimate the tilt of the mat and the bend of the lens: on the true plane, bars are parallel and straight.

    Args:
        plane: Metric model of the photo, or one with a parameter moved, or many such at once.
        points: The bars as seen.
        bend_of: The same model where its lens may be bent; None where it is known.

    Returns:
        The estimate with its covariance; the prior alone where too few bars are seen.

    Source:
        Linearised least squares with priors (Gauss-Markov; from memory). The weights are Cauchy's, so that a bar laid
        askew pulls little. Straight lines that are seen bowed as the measure of a lens: Brown 1971 (from memory).
    """
    u_lens = 0.0 if bend_of is None else bend_of.lens_u
    # A lens that can't be bent gets a prior that holds it at nothing.
    prior = np.diag([1.0 / TILT_PRIOR_RAD**2, 1.0 / TILT_PRIOR_RAD**2, 1.0 / max(u_lens, 1e-6) ** 2])
    if points is None:
        return MatShape(np.zeros(2), np.zeros(()), np.diag([TILT_PRIOR_RAD**2, TILT_PRIOR_RAD**2, 0.0]))
    step = 2e-3
    straight = rays(plane, points.px, points.centre_mm)
    bent = None if bend_of is None or u_lens == 0.0 else rays(bend_of.bent(step), points.px, points.centre_mm)
    return _solve(points, straight, bent, step, prior)


def _solve(points: BarPoints, straight: Rays, bent: Rays | None, step: float, prior: Floats) -> MatShape:
    """Gauss-Newton; the rays are taken as linear in the bend, which they are within a few hundredths of a pixel."""
    theta = np.zeros((*straight.start.shape[:-2], 3))
    u = np.concatenate([points.u_turn, points.u_sagitta_mm])
    weight = np.broadcast_to(1.0 / u**2, (*theta.shape[:-1], len(u)))
    held = prior * np.diag([1.0, 1.0, 0.0])
    noise = np.zeros((3, 3))
    for _ in range(5):
        residual, jacobian = _linearised(points, straight, bent, step, theta)
        r, j = _off_layer_means(points.layer, weight, residual, jacobian)
        weighted = np.swapaxes(j * weight[..., None], -1, -2)
        data = weighted @ j
        inverse = np.linalg.inv(data + prior)
        theta = theta - (inverse @ (weighted @ r[..., None] + prior @ theta[..., None]))[..., 0]
        noise = inverse @ (data + held) @ inverse
        weight = 1.0 / (u**2 * (1.0 + (r / (2.4 * u)) ** 2))
    return MatShape(theta[..., :2], theta[..., 2], np.asarray(noise, np.float64))


def _linearised(
    points: BarPoints, straight: Rays, bent: Rays | None, step: float, theta: Floats
) -> tuple[Floats, Floats]:
    """What is off (..., 2 k) at a slope and bend (..., 3), and its derivatives (..., 2 k, 3) by them."""
    tilt_step = 1e-4
    slope, share = theta[..., :2], theta[..., 2, None, None] / step
    now = _mixed(straight, bent, share)
    residual = _off(points, now, slope)
    columns = [(_off(points, now, slope + tilt_step * e) - residual) / tilt_step for e in np.eye(2)]
    if bent is None:
        columns.append(np.zeros_like(residual))
    else:
        columns.append((_off(points, _mixed(straight, bent, share + 1.0), slope) - residual) / step)
    return residual, np.stack(columns, axis=-1)


def _off_layer_means(
    layer: NDArray[np.int64], weight: Floats, residual: Floats, jacobian: Floats
) -> tuple[Floats, Floats]:
    """Both less their weighted means over the turns of each layer, whose own direction is free."""
    r, j = residual.copy(), jacobian.copy()
    for one in range(int(layer.max()) + 1):
        at = np.flatnonzero(layer == one)
        share = weight[..., at] / weight[..., at].sum(axis=-1, keepdims=True)
        r[..., at] -= (share * residual[..., at]).sum(axis=-1, keepdims=True)
        j[..., at, :] -= (share[..., None] * jacobian[..., at, :]).sum(axis=-2, keepdims=True)
    return r, j


def _mixed(straight: Rays, bent: Rays | None, share: Floats) -> Rays:
    if bent is None:
        return straight
    return Rays(
        straight.start + share * (bent.start - straight.start),
        straight.per_depth + share * (bent.per_depth - straight.per_depth),
    )


def _off(points: BarPoints, seen: Rays, slope: Floats) -> Floats:
    """Turns of all bars, in radians from their layer's first, then their sagittas in mm, on the tilted plane."""
    xy = seen.on(np.repeat(points.depth_mm, 3), slope)
    first, middle, last = (xy[..., k::3, :] for k in range(3))
    run, away = last - first, middle - first
    angle = np.arctan2(run[..., 1], run[..., 0])
    base = angle[..., np.searchsorted(points.layer, points.layer)]
    turn = (angle - base + math.pi / 2) % math.pi - math.pi / 2
    sagitta = (run[..., 0] * away[..., 1] - run[..., 1] * away[..., 0]) / np.hypot(run[..., 0], run[..., 1])
    return np.concatenate([turn, sagitta], axis=-1)
