"""The parameters of a photo's metric model, and where they put the points of its boards.

Frame of the mat: origin at the middle of the first board's face, x and y along its axes, z away from the camera, in mm.
All parameters have a prior or are free; those that no corner can tell (print scale, height of the mat's plane) are
carried along, so that the budget of any length knows them.

Every function takes one parameter vector or many at once, stacked along leading axes that its result then has, too: written
``(..., p)`` below. Derivatives and budgets look at some twenty models that differ by a step in one parameter, and at a few
dozen points each; one call on all of them costs little more than one call on a single model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.vision.metric.camera import Floats, distorted, undistorted

SHARED = 17
"""Parameters that all boards share; each board adds eight."""

FOCAL, CENTRE, K1, K2 = 0, slice(1, 3), 3, 4
TURN, PLACE = slice(5, 8), slice(8, 11)
PRINT_SCALE, HEIGHT, SAG, BLEED = 11, 12, slice(13, 16), 16

SHARED_NAMES = (
    "focal length",
    "principal point",
    "principal point",
    "lens distortion",
    "lens distortion",
    *("pose",) * 6,
    "print scale",
    "plane height",
    *("mat flatness",) * 3,
    "light spill at edges",
)
BOARD_NAMES = (
    "board tilt",
    "board tilt",
    "board flatness",
    "board flatness",
    "pose",
    "pose",
    "pose",
    "plane height",
)

STEPS = np.array(
    [1e-5, 1e-2, 1e-2, 1e-5, 1e-5, 1e-6, 1e-6, 1e-6, 1e-2, 1e-2, 1e-2, 1e-6, 1e-3, 1e-3, 1e-3, 1e-3, 1e-3]
)
BOARD_STEPS = np.array([1e-6, 1e-6, 1e-3, 1e-3, 1e-2, 1e-2, 1e-5, 1e-3])
"""Steps of the numerical derivatives, in the unit of each parameter."""

SAG_REACH_MM = 1000.0
"""The three curvatures of the mat are stated as the rise, in mm, at this distance."""


@dataclass(frozen=True, slots=True)
class BoardFrame:
    """What the model needs of one board.

    Attributes:
        centre_mm: Middle of the board, in its own axes.
        half_mm: Half width and half height.
        factor: Print scale as known.
    """

    centre_mm: tuple[float, float]
    half_mm: tuple[float, float]
    factor: float


@dataclass(frozen=True, slots=True)
class Observations:
    """Points of boards in the photo.

    Attributes:
        mm: (n, 2) in the axes of their boards.
        px: (n, 2) where they are seen.
        board: (n,) index of the board.
        outward: (n, 2) direction in which spilled light moves the point, in board axes; 0 where it doesn't.
        u_px: (n,) standard uncertainty in x and in y.
    """

    mm: Floats
    px: Floats
    board: NDArray[np.int64]
    outward: Floats
    u_px: Floats


@dataclass(frozen=True, slots=True)
class Reference:
    """What parameter values are counted from.

    A parameter vector ``p`` has ``size`` entries: ``SHARED`` common ones, then eight for each board. Common: logarithm of
    the focal length over ``focal_px``; shift of the principal point [px]; k1, k2; turn after ``rotation`` as a rotation
    vector [rad]; place of the mat's origin in the camera [mm]; logarithm of the print scale over the boards' ``factor``;
    height of the mat's plane [mm]; three rises at ``SAG_REACH_MM`` [mm]; spill of light at edges [px]. Each board: slope
    along x and y; curl along x and y [mm]; x, y [mm], angle [rad] and depth [mm] of its middle on the mat.

    Attributes:
        focal_px: Focal length.
        centre_px: Principal point, in pixels of the upright photo.
        rotation: (3, 3) from the mat to the camera.
        boards: The boards, in the order of their parameters.
    """

    focal_px: float
    centre_px: tuple[float, float]
    rotation: Floats
    boards: tuple[BoardFrame, ...]

    @property
    def size(self) -> int:
        """Number of parameters."""
        return SHARED + 8 * len(self.boards)

    @property
    def names(self) -> tuple[str, ...]:
        """Component of the budget that each parameter belongs to."""
        return SHARED_NAMES + BOARD_NAMES * len(self.boards)

    @property
    def steps(self) -> Floats:
        """Steps of numerical derivatives."""
        return np.concatenate([STEPS] + [BOARD_STEPS] * len(self.boards))


def rotation_of(reference: Reference, p: Floats) -> Floats:
    """Rotation from the mat to the camera.

    Args:
        reference: What the parameters are counted from.
        p: (..., reference.size) parameters.

    Returns:
        (..., 3, 3) matrices that act on columns of the mat frame.

    Source:
        Rotation vector to matrix: Rodrigues' formula (textbook, from memory).
    """
    turn = p[..., TURN]
    if turn.ndim == 1:
        return np.asarray(reference.rotation @ cv2.Rodrigues(turn)[0])
    x, y, z = turn[..., 0], turn[..., 1], turn[..., 2]
    nothing = np.zeros_like(x)
    cross = np.stack([nothing, -z, y, z, nothing, -x, -y, x, nothing], axis=-1).reshape(*x.shape, 3, 3)
    # sin t / t and (1 - cos t) / t^2, both smooth at t = 0; numpy's sinc counts in half turns.
    t = np.linalg.norm(turn, axis=-1)[..., None, None] / math.pi
    turned = np.eye(3) + np.sinc(t) * cross + 0.5 * np.sinc(t / 2) ** 2 * (cross @ cross)
    return np.asarray(reference.rotation @ turned)


def mat_to_px(reference: Reference, p: Floats, points: Floats) -> Floats:
    """Project points of the mat frame.

    Args:
        reference: What the parameters are counted from.
        p: (..., reference.size) parameters.
        points: (n, 3) or (..., n, 3) in mm, in front of the camera; that they are is not looked at.

    Returns:
        (..., n, 2) pixels of the upright photo.
    """
    seen = points @ np.swapaxes(rotation_of(reference, p), -1, -2) + p[..., None, PLACE]
    return rays_to_px(reference, p, seen[..., :2] / seen[..., 2:])


def rays_to_px(reference: Reference, p: Floats, xy: Floats) -> Floats:
    """Pixels in which rays are seen through the lens.

    Args:
        reference: What the parameters are counted from.
        p: (..., reference.size) parameters.
        xy: (n, 2) or (..., n, 2) rays, in focal lengths from the axis, as they were before the lens.

    Returns:
        (..., n, 2) pixels of the upright photo.
    """
    focal, centre, k1, k2 = _camera(reference, p)
    return np.asarray(distorted(xy, k1, k2) * focal + centre)


def px_to_rays(reference: Reference, p: Floats, px: Floats) -> Floats:
    """Rays that are seen in pixels; the inverse of ``rays_to_px`` within the reach of ``undistorted``.

    Args:
        reference: What the parameters are counted from.
        p: (..., reference.size) parameters.
        px: (n, 2) or (..., n, 2) pixels of the upright photo.

    Returns:
        (..., n, 2) rays, in focal lengths from the axis, as they were before the lens.
    """
    focal, centre, k1, k2 = _camera(reference, p)
    return undistorted((px - centre) / focal, k1, k2)


def _camera(reference: Reference, p: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Focal length, principal point, k1 and k2, in shapes that go with (..., n, 2) points."""
    focal = reference.focal_px * np.exp(p[..., FOCAL, None, None])
    centre = reference.centre_px + p[..., None, CENTRE]
    return focal, centre, p[..., K1, None, None], p[..., K2, None, None]


