"""Distances on the ellipsoid, and how far a position lies outside a site."""

from __future__ import annotations

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from verifier.photo.exif import ExifClaims, Position
from verifier.photo.observations import ObservationKey
from verifier.photo.place import SiteLimits, distance_m, outside_by_m, place_observations

HERE = (47.0512, 8.3093)


def at(distance: float, bearing: float, start: tuple[float, float] = HERE) -> tuple[float, float]:
    there = Geodesic.WGS84.Direct(*start, bearing, distance)
    return there["lat2"], there["lon2"]


@pytest.mark.source(
    "GeographicLib documentation, worked example: airports at 40.6 -73.8 and 51.6 -0.5, 5551759.400 m"
)
def test_between_two_airports() -> None:
    assert distance_m((40.6, -73.8), (51.6, -0.5)) == pytest.approx(5551759.400, abs=0.001)


@pytest.mark.source("WGS 84, one degree of latitude from the equator 110574.389 m, of longitude 111319.491 m")
def test_one_degree() -> None:
    assert distance_m((0, 0), (1, 0)) == pytest.approx(110574.389, abs=0.001)
    assert distance_m((0, 0), (0, 1)) == pytest.approx(111319.491, abs=0.001)


@pytest.mark.source("Geodesic problem, direct against inverse (GeographicLib)")
@given(st.floats(0, 2000), st.floats(-180, 180))
def test_outside_a_circle_by_the_distance_less_the_radius(distance: float, bearing: float) -> None:
    site = SiteLimits(centre=HERE, radius_m=80)
    assert outside_by_m(at(distance, bearing), site) == pytest.approx(max(0.0, distance - 80), abs=1e-3)


SQUARE = SiteLimits(fence=tuple(at(100 * 2**0.5, bearing) for bearing in (45, 135, 225, 315)))


@pytest.mark.source("Plane geometry,  a square of 200 m, laid out by geodesics")
@pytest.mark.parametrize(
    ("distance", "bearing", "outside"),
    [(0, 0, 0), (99, 0, 0), (99, 90, 0), (150, 0, 50), (150, 90, 50), (150, 180, 50), (250, 270, 150)],
)
def test_outside_a_fence(distance: float, bearing: float, outside: float) -> None:
    assert outside_by_m(at(distance, bearing), SQUARE) == pytest.approx(outside, abs=0.01)


@pytest.mark.source("Plane geometry, beyond a corner the corner is nearest")
def test_outside_beyond_a_corner() -> None:
    assert outside_by_m(at(241.42, 45), SQUARE) == pytest.approx(100, abs=0.05)


@pytest.mark.source("Plane geometry, an L-shaped site; the notch is outside")
def test_a_fence_with_a_notch() -> None:
    def point(east: float, north: float) -> tuple[float, float]:
        return at(north, 0, at(east, 90)) if north >= 0 else at(-north, 180, at(east, 90))

    fence = SiteLimits(
        fence=tuple(point(*p) for p in ((0, 0), (100, 0), (100, 40), (40, 40), (40, 100), (0, 100)))
    )
    assert outside_by_m(point(20, 80), fence) == 0
    assert outside_by_m(point(80, 20), fence) == 0
    assert outside_by_m(point(80, 80), fence) == pytest.approx(40, abs=0.01)


@pytest.mark.source("Exif 2.32, 0x001F; PLOS ONE 14(7) e0219890 (2019): 7 m to 13 m")
@pytest.mark.parametrize(
    ("distance", "accuracy", "weight"),
    [
        (84, 5.0, None),
        (86, 5.0, "note"),
        (92, None, None),
        (94, None, "note"),
        (115, 5.0, "note"),
        (120, 5.0, "warning"),
    ],
)
def test_a_position_is_allowed_its_stated_accuracy(
    distance: float, accuracy: float | None, weight: str | None
) -> None:
    latitude, longitude = at(distance, 60)
    claims = ExifClaims(position=Position(latitude=latitude, longitude=longitude, accuracy_m=accuracy))
    found = place_observations(claims, SiteLimits(centre=HERE, radius_m=80))
    assert [o.weight for o in found] == ([weight] if weight else [])
    assert all(
        o.key is ObservationKey.OUTSIDE_SITE and o.value == pytest.approx(distance - 80, abs=0.1)
        for o in found
    )


@pytest.mark.source("common practice, no source: a site is a circle or a fence, not both and not neither")
@pytest.mark.parametrize(
    "shape",
    [{}, {"centre": HERE}, {"fence": (HERE, HERE)}, {"centre": HERE, "radius_m": 5, "fence": (HERE,) * 3}],
)
def test_half_a_site_is_refused(shape: dict[str, object]) -> None:
    with pytest.raises(ValidationError, match="fence of three points"):
        SiteLimits.model_validate(shape)
