"""The sample pour moved in time: a copy in which every date lies so many days later, on a site where it is that hour now.

Rounds and releases lapse by the clock, so a sample of long ago can show nothing but a pour that may not start. A copy that ends
now shows go and no-go for the reasons that its story is about. The hours on site stay, and the site lies where the sun stands as
the photos show it: else a story told at night would have photos taken in the dark.
"""

from __future__ import annotations

import io
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Final

from PIL import Image

TEXTS: Final = (".toml", ".csv", ".txt")
PARTS: Final = ("photos", "tape", "rounds", "papers")
SAMPLE_ZONE_H: Final = 2
"""The sample's clocks are so far ahead of UTC. [h]"""
DEG_PER_H: Final = 15.0
_DATE: Final = re.compile(r"(2026-\d\d-\d\d)([T ]\d\d:\d\d(?::\d\d)?)?([+-]\d\d:\d\d)?")
_AT: Final = re.compile(r"^(latitude|longitude) = ([\d.]+)$", re.MULTILINE)
_EXIF: Final = "%Y:%m:%d %H:%M:%S"
_TIMES: Final = {306: 0, 36867: 0x8769, 36868: 0x8769}
"""Tags of Exif 2.32 that hold a time of the camera's clock, and the part that each stands in."""


@dataclass(frozen=True, slots=True)
class Move:
    """How a copy of the sample lies to the sample.

    Attributes:
        days: How much later.
        zone_h: How far its clocks are ahead of UTC, whole hours from -11 to 12.
    """

    days: int
    zone_h: int

    @property
    def zone(self) -> str:
        """The zone as dates write it."""
        return f"{'-' if self.zone_h < 0 else '+'}{abs(self.zone_h):02d}:00"

    def longitude(self, deg: float) -> float:
        """Say where the sun stands as on the sample's site at the same hour.

        Args:
            deg: Longitude on the sample's site, degrees, east positive.

        Returns:
            Longitude, degrees, east positive.
        """
        moved = deg + DEG_PER_H * (self.zone_h - SAMPLE_ZONE_H)
        return (moved + 180.0) % 360.0 - 180.0

    def latitude(self, deg: float, day: date) -> float:
        """Say on which half of the earth it is summer, as in the sample.

        Args:
            deg: Latitude of the sample's site, degrees, north positive.
            day: The day there.

        Returns:
            Latitude, degrees, north positive.
        """
        return deg if 4 <= day.month <= 9 else -deg


def ending_now(last: datetime, now: datetime) -> Move:
    """Say how the sample must move so that its last step was within the hour before now.

    Args:
        last: When its last step was, with its zone.
        now: Now, with its zone.

    Returns:
        The move.
    """
    utc = now.astimezone(UTC).replace(tzinfo=None)
    clock = last.replace(tzinfo=None)
    ahead_min = (clock.hour - utc.hour) * 60 + clock.minute - utc.minute
    zone_h = (-(-ahead_min // 60) + 11) % 24 - 11
    there = utc + timedelta(hours=zone_h)
    return Move((there.date() - clock.date()).days, zone_h)


def moved_sample(sample: Path, place: Path, move: Move) -> Path:
    """Copy the sample pour, moved.

    Args:
        sample: The folder of the sample pour.
        place: Folder to be made for the copy.
        move: How far.

    Returns:
        The copy.
    """
    files = [p for p in sample.iterdir() if p.is_file()]
    files += [p for part in PARTS for p in (sample / part).rglob("*") if p.is_file()]
    for path in files:
        target = place / path.relative_to(sample)
        target.parent.mkdir(parents=True, exist_ok=True)
        if path.suffix in TEXTS:
            target.write_text(_text(path.read_text(encoding="utf-8"), move), encoding="utf-8", newline="")
        elif path.suffix == ".jpg":
            target.write_bytes(_photo(path.read_bytes(), move))
        else:
            shutil.copy(path, target)
    return place


def _text(text: str, move: Move) -> str:
    days: list[date] = []

    def later(found: re.Match[str]) -> str:
        day = date.fromisoformat(found[1]) + timedelta(days=move.days)
        days.append(day)
        return f"{day:%Y-%m-%d}{found[2] or ''}{move.zone if found[3] else ''}"

    text = _DATE.sub(later, text)
    return _AT.sub(_placed(move, days[0]), text) if days else text


def _placed(move: Move, day: date) -> Callable[[re.Match[str]], str]:
    def placed(found: re.Match[str]) -> str:
        deg = float(found[2])
        there = move.longitude(deg) if found[1] == "longitude" else move.latitude(deg, day)
        return f"{found[1]} = {there:.4f}"

    return placed


def _photo(data: bytes, move: Move) -> bytes:
    """Only the Exif part is written anew: the coded picture stays byte by byte."""
    with Image.open(io.BytesIO(data)) as photo:
        exif = photo.getexif()
        old = photo.info["exif"]
    for tag, part in _TIMES.items():
        fields = exif.get_ifd(part) if part else exif
        at = datetime.strptime(fields[tag], _EXIF) + timedelta(days=move.days)  # noqa: DTZ007 - the camera's clock
        fields[tag] = at.strftime(_EXIF)
    claimed = exif.get_ifd(0x8769)
    taken = datetime.strptime(claimed[36867], _EXIF)  # noqa: DTZ007
    claimed[36880] = claimed[36881] = move.zone
    gps = exif.get_ifd(0x8825)
    gps[29] = (taken - timedelta(hours=move.zone_h)).strftime(
        "%Y:%m:%d"
    )  # the day of a position is that in UTC
    gps[1], gps[2] = _sexagesimal(move.latitude(_degrees(gps[2]), taken.date()), "NS")
    gps[3], gps[4] = _sexagesimal(move.longitude(_degrees(gps[4])), "EW")
    fresh = exif.tobytes()
    fresh = fresh if fresh.startswith(b"Exif\0\0") else b"Exif\0\0" + fresh
    at_byte = data.index(old)
    length = (len(fresh) + 2).to_bytes(2, "big")
    return data[: at_byte - 2] + length + fresh + data[at_byte + len(old) :]


def _degrees(parts: tuple[float, float, float]) -> float:
    return float(parts[0]) + float(parts[1]) / 60 + float(parts[2]) / 3600


def _sexagesimal(deg: float, signs: str) -> tuple[str, tuple[float, float, float]]:
    whole = round(abs(deg) * 3_600_000)  # thousandths of a second, as the sample's photos have them
    degrees, rest = divmod(whole, 3_600_000)
    minutes, thousandths = divmod(rest, 60_000)
    return signs[deg < 0], (float(degrees), float(minutes), thousandths / 1000)
