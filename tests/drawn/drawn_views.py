"""Projected views of a board on a mat, with every error that the metric model speaks of drawn at random.

The camera here is written apart from the one that is tested, by the image library's projection.
"""

import math
from dataclasses import dataclass, field, replace

import cv2
import numpy as np
from scipy.stats import norm

from verifier.board.print_scale import PrintScale
from verifier.board.standing import standing_board
from verifier.vision.markers.find_board import FoundBoard
from verifier.vision.metric.camera import CameraPrior
from verifier.vision.metric.model_priors import MatPrior

SIZE_PX = (4000, 3000)


@dataclass(frozen=True)
class Level:
    """One kind of view; sigmas are those of the errors drawn, and what the model is told."""

    noise_px: float = 0.15
    tilt_deg: tuple[float, float] = (5.0, 25.0)
    height_mm: float = 1300.0
    from_board_mm: tuple[float, float] = (50.0, 500.0)
    depth_mm: float = 8.0
    focal_u: float = 0.02
    print_u: float = 0.0015
    lens_u: tuple[float, float] = (0.02, 0.008)
    mat: MatPrior = field(default_factory=MatPrior)

    def with_(self, **changes) -> "Level":
        return replace(self, **changes)


@dataclass(frozen=True)
class View:
    """A drawn photo: what is seen, what is presumed, and pairs of points with their true distance."""

    board: FoundBoard
    camera: CameraPrior
    print_scale: PrintScale
    pairs_px: np.ndarray
    true_mm: np.ndarray
    offset_mm: np.ndarray
    true_camera: tuple


SHARED_ERRORS = 12
"""Errors that all lengths of a view share: focal length, principal point, lens, print, tilt, curl, rise and sag less one."""


def shared_errors(views: int, rng: np.random.Generator) -> np.ndarray:
    """Errors of many views, in standard deviations: each one's spread over the views is a normal one, without luck.

    All lengths of a view share these, so a level of 40 views has but 40 draws of each, and the share of lengths inside their
    interval would wander by 3 to 4 % from seed to seed.

    Source:
        Latin hypercube sampling (McKay, Beckman, Conover 1979, from memory).
    """
    ranks = np.stack([rng.permutation(views) for _ in range(SHARED_ERRORS)], axis=1)
    return norm.ppf((ranks + rng.random(ranks.shape)) / views)


def draw(level: Level, rng: np.random.Generator, pairs: int = 6, errors: np.ndarray | None = None) -> View:
    """Draw a view; ``errors`` as one row of ``shared_errors``, drawn here when None."""
    z = iter(rng.normal(0, 1, SHARED_ERRORS) if errors is None else errors)
    definition = standing_board("A4", 1)
    width, height = SIZE_PX
    told = CameraPrior(
        2850.0, level.focal_u, ((width - 1) / 2, (height - 1) / 2), 16.0, (0.0, 0.0), level.lens_u, "drawn"
    )
    matrix = np.eye(3)
    matrix[0, 0] = matrix[1, 1] = told.focal_px * math.exp(told.focal_u * next(z))
    matrix[:2, 2] = np.array(told.centre_px) + told.centre_u_px * np.array([next(z), next(z)])
    lens = np.array([*(u * next(z) for u in told.k_u), 0.0, 0.0])
    turn, place = _pose(level, rng)

    middle = np.array([126.0, 90.0])
    points = np.r_[definition.chessboard.inner_corners_mm(), definition.corners_mm().mean(axis=1)]
    scale = PrintScale(factor=1.0, standard_uncertainty=level.print_u)
    local = (points - middle) * math.exp(level.print_u * next(z))
    share = local / middle
    lie = level.mat.board_tilt_u_rad * np.array([next(z), next(z)])
    bow = np.array([next(z), next(z)])
    depth = local @ lie + ((share**2 - 1 / 3) * bow).sum(axis=1)
    seen, _ = cv2.projectPoints(np.c_[local, depth], turn, place, matrix, lens)
    seen = seen.reshape(-1, 2) + rng.normal(0, level.noise_px, (len(points), 2))

    here = _pairs(level, rng, pairs)
    raised = level.mat.height_u_mm * next(z)
    sag = level.mat.sag_u_mm * np.array([next(z), *rng.normal(0, 1, 2)])
    u = here.reshape(-1, 2) / 1000.0
    below = (
        level.depth_mm + raised + sag[0] * u[:, 0] ** 2 + sag[1] * u[:, 0] * u[:, 1] + sag[2] * u[:, 1] ** 2
    )
    ends, _ = cv2.projectPoints(np.c_[here.reshape(-1, 2), below], turn, place, matrix, lens)
    to_px, _ = cv2.findHomography(points, seen)
    board = FoundBoard(
        definition,
        1,
        points,
        seen,
        (),
        np.empty((0, 4, 2)),
        np.empty((0, 4, 2)),
        to_px,
        seen_ids=definition.ids,
        seen_share=1.0,
        blur_px=1.0,
    )
    return View(
        board,
        told,
        scale,
        ends.reshape(-1, 2, 2),
        np.linalg.norm(here[:, 1] - here[:, 0], axis=1),
        here.mean(axis=1),
        (matrix, lens),
    )


def _pose(level, rng):
    tilt, heading, spin = (
        math.radians(rng.uniform(*level.tilt_deg)),
        rng.uniform(0, 2 * math.pi),
        rng.uniform(0, 2 * math.pi),
    )
    lean, _ = cv2.Rodrigues(tilt * np.array([math.cos(heading), math.sin(heading), 0.0]))
    about, _ = cv2.Rodrigues(np.array([0.0, 0.0, spin]))
    turn, _ = cv2.Rodrigues(lean @ about)
    side = rng.uniform(-0.25, 0.25, 2) * level.height_mm
    return turn, np.array([*side, level.height_mm / math.cos(tilt)])


def _pairs(level, rng, count):
    """Pairs 150 mm apart, their middles at the asked distance from the board's, in all directions."""
    angle, reach = rng.uniform(0, 2 * math.pi, count), rng.uniform(*level.from_board_mm, count)
    middle = reach[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    across = rng.uniform(0, 2 * math.pi, count)
    half = 75.0 * np.stack([np.cos(across), np.sin(across)], axis=1)
    return np.stack([middle - half, middle + half], axis=1)
