"""Each observation: seen where it must be, and not seen on a photo as a phone stores it."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import cv2
import numpy as np
import pytest
from PIL import Image, ImageFilter
from PIL.TiffImagePlugin import IFDRational
from pydantic import ValidationError

from verifier.photo.exif import ExifClaims, Position
from verifier.photo.file_checks import thumbnail_observations
from verifier.photo.intake import Intake, take_in, take_in_all
from verifier.photo.likeness import (
    LIKE_UP_TO_BITS,
    SAME_UP_TO_BITS,
    bits_apart,
    hashes_of_turns,
    perceptual_hash,
)
from verifier.photo.observations import Observation, ObservationKey
from verifier.photo.place import SiteLimits
from verifier.photo.time_checks import Window, captured_at, night_observations, time_observations

SUMMER = timezone(timedelta(hours=2))
RECEIVED = datetime(2026, 5, 13, 17, 0, tzinfo=SUMMER)
WINDOW = Window(
    start=datetime(2026, 5, 13, 6, 0, tzinfo=SUMMER), end=datetime(2026, 5, 14, 6, 30, tzinfo=SUMMER)
)
SITE = SiteLimits(centre=(47.0512, 8.3093), radius_m=80)

IMAGE = {271: "Maker", 272: "Phone 1", 274: 1, 305: "17.2.1", 306: "2026:05:13 16:12:08"}
EXIF = {36867: "2026:05:13 16:12:08", 36881: "+02:00", 37385: 16, 40962: 320, 40963: 240}
GPS = {
    1: "N",
    2: (47.0, 3.0, 4.32),
    3: "E",
    4: (8.0, 18.0, 33.48),
    7: (14.0, 12.0, 5.0),
    29: "2026:05:13",
    31: 5,
}
OWN_TABLES = [[n % 23 + 3 for n in range(64)], [n % 31 + 5 for n in range(64)]]


def mat(seed: int, size: tuple[int, int] = (320, 240)) -> Image.Image:
    """A drawn mat: light and dark bars in two directions on mottled boards, with a white sheet on it."""
    draw = np.random.default_rng(seed)
    width, height = size
    ground = Image.fromarray(draw.integers(90, 170, (9, 12), dtype=np.uint8)).resize(
        size, Image.Resampling.BICUBIC
    )
    grey = np.asarray(ground, dtype=np.float64).copy()
    for axis, length in ((0, height), (1, width)):
        at = draw.uniform(0, 40)
        while at < length:
            bar = slice(int(at), int(at + draw.uniform(5, 8)))
            shade = draw.uniform(40, 110)
            if axis == 0:
                grey[bar, :] = shade
            else:
                grey[:, bar] = shade
            at += draw.uniform(28, 48)
    x, y = int(draw.uniform(0, width - 80)), int(draw.uniform(0, height - 60))
    grey[y : y + 55, x : x + 78] = 235
    return Image.fromarray(grey.astype(np.uint8)).convert("RGB")


def as_phone(
    picture: Image.Image | None = None,
    *,
    image: dict[int, Any] | None = None,
    exif: dict[int, Any] | None = None,
    gps: dict[int, Any] | None = None,
    kind: str = "JPEG",
    **save: Any,
) -> bytes:
    """A JPEG as a phone would store it; ``None`` for a tag leaves it out."""
    tags = Image.Exif()
    tags.update({k: v for k, v in {**IMAGE, **(image or {})}.items() if v is not None})
    tags.get_ifd(0x8769).update({k: v for k, v in {**EXIF, **(exif or {})}.items() if v is not None})
    place = {k: IFDRational(v, 1) if isinstance(v, int) else v for k, v in {**GPS, **(gps or {})}.items()}
    tags.get_ifd(0x8825).update({k: v for k, v in place.items() if v is not None})
    out = io.BytesIO()
    tables = {"qtables": OWN_TABLES} if kind == "JPEG" else {}
    (picture or mat(1)).save(out, kind, **{"exif": tags, **tables, **save})
    return out.getvalue()


def taken(data: bytes, name: str = "IMG_0101.jpg", **given: Any) -> Intake:
    return take_in(data, name, **{"received_at": RECEIVED, "site": SITE, "window": WINDOW, **given})


def seen(photo: Intake) -> dict[ObservationKey, Observation]:
    return {o.key: o for o in photo.observations}


def test_a_photo_straight_from_the_phone_shows_nothing() -> None:
    assert taken(as_phone()).observations == ()


@pytest.mark.parametrize(
    ("data", "key", "weight", "says"),
    [
        pytest.param(as_phone(exif={40962: 4000, 40963: 3000}), "size-against-exif", "warning", "cropped", id="cropped"),
        pytest.param(as_phone(image={305: "Photo Editor 9"}), "editing-software", "warning", "Photo Editor 9", id="edited"),
        pytest.param(as_phone(image={11: "anything"}), "editing-software", "warning", "anything", id="processed"),
        pytest.param(as_phone(image={306: "2026:05:13 18:00:00"}), "modified-later", "warning", "6472 s after", id="later"),
        pytest.param(as_phone(image={306: "2026:05:13 16:12:14"}), "modified-later", "note", "6 s after", id="night mode"),
        pytest.param(as_phone(image={271: None}), "no-camera", "note", "missing", id="no make"),
        pytest.param(as_phone(qtables=None, quality=75), "saved-by-library", "note", "quality 75", id="library"),
        pytest.param(as_phone(exif={36867: None}), "no-capture-time", "warning", "when", id="no time"),
        pytest.param(as_phone(gps={2: None, 1: None}), "no-position", "note", "where", id="no place"),
        pytest.param(as_phone(gps={2: (47.0, 3.0, 20.0)}), "outside-site", "warning", "outside the site", id="far"),
        pytest.param(as_phone(exif={36867: "2026:05:12 16:12:08"}), "outside-window", "warning", "before", id="day before"),
        pytest.param(as_phone(exif={36867: "2026:05:13 16:13:30"}), "clock-against-gps", "note", "ahead", id="85 s fast"),
        pytest.param(as_phone(exif={36867: "2026:05:13 15:52:05"}), "clock-against-gps", "warning", "behind", id="20 min slow"),
        pytest.param(as_phone(exif={36881: "+01:00"}), "zone-against-gps", "note", "zone", id="zone one hour off"),
        pytest.param(as_phone(exif={36867: "2026:05:13 17:30:00"}), "after-receipt", "warning", "after it was received", id="future"),
        pytest.param(as_phone(gps={1: "X"}), "exif-fault", "note", "latitude", id="impossible side"),
    ],
)  # fmt: skip
def test_one_thing_wrong_is_seen_as_that(data: bytes, key: str, weight: str, says: str) -> None:
    found = seen(taken(data))[ObservationKey(key)]
    assert found.weight == weight
    assert says in found.says
    assert len(found.todo) > 10
    assert found.source


def test_every_observation_names_its_source_and_what_to_do() -> None:
    with pytest.raises(ValidationError):
        Observation.model_validate(
            {"key": "no-exif", "weight": "note", "value": "none", "says": "x", "todo": "y"}
        )


def test_a_stripped_photo_says_how_to_send_the_file_whole() -> None:
    out = io.BytesIO()
    mat(1).save(out, "JPEG", quality=70)
    found = seen(taken(out.getvalue(), "IMG-20260513-WA0007.jpg"))
    assert found[ObservationKey.NO_EXIF].weight == "warning"
    assert "as file" in found[ObservationKey.NO_EXIF].todo
    assert ObservationKey.NO_CAMERA not in found, "one cause, one observation"
    assert ObservationKey.NO_CAPTURE_TIME not in found


@pytest.mark.parametrize(("size", "weight"), [((320, 240), "note"), ((180, 390), "warning")])
def test_a_png_is_no_camera_file_and_a_tall_one_looks_like_a_screenshot(
    size: tuple[int, int], weight: str
) -> None:
    found = seen(taken(as_phone(mat(1, size), kind="PNG", exif={40962: None, 40963: None}), "a.png"))
    assert found[ObservationKey.PNG_NOT_FROM_CAMERA].weight == weight


@pytest.mark.parametrize(("depth", "told"), [(np.uint8, False), (np.uint16, True)])
def test_finer_steps_that_are_left_out_are_told(depth: type, told: bool) -> None:
    """A PNG says its bit depth in its header (ISO/IEC 15948, 11.2.1); the decoder gives 8 bits whatever it says."""
    picture = np.asarray(mat(1)).astype(depth) * (257 if told else 1)
    written, data = cv2.imencode(".png", picture)
    assert written
    found = seen(taken(data.tobytes(), "a.png"))
    assert (ObservationKey.NARROWED in found) is told
    if told:
        assert found[ObservationKey.NARROWED].value == 16
        assert "16 bits a colour; 8 are looked at" in found[ObservationKey.NARROWED].says


def test_a_name_that_disagrees_with_the_content() -> None:
    assert ObservationKey.NAME_AND_CONTENT_DIFFER in seen(taken(as_phone(), "a.png"))
    assert ObservationKey.NAME_AND_CONTENT_DIFFER not in seen(taken(as_phone(), "a.JPEG"))


def test_received_late_and_how_late() -> None:
    found = seen(taken(as_phone(), received_at=RECEIVED + timedelta(days=3)))
    assert found[ObservationKey.RECEIVED_LATE].value == pytest.approx(72.8, abs=0.1)
    assert ObservationKey.RECEIVED_LATE not in seen(
        taken(as_phone(), received_at=RECEIVED + timedelta(hours=23))
    )


# --------------------------------------------------------------------------------------------- zones


@pytest.mark.parametrize(
    ("claims", "at_utc", "basis"),
    [
        ({"utc_offset_min": 120}, "14:12", "zone stated"),
        ({"gps_time": datetime(2026, 5, 13, 14, 12, 40, tzinfo=UTC)}, "14:12", "zone from GPS"),
        ({"gps_time": datetime(2026, 5, 13, 10, 27, tzinfo=UTC)}, "10:27", "zone from GPS"),  # +05:45
        (
            {"gps_time": datetime(2026, 5, 11, 3, 0, tzinfo=UTC)},
            "15:12",
            "zone assumed",
        ),  # a fix two days old
        ({}, "15:12", "zone assumed"),
    ],
)
def test_the_instant_of_capture_and_how_its_zone_is_known(
    claims: dict[str, Any], at_utc: str, basis: str
) -> None:
    wall_clock = datetime(2026, 5, 13, 16, 12)  # noqa: DTZ001 - a camera's wall clock
    found = captured_at(ExifClaims(captured_local=wall_clock, **claims), timezone(timedelta(hours=1)))
    assert found is not None
    assert found.at.astimezone(UTC).strftime("%H:%M") == at_utc
    assert found.basis == basis


def test_both_ends_of_the_window_belong_to_it() -> None:
    for edge, inside in (
        (WINDOW.start, True),
        (WINDOW.end, True),
        (WINDOW.start - timedelta(seconds=1), False),
    ):
        claims = ExifClaims(captured_local=edge.replace(tzinfo=None), utc_offset_min=120)
        keys = {o.key for o in time_observations(claims, WINDOW.end, WINDOW)}
        assert (ObservationKey.OUTSIDE_WINDOW not in keys) is inside
    with pytest.raises(ValidationError, match="ends before it starts"):
        Window(start=WINDOW.end, end=WINDOW.start)


def test_bright_at_night_without_flash() -> None:
    place = Position(latitude=47.05, longitude=8.31)
    midnight = datetime(2026, 5, 14, 0, 30)  # noqa: DTZ001 - a camera's wall clock
    night = ExifClaims(captured_local=midnight, utc_offset_min=120, position=place, flash_fired=False)
    found = night_observations(night, UTC, mean_grey=120.0)
    assert [o.key for o in found] == [ObservationKey.BRIGHT_AT_NIGHT]
    assert found[0].value == pytest.approx(-23.0, abs=2.0)
    assert night_observations(night, UTC, mean_grey=20.0) == []
    assert night_observations(night.model_copy(update={"flash_fired": True}), UTC, mean_grey=120.0) == []
    noon = night.model_copy(update={"captured_local": midnight.replace(hour=12)})
    assert night_observations(noon, UTC, mean_grey=120.0) == []


# --------------------------------------------------------------------------------------------- copies


def test_the_same_file_twice_in_a_batch() -> None:
    data = as_phone()
    batch = take_in_all([("a.jpg", data), ("b.jpg", data)], received_at=RECEIVED)
    assert seen(batch.taken[1])[ObservationKey.SAME_FILE].value == "a.jpg"
    assert ObservationKey.SAME_FILE not in seen(batch.taken[0])


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda p: p.resize((160, 120), Image.Resampling.LANCZOS), id="half size"),
        pytest.param(lambda p: p.rotate(90, expand=True), id="turned left"),
        pytest.param(lambda p: p.rotate(180), id="upside down"),
        pytest.param(lambda p: p.rotate(270, expand=True), id="turned right"),
        pytest.param(lambda p: p.filter(ImageFilter.GaussianBlur(1)), id="softened"),
        pytest.param(lambda p: p.point(lambda v: min(255, int(v * 1.15))), id="brighter"),
    ],
)
def test_the_same_picture_saved_again(change: Any) -> None:
    first = taken(as_phone(mat(4)), "first.jpg")
    out = io.BytesIO()
    change(mat(4)).save(out, "JPEG", quality=50)
    found = seen(taken(out.getvalue(), "second.jpg", known_photos=[first.known]))
    assert found[ObservationKey.SAME_PICTURE].weight == "warning"
    assert "first.jpg" in found[ObservationKey.SAME_PICTURE].says


def test_eighty_drawn_mats_are_eighty_pictures() -> None:
    hashes = [perceptual_hash(np.asarray(mat(seed).convert("L"))) for seed in range(80)]
    apart = [
        min(bits_apart(a, t) for t in hashes_of_turns(np.asarray(mat(seed).convert("L"))))
        for seed, a in enumerate(hashes)
    ]
    assert apart == [0] * 80
    between = [bits_apart(a, b) for i, a in enumerate(hashes) for b in hashes[:i]]
    assert min(between) > SAME_UP_TO_BITS
    assert sum(b <= LIKE_UP_TO_BITS for b in between) / len(between) < 0.01


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_stored_turn_does_not_change_the_hash(orientation: int) -> None:
    from PIL import ImageOps

    undo = {5: 5, 6: 8, 7: 7, 8: 6}.get(orientation, orientation)
    turn = Image.Exif()
    turn[274] = undo
    carrier = io.BytesIO()
    mat(6).save(carrier, "PNG", exif=turn)
    stored = ImageOps.exif_transpose(Image.open(io.BytesIO(carrier.getvalue())))
    found = taken(as_phone(stored.convert("RGB"), image={274: orientation}))
    reference = taken(as_phone(mat(6)))
    assert bits_apart(int(found.perceptual_hash, 16), int(reference.perceptual_hash, 16)) <= 1
    assert found.upright_size_px == (320, 240)
    assert ObservationKey.SIZE_AGAINST_EXIF not in seen(found)


# --------------------------------------------------------------------------------------------- thumbnail, counter


def with_thumbnail(picture: Image.Image, thumbnail: Image.Image) -> bytes:
    """A JPEG whose Exif block carries a thumbnail in its second directory, written byte by byte."""
    small = io.BytesIO()
    thumbnail.save(small, "JPEG", quality=60)
    body = small.getvalue()

    def entry(tag: int, kind: int, count: int, value: int) -> bytes:
        return b"".join(
            (
                tag.to_bytes(2, "little"),
                kind.to_bytes(2, "little"),
                count.to_bytes(4, "little"),
                value.to_bytes(4, "little"),
            )
        )

    first = (1).to_bytes(2, "little") + entry(0x0112, 3, 1, 1)
    second_at = 8 + len(first) + 4
    data_at = second_at + 2 + 2 * 12 + 4
    second = (2).to_bytes(2, "little") + entry(0x0201, 4, 1, data_at) + entry(0x0202, 4, 1, len(body))
    block = (
        b"II*\0"
        + (8).to_bytes(4, "little")
        + first
        + second_at.to_bytes(4, "little")
        + second
        + bytes(4)
        + body
    )
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=b"Exif\0\0" + block, qtables=OWN_TABLES)
    return out.getvalue()


def test_the_thumbnail_shows_the_same_picture_or_is_noted() -> None:
    small = (160, 120)
    assert ObservationKey.THUMBNAIL_DIFFERS not in seen(taken(with_thumbnail(mat(2), mat(2).resize(small))))
    other = seen(taken(with_thumbnail(mat(2), mat(3).resize(small))))[ObservationKey.THUMBNAIL_DIFFERS]
    assert other.unit == "correlation"
    cropped = seen(taken(with_thumbnail(mat(2).crop((0, 0, 320, 180)), mat(2).resize(small))))
    assert cropped[ObservationKey.THUMBNAIL_DIFFERS].unit == "% of shape"
    assert thumbnail_observations((4000, 3000), (160, 120), 0.95) == []


@pytest.mark.parametrize(
    ("name", "time", "noted"),
    [
        ("IMG_0102.jpg", "2026:05:13 16:20:00", False),
        ("IMG_0102.jpg", "2026:05:13 16:00:00", True),
        ("IMG_0100.jpg", "2026:05:13 16:20:00", True),
        ("IMG_0100.jpg", "2026:05:13 16:00:00", False),
        ("DSC_0100.jpg", "2026:05:13 16:20:00", False),
        ("spot.jpg", "2026:05:13 16:00:00", False),
    ],
)
def test_file_numbers_run_with_time(name: str, time: str, noted: bool) -> None:
    first = taken(as_phone(), "IMG_0101.jpg")
    found = seen(taken(as_phone(mat(9), exif={36867: time}), name, known_photos=[first.known]))
    assert (ObservationKey.COUNTER_AGAINST_TIME in found) is noted
