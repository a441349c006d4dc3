"""How high the sun stood at a time and place."""

from __future__ import annotations

import math
from datetime import UTC, datetime

J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)


def sun_altitude_deg(instant: datetime, latitude: float, longitude: float) -> float:
    """Return the altitude of the sun's centre above the horizon, without refraction.

    Good to about 0.01 degrees between 1950 and 2050.

    Args:
        instant: Time with its zone.
        latitude: North positive. [deg]
        longitude: East positive. [deg]

    Returns:
        Altitude, negative below the horizon. [deg]

    Raises:
        ValueError: If the time has no zone.

    Source:
        Low-precision formulas for the sun, The Astronomical Almanac, section C; sidereal time as there, section B.
    """
    if instant.utcoffset() is None:
        raise ValueError(f"{instant.isoformat()} has no zone")
    days = (instant - J2000).total_seconds() / 86400.0
    mean_longitude = 280.460 + 0.9856474 * days
    anomaly = math.radians(357.528 + 0.9856003 * days)
    ecliptic = math.radians(mean_longitude + 1.915 * math.sin(anomaly) + 0.020 * math.sin(2 * anomaly))
    obliquity = math.radians(23.439 - 0.0000004 * days)
    declination = math.asin(math.sin(obliquity) * math.sin(ecliptic))
    right_ascension = math.atan2(math.cos(obliquity) * math.sin(ecliptic), math.cos(ecliptic))
    hour_angle = math.radians(280.46062 + 360.98564737 * days + longitude) - right_ascension
    height = math.radians(latitude)
    return math.degrees(
        math.asin(
            math.sin(height) * math.sin(declination)
            + math.cos(height) * math.cos(declination) * math.cos(hour_angle)
        )
    )
