"""The focal length in pixels that a photo's claims lead to, and how far to trust it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from verifier.photo.exif import ExifClaims

DIAGONAL_35MM = math.hypot(36.0, 24.0)
"""Diagonal of the 35 mm film frame. [mm]"""
_BY_WIDTH_INSTEAD = 0.04
"""By how much the result differs where a maker refers to the frame's width, not its diagonal (4:3 picture)."""
_SENSOR_TAGS = 0.01


@dataclass(frozen=True, slots=True)
class FocalClaim:
    """A focal length worked out from claims.

    Attributes:
        focal_px: Focal length in pixels of the full-size photo.
        standard_uncertainty_px: Its standard uncertainty.
        basis: The tags that it was worked out from.
    """

    focal_px: float
    standard_uncertainty_px: float
    basis: str


def focal_length_px(claims: ExifClaims, width_px: int, height_px: int) -> FocalClaim | None:
    """Work out the focal length in pixels.

    Args:
        claims: What the photo claims.
        width_px: Width of the full-size photo, stored or upright.
        height_px: Height of the full-size photo.

    Returns:
        The claim, or ``None`` where the photo says nothing usable. It rests on what the file says, no more.

    Source:
        Exif 2.32, tags 0xA405 (35 mm film), 0x920A with 0xA20E (sensor resolution); CIPA DCG-001 (equivalence by the
        diagonal of the frame). Rounding to whole mm and reference to the width: JCGM 100:2008, 4.3.7.
    """
    if claims.focal_length_35mm is not None:
        focal = claims.focal_length_35mm / DIAGONAL_35MM * math.hypot(width_px, height_px)
        share = math.hypot(0.5 / claims.focal_length_35mm, _BY_WIDTH_INSTEAD) / math.sqrt(3.0)
        return FocalClaim(focal, share * focal, "35 mm equivalent (0xA405)")
    if claims.focal_length_mm is not None and claims.focal_plane_px_per_mm is not None and claims.width_px:
        # The sensor's resolution holds for the size it was taken in; a smaller copy has longer pixels.
        reduced = max(width_px, height_px) / max(claims.width_px, claims.height_px or 0)
        focal = claims.focal_length_mm * claims.focal_plane_px_per_mm[0] * reduced
        return FocalClaim(focal, _SENSOR_TAGS * focal, "focal length and sensor resolution (0x920A, 0xA20E)")
    return None
