"""Exif 2.32 (CIPA DC-008-2019): claims and orientation, against Pillow, OpenCV and exiftool as independent readers."""

from __future__ import annotations

import io
import json
import math
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageOps
from PIL.TiffImagePlugin import IFDRational

from verifier.photo.exif import claims_from, claims_of
from verifier.photo.exif_block import exif_block
from verifier.photo.formats import open_photo
from verifier.photo.pixels import stored_to_upright, upright_pixels

EXIF, GPS = 0x8769, 0x8825


def photo(
    kind: str = "JPEG",
    *,
    image: dict[int, Any] | None = None,
    exif: dict[int, Any] | None = None,
    gps: dict[int, Any] | None = None,
    picture: Image.Image | None = None,
) -> bytes:
    tags = Image.Exif()
    tags.update(image or {})
    tags.get_ifd(EXIF).update(
        {
            k: IFDRational(Fraction(v).limit_denominator(10**6)) if isinstance(v, float) else v
            for k, v in (exif or {}).items()
        }
    )
    tags.get_ifd(GPS).update(gps or {})
    out = io.BytesIO()
    (picture or Image.new("RGB", (48, 32), "grey")).save(out, kind, exif=tags)
    return out.getvalue()


def claims(data: bytes) -> Any:
    return claims_of(exif_block(open_photo(data, "photo").image))


FULL = {
    "image": {271: "Maker", 272: "Phone 1", 274: 6, 305: "17.2", 306: "2026:05:13 16:12:08"},
    "exif": {
        33434: 1 / 250,
        33437: 1.8,
        34855: 100,
        36867: "2026:05:13 16:12:08",
        36868: "2026:05:13 16:12:08",
        36881: "+02:00",
        37385: 16,
        37386: 5.7,
        37521: "250",
        40962: 48,
        40963: 32,
        41486: 3000.5,
        41487: 3000.5,
        41488: 3,
        41989: 26,
        42036: "wide 5.7 mm",
    },
    "gps": {
        1: "S",
        2: (33.0, 51.0, 31.2),
        3: "W",
        4: (70.0, 40.0, 12.6),
        7: (14.0, 12.0, 5.0),
        16: "T",
        17: 218.4,
        29: "2026:05:13",
        31: 6.5,
    },
}


@pytest.mark.source("Exif 2.32, 0x9003, 0x9011, 0x9291")
def test_capture_time_with_its_zone_and_fraction() -> None:
    found = claims(photo(**FULL))
    assert found.captured == datetime(2026, 5, 13, 14, 12, 8, 250000, tzinfo=UTC)
    assert found.captured.utcoffset() == timedelta(hours=2)


@pytest.mark.source("Exif 2.32, 0x9003: local time, no zone of its own")
def test_without_offset_there_is_no_instant() -> None:
    found = claims(photo(exif={36867: "2026:05:13 16:12:08"}))
    assert found.captured is None
    assert found.captured_local == datetime(2026, 5, 13, 16, 12, 8)  # noqa: DTZ001 - a wall clock


@pytest.mark.source("Exif 2.32, GPS 0x0001 to 0x0004, 0x0007, 0x0010, 0x0011, 0x001D, 0x001F")
def test_position_south_and_west_is_negative() -> None:
    found = claims(photo(**FULL))
    assert found.position.latitude == pytest.approx(-33.858667, abs=1e-6)
    assert found.position.longitude == pytest.approx(-70.6701667, abs=1e-6)
    assert found.position.accuracy_m == pytest.approx(6.5)
    assert (found.direction_deg, found.direction_ref) == (pytest.approx(218.4), "T")
    assert found.gps_time == datetime(2026, 5, 13, 14, 12, 5, tzinfo=UTC)


@pytest.mark.source("Exif 2.32, 0xA210: 2 inch, 3 cm; inch where absent")
@pytest.mark.parametrize(("unit", "px_per_mm"), [({41488: 2}, 100.0), ({41488: 3}, 254.0), ({}, 100.0)])
def test_sensor_resolution_in_its_unit(unit: dict[int, int], px_per_mm: float) -> None:
    found = claims(photo(exif={41486: 2540.0, 41487: 2540.0, **unit}))
    assert found.focal_plane_px_per_mm == pytest.approx((px_per_mm, px_per_mm))


