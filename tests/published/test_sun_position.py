"""The sun's altitude against published worked examples and a kept library."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pytest

from verifier.photo.sun import sun_altitude_deg


@pytest.mark.source(
    "NREL/TP-560-34302 (2008), A.5: topocentric elevation without refraction 39.872046 degrees"
)
def test_the_worked_example_of_the_solar_position_algorithm() -> None:
    instant = datetime(2003, 10, 17, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7)))
    assert sun_altitude_deg(instant, 39.742476, -105.1786) == pytest.approx(39.872, abs=0.01)


@pytest.mark.source("J. Meeus, Astronomical Algorithms, 2nd ed., example 25.a: declination -7.78507 degrees")
def test_at_the_pole_the_altitude_is_the_declination() -> None:
    # 1992 October 13, 0 h dynamical time; one minute earlier or later changes nothing at this accuracy.
    assert sun_altitude_deg(datetime(1992, 10, 13, tzinfo=UTC), 90.0, 0.0) == pytest.approx(-7.785, abs=0.01)


@pytest.mark.source(
    "Obliquity of the ecliptic 23.436 degrees in 2026; equinox 2026-03-20 14:46 UTC, solstice 06-21 08:25"
)
def test_equinox_and_solstice() -> None:
    assert sun_altitude_deg(datetime(2026, 3, 20, 14, 46, tzinfo=UTC), 90.0, 0.0) == pytest.approx(
        0.0, abs=0.01
    )
    assert sun_altitude_deg(datetime(2026, 6, 21, 8, 25, tzinfo=UTC), 90.0, 0.0) == pytest.approx(
        23.436, abs=0.01
    )


@pytest.mark.source("astral 3.2 as independent solar library")
def test_two_thousand_random_times_and_places() -> None:
    astral = pytest.importorskip(
        "astral", reason="astral is not installed; the published examples above still hold"
    )
    from astral.sun import elevation

    seed = np.random.default_rng(11)
    worst = 0.0
    for _ in range(2000):
        instant = datetime(2020, 1, 1, tzinfo=UTC) + timedelta(
            seconds=float(seed.uniform(0, 16 * 365 * 86400))
        )
        latitude, longitude = float(seed.uniform(-89, 89)), float(seed.uniform(-180, 180))
        theirs = elevation(astral.Observer(latitude, longitude), instant, with_refraction=False)
        worst = max(worst, abs(sun_altitude_deg(instant, latitude, longitude) - theirs))
    assert worst < 0.03


@pytest.mark.source("common practice, an instant needs its zone")
def test_a_time_without_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no zone"):
        sun_altitude_deg(datetime(2026, 5, 13, 12), 47.0, 8.0)  # noqa: DTZ001 - the point of the test
