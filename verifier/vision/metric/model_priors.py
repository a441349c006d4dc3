"""What is presumed before the metric model is fitted: of the mat, of each parameter, and of how well points are seen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from verifier.board.print_scale import PrintScale
from verifier.vision.markers.find_board import FoundBoard
from verifier.vision.metric.camera import CameraPrior, Floats
from verifier.vision.metric.metric_model import (
    BLEED,
    CENTRE,
    FOCAL,
    HEIGHT,
    K1,
    K2,
    PRINT_SCALE,
    SAG,
    SHARED,
    Observations,
)

POINT_U_PX = (0.06, 0.15)
"""Least and usual standard uncertainty of an aligned point."""

OUTLINE_U_PX = 0.45
"""Usual standard uncertainty of a marker's corner found from its edges."""

SECOND_BOARD_HEIGHT_U_MM = 1.5


@dataclass(frozen=True, slots=True)
class MatPrior:
    """What is presumed of the mat that the boards lie on; zeros where a plane *is* the face of the board.

    Attributes:
        board_tilt_u_rad: Standard deviation, per axis, of a board's tilt against the mean plane of the mat. A degree: a tie
            knot or a rib and its bar's own bow, 3 to 4 mm together, under one edge of a card 210 mm wide. Cards tilted by
            anything up to 2 degrees have 0.8 (a uniform distribution has a third of its square, half of it per axis).
        height_u_mm: Of the depth of the layer's mean plane below the face, at the board.
        sag_u_mm: Of the rise or sag of the mat at 1 m from the board.
    """

    board_tilt_u_rad: float = math.radians(1.0)
    height_u_mm: float = 1.5
    sag_u_mm: float = 3.0


ON_THE_BOARD = MatPrior(0.0, 0.0, 0.0)


def observations(boards: Sequence[FoundBoard]) -> Observations:
    """All points of all boards in one table.

    Args:
        boards: Boards found in the photo; a point's ``board`` is its index here.

    Returns:
        Aligned points and corners of markers, each with the usual uncertainty of its kind; only corners of markers have
        an ``outward`` direction, for only they move with spilled light.
    """
    mm, px, board, outward, u = [], [], [], [], []
    for b, found in enumerate(boards):
        corners = found.outer_mm.reshape(-1, 2)
        direction = (found.outer_mm - found.outer_mm.mean(axis=1, keepdims=True)).reshape(-1, 2)
        mm += [found.points_mm, corners]
        px += [found.points_px, found.outer_px.reshape(-1, 2)]
        outward += [
            np.zeros_like(found.points_mm),
            direction / np.linalg.norm(direction, axis=1, keepdims=True),
        ]
        u += [np.full(len(found.points_mm), POINT_U_PX[1]), np.full(len(corners), OUTLINE_U_PX)]
        board.append(np.full(len(found.points_mm) + len(corners), b))
    return Observations(
        np.concatenate(mm),
        np.concatenate(px),
        np.concatenate(board),
        np.concatenate(outward),
        np.concatenate(u),
    )


def prior_sigma(boards: int, camera: CameraPrior, print_scale: PrintScale, mat: MatPrior) -> Floats:
    """Prior standard deviations of all parameters.

    Args:
        boards: Number of boards in the photo.
        camera: What is known of the camera.
        print_scale: Of the boards.
        mat: What is presumed of the mat. With more than one board, boards may tilt even where it says they don't.

    Returns:
        (SHARED + 8 * boards,) in the unit of each parameter (see ``Reference``): infinite where free, zero where held.
    """
    sigma = np.full(SHARED + 8 * boards, np.inf)
    sigma[FOCAL], sigma[CENTRE] = camera.focal_u, camera.centre_u_px
    sigma[K1], sigma[K2] = camera.k_u
    sigma[PRINT_SCALE] = print_scale.standard_uncertainty / print_scale.factor
    sigma[HEIGHT], sigma[SAG], sigma[BLEED] = mat.height_u_mm, mat.sag_u_mm, 0.4
    tilt = mat.board_tilt_u_rad or (MatPrior().board_tilt_u_rad if boards > 1 else 0.0)
    for b in range(boards):
        own = slice(SHARED + 8 * b, SHARED + 8 * b + 8)
        place = (np.inf, np.inf, np.inf, SECOND_BOARD_HEIGHT_U_MM) if b else (0.0, 0.0, 0.0, 0.0)
        sigma[own] = (tilt, tilt, 1.0, 1.0, *place)
    return sigma
