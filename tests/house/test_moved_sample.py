"""The sample pour moved in time: every date with it, the site to where it is that hour, and nothing else."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from verifier.cli.moved import Move, ending_now, moved_sample
from verifier.cli.story import steps
from verifier.drawing.read import read_pour
from verifier.photo.sun import sun_altitude_deg

SAMPLE = Path(__file__).parents[2] / "sample_images"
LAST = datetime.fromisoformat("2026-05-13T21:00:00+02:00")
ORIGINAL, OFFSET, CREATED, GPS, GPS_DAY = 36867, 36881, 306, 0x8825, 29
"""Tags of Exif 2.32: DateTimeOriginal, OffsetTimeOriginal, DateTime, the GPS part, GPSDateStamp; read with Pillow."""


@pytest.mark.parametrize("hour", range(24))
@pytest.mark.parametrize("zone", ["+00:00", "-08:00", "+05:30"])
def test_the_story_ends_within_the_hour_and_its_clock_stays(hour: int, zone: str) -> None:
    now = datetime.fromisoformat(f"2026-12-31T{hour:02d}:17:41{zone}")
    move = ending_now(LAST, now)
    there = datetime.fromisoformat(f"{LAST + timedelta(days=move.days):%Y-%m-%dT%H:%M:%S}{move.zone}")
    assert timedelta(0) <= now - there < timedelta(hours=1)
    assert -11 <= move.zone_h <= 12


@pytest.mark.parametrize("now", ["2026-11-26T03:20:00+00:00", "2027-06-30T16:05:00+00:00"])
def test_every_date_moves_and_the_pictures_stay(tmp_path: Path, now: str) -> None:
    move = ending_now(LAST, datetime.fromisoformat(now))
    moved = moved_sample(SAMPLE, tmp_path / "sample", move)
    start = read_pour(SAMPLE).pour.planned_start
    there = read_pour(moved).pour
    assert there.planned_start.replace(tzinfo=None) == start.replace(tzinfo=None) + timedelta(days=move.days)
    assert there.planned_start.utcoffset() == timedelta(hours=move.zone_h)
    assert there.site is not None
    for before in sorted((SAMPLE / "photos").glob("*.jpg")):
        with Image.open(before) as one, Image.open(moved / "photos" / before.name) as other:
            old, new = one.getexif(), other.getexif()
            then = datetime.strptime(old.get_ifd(0x8769)[ORIGINAL], "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007
            then += timedelta(days=move.days)
            assert new.get_ifd(0x8769)[ORIGINAL] == new[CREATED] == f"{then:%Y:%m:%d %H:%M:%S}"
            assert new.get_ifd(0x8769)[OFFSET] == move.zone
            gps = new.get_ifd(GPS)
            assert gps[GPS_DAY] == f"{then - timedelta(hours=move.zone_h):%Y:%m:%d}"
            lat, lon = (sum(float(v) / 60**n for n, v in enumerate(gps[tag])) for tag in (2, 4))
            lat, lon = lat * (1 if gps[1] == "N" else -1), lon * (1 if gps[3] == "E" else -1)
            assert abs(lat - there.site.latitude) < 0.001
            assert abs(lon - there.site.longitude) < 0.001
            # The photos show daylight, so the sun is up where and when they now say that they were taken.
            instant = datetime.fromisoformat(f"{then:%Y-%m-%dT%H:%M:%S}{move.zone}")
            assert sun_altitude_deg(instant, lat, lon) > 5, before.name
            assert np.array_equal(np.asarray(one), np.asarray(other))
    assert [s.ends_at.replace(tzinfo=None) for s in steps(moved)] == [
        s.ends_at.replace(tzinfo=None) + timedelta(days=move.days) for s in steps(SAMPLE)
    ]
    texts = [p for p in moved.rglob("*") if p.suffix in (".toml", ".csv", ".txt")]
    assert len(texts) > 15
    left = {p.name: m for p in texts if (m := re.findall(r"2026-0[345]-\d\d", p.read_text(encoding="utf-8")))}
    assert left == {}


def test_nothing_is_written_anew_where_nothing_moves(tmp_path: Path) -> None:
    moved = moved_sample(SAMPLE, tmp_path / "sample", Move(0, 2))
    for name in ("pour.toml", "story.toml", "tape/as-found.csv", "order.toml"):
        assert (moved / name).read_text(encoding="utf-8") == (SAMPLE / name).read_text(encoding="utf-8")