def asymmetric(width: int = 31, height: int = 300) -> Image.Image:
    pixels = np.random.default_rng(5).integers(0, 256, (height, width, 3), dtype=np.uint8)
    return Image.fromarray(pixels)


@pytest.mark.source("Exif 2.32, 0x0112; oracle: Pillow's exif_transpose")
@pytest.mark.parametrize("orientation", range(1, 9))
def test_upright_pixels_of_all_eight_orientations(orientation: int) -> None:
    data = photo("PNG", image={274: orientation}, picture=asymmetric())
    by_pillow = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(data))))
    ours = upright_pixels(data)
    assert np.array_equal(ours[:, :, ::-1], by_pillow)
    assert ours.flags.c_contiguous
    assert ours.flags.writeable


@pytest.mark.source("Exif 2.32, 0x0112; oracle: OpenCV's own decoder")
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_jpeg_gives_the_pixels_that_opencv_gives(orientation: int) -> None:
    data = photo("JPEG", image={274: orientation}, picture=asymmetric(64, 272))
    by_opencv = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    assert by_opencv is not None
    assert np.array_equal(upright_pixels(data), by_opencv)


@pytest.mark.source("Exif 2.32, 0x0112")
@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_map_takes_every_stored_pixel_to_its_upright_place(orientation: int) -> None:
    stored = np.asarray(asymmetric())
    upright = upright_pixels(photo("PNG", image={274: orientation}, picture=asymmetric()))[:, :, ::-1]
    height, width = stored.shape[:2]
    turn = stored_to_upright(orientation, width, height)
    y, x = np.mgrid[0:height, 0:width]
    u, v = turn @ np.stack([x.ravel(), y.ravel(), np.ones(x.size)])
    assert np.array_equal(upright[v.astype(int), u.astype(int)], stored.reshape(-1, 3))


def ramp() -> Image.Image:
    """Dark on the left, bright on the right, a light band at the top: no two turns look alike, and coding keeps it."""
    pixels = np.tile(np.linspace(0, 200, 64, dtype=np.uint8)[None, :, None], (48, 1, 3))
    pixels[:8] = 255
    return Image.fromarray(pixels)


@pytest.mark.source(
    "ISO/IEC 23008-12 (HEIF), irot and imir; oracle: Pillow's exif_transpose of the same picture"
)
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_heic_is_turned_by_its_container(orientation: int) -> None:
    tags = Image.Exif()
    tags[274] = orientation
    out = io.BytesIO()
    ramp().save(out, "HEIF", exif=tags.tobytes(), quality=95)
    assert (b"irot" in out.getvalue() or b"imir" in out.getvalue()) is (orientation != 1)
    plain = io.BytesIO()
    ramp().save(plain, "PNG", exif=tags)
    by_pillow = np.asarray(ImageOps.exif_transpose(Image.open(io.BytesIO(plain.getvalue()))))
    ours = upright_pixels(out.getvalue())[:, :, ::-1]
    assert ours.shape == by_pillow.shape
    assert float(np.abs(ours.astype(int) - by_pillow).mean()) < 6.0


@pytest.mark.source("ISO/IEC 23008-12 (HEIF), the Exif orientation of a HEIC only informs")
def test_a_heic_without_a_turn_in_its_container_is_not_turned() -> None:
    ours = upright_pixels(photo("HEIF", image={274: 6}, picture=ramp()))[:, :, ::-1]
    assert float(np.abs(ours.astype(int) - np.asarray(ramp())).mean()) < 6.0


