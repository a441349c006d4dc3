"""The distance between any two points of a photo, on the plane of the board or of the bars, with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from verifier.board.definition import BoardDefinition
from verifier.board.print_scale import PrintChecks, PrintScale, print_scale_of
from verifier.errors import Refusal
from verifier.metrology.measurement import COVERAGE_FACTOR_95, Component, combined
from verifier.vision.markers.corners import Grey
from verifier.vision.markers.find_board import find_boards
from verifier.vision.metric.camera import CameraPrior, Floats
from verifier.vision.metric.geometry import Limits, MatPrior, PhotoGeometry, components, photo_geometry

Plane = Literal["board", "upper", "lower"]

POINT_U_PX = 0.4
"""Standard uncertainty, in x and in y, of a point that somebody gives: set by eye and rounded to a pixel."""

SHEET_FLATNESS = MatPrior(board_tilt_u_rad=0.0, height_u_mm=0.0, sag_u_mm=8.0)
"""A board's own plane, carried on beyond the board: what it lies on is flat to 8 mm at a metre."""

USUAL_BAR_MM, USUAL_BAR_U_MM = 10.0, 2.0
"""Diameter of bars of which nothing is known (slab bars of 8 to 16 mm; common practice, no source)."""

MOST_RELATIVE_U = 0.1
"""A distance known worse than this (standard uncertainty over value) is refused, unless it is short."""

SHORT_U_MM = 3.0

LOOSE = Limits(most_scale_u=0.04, least_seen=0.0, least_markers=1)
"""Any board that was found will do here: each distance carries its own uncertainty."""


@dataclass(frozen=True, slots=True)
class Distance:
    """A distance, or why there is none.

    Attributes:
        distance_mm: None where refused.
        expanded_uncertainty_mm: Half width of the 95 % interval, None where refused.
        budget: Where the uncertainty comes from.
        refusals: Why it could not be had.
        caution: What a reader must know of the board's print, None where its check length was measured.
    """

    distance_mm: float | None
    expanded_uncertainty_mm: float | None
    budget: tuple[Component, ...]
    refusals: tuple[Refusal, ...]
    caution: str | None = None


def distances(
    grey: Grey,
    pairs_px: Floats,
    camera: CameraPrior,
    *,
    definitions: Sequence[BoardDefinition] = (),
    plane: Plane = "board",
    print_checks: PrintChecks | PrintScale | None = None,
    bars_mm: tuple[float | None, float | None] = (None, None),
) -> tuple[Distance, ...]:
    """Measure distances between pairs of points in a photo.

    Args:
        grey: (h, w) upright full-size photo.
        pairs_px: (k, 2, 2) pairs of points. [px]
        camera: What is known of the camera.
        definitions: Boards to look for; the built-in ones when empty.
        plane: Where the points lie: on the plane of the board's face, or at the axes of the upper or lower bars.
        print_checks: Measured check lengths of boards, or one scale for all.
        bars_mm: Diameters of upper and lower bars, where known.

    Returns:
        One result for each pair, in order.
    """
    pairs = np.asarray(pairs_px, float).reshape(-1, 2, 2)
    search = find_boards(grey, definitions)
    if not search.boards:
        return _all_refused(search.refusals, len(pairs))
    scale = print_scale_of(print_checks, search.boards[0].number)
    geometry = photo_geometry(search.boards, camera, scale, LOOSE)
    if isinstance(geometry, Refusal):
        return _all_refused((geometry,), len(pairs))
    height, width = grey.shape
    depth, depth_u = plane_depth_mm(search.boards[0].definition, plane, bars_mm)
    mat = (
        SHEET_FLATNESS
        if plane == "board"
        else MatPrior(height_u_mm=math.hypot(MatPrior().height_u_mm, depth_u))
    )
    found = distances_on(geometry.on_mat(mat), pairs, depth, (width, height))
    return tuple(replace(one, caution=scale.caution) for one in found)


