"""The photo's metric model as the bars need it: planes of the mat, and the signed effects of every source of doubt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from verifier.vision.find_bars import Floats, Plane
from verifier.vision.geometry import PERTURBATION, MatPrior, PhotoGeometry

SAG_ONLY = MatPrior(board_tilt_u_rad=0.0, height_u_mm=0.0, sag_u_mm=MatPrior().sag_u_mm)
"""Tilt and depth of the mat have components of their own here, because the bars say something about the tilt."""


@dataclass(frozen=True, slots=True)
class MatMetric:
    """A photo's geometry with the sag of the mat among its doubts.

    Attributes:
        geometry: The fitted model.
    """

    geometry: PhotoGeometry

    @classmethod
    def of(cls, geometry: PhotoGeometry) -> MatMetric:
        """The model on a mat."""
        return cls(geometry.on_mat(SAG_ONLY))

    def to_plane_mm(self, px: Floats, height_below_face_mm: float) -> Floats:
        """Pixels (n, 2) to board coordinates (n, 2) in mm on a plane below the face."""
        return self.geometry.to_plane_mm(px, height_below_face_mm)

    def to_px(self, mm: Floats, height_below_face_mm: float) -> Floats:
        """The way back."""
        return self.geometry.to_px(mm, height_below_face_mm)

    def effects(self, value_of: Callable[[Plane], Floats]) -> dict[str, Floats]:
        """Signed effects (values, sources) of one standard deviation of each independent source, by component.

        Args:
            value_of: Takes a model and returns (m,) values.

        Returns:
            For each component (m, k) effects; their squares add up to its variance.

        Source:
            JCGM 100:2008, 5.1.3 and its note 2.
        """
        fit = self.geometry.fit
        base = np.asarray(value_of(self), float)
        u = np.sqrt(np.diag(fit.covariance))
        slopes = np.zeros((len(base), len(u)))
        for j in np.flatnonzero(u > 0):
            moved = fit.parameters.copy()
            moved[j] += PERTURBATION * u[j]
            model = MatMetric(replace(self.geometry, fit=replace(fit, parameters=moved)))
            slopes[:, j] = (np.asarray(value_of(model), float) - base) / (PERTURBATION * u[j])
        return {doubt.name: slopes @ doubt.columns for doubt in fit.doubts}
