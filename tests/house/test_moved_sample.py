"""The sample pour moved in time: every date with it, and nothing else."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

from PIL import Image

from verifier.cli.moved import moved_sample, until_now
from verifier.cli.story import steps
from verifier.drawing.read import read_pour

SAMPLE = Path(__file__).parents[2] / "sample_images"
BY = timedelta(days=400, hours=5, minutes=7)
ORIGINAL, CREATED, GPS, GPS_DAY = 36867, 306, 0x8825, 29
"""Tags of Exif 2.32: DateTimeOriginal, DateTime, the GPS part, GPSDateStamp. Read here with Pillow, not with our own reader."""


def exif_times(path: Path) -> tuple[str, str, str]:
    with Image.open(path) as photo:
        exif = photo.getexif()
        return exif.get_ifd(0x8769)[ORIGINAL], exif[CREATED], exif.get_ifd(GPS)[GPS_DAY]


def test_every_date_moves_and_the_pictures_stay(tmp_path: Path) -> None:
    moved = moved_sample(SAMPLE, tmp_path / "sample", BY)
    for before in sorted((SAMPLE / "photos").glob("*.jpg")):
        after = moved / "photos" / before.name
        then = datetime.strptime(exif_times(before)[0], "%Y:%m:%d %H:%M:%S") + BY  # noqa: DTZ007 - local time
        told = f"{then:%Y:%m:%d %H:%M:%S}"
        assert exif_times(after) == (told, told, f"{then - timedelta(hours=2):%Y:%m:%d}"), before.name
        assert len(after.read_bytes()) == len(before.read_bytes())
        with Image.open(before) as one, Image.open(after) as other:
            assert one.tobytes() == other.tobytes()
    start = read_pour(SAMPLE).pour.planned_start
    assert read_pour(moved).pour.planned_start == start + BY
    assert [s.ends_at for s in steps(moved)] == [s.ends_at + BY for s in steps(SAMPLE)]
    texts = [p for p in moved.rglob("*") if p.suffix in (".toml", ".csv", ".txt")]
    assert len(texts) > 15
    left = {p.name: m for p in texts if (m := re.findall(r"2026-0[345]-\d\d", p.read_text(encoding="utf-8")))}
    assert left == {}
    first = "S1,B1,mean_spacing,9,1354,1353,,tape-II,engineer-1,{},1"
    assert first.format("2026-05-13 16:40") in (SAMPLE / "tape" / "as-found.csv").read_text(encoding="utf-8")
    assert first.format("2027-06-17 21:47") in (moved / "tape" / "as-found.csv").read_text(encoding="utf-8")


def test_it_ends_now_to_the_minute() -> None:
    last = datetime.fromisoformat("2026-05-13T21:00:00+02:00")
    now = datetime.fromisoformat("2026-07-01T09:30:41+05:30")
    assert last + until_now(last, now) == datetime.fromisoformat("2026-07-01T06:00:00+02:00")