def plane_depth_mm(
    definition: BoardDefinition, plane: Plane, bars_mm: tuple[float | None, float | None] = (None, None)
) -> tuple[float, float]:
    """How far a plane lies below the face of a board that lies on the upper bars.

    Args:
        definition: The board.
        plane: Its own face, or the axes of the upper or lower bars.
        bars_mm: Diameters of upper and lower bars, where known.

    Returns:
        Depth and its standard uncertainty from the diameters alone. [mm]
    """
    (upper, upper_u), (lower, lower_u) = (
        ((d, 0.0) if d is not None else (USUAL_BAR_MM, USUAL_BAR_U_MM)) for d in bars_mm
    )
    if plane == "board":
        return 0.0, 0.0
    if plane == "upper":
        return definition.thickness_mm + upper / 2, upper_u / 2
    return definition.thickness_mm + upper + lower / 2, math.hypot(upper_u, lower_u / 2)


def distances_on(
    geometry: PhotoGeometry, pairs: Floats, depth_mm: float, size_px: tuple[int, int]
) -> tuple[Distance, ...]:
    """Distances on one plane of a fitted photo.

    Args:
        geometry: Metric model, with what is not known of the plane.
        pairs: (k, 2, 2) pairs of points. [px]
        depth_mm: Depth of the plane below the face.
        size_px: Width and height of the photo.

    Returns:
        One result for each pair.
    """
    reasons = [_unusable(geometry, pair, depth_mm, size_px) for pair in pairs]
    good = np.flatnonzero([reason is None for reason in reasons])
    if not len(good):
        return tuple(_refused(reason) for reason in reasons if reason is not None)
    chosen = pairs[good]

    def length(model: PhotoGeometry) -> Floats:
        places = model.to_plane_mm(chosen.reshape(-1, 2), depth_mm)
        return np.asarray(np.linalg.norm(places[..., 1::2, :] - places[..., ::2, :], axis=-1))

    values = length(geometry)
    budget = geometry.propagate(length) | {"points": _point_u(geometry, chosen, depth_mm)}
    results = dict(
        zip(
            good.tolist(),
            (_result(float(v), components(budget, k)) for k, v in enumerate(values)),
            strict=True,
        )
    )
    return tuple(results[k] if reason is None else _refused(reason) for k, reason in enumerate(reasons))


def _point_u(geometry: PhotoGeometry, pairs: Floats, depth_mm: float) -> Floats:
    """What the doubt of the two points themselves adds to each distance."""
    ends = geometry.to_plane_mm(pairs.reshape(-1, 2), depth_mm).reshape(-1, 2, 2)
    along = ends[:, 1] - ends[:, 0]
    along = along / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    total = np.zeros(len(pairs))
    for step in np.eye(2):
        moved = geometry.to_plane_mm((pairs + step).reshape(-1, 2), depth_mm).reshape(-1, 2, 2) - ends
        total += ((moved * along[:, None]).sum(axis=2) ** 2).sum(axis=1)
    return np.asarray(POINT_U_PX * np.sqrt(total))


def _unusable(
    geometry: PhotoGeometry, pair: Floats, depth_mm: float, size_px: tuple[int, int]
) -> Refusal | None:
    if not np.isfinite(pair).all() or (pair < -0.5).any() or (pair > np.array(size_px) - 0.5).any():
        return Refusal(
            "point-outside",
            f"A point lies outside the photo, which is {size_px[0]} x {size_px[1]} px. Give points inside it.",
        )
    if (pair[0] == pair[1]).all():
        return Refusal("same-point", "Both points are the same. Give two points some way apart.")
    back = geometry.to_px(geometry.to_plane_mm(pair, depth_mm), depth_mm)
    if not np.isfinite(back).all() or np.abs(back - pair).max() > 0.5:
        return Refusal(
            "point-off-plane",
            "The line of sight through a point does not meet the plane of the board. Give points on the mat.",
        )
    return None


def _result(value: float, budget: tuple[Component, ...]) -> Distance:
    u = combined(budget)
    if u > max(MOST_RELATIVE_U * value, SHORT_U_MM):
        return _refused(
            Refusal(
                "too-far-from-board",
                f"At this place a distance is known to +- {COVERAGE_FACTOR_95 * u:.0f} mm only. Take a photo with the board nearer to the points.",
            )
        )
    return Distance(value, COVERAGE_FACTOR_95 * u, budget, ())


def _refused(reason: Refusal) -> Distance:
    return Distance(None, None, (), (reason,))


def _all_refused(reasons: tuple[Refusal, ...], count: int) -> tuple[Distance, ...]:
    return (Distance(None, None, (), reasons),) * count
