"""Fit the metric model to the corners of the boards: least squares with priors, and where the remaining doubt comes from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.board.print_scale import PrintScale
from verifier.metrology.order_statistics import median
from verifier.vision.markers.find_board import FoundBoard
from verifier.vision.metric.camera import CameraPrior, Floats, undistorted
from verifier.vision.metric.metric_model import (
    BLEED,
    FOCAL,
    HEIGHT,
    K1,
    K2,
    PLACE,
    SAG,
    SHARED,
    BoardFrame,
    Observations,
    Reference,
    predicted,
    rotation_of,
)
from verifier.vision.metric.model_priors import ON_THE_BOARD, POINT_U_PX, MatPrior, observations, prior_sigma

STRAY = 5.0
"""Points further from the model than this many robust standard deviations are left out."""

STEPS, ROUGH_STEPS = 25, 8
"""Steps of a fit, at most. From the right side of the board six or so are enough; from the wrong one no number is."""

RULED_OUT = 4.0
"""Difference of cost from which on a second minimum is ruled out: it is then 50 times less likely."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """One independent source of error, and what one standard deviation of it does to the parameters.

    Attributes:
        name: Component of the budget.
        columns: (p, k) shifts of the p parameters, one column for each of its k independent parts.
    """

    name: str
    columns: Floats


@dataclass(frozen=True, slots=True)
class Fit:
    """Result of a fit.

    Attributes:
        reference: What the parameters are counted from.
        parameters: (p,) estimates.
        covariance: (p, p).
        doubts: Independent sources whose columns give the covariance: sum of c c^T.
        residual_px: (n, 2) seen minus predicted, of the points used.
        used: (n,) of all observations.
        seen: The observations.
        cost: Half the weighted sum of squares, priors included, with the usual noise of the points.
        rival: Another minimum that the photo does not rule out, if there is one.
    """

    reference: Reference
    parameters: Floats
    covariance: Floats
    doubts: tuple[Doubt, ...]
    residual_px: Floats
    used: NDArray[np.bool_]
    seen: Observations
    cost: float
    rival: Fit | None = None


def fit_model(
    boards: Sequence[FoundBoard], camera: CameraPrior, print_scale: PrintScale, mat: MatPrior = ON_THE_BOARD
) -> Fit:
    """Fit camera, pose, curl and all else to the boards of a photo.

    Args:
        boards: Boards found, the first one gives the frame.
        camera: What is known of the camera.
        print_scale: Of the boards.
        mat: What is presumed of the mat.

    Returns:
        The fit of lowest cost among the starts tried: a plane seen from a distance looks much the same from two sides.

    Source:
        Gauss-Newton on the sum of squares with Gaussian priors (Bayesian least squares, JCGM 102:2011 for the model,
        from memory); start by IPPE (Collins and Bartoli 2014, from memory) as the image library has it.
    """
    frames = tuple(_frame(b, print_scale.factor) for b in boards)
    seen = observations(boards)
    sigma = prior_sigma(len(boards), camera, print_scale, mat)
    spread = (1.0,) if camera.focal_u < 0.1 else (0.75, 1.0, 1.35)
    rough = []
    for share in spread:
        for rotation, place in _starts(boards[0], frames[0], camera, share):
            reference = Reference(camera.focal_px, camera.centre_px, rotation, frames)
            start, mean = (
                _start(reference, camera, place, math.log(share), boards),
                _prior_mean(reference, camera),
            )
            every = np.ones(len(seen.px), bool)
            p, cost = _minimised(reference, start, seen, seen.u_px, every, mean, sigma, ROUGH_STEPS)
            rough.append((cost / 2, reference, p, mean))
    least = min(r[0] for r in rough)
    fits = [
        solve(reference, p, seen, mean, sigma)
        for cost, reference, p, mean in _different(rough)
        if cost < least + 5 * RULED_OUT
    ]
    fits.sort(key=lambda f: f.cost)
    rivals = [f for f in fits[1:] if f.cost - fits[0].cost < RULED_OUT]
    return replace(fits[0], rival=rivals[0]) if rivals else fits[0]


_Rough = tuple[float, Reference, Floats, Floats]


def _different(rough: list[_Rough]) -> list[_Rough]:
    """One of each minimum: starts that led to the same place are one."""
    kept: list[_Rough] = []
    for candidate in sorted(rough, key=lambda r: r[0]):
        if all(_apart(candidate[1], candidate[2], k[1], k[2]) for k in kept):
            kept.append(candidate)
    return kept


def _apart(a: Reference, p: Floats, b: Reference, q: Floats) -> bool:
    """Whether two fits look at the board from places that differ by more than a degree."""
    return bool(rotation_of(a, p)[:, 2] @ rotation_of(b, q)[:, 2] < math.cos(math.radians(1.0)))


def _prior_mean(reference: Reference, camera: CameraPrior) -> Floats:
    mean = np.zeros(reference.size)
    mean[K1], mean[K2] = camera.k
    return mean


def solve(reference: Reference, start: Floats, seen: Observations, mean: Floats, sigma: Floats) -> Fit:
    """From a rough fit to the final one: without strays, and with the noise that the residuals show.

    Args:
        reference: What the parameters are counted from.
        start: (p,) parameters of the rough fit.
        seen: Points of the boards in the photo.
        mean: (p,) prior means.
        sigma: (p,) prior standard deviations: infinite where free, zero where held at ``start``.

    Returns:
        The fit with its covariance and the doubts that it is made of. Where leaving out strays would leave fewer than
        four points, or fewer than six in ten, all are kept and the noise grows instead.

    Source:
        Gauss-Newton with Gaussian priors, as in ``fit_model``; robust noise by the median absolute deviation with the
        factor 1.4826 of a normal distribution (textbook, from memory).
    """
    used, p = np.ones(len(seen.px), bool), start
    residual = seen.px - predicted(reference, p, seen)
    for _ in range(2):
        u = _noise(residual, seen, used, free=int((sigma > 0).sum()))
        away = np.hypot(*residual.T) / u
        used = away < STRAY
        if used.sum() < max(4, 0.6 * len(used)):
            used = np.ones(len(seen.px), bool)
        p, _ = _minimised(reference, p, seen, u, used, mean, sigma)
        residual = seen.px - predicted(reference, p, seen)
    u = _noise(residual, seen, used, free=int((sigma > 0).sum()))
    covariance, doubts = _doubts(reference, p, seen, u, used, sigma)
    held = np.where(np.isfinite(sigma) & (sigma > 0), (p - mean) / np.where(sigma > 0, sigma, 1), 0)
    # Compared between starts, so with one and the same noise, and no point left out.
    cost = 0.5 * float((np.minimum((residual / seen.u_px[:, None]) ** 2, STRAY**2)).sum() + (held**2).sum())
    return Fit(reference, p, covariance, doubts, residual[used], used, seen, cost)


def _noise(residual: Floats, seen: Observations, used: NDArray[np.bool_], *, free: int) -> Floats:
    """Standard uncertainty of each point, from the residuals of its kind; robust, and never below a floor."""
    u = seen.u_px.copy()
    for value in np.unique(seen.u_px):
        kind = seen.u_px == value
        r = residual[kind & used].ravel()
        # About nine parameters are really fixed by the corners; the prior's few observations stand for the rest.
        share = 2 * used.sum() / max(2 * used.sum() - min(free, 9), 2)
        robust = 1.4826 * median(np.abs(r)) if len(r) else value
        rms = (
            float(np.sqrt(np.mean(np.clip(r, -3 * robust - 0.02, 3 * robust + 0.02) ** 2)))
            if len(r)
            else value
        )
        weight = len(r) / (len(r) + 20.0)
        u[kind] = max(POINT_U_PX[0], math.sqrt(weight * share * rms**2 + (1 - weight) * value**2))
    return u


def _jacobian(reference: Reference, p: Floats, seen: Observations, free: NDArray[np.int64]) -> Floats:
    """Derivatives (2n, free) of the predicted pixels; those that are zero by nature are not computed."""
    unseen = {HEIGHT, *range(SAG.start, SAG.stop)} | (set() if np.any(seen.outward) else {BLEED})
    told = np.flatnonzero([int(j) not in unseen for j in free])
    steps = reference.steps[free[told]]
    # The model itself and one with each parameter a step on, all in one call.
    models = np.tile(p, (1 + len(told), 1))
    models[1 + np.arange(len(told)), free[told]] += steps
    here, *moved = predicted(reference, models, seen).reshape(len(models), -1)
    columns = np.zeros((here.size, len(free)))
    columns[:, told] = ((np.asarray(moved) - here) / steps[:, None]).T
    return columns


def _minimised(
    reference: Reference,
    start: Floats,
    seen: Observations,
    u: Floats,
    used: NDArray[np.bool_],
    mean: Floats,
    sigma: Floats,
    steps: int = STEPS,
) -> tuple[Floats, float]:
    """Gauss-Newton with damping: parameters, and the weighted sum of squares there."""
    free = np.flatnonzero(sigma > 0)
    precision = 1.0 / sigma[free] ** 2
    weight = np.repeat(used / u**2, 2)

    def cost_of(q: Floats) -> tuple[float, Floats]:
        r = (seen.px - predicted(reference, q, seen)).ravel()
        return float((weight * r * r).sum() + (precision * (q - mean)[free] ** 2).sum()), r

    def slopes_at(q: Floats, r: Floats) -> tuple[Floats, Floats, Floats]:
        j = _jacobian(reference, q, seen, free)
        normal = j.T @ (weight[:, None] * j) + np.diag(precision)
        scale = np.sqrt(np.diag(normal)) + 1e-30
        return normal / np.outer(scale, scale), j.T @ (weight * r) - precision * (q - mean)[free], scale

    p, damping = start.copy(), 1e-4
    cost, residual = cost_of(p)
    normal, downhill, scale = slopes_at(p, residual)
    for _ in range(steps):
        damped = normal + damping * np.eye(len(free))
        trial = p.copy()
        trial[free] += np.linalg.solve(damped, downhill / scale) / scale
        better, trial_residual = cost_of(trial)
        if not math.isfinite(better) or better > cost:
            damping *= 10
            if damping > 1e6:
                break
            continue
        settled = cost - better < 1e-7 * (1 + cost)
        p, cost, residual, damping = trial, better, trial_residual, max(damping / 10, 1e-9)
        if settled:
            break
        normal, downhill, scale = slopes_at(p, residual)
    return p, cost


def _doubts(
    reference: Reference, p: Floats, seen: Observations, u: Floats, used: NDArray[np.bool_], sigma: Floats
) -> tuple[Floats, tuple[Doubt, ...]]:
    """Covariance, split into what each independent source contributes.

    With normal matrix N = A + P (data and priors) the error of the estimate is N^-1 (J^T W e + P d), e the noise of the
    corners and d the errors of the priors, all independent; so each source has its own share and the shares add up.
    """
    free = np.flatnonzero(sigma > 0)
    precision = 1.0 / sigma[free] ** 2
    j = _jacobian(reference, p, seen, free)
    data = j.T @ (np.repeat(used / u**2, 2)[:, None] * j)
    normal = data + np.diag(precision)
    scale = np.sqrt(np.diag(normal))
    inverse = np.linalg.inv(normal / np.outer(scale, scale)) / np.outer(scale, scale)
    covariance = np.zeros((reference.size,) * 2)
    covariance[np.ix_(free, free)] = inverse
    noise = inverse @ _root(data)
    doubts = [Doubt("corner noise", _padded(noise, free, reference.size))]
    names = reference.names
    for name in dict.fromkeys(names[j] for j in free):
        columns = [
            inverse[:, k] * math.sqrt(precision[k])
            for k, index in enumerate(free)
            if names[index] == name and precision[k] > 0
        ]
        if columns:
            doubts.append(Doubt(name, _padded(np.stack(columns, axis=1), free, reference.size)))
    return covariance, tuple(doubts)


def _root(matrix: Floats) -> Floats:
    values, vectors = np.linalg.eigh((matrix + matrix.T) / 2)
    return np.asarray(vectors * np.sqrt(np.clip(values, 0, None)))


def _padded(columns: Floats, free: NDArray[np.int64], size: int) -> Floats:
    out = np.zeros((size, columns.shape[1]))
    out[free] = columns
    return out


def _frame(board: FoundBoard, factor: float) -> BoardFrame:
    outline = board.outline_mm()
    half = (outline[2] - outline[0]) / 2
    centre = board.centre_mm
    return BoardFrame((float(centre[0]), float(centre[1])), (float(half[0]), float(half[1])), factor)


def _starts(
    board: FoundBoard, frame: BoardFrame, camera: CameraPrior, share: float
) -> list[tuple[Floats, Floats]]:
    """Poses of the first board from which a fit is worth starting."""
    mm = np.r_[board.points_mm, board.outer_mm.reshape(-1, 2)]
    px = np.r_[board.points_px, board.outer_px.reshape(-1, 2)]
    plane = np.c_[(mm - frame.centre_mm) * frame.factor, np.zeros(len(mm))]
    rays = undistorted((px - camera.centre_px) / (camera.focal_px * share), *camera.k)
    _, turns, places, errors = cv2.solvePnPGeneric(
        plane, rays.reshape(-1, 1, 2), np.eye(3), None, flags=cv2.SOLVEPNP_IPPE
    )
    best = float(np.min(np.asarray(errors)))
    return [
        (np.asarray(cv2.Rodrigues(turn)[0], float), np.asarray(place, float).ravel())
        for turn, place, error in zip(turns, places, np.asarray(errors).ravel(), strict=True)
        if error < 4 * best + 2e-3 and float(np.ravel(place)[2]) > 0
    ]


def _start(
    reference: Reference, camera: CameraPrior, place: Floats, log_focal: float, boards: Sequence[FoundBoard]
) -> Floats:
    p = np.zeros(reference.size)
    p[FOCAL], p[K1], p[K2], p[PLACE] = log_focal, camera.k[0], camera.k[1], place
    focal = camera.focal_px * math.exp(log_focal)
    for b, board in enumerate(boards[1:], start=1):
        frame = reference.boards[b]
        ends = np.array([frame.centre_mm, (frame.centre_mm[0] + 10.0, frame.centre_mm[1])])
        homogeneous = np.c_[ends, np.ones(2)] @ board.to_px.T
        rays = (homogeneous[:, :2] / homogeneous[:, 2:] - camera.centre_px) / focal
        direction = np.c_[rays, np.ones(2)] @ reference.rotation
        eye = -reference.rotation.T @ place
        on_mat = eye + direction * (-eye[2] / direction[:, 2])[:, None]
        step = on_mat[1] - on_mat[0]
        p[SHARED + 8 * b + 4 : SHARED + 8 * b + 7] = on_mat[0, 0], on_mat[0, 1], math.atan2(step[1], step[0])
    return p