def board_to_mat(reference: Reference, p: Floats, mm: Floats, board: NDArray[np.int64]) -> Floats:
    """Points of boards as points of the mat frame: scaled as printed, curled, tilted and laid on the mat.

    Args:
        reference: What the parameters are counted from.
        p: (..., reference.size) parameters.
        mm: (n, 2) in the axes of their boards, as drawn. [mm]
        board: (n,) index of each point's board in ``reference.boards``.

    Returns:
        (..., n, 3) in mm, z away from the camera.
    """
    out = np.empty((*p.shape[:-1], len(mm), 3))
    scale = np.exp(p[..., PRINT_SCALE, None, None])
    for b, frame in enumerate(reference.boards):
        at = board == b
        own = p[..., SHARED + 8 * b : SHARED + 8 * b + 8, None]
        tilt_x, tilt_y, curl_x, curl_y, x0, y0, angle, height = (own[..., k, :] for k in range(8))
        local = (mm[at] - frame.centre_mm) * (frame.factor * scale)
        x, y = local[..., 0], local[..., 1]
        c, s = np.cos(angle), np.sin(angle)
        out[..., at, 0] = c * x - s * y + x0
        out[..., at, 1] = s * x + c * y + y0
        across, down = x / frame.half_mm[0], y / frame.half_mm[1]
        bow = curl_x * (across**2 - 1 / 3) + curl_y * (down**2 - 1 / 3)
        out[..., at, 2] = tilt_x * x + tilt_y * y + bow + height
    return out


def predicted(reference: Reference, p: Floats, seen: Observations) -> Floats:
    """Where the model puts the observed points, light spilled at the edges included.

    Args:
        reference: What the parameters are counted from.
        p: (..., reference.size) parameters.
        seen: The n points; where they were seen (``seen.px``) is not used.

    Returns:
        (..., n, 2) pixels of the upright photo.
    """
    px = mat_to_px(reference, p, board_to_mat(reference, p, seen.mm, seen.board))
    spilled = np.abs(seen.outward).sum(axis=1) > 0
    if spilled.any():
        step = 0.1
        outside = seen.mm[spilled] + step * seen.outward[spilled]
        moved = mat_to_px(reference, p, board_to_mat(reference, p, outside, seen.board[spilled]))
        direction = moved - px[..., spilled, :]
        direction /= np.linalg.norm(direction, axis=-1, keepdims=True)
        # Two edges that each move by the spill move their corner by its diagonal.
        px[..., spilled, :] += math.sqrt(2) * p[..., BLEED, None, None] * direction
    return px


def plane_height(p: Floats, xy: Floats, height_mm: float) -> Floats:
    """Depth below the face of a plane of the mat, sagging as the model says.

    Args:
        p: (..., reference.size) parameters; those of the plane's height and of the sag are used.
        xy: (n, 2) or (..., n, 2) places on the mat, counted from the middle of the first board. [mm]
        height_mm: Depth of the plane at that board, as presumed. [mm]

    Returns:
        (..., n) depths in mm, positive away from the camera.
    """
    a, b, c = (p[..., k, None] for k in range(SAG.start, SAG.stop))
    x, y = xy[..., 0] / SAG_REACH_MM, xy[..., 1] / SAG_REACH_MM
    return np.asarray(height_mm + p[..., HEIGHT, None] + a * x**2 + b * x * y + c * y**2)
