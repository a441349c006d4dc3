"""The sample pour moved in time: a copy in which every date lies so many minutes later, those of the photos' files among them.

Rounds and releases lapse by the clock, so a sample of long ago can show nothing but a pour that may not start. A copy that ends
now shows go and no-go for the reasons that its story is about.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

TEXTS: Final = (".toml", ".csv", ".txt")
PARTS: Final = ("photos", "tape", "rounds", "papers")
_IN_TEXT: Final = re.compile(r"2026-\d\d-\d\d(?:([T ])(\d\d:\d\d)(:\d\d)?)?")
_IN_PHOTO: Final = re.compile(rb"2026:\d\d:\d\d \d\d:\d\d:\d\d")
_DAY_IN_PHOTO: Final = re.compile(rb"2026:\d\d:\d\d(?=\0)")
_EXIF: Final = "%Y:%m:%d %H:%M:%S"
SAMPLE_ZONE: Final = timedelta(hours=2)
"""The sample's clocks are so far ahead of UTC."""


def moved_sample(sample: Path, place: Path, by: timedelta) -> Path:
    """Copy the sample pour, all its dates later by so much.

    Args:
        sample: The folder of the sample pour.
        place: Folder to be made for the copy.
        by: How much later, in whole minutes.

    Returns:
        The copy.
    """
    files = [p for p in sample.iterdir() if p.is_file()]
    files += [p for part in PARTS for p in (sample / part).rglob("*") if p.is_file()]
    for path in files:
        target = place / path.relative_to(sample)
        target.parent.mkdir(parents=True, exist_ok=True)
        if path.suffix in TEXTS:
            text = path.read_text(encoding="utf-8")
            target.write_text(_IN_TEXT.sub(_later(by), text), encoding="utf-8", newline="")
        elif path.suffix == ".jpg":
            target.write_bytes(_photo(path.read_bytes(), by))
        else:
            shutil.copy(path, target)
    return place


def _later(by: timedelta) -> Callable[[re.Match[str]], str]:
    def later(found: re.Match[str]) -> str:
        between, seconds = found[1], found[3]
        at = datetime.fromisoformat(found[0]) + by
        if between is None:
            return f"{at:%Y-%m-%d}"
        return f"{at:%Y-%m-%d}{between}{at:%H:%M:%S}" if seconds else f"{at:%Y-%m-%d}{between}{at:%H:%M}"

    return later


def _photo(data: bytes, by: timedelta) -> bytes:
    """Dates in a photo's file have a fixed length, so nothing else in it moves; the day of the position is that in UTC."""
    taken: list[datetime] = []

    def later(found: re.Match[bytes]) -> bytes:
        at = datetime.strptime(found[0].decode(), _EXIF) + by  # noqa: DTZ007 - the file's own clock
        taken.append(at)
        return at.strftime(_EXIF).encode()

    data = _IN_PHOTO.sub(later, data)
    if not taken:
        return data
    day = (taken[0] - SAMPLE_ZONE).strftime("%Y:%m:%d").encode()
    return _DAY_IN_PHOTO.sub(day, data)


def until_now(last: datetime, now: datetime) -> timedelta:
    """Say by how much a story must move to end now.

    Args:
        last: When its last step was, with its zone.
        now: Now, with its zone.

    Returns:
        Whole minutes.
    """
    return timedelta(minutes=(now.astimezone(UTC) - last.astimezone(UTC)) // timedelta(minutes=1))
