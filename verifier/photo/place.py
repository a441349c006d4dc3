"""Is the position that a photo claims inside the site, and by how much is it outside?"""

from __future__ import annotations

import math
from typing import Annotated, Self

from geographiclib.geodesic import Geodesic
from pydantic import BaseModel, Field, model_validator

from verifier.photo.exif import ExifClaims, Position
from verifier.photo.observations import Observation, ObservationKey

UNSTATED_ACCURACY_M = 13.0
"""Upper end of the mean error of phones in a town, 7 m to 13 m (PLOS ONE 14(7), 2019, e0219890)."""
_LIMITS_SOURCE = "Exif 2.32, tag 0x001F; PLOS ONE 14(7) e0219890 (2019) where the phone states no accuracy"

LatLon = tuple[Annotated[float, Field(ge=-90, le=90)], Annotated[float, Field(ge=-180, le=180)]]


class SiteLimits(BaseModel, frozen=True, extra="forbid"):
    """Where photos of a pour may be taken: a circle (``centre`` and ``radius_m``) or a ``fence`` of three points or more.

    Points are latitude and longitude in degrees, WGS 84.
    """

    centre: LatLon | None = None
    radius_m: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    fence: tuple[LatLon, ...] = ()

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        circle = self.centre is not None and self.radius_m is not None
        if circle == bool(self.fence) or (self.fence and len(self.fence) < 3):
            raise ValueError("give centre and radius_m, or a fence of three points or more")
        return self


def distance_m(here: tuple[float, float], there: tuple[float, float]) -> float:
    """Return the shortest way between two points on the WGS 84 ellipsoid.

    Args:
        here: Latitude and longitude. [deg]
        there: Latitude and longitude. [deg]

    Returns:
        Distance. [m]

    Source:
        C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013), as geographiclib has it.
    """
    return float(Geodesic.WGS84.Inverse(*here, *there)["s12"])


def outside_by_m(point: tuple[float, float], site: SiteLimits) -> float:
    """Return how far a point lies outside a site.

    Args:
        point: Latitude and longitude. [deg]
        site: Circle or fence.

    Returns:
        Distance to the limit; zero inside. [m]

    Source:
        Geodesic distance for a circle. A fence is laid out flat around the point (azimuthal equidistant projection),
        which is exact for distances from the point and good to 1 in 10^6 within 10 km.
    """
    if site.centre is not None and site.radius_m is not None:
        return max(0.0, distance_m(point, site.centre) - site.radius_m)
    corners = [_around(point, corner) for corner in site.fence]
    sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
    crossings = sum(
        (a[1] > 0) != (b[1] > 0) and a[0] + (b[0] - a[0]) * a[1] / (a[1] - b[1]) > 0 for a, b in sides
    )
    return 0.0 if crossings % 2 else min(_distance_to_side(a, b) for a, b in sides)


def _around(point: tuple[float, float], corner: tuple[float, float]) -> tuple[float, float]:
    """East and north of a corner as seen from the point, in m."""
    line = Geodesic.WGS84.Inverse(*point, *corner)
    bearing = math.radians(line["azi1"])
    return line["s12"] * math.sin(bearing), line["s12"] * math.cos(bearing)


def _distance_to_side(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Distance of the origin from the side between a and b, in m."""
    along = (b[0] - a[0], b[1] - a[1])
    length_squared = along[0] ** 2 + along[1] ** 2
    share = 0.0 if length_squared == 0 else -(a[0] * along[0] + a[1] * along[1]) / length_squared
    share = min(1.0, max(0.0, share))
    return math.hypot(a[0] + share * along[0], a[1] + share * along[1])


def accuracy_m(position: Position) -> float:
    """Return the accuracy to allow a position.

    Args:
        position: The claimed position.

    Returns:
        What the phone states, else 13 m. [m]

    Source:
        Exif 2.32, tag 0x001F; PLOS ONE 14(7) e0219890 (2019).
    """
    return position.accuracy_m or UNSTATED_ACCURACY_M


def place_observations(claims: ExifClaims, site: SiteLimits | None) -> list[Observation]:
    """Hold the claimed position against the site.

    Args:
        claims: What the photo claims.
        site: Circle or fence; without it only a missing position is observed.

    Returns:
        Observations: position missing, or outside by more than its accuracy. Beyond three times the accuracy
        (13 m at least) it is a warning.
    """
    if claims.position is None:
        return [
            Observation(
                key=ObservationKey.NO_POSITION,
                weight="note",
                value="none",
                says="The photo does not say where it was taken.",
                todo="Allow the camera to store the location. Until then the board in the picture has to tie it to the pour.",
                source="Exif 2.32, tags 0x0002 and 0x0004",
            )
        ]
    if site is None:
        return []
    outside = outside_by_m((claims.position.latitude, claims.position.longitude), site)
    allowed = accuracy_m(claims.position)
    if outside <= allowed:
        return []
    far = outside > 3 * max(allowed, UNSTATED_ACCURACY_M)
    return [
        Observation(
            key=ObservationKey.OUTSIDE_SITE,
            weight="warning" if far else "note",
            value=round(outside, 1),
            limit=round(allowed, 1),
            unit="m",
            says=f"The position lies {outside:.0f} m outside the site; the phone's accuracy explains {allowed:.0f} m.",
            todo="Check that the photo belongs to this pour, and that the site limits are right; if so, take it again.",
            source=_LIMITS_SOURCE,
        )
    ]
