"""What a photo claims about itself: time, place, camera. Claims, never facts: Exif can be written by anybody."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from verifier.photo.exif_block import TAGS, Readings, read_block
from verifier.photo.remarks import heard_remarks

_MM_PER_UNIT = {2: 25.4, 3: 10.0, 4: 1.0}  # tag 0xA210; 4 is not in the standard, some cameras write it
_TIME = re.compile(r"(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d):(\d\d)")
_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)")

Finite = Annotated[float, Field(allow_inf_nan=False)]


class Position(BaseModel, frozen=True, extra="forbid"):
    """Where the phone believed to be; ``accuracy_m`` is its own statement (tag 0x001F), ``None`` where it made none."""

    latitude: Annotated[Finite, Field(ge=-90, le=90)]
    longitude: Annotated[Finite, Field(ge=-180, le=180)]
    accuracy_m: Annotated[Finite, Field(gt=0)] | None = None


class ExifClaims(BaseModel, frozen=True, extra="forbid"):
    """What the Exif block says, each claim ``None`` where it says nothing or nothing possible.

    ``captured_local`` is the camera's wall clock, without a zone; ``utc_offset_min`` the zone, where stated (minutes
    east of Greenwich). ``gps_time`` is UTC and may stem from an older fix. ``direction_deg`` is clockwise from north,
    ``direction_ref`` says true (T) or magnetic (M). ``faults`` lists values that were there but can't be.
    """

    captured_local: datetime | None = None
    utc_offset_min: int | None = None
    modified_local: datetime | None = None
    digitized_local: datetime | None = None
    subsec: str | None = None
    gps_time: datetime | None = None
    position: Position | None = None
    direction_deg: Finite | None = None
    direction_ref: Literal["T", "M"] | None = None
    make: str | None = None
    model: str | None = None
    lens: str | None = None
    software: str | None = None
    processing_software: str | None = None
    orientation: Annotated[int, Field(ge=1, le=8)] = 1
    width_px: int | None = None
    height_px: int | None = None
    focal_length_mm: Finite | None = None
    focal_length_35mm: Finite | None = None
    focal_plane_px_per_mm: tuple[Finite, Finite] | None = None
    digital_zoom: Finite | None = None
    exposure_time_s: Finite | None = None
    f_number: Finite | None = None
    iso: int | None = None
    flash_fired: bool | None = None
    faults: tuple[str, ...] = ()

    @property
    def captured(self) -> datetime | None:
        """Capture time with its zone, where the photo states one."""
        if self.captured_local is None or self.utc_offset_min is None:
            return None
        return self.captured_local.replace(tzinfo=timezone(timedelta(minutes=self.utc_offset_min)))


def orientation_of(block: bytes) -> int:
    """Return the orientation that an Exif block asks for; 1 where it asks for none that exists.

    Args:
        block: TIFF structure, from its byte-order mark on; may be empty.

    Returns:
        1 to 8.

    Source:
        Exif 2.32 (CIPA DC-008), tag 0x0112.
    """
    return claims_of(block).orientation if block else 1


def claims_of(block: bytes) -> ExifClaims:
    """Read an Exif block into claims.

    Args:
        block: TIFF structure, from its byte-order mark on; may be empty.

    Returns:
        The claims; a block that can't be read gives none, and says so among the faults.
    """
    if not block:
        return ExifClaims()
    try:
        with heard_remarks() as remarks:
            readings = read_block(block)
    except (
        Exception
    ) as error:  # any parser error: a damaged block is an observation, the picture may be sound
        return ExifClaims(faults=(f"the Exif block can't be read ({type(error).__name__})",))
    claims = claims_from(readings)
    return claims.model_copy(update={"faults": (*remarks, *claims.faults)}) if remarks else claims


def claims_from(readings: Readings) -> ExifClaims:
    """Interpret what a reader found; an impossible value becomes a fault, not a claim.

    Args:
        readings: Values by directory and tag number.

    Returns:
        The claims.

    Source:
        Exif 2.32 (CIPA DC-008): 4.6.5 (camera and time), 4.6.6 (GPS), tags as in `TAGS`.
    """
    found = _Interpreter(readings)
    return ExifClaims(
        captured_local=found.time("captured", "subsec"),
        utc_offset_min=found.offset(),
        modified_local=found.time("modified"),
        digitized_local=found.time("digitized"),
        subsec=found.text("subsec"),
        gps_time=found.gps_time(),
        position=found.position(),
        direction_deg=found.number("direction", 0, 360),
        direction_ref=found.choice("direction_ref", ("T", "M")),
        make=found.text("make"),
        model=found.text("model"),
        lens=found.text("lens"),
        software=found.text("software"),
        processing_software=found.text("processing_software"),
        orientation=found.whole("orientation", 1, 8) or 1,
        width_px=found.whole("width_px", 1, 10**6),
        height_px=found.whole("height_px", 1, 10**6),
        focal_length_mm=found.number("focal_length_mm", 0.1, 5000, zero_means_unknown=True),
        focal_length_35mm=found.number("focal_length_35mm", 1, 5000, zero_means_unknown=True),
        focal_plane_px_per_mm=found.focal_plane(),
        digital_zoom=found.number("digital_zoom", 0.1, 1000, zero_means_unknown=True),
        exposure_time_s=found.number("exposure_time_s", 1e-7, 1e5, zero_means_unknown=True),
        f_number=found.number("f_number", 0.1, 1000, zero_means_unknown=True),
        iso=found.whole("iso", 1, 10**8),
        flash_fired=found.flash(),
        faults=tuple(found.faults),
    )


class _Interpreter:
    """Turns readings into claims one by one and gathers what can't be."""

    def __init__(self, readings: Readings) -> None:
        self._readings = readings
        self.faults: list[str] = []

    def text(self, name: str) -> str | None:
        value = self._readings.get(TAGS[name])
        if isinstance(value, list):
            self._fault(name, value, "text")
            return None
        return value or None

    def number(self, name: str, low: float, high: float, *, zero_means_unknown: bool = False) -> float | None:
        value = self._readings.get(TAGS[name])
        if value is None:
            return None
        first = value[0] if isinstance(value, list) and value else None
        if first == 0 and zero_means_unknown:  # the standard's own way to say "not known"
            return None
        if first is None or not low <= first <= high:
            self._fault(name, value, f"a number from {low:g} to {high:g}")
            return None
        return first

    def whole(self, name: str, low: int, high: int) -> int | None:
        number = self.number(name, low, high)
        if number is not None and number != int(number):
            self._fault(name, number, "a whole number")
            return None
        return None if number is None else int(number)

    def choice(self, name: str, allowed: tuple[Any, ...]) -> Any:
        value = self.text(name)
        if value is not None and value not in allowed:
            self._fault(name, value, " or ".join(allowed))
            return None
        return value

    def time(self, name: str, subsec: str | None = None) -> datetime | None:
        text = self.text(name)
        if text is None or not text.strip(" :0"):  # blanks or zeros: the standard's "unknown"
            return None
        digits = (self.text(subsec) or "") if subsec else ""
        micro = int(digits[:6].ljust(6, "0")) if digits.isascii() and digits.isdigit() else 0
        try:
            match = _TIME.fullmatch(text)
            wall_clock = datetime.strptime(":".join(match.groups()) if match else text, "%Y:%m:%d:%H:%M:%S")  # noqa: DTZ007 - the camera's wall clock has no zone
        except ValueError:
            self._fault(name, text, "a time such as 2026:05:13 07:45:00")
            return None
        return wall_clock.replace(microsecond=micro)

    def offset(self) -> int | None:
        text = self.text("offset")
        if text is None or not text.strip(" :"):
            return None
        match = _OFFSET.fullmatch("+00:00" if text == "Z" else text)
        minutes = int(match[2]) * 60 + int(match[3]) if match else 10**6
        if match is None or minutes > 14 * 60 or int(match[3]) > 59:
            self._fault("offset", text, "a zone such as +02:00")
            return None
        return -minutes if match[1] == "-" else minutes

    def gps_time(self) -> datetime | None:
        clock, date = self._readings.get(TAGS["gps_time"]), self.text("gps_date")
        if clock is None or date is None:
            return None
        try:
            if isinstance(clock, str) or len(clock) != 3 or None in clock:
                raise ValueError(clock)
            hours, minutes, seconds = (float(part) for part in clock if part is not None)
            year, month, day = (int(part) for part in date.replace("-", ":").split(":"))
            if not (0 <= hours < 24 and 0 <= minutes < 60 and 0 <= seconds < 61):
                raise ValueError(clock)
            return datetime(year, month, day, tzinfo=UTC) + timedelta(
                hours=hours, minutes=minutes, seconds=seconds
            )
        except (ValueError, OverflowError):
            self._fault("gps_time", f"{date} {clock}", "date and time in UTC")
            return None

    def position(self) -> Position | None:
        latitude = self._angle("latitude", ("N", "S"), 90)
        longitude = self._angle("longitude", ("E", "W"), 180)
        accuracy = self.number("accuracy", 1e-3, 1e7, zero_means_unknown=True)
        if latitude is None or longitude is None:
            return None
        if latitude == 0 and longitude == 0:
            self._fault("latitude", "0, 0", "a position; the phone had no fix")
            return None
        return Position(latitude=latitude, longitude=longitude, accuracy_m=accuracy)

    def _angle(self, name: str, sides: tuple[str, str], greatest: float) -> float | None:
        value = self._readings.get(TAGS[name])
        if value is None:
            return None
        side = self.choice(f"{name}_ref", sides)
        parts = [p for p in value if p is not None] if isinstance(value, list) else []
        degrees = sum(p / 60.0**i for i, p in enumerate(parts))
        if (
            side is None
            or not 1 <= len(parts) <= 3
            or len(parts) != len(value)
            or min(parts) < 0
            or degrees > greatest
        ):
            self._fault(
                name,
                f"{value} {side or 'without side'}",
                f"degrees, minutes, seconds and {sides[0]} or {sides[1]}",
            )
            return None
        return -degrees if side == sides[1] else degrees

    def focal_plane(self) -> tuple[float, float] | None:
        across = self.number("focal_plane_x", 1e-3, 1e7, zero_means_unknown=True)
        down = self.number("focal_plane_y", 1e-3, 1e7, zero_means_unknown=True)
        unit = self.whole("focal_plane_unit", 2, 4) or 2  # inch is the standard's default
        if across is None or down is None:
            return None
        return across / _MM_PER_UNIT[unit], down / _MM_PER_UNIT[unit]

    def flash(self) -> bool | None:
        value = self.whole("flash", 0, 0xFFFF)
        return None if value is None else bool(value & 1)

    def _fault(self, name: str, value: Any, wanted: str) -> None:
        self.faults.append(f"{name.replace('_', ' ')} is {str(value)[:60]!r}, expected {wanted}")
