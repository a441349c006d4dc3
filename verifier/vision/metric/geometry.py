"""The metric model of a photo: from pixels to millimetres on planes parallel to the board, with a budget for any length.

Pixels are those of the upright full-size photo, x right, y down, (0, 0) the centre of the top-left pixel. Millimetres
are in the axes of the first board, x right and y down on its face as seen from the front, in true size: a print scale
is already applied, counted from the middle of the board. Heights are depths below its face, positive away from the
camera.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from verifier.board.print_scale import PrintScale
from verifier.errors import Refusal
from verifier.metrology.measurement import COVERAGE_FACTOR_95, Component
from verifier.vision.markers.find_board import FoundBoard
from verifier.vision.metric.camera import CameraPrior, Floats
from verifier.vision.metric.fit_model import Fit, fit_model
from verifier.vision.metric.metric_model import (
    FOCAL,
    K1,
    PLACE,
    SHARED,
    mat_to_px,
    plane_height,
    predicted,
    px_to_rays,
    rotation_of,
)
from verifier.vision.metric.model_priors import ON_THE_BOARD, MatPrior

MOST_TILT_DEG = 60.0
"""Beyond this a board is foreshortened to less than half."""

LEAST_MARKER_PX = 14.0
"""Two pixels a cell: below this neither reading nor aligning can be relied on."""

MOST_CURL_MM = 6.0
MOST_RESIDUAL_MM = 1.0

MARKER_OFF_SHARE, MARKER_OFF_PX = 0.06, 2.0
"""A marker of a plate further from the model than this share of its side, and than this, is not in the plane."""

PERTURBATION = 0.2
"""Step of numerical sensitivities, in standard uncertainties of each parameter."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a board must offer before anything is measured with it.

    Attributes:
        most_scale_u: Largest relative standard uncertainty of a length on the board itself.
        least_seen: Share of the board's markers that must be seen.
        least_markers: Number of them that is enough whatever the share.
    """

    most_scale_u: float = 0.005
    least_seen: float = 0.35
    least_markers: int = 1000


@dataclass(frozen=True, slots=True)
class PhotoGeometry:
    """Camera, boards and mat of one photo, with what is not known of them.

    A fit whose parameters are many vectors at once stands for as many models; planes and pixels then come once for each of
    them, along a leading axis.

    Attributes:
        fit: Estimates, covariance and its sources.
        boards: The boards it was fitted to; the first one gives the axes.
        camera: What was known of the camera before.
        print_scale: Of the boards.
    """

    fit: Fit
    boards: tuple[FoundBoard, ...]
    camera: CameraPrior
    print_scale: PrintScale

    def to_plane_mm(self, px: Floats, height_below_face_mm: float) -> Floats:
        """Pixels to places on a plane of the mat.

        Args:
            px: (n, 2) pixels.
            height_below_face_mm: Depth of the plane below the first board's face, at that board.

        Returns:
            (n, 2) in board axes. [mm]
        """
        reference, p = self.fit.reference, self.fit.parameters
        rays = px_to_rays(reference, p, np.asarray(px, float).reshape(-1, 2))
        rotation = rotation_of(reference, p)
        eye = -p[..., None, PLACE] @ rotation
        direction = rays @ rotation[..., :2, :] + rotation[..., 2:, :]
        across, down = direction[..., :2], direction[..., 2]

        def where(depth: Floats) -> Floats:
            return np.asarray(eye[..., :2] + across * ((depth - eye[..., 2]) / down)[..., None])

        # A mat that sags has its depth where the ray meets it: three turns are enough for a few mm over a metre.
        depth = np.full(rays.shape[:-1], height_below_face_mm)
        for _ in range(4):
            xy = where(depth)
            presumed, depth = depth, plane_height(p, xy, height_below_face_mm)
            if np.array_equal(depth, presumed):
                break
        return np.asarray(xy + reference.boards[0].centre_mm)

    def to_px(self, mm: Floats, height_below_face_mm: float) -> Floats:
        """Places on a plane of the mat to pixels: the inverse of ``to_plane_mm``.

        Args:
            mm: (n, 2) in board axes. [mm]
            height_below_face_mm: Depth of the plane below the first board's face, at that board.

        Returns:
            (n, 2) pixels.
        """
        reference, p = self.fit.reference, self.fit.parameters
        xy = np.asarray(mm, float).reshape(-1, 2) - reference.boards[0].centre_mm
        depth = plane_height(p, xy, height_below_face_mm)[..., None]
        flat = np.broadcast_to(xy, (*depth.shape[:-1], 2))
        return mat_to_px(reference, p, np.concatenate([flat, depth], axis=-1))

    def propagate(self, value_of: Callable[[PhotoGeometry], Floats]) -> dict[str, Floats]:
        """What each source of doubt in the model adds to values computed with it.

        Args:
            value_of: Takes a model and returns (m,) values, or (..., m) from one that stands for many, each with one
                uncertain parameter moved a little.

        Returns:
            Standard uncertainty (m,) by source, in the unit of the values. The sources are independent.

        Source:
            JCGM 100:2008, 5.1.3 (sensitivities) and its note 2 (found numerically), for correlated estimates split
            into the independent errors behind them.
        """
        base = np.atleast_1d(np.asarray(value_of(self), float))
        u = np.sqrt(np.diag(self.fit.covariance))
        free = np.flatnonzero(u > 0)
        steps = PERTURBATION * u[free]
        models = np.tile(self.fit.parameters, (len(free), 1))
        models[np.arange(len(free)), free] += steps
        slopes = np.zeros((len(base), len(u)))
        slopes[:, free] = ((np.asarray(value_of(self._with(models)), float) - base) / steps[:, None]).T
        budget = {d.name: np.sqrt(((slopes @ d.columns) ** 2).sum(axis=1)) for d in self.fit.doubts}
        if self.fit.rival is not None:
            # Either of the two may be true: the interval must reach from one to the other.
            other = np.atleast_1d(np.asarray(value_of(replace(self, fit=self.fit.rival)), float))
            budget["two poses fit"] = np.abs(other - base) / COVERAGE_FACTOR_95
        return budget

    def _with(self, parameters: Floats) -> PhotoGeometry:
        return replace(self, fit=replace(self.fit, parameters=parameters))

    def on_mat(self, mat: MatPrior | None = None) -> PhotoGeometry:
        """The same photo with the doubts of a mat under the board: its tilt, its height, its sag.

        Args:
            mat: What is presumed of the mat; the usual values when None.

        Returns:
            A model whose planes are those of the mat. Estimates with one board are unchanged, budgets are wider.
        """
        fitted = fit_model(self.boards, self.camera, self.print_scale, mat or MatPrior())
        return replace(self, fit=fitted)

    @property
    def centre_mm(self) -> Floats:
        """Middle of the first board, in its axes."""
        return np.asarray(self.fit.reference.boards[0].centre_mm)

    @property
    def tilt_deg(self) -> float:
        """Angle between the line of sight to the first board and the normal of the mat."""
        rotation, place = rotation_of(self.fit.reference, self.fit.parameters), self.fit.parameters[PLACE]
        return math.degrees(
            math.acos(min(1.0, abs(float(rotation[:, 2] @ place)) / float(np.linalg.norm(place))))
        )

    @property
    def eye_mm(self) -> Floats:
        """Place of the camera (3,): board axes, and depth below the face, which is negative."""
        eye = -rotation_of(self.fit.reference, self.fit.parameters).T @ self.fit.parameters[PLACE]
        return np.asarray(eye + np.array([*self.centre_mm, 0.0]))

    @property
    def focal_px(self) -> float:
        """Focal length as fitted."""
        return self.fit.reference.focal_px * math.exp(self.fit.parameters[FOCAL])

    @property
    def mm_per_px(self) -> float:
        """Size of a pixel on the face of the first board, at its middle."""
        here = self.to_px(self.centre_mm[None], 0.0)
        around = self.to_plane_mm(here + np.array([[0, 0], [1, 0], [0, 1]]), 0.0)
        return float(np.sqrt(abs(np.linalg.det(around[1:] - around[0]))))

    @property
    def reprojection_px(self) -> float:
        """Root mean square distance, per axis, of the corners from the model."""
        return float(np.sqrt(np.mean(self.fit.residual_px**2)))

    @property
    def curl_mm(self) -> float:
        """Largest bow found on a board."""
        bows = [self.fit.parameters[SHARED + 8 * b + 2 : SHARED + 8 * b + 4] for b in range(len(self.boards))]
        return float(np.abs(bows).max())


def components(budget: dict[str, Floats], index: int) -> tuple[Component, ...]:
    """Lines of a budget for one value, zero lines left out.

    Args:
        budget: As ``PhotoGeometry.propagate`` returns it.
        index: Which value.

    Returns:
        Components, largest first.
    """
    lines = [
        Component(name=name, standard_uncertainty=float(u[index]))
        for name, u in budget.items()
        if u[index] > 0
    ]
    return tuple(sorted(lines, key=lambda c: -c.standard_uncertainty))


def photo_geometry(
    boards: Sequence[FoundBoard],
    camera: CameraPrior,
    print_scale: PrintScale | None = None,
    limits: Limits | None = None,
) -> PhotoGeometry | Refusal:
    """Fit the metric model of a photo.

    Args:
        boards: Boards found in it, at least one.
        camera: What is known of the camera.
        print_scale: What is known of the boards' true size.
        limits: What the board must offer; the usual limits when None.

    Returns:
        The model, or why it can't be had and what to do.
    """
    largest = boards[0]
    if largest.marker_side_px < LEAST_MARKER_PX:
        return Refusal(
            "board-too-small",
            f"The board's markers are {largest.marker_side_px:.0f} px wide; {LEAST_MARKER_PX:.0f} px are needed. Step closer, or use a larger board.",
        )
    asked = limits or Limits()
    if (
        largest.seen_share < asked.least_seen
        and largest.seen_share * len(largest.definition.ids) < asked.least_markers
    ):
        return Refusal(
            "board-partly-hidden",
            f"Only {100 * largest.seen_share:.0f} % of the board's markers can be seen; {100 * asked.least_seen:.0f} % are needed. Clear the board and keep all of it in the picture.",
        )
    scale = print_scale or PrintScale()
    fit = fit_model(boards, camera, scale)
    if _lens_out_of_prior(fit, camera):
        camera = camera.with_unknown_lens()
        fit = fit_model(boards, camera, scale)
    geometry = PhotoGeometry(fit, tuple(boards), camera, scale)
    return _doubtful(geometry, asked) or geometry


def _lens_out_of_prior(fit: Fit, camera: CameraPrior) -> bool:
    return bool(abs(fit.parameters[K1] - camera.k[0]) > 2.0 * camera.k_u[0])


def _marker_off_plane(geometry: PhotoGeometry) -> int | None:
    """A marker of a board without checkered field that stands apart from the others."""
    seen, fit = geometry.fit.seen, geometry.fit
    away = seen.px - predicted(fit.reference, fit.parameters, seen)
    start = 0
    for board in geometry.boards:
        start += len(board.points_mm)
        for k, marker_id in enumerate(board.marker_ids):
            shift = float(np.linalg.norm(away[start + 4 * k : start + 4 * k + 4].mean(axis=0)))
            side = float(np.linalg.norm(board.outer_px[k, 1] - board.outer_px[k, 0]))
            if shift > max(MARKER_OFF_SHARE * side, MARKER_OFF_PX):
                return marker_id
        start += 4 * len(board.marker_ids)
    return None


def _doubtful(geometry: PhotoGeometry, asked: Limits) -> Refusal | None:
    tilt = geometry.tilt_deg
    if tilt > MOST_TILT_DEG:
        return Refusal(
            "board-too-oblique",
            f"The board is seen at {tilt:.0f} degrees from above; at most {MOST_TILT_DEG:.0f} are allowed. Hold the camera more over the board.",
        )
    strange = _marker_off_plane(geometry)
    if strange is not None:
        return Refusal(
            "marker-out-of-plane",
            f"Marker {strange} is not where the board definition puts it: the board is bent, cut or another one. Use a flat board and its own definition.",
        )
    residual = geometry.reprojection_px * geometry.mm_per_px
    if geometry.curl_mm > MOST_CURL_MM or residual > MOST_RESIDUAL_MM:
        found = (
            f"bowed by {geometry.curl_mm:.0f} mm"
            if geometry.curl_mm > MOST_CURL_MM
            else f"off a flat sheet by {residual:.1f} mm"
        )
        return Refusal(
            "board-curled", f"The board is {found}. Fix it to a stiff card and take the photo again."
        )
    outline = geometry.boards[0].outline_mm()
    ends = geometry.to_px(outline[[0, 2]], 0.0)
    length = float(np.linalg.norm(outline[2] - outline[0])) * geometry.print_scale.factor
    budget = geometry.propagate(lambda g: np.linalg.norm(np.diff(g.to_plane_mm(ends, 0.0), axis=-2), axis=-1))
    u = math.sqrt(sum(float(v[0]) ** 2 for name, v in budget.items() if name != "print scale")) / length
    if u > asked.most_scale_u:
        return Refusal(
            "board-too-small",
            f"The scale is known to {2 * u:.1%} only; {2 * asked.most_scale_u:.1%} is needed. Step closer, keep the camera still, or use a larger board.",
        )
    return None


__all__ = ["ON_THE_BOARD", "MatPrior", "PhotoGeometry", "components", "photo_geometry"]
