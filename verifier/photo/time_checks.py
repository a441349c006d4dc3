"""Do the times around a photo fit each other: camera clock, GPS clock, receipt, the pour, the sun?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Literal, Self

from pydantic import AwareDatetime, BaseModel, model_validator

from verifier.photo.exif import ExifClaims
from verifier.photo.observations import Observation, ObservationKey
from verifier.photo.sun import sun_altitude_deg

CLOCK_NOTE = timedelta(seconds=60)
CLOCK_WARNING = timedelta(minutes=10)
FUTURE_ALLOWED = timedelta(minutes=2)
LATE_AFTER = timedelta(hours=24)
DARK_BELOW_DEG = -6.0
BRIGHT_FROM = 70.0
_ZONE_STEP = timedelta(minutes=15)
_TIME_SOURCE = "Exif 2.32, tags 0x9003 and 0x9011; limit: common practice, no source"
_GPS_SOURCE = "Exif 2.32, tags 0x9003, 0x9011, GPS 0x0007 and 0x001D; limit: common practice, no source"


class Window(BaseModel, frozen=True, extra="forbid"):
    """When photos of a pour may have been taken; both ends with their zone and belonging to it."""

    start: AwareDatetime
    end: AwareDatetime

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.end < self.start:
            raise ValueError("the window ends before it starts")
        return self


@dataclass(frozen=True, slots=True)
class Captured:
    """When a photo was taken, as far as it says.

    Attributes:
        at: The instant, with a zone.
        basis: ``zone stated`` by the photo; ``zone from GPS``, worked out from its GPS time; or ``zone assumed``.
    """

    at: datetime
    basis: Literal["zone stated", "zone from GPS", "zone assumed"]


def captured_at(claims: ExifClaims, assumed_zone: timezone) -> Captured | None:
    """Return the instant of capture, and how its zone is known.

    Args:
        claims: What the photo claims.
        assumed_zone: Zone to take where the photo gives no way to know it.

    Returns:
        The instant, or ``None`` where the photo states no capture time.

    Source:
        Exif 2.32: tag 0x9003 has no zone, 0x9011 states it, GPS times are UTC.
    """
    if claims.captured_local is None:
        return None
    if claims.captured is not None:
        return Captured(claims.captured, "zone stated")
    if claims.gps_time is not None:
        ahead = claims.captured_local - claims.gps_time.replace(tzinfo=None)
        zone = _nearest_step(ahead)
        if abs(ahead - zone) <= CLOCK_WARNING and abs(zone) <= timedelta(hours=14):
            return Captured(claims.captured_local.replace(tzinfo=timezone(zone)), "zone from GPS")
    return Captured(claims.captured_local.replace(tzinfo=assumed_zone), "zone assumed")


def _nearest_step(ahead: timedelta) -> timedelta:
    return round(ahead / _ZONE_STEP) * _ZONE_STEP


def time_observations(claims: ExifClaims, received_at: datetime, window: Window | None) -> list[Observation]:
    """Hold the times of a photo against each other, against receipt and against the window of the pour.

    Args:
        claims: What the photo claims.
        received_at: When the bytes arrived, with zone.
        window: When photos of the pour may have been taken.

    Returns:
        Observations, in no order of weight.
    """
    anchor = window.start if window else received_at
    captured = captured_at(claims, timezone(anchor.utcoffset() or timedelta(0)))
    if captured is None:
        return [
            Observation(
                key=ObservationKey.NO_CAPTURE_TIME,
                weight="warning",
                value="none",
                says="The photo does not say when it was taken.",
                todo="Send the photo as the phone stored it; until then only its receipt is dated.",
                source="Exif 2.32, tag 0x9003",
            )
        ]
    found = [
        *_against_gps(claims, captured),
        *_against_receipt(captured, received_at),
    ]
    if window is not None and not window.start <= captured.at <= window.end:
        off = max(window.start - captured.at, captured.at - window.end)
        found.append(
            Observation(
                key=ObservationKey.OUTSIDE_WINDOW,
                weight="warning",
                value=captured.at.isoformat(),
                limit=f"{window.start.isoformat()}/{window.end.isoformat()}",  # an interval as ISO 8601 writes it
                says=f"Taken {_span(off)} before the time of this pour's inspection ({captured.basis})."
                if captured.at < window.start
                else f"Taken {_span(off)} after the time of this pour's inspection ({captured.basis}).",
                todo="Check the phone's clock and that the photo belongs to this pour; otherwise take it again.",
                source=_TIME_SOURCE,
            )
        )
    return found


def _against_gps(claims: ExifClaims, captured: Captured) -> list[Observation]:
    if claims.gps_time is None or claims.captured_local is None:
        return []
    ahead = captured.at - claims.gps_time
    if captured.basis == "zone stated":
        zone_error = _nearest_step(ahead)
        rest = ahead - zone_error
        if zone_error and abs(zone_error) <= timedelta(hours=14) and abs(rest) <= CLOCK_NOTE:
            return [
                Observation(
                    key=ObservationKey.ZONE_AGAINST_GPS,
                    weight="note",
                    value=zone_error.total_seconds() / 3600,
                    limit=0.0,
                    unit="h",
                    says=f"Camera and GPS differ by {_span(zone_error)}, a whole zone: the phone's zone is probably wrong.",
                    todo="Set the phone to the network's time and zone.",
                    source=_GPS_SOURCE,
                )
            ]
    if abs(ahead) <= CLOCK_NOTE:
        return []
    return [
        Observation(
            key=ObservationKey.CLOCK_AGAINST_GPS,
            weight="warning" if abs(ahead) > CLOCK_WARNING else "note",
            value=ahead.total_seconds(),
            limit=(CLOCK_WARNING if abs(ahead) > CLOCK_WARNING else CLOCK_NOTE).total_seconds(),
            unit="s",
            says=f"The camera clock is {_span(ahead)} ahead of GPS time ({captured.basis}); the GPS fix may also be an older one."
            if ahead > timedelta(0)
            else f"The camera clock is {_span(ahead)} behind GPS time ({captured.basis}); the GPS fix may also be an older one.",
            todo="Set the phone to the network's time, and compare with the next photo.",
            source=_GPS_SOURCE,
        )
    ]


def _against_receipt(captured: Captured, received_at: datetime) -> list[Observation]:
    delay = received_at - captured.at
    if delay < -FUTURE_ALLOWED:
        return [
            Observation(
                key=ObservationKey.AFTER_RECEIPT,
                weight="warning",
                value=-delay.total_seconds(),
                limit=FUTURE_ALLOWED.total_seconds(),
                unit="s",
                says=f"The photo claims to be taken {_span(delay)} after it was received ({captured.basis}).",
                todo="Check the phone's clock and zone.",
                source=_TIME_SOURCE,
            )
        ]
    if delay > LATE_AFTER:
        return [
            Observation(
                key=ObservationKey.RECEIVED_LATE,
                weight="note",
                value=round(delay.total_seconds() / 3600, 1),
                limit=LATE_AFTER.total_seconds() / 3600,
                unit="h",
                says=f"Received {_span(delay)} after capture: the record did not grow with the work.",
                todo="Send photos on the day they are taken.",
                source="Society of Construction Law, Delay and Disruption Protocol (records as the work goes on); "
                "limit: common practice, no source",
            )
        ]
    return []


def night_observations(claims: ExifClaims, assumed_zone: timezone, mean_grey: float) -> list[Observation]:
    """Note a bright picture without flash at a time and place where it was dark.

    Args:
        claims: What the photo claims.
        assumed_zone: Zone to take where the photo gives no way to know it.
        mean_grey: Mean grey value of the picture, 0 to 255.

    Returns:
        One note, or nothing.

    Source:
        Civil twilight ends with the sun 6 degrees below the horizon (The Astronomical Almanac, glossary).
    """
    captured = captured_at(claims, assumed_zone)
    if (
        captured is None
        or claims.position is None
        or claims.flash_fired is not False
        or mean_grey < BRIGHT_FROM
    ):
        return []
    altitude = sun_altitude_deg(captured.at, claims.position.latitude, claims.position.longitude)
    if altitude >= DARK_BELOW_DEG:
        return []
    return [
        Observation(
            key=ObservationKey.BRIGHT_AT_NIGHT,
            weight="note",
            value=round(altitude, 1),
            limit=DARK_BELOW_DEG,
            unit="deg",
            says=f"Time and place say night (sun {altitude:.0f} degrees high), the flash did not fire, the picture is "
            "bright. Site lamps explain it; a wrong clock does too.",
            todo="Say in a remark whether lamps were on; check the phone's clock.",
            source="The Astronomical Almanac (end of civil twilight); brightness limit: common practice, no source",
        )
    ]


def _span(span: timedelta) -> str:
    """A time span in the unit a person would use."""
    seconds = abs(span.total_seconds())
    for size, unit in ((86400, "days"), (3600, "h"), (60, "min")):
        if seconds >= 2 * size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds:.3g} s"