@pytest.mark.source("Exif 2.32; oracle: exiftool")
@pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed")
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
def test_exiftool_reads_the_same_claims(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "photo.bin"
    path.write_bytes(photo(kind, **FULL))
    done = subprocess.run(["exiftool", "-n", "-j", str(path)], capture_output=True, check=True, text=True)
    theirs = json.loads(done.stdout)[0]
    ours = claims(path.read_bytes())
    assert ours.make == theirs["Make"]
    assert ours.model == theirs["Model"]
    assert ours.lens == theirs["LensModel"]
    assert ours.captured_local.strftime("%Y:%m:%d %H:%M:%S") == theirs["DateTimeOriginal"]
    assert ours.utc_offset_min == int(theirs["OffsetTimeOriginal"][1:3]) * 60
    assert ours.subsec == str(theirs["SubSecTimeOriginal"])
    assert ours.position.latitude == pytest.approx(theirs["GPSLatitude"], abs=1e-7)
    assert ours.position.longitude == pytest.approx(theirs["GPSLongitude"], abs=1e-7)
    assert ours.position.accuracy_m == pytest.approx(theirs["GPSHPositioningError"])
    assert ours.direction_deg == pytest.approx(theirs["GPSImgDirection"])
    assert ours.gps_time.strftime("%Y:%m:%d %H:%M:%SZ") == theirs["GPSDateTime"]
    assert ours.focal_length_mm == pytest.approx(theirs["FocalLength"])
    assert ours.focal_length_35mm == pytest.approx(theirs["FocalLengthIn35mmFormat"])
    assert ours.exposure_time_s == pytest.approx(theirs["ExposureTime"])
    assert ours.iso == theirs["ISO"]
    assert ours.flash_fired is bool(theirs["Flash"] & 1)


@pytest.mark.source("Exif 2.32, 4.6.6: degrees, minutes and seconds; one formula for all three forms")
@given(st.integers(0, 89), st.integers(0, 59), st.floats(0, 59.999), st.sampled_from("NS"))
def test_degrees_minutes_seconds_round_trip(degrees: int, minutes: int, seconds: float, side: str) -> None:
    found = claims_from(
        {"GPS:1": side, "GPS:2": [degrees, minutes, seconds], "GPS:3": "E", "GPS:4": [8.0, 18.0, 33.6]}
    )
    expected = (degrees + minutes / 60 + seconds / 3600) * (1 if side == "N" else -1)
    assert found.position is not None
    assert math.isclose(found.position.latitude, expected, abs_tol=1e-9)


@pytest.mark.source("Exif 2.32, values that a camera writes when it knows nothing")
def test_unknown_values_are_absent_and_no_fault() -> None:
    found = claims_from(
        {
            "EXIF:36867": "    :  :     :  :  ",
            "Image:306": "0000:00:00 00:00:00",
            "EXIF:37386": [0.0],
            "EXIF:41989": [0.0],
        }
    )
    assert (found.captured_local, found.modified_local, found.focal_length_mm, found.focal_length_35mm) == (
        None,
    ) * 4
    assert found.faults == ()


@pytest.mark.source("Exif 2.32, ranges of each tag")
@pytest.mark.parametrize(
    ("readings", "about"),
    [
        ({"EXIF:36867": "2026:13:40 99:00:00"}, "captured"),
        ({"EXIF:36867": "yesterday"}, "captured"),
        ({"EXIF:36867": "2026:05:13 16:12:08", "EXIF:36881": "+25:00"}, "offset"),
        ({"Image:274": [9.0]}, "orientation"),
        ({"Image:274": [None]}, "orientation"),
        ({"GPS:1": "N", "GPS:2": [91.0, 0.0, 0.0], "GPS:3": "E", "GPS:4": [8.0, 0.0, 0.0]}, "latitude"),
        ({"GPS:2": [47.0, 0.0, 0.0], "GPS:3": "E", "GPS:4": [8.0, 0.0, 0.0]}, "latitude"),
        ({"GPS:1": "N", "GPS:2": [None, None, None], "GPS:3": "E", "GPS:4": [8.0, 0.0, 0.0]}, "latitude"),
        ({"GPS:1": "N", "GPS:2": [0.0, 0.0, 0.0], "GPS:3": "E", "GPS:4": [0.0, 0.0, 0.0]}, "latitude"),
        ({"GPS:7": [25.0, 0.0, 0.0], "GPS:29": "2026:05:13"}, "gps time"),
        ({"GPS:17": [400.0]}, "direction"),
        ({"EXIF:34855": [1.5]}, "iso"),
        ({"Image:271": [1.0]}, "make"),
    ],
)
def test_an_impossible_value_is_a_fault_and_no_claim(readings: dict[str, Any], about: str) -> None:
    found = claims_from(readings)
    assert any(fault.startswith(about) for fault in found.faults)
    assert found.position is None
    assert found.captured is None
    assert found.orientation == 1
