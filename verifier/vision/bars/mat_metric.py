"""The photo's metric model as the bars need it: planes of the mat, and the signed effects of every source of doubt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from verifier.vision.bars.layer_axes import Floats
from verifier.vision.metric.geometry import PERTURBATION, MatPrior, PhotoGeometry
from verifier.vision.metric.metric_model import K1, SAG

SAG_U_MM = MatPrior().sag_u_mm
"""Rise or sag of the mat at 1 m. Its tilt and depth have components of their own elsewhere, because the bars say
something about the tilt."""


@dataclass(frozen=True, slots=True)
class MatMetric:
    """A photo's geometry with the sag of the mat among its doubts.

    Attributes:
        geometry: The fitted model, or many models at once.
    """

    geometry: PhotoGeometry

    def to_plane_mm(self, px: Floats, height_below_face_mm: float) -> Floats:
        """Where the rays of pixels meet a plane below the face.

        Args:
            px: (n, 2) pixels of the upright photo.
            height_below_face_mm: Depth of the plane below the printed face, at the board.

        Returns:
            (n, 2) board coordinates in mm.
        """
        return self.geometry.to_plane_mm(px, height_below_face_mm)

    def to_px(self, mm: Floats, height_below_face_mm: float) -> Floats:
        """Where points of a plane below the face are seen; the inverse of ``to_plane_mm``.

        Args:
            mm: (n, 2) board coordinates in mm.
            height_below_face_mm: Depth of the plane below the printed face, at the board.

        Returns:
            (n, 2) pixels of the upright photo.
        """
        return self.geometry.to_px(mm, height_below_face_mm)

    @property
    def lens_u(self) -> float:
        """Standard uncertainty of k1 after the board was fitted."""
        return float(np.sqrt(self.geometry.fit.covariance[K1, K1]))

    def bent(self, more: Floats | float) -> MatMetric:
        """The model with more radial distortion, all that hangs together with it moved as the corners ask.

        Args:
            more: Added to k1 (no unit; radius in focal lengths): one for all, or (...,) where this stands for many models.

        Returns:
            A model whose other parameters follow by their covariance with k1; the same one where k1 is held.

        Source:
            Conditional mean of a multivariate normal distribution (textbook, from memory).
        """
        fit = self.geometry.fit
        column = fit.covariance[:, K1]
        if column[K1] <= 0:
            return self
        return self._with(fit.parameters + column / column[K1] * np.asarray(more)[..., None])

    def effects(self, value_of: Callable[[MatMetric], Floats], base: Floats) -> dict[str, Floats]:
        """Signed effects (values, sources) of one standard deviation of each independent source, by component.

        Args:
            value_of: Takes a model that stands for many, each with one parameter moved a little, and returns (..., m)
                values.
            base: (m,) values of this model.

        Returns:
            For each component (m, k) effects; their squares add up to its variance.

        Source:
            JCGM 100:2008, 5.1.3 and its note 2.
        """
        fit = self.geometry.fit
        u = np.sqrt(np.diag(fit.covariance))
        told = np.flatnonzero(u > 0)
        sag = np.arange(SAG.start, SAG.stop)
        moved = np.concatenate([told, sag])
        steps = PERTURBATION * np.concatenate([u[told], np.full(len(sag), SAG_U_MM)])
        models = np.tile(fit.parameters, (len(moved), 1))
        models[np.arange(len(moved)), moved] += steps
        slopes = (np.asarray(value_of(self._with(models)), float) - base) / steps[:, None]
        out = {doubt.name: slopes[: len(told)].T @ doubt.columns[told] for doubt in fit.doubts}
        out["mat flatness"] = slopes[len(told) :].T * SAG_U_MM
        return out

    def _with(self, parameters: Floats) -> MatMetric:
        return MatMetric(replace(self.geometry, fit=replace(self.geometry.fit, parameters=parameters)))
