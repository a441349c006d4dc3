"""What is known of the camera before looking at the board: focal length, principal point and lens, each with its doubt."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FULL_FRAME_DIAGONAL_MM = math.hypot(36, 24)

CLAIMED_FOCAL_U = 0.02
"""Relative standard uncertainty of a focal length that the file claims: rounded to a millimetre of the 35 mm format,
taken at infinity focus, stated for the diagonal or for the width (common practice, no source)."""

CROPPED_FOCAL_U = 0.05
"""The same for a picture that is not of the sensor's own shape: it may have been cropped after the claim was written."""

USUAL_FOCAL_35MM, USUAL_FOCAL_U = 27.0, 0.25
"""Main camera of a phone, where nothing is claimed."""

CENTRE_U_SHARE = 0.004
"""Principal point off the middle of the picture, as a share of its long side."""

CORRECTED_LENS_U = (0.02, 0.008)
"""k1 and k2 left over in a picture that a phone has straightened itself."""

UNKNOWN_LENS_U = (0.08, 0.08)
"""k1 and k2 of a camera of which nothing is known."""

SETTLED = 1e-12
"""Steps of Newton's method below this, in focal lengths, are the end: the next one would be lost in rounding."""

SENSOR_SHAPES = (4 / 3, 3 / 2)
"""Long over short side of common sensors."""


class FocalClaims(Protocol):
    """What a file claims about its lens; intake reads it from Exif."""

    @property
    def focal_length_mm(self) -> float | None:
        """Focal length. [mm]."""

    @property
    def focal_length_35mm(self) -> float | None:
        """Focal length of the same angle of view on 36 x 24 mm. [mm]."""

    @property
    def focal_plane_px_per_mm(self) -> tuple[float, float] | None:
        """Resolution of the sensor."""

    @property
    def width_px(self) -> int | None:
        """Width of the picture that the resolution is meant for."""

    @property
    def digital_zoom(self) -> float | None:
        """Digital zoom ratio; 0 or 1 for none."""


@dataclass(frozen=True, slots=True)
class CameraPrior:
    """A camera with standard uncertainties, in pixels of the upright photo.

    Radial distortion in the usual convention: a ray at distance r from the axis (in focal lengths) is seen at
    r (1 + k1 r^2 + k2 r^4).

    Attributes:
        focal_px: Focal length.
        focal_u: Its relative standard uncertainty.
        centre_px: Principal point.
        centre_u_px: Its standard uncertainty, in x and in y.
        k: k1 and k2.
        k_u: Their standard uncertainties.
        source: Where the focal length comes from, for people.
    """

    focal_px: float
    focal_u: float
    centre_px: tuple[float, float]
    centre_u_px: float
    k: tuple[float, float]
    k_u: tuple[float, float]
    source: str

    def with_unknown_lens(self) -> CameraPrior:
        """The same with the wide lens prior: for a photo that contradicts the narrow one.

        Returns:
            A camera whose k1 and k2 are no better known than those of any lens; a prior that is wider already stays.
        """
        return replace(self, k_u=(max(self.k_u[0], UNKNOWN_LENS_U[0]), max(self.k_u[1], UNKNOWN_LENS_U[1])))


def camera_prior(width_px: int, height_px: int, claims: FocalClaims | None = None) -> CameraPrior:
    """What is known of a camera from the file's claims.

    Args:
        width_px: Width of the upright photo.
        height_px: Height of the upright photo.
        claims: Exif claims, None where the file has none.

    Returns:
        Prior for the fit.

    Source:
        Exif 2.32 (CIPA DC-008-2019), tags 0xA405 (by the diagonal), 0x920A with 0xA20E, 0xA404.
    """
    diagonal, long_side = math.hypot(width_px, height_px), max(width_px, height_px)
    shape = long_side / min(width_px, height_px)
    whole = any(abs(shape / s - 1) < 0.02 for s in SENSOR_SHAPES)
    claimed_u = CLAIMED_FOCAL_U if whole else CROPPED_FOCAL_U
    zoom = (claims.digital_zoom if claims else None) or 1.0
    if claims and claims.focal_length_35mm:
        # The 35 mm equivalent already contains the digital zoom.
        focal, u, source = (
            claims.focal_length_35mm / FULL_FRAME_DIAGONAL_MM * diagonal,
            claimed_u,
            "35 mm equivalent in Exif",
        )
    elif claims and claims.focal_length_mm and claims.focal_plane_px_per_mm:
        resized = long_side / max(claims.width_px, 1) if claims.width_px else 1.0
        focal = claims.focal_length_mm * max(claims.focal_plane_px_per_mm) * min(resized, 1.0) * zoom
        u, source = claimed_u, "focal length and sensor resolution in Exif"
    else:
        focal, u, source = (
            USUAL_FOCAL_35MM / FULL_FRAME_DIAGONAL_MM * diagonal,
            USUAL_FOCAL_U,
            "usual phone camera, nothing claimed",
        )
    known = claims is not None and bool(claims.focal_length_35mm or claims.focal_length_mm)
    return CameraPrior(
        focal_px=focal,
        focal_u=u,
        centre_px=((width_px - 1) / 2, (height_px - 1) / 2),
        centre_u_px=CENTRE_U_SHARE * long_side,
        k=(0.0, 0.0),
        k_u=CORRECTED_LENS_U if known else UNKNOWN_LENS_U,
        source=source,
    )


def distorted(xy: Floats, k1: Floats | float, k2: Floats | float) -> Floats:
    """Where the lens puts rays.

    Args:
        xy: (..., n, 2) rays, as the place where they cross a plane at unit distance: focal lengths from the axis.
        k1: Radial distortion, factor of r^2 with r in focal lengths; one for all, or (..., 1, 1).
        k2: Radial distortion, factor of r^4, likewise.

    Returns:
        (..., n, 2) places in the picture, in focal lengths from the principal point.

    Source:
        Radial polynomial of Brown 1971, "Close-range camera calibration", first two terms (from memory).
    """
    r2 = (xy * xy).sum(axis=-1, keepdims=True)
    return np.asarray(xy * (1 + k1 * r2 + k2 * r2 * r2))


def undistorted(xy: Floats, k1: Floats | float, k2: Floats | float) -> Floats:
    """Rays that the lens puts at the given places; the inverse of ``distorted`` by Newton's method.

    Args:
        xy: (..., n, 2) places in the picture, in focal lengths from the principal point.
        k1: Radial distortion, factor of r^2 with r in focal lengths; one for all, or (..., 1, 1).
        k2: Radial distortion, factor of r^4, likewise.

    Returns:
        (..., n, 2) rays, in focal lengths from the axis, after eight steps at most. They are the inverse only as far out as the
        polynomial rises; beyond that no ray is seen at the place, and what comes back means nothing.

    Source:
        The polynomial as in ``distorted``; Newton's method from the place itself (textbook, from memory).
    """
    seen = np.hypot(xy[..., :1], xy[..., 1:])
    r = seen
    for _ in range(8):
        r2 = r * r
        bent = k2 * r2
        step = (r * (1 + (k1 + bent) * r2) - seen) / np.maximum(1 + (3 * k1 + 5 * bent) * r2, 0.1)
        r = r - step
        if float(np.abs(step).max(initial=0.0)) < SETTLED:
            break
    return np.asarray(xy * np.where(seen > 1e-12, r / np.maximum(seen, 1e-12), 1.0))
