"""What the sample photos claim, against what their story says: place, day, turn, and no warning on any of them."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

import sample_images
from verifier.photo.intake import Batch, take_in_all
from verifier.photo.observations import ObservationKey
from verifier.photo.pixels import upright_pixels
from verifier.photo.place import SiteLimits, distance_m
from verifier.photo.time_checks import Window

FOLDER = Path(sample_images.__file__).parent / "photos"
SUMMER = timezone(timedelta(hours=2))
SITE = (47.0512, 8.3093)


@pytest.fixture(scope="module")
def batch() -> Batch:
    files = [(path.name, path.read_bytes()) for path in sorted(FOLDER.rglob("*.jpg"))]
    assert len(files) >= 10
    return take_in_all(
        files,
        received_at=datetime(2026, 5, 13, 20, 0, tzinfo=SUMMER),
        site=SiteLimits(centre=SITE, radius_m=80),
        window=Window(
            start=datetime(2026, 5, 13, 6, 0, tzinfo=SUMMER), end=datetime(2026, 5, 14, 6, 30, tzinfo=SUMMER)
        ),
    )


def test_all_are_taken_in_without_a_warning(batch: Batch) -> None:
    assert batch.refused == ()
    assert [(p.name, o.says) for p in batch.taken for o in p.warnings] == []


def test_all_were_taken_on_the_site_the_afternoon_before_the_pour(batch: Batch) -> None:
    for photo in batch.taken:
        place, time = photo.claims.position, photo.claims.captured
        assert place is not None
        assert time is not None
        assert distance_m((place.latitude, place.longitude), SITE) < 30
        assert time.astimezone(SUMMER).date().isoformat() == "2026-05-13"


def test_one_is_stored_on_its_side_and_stands_upright_after_intake(batch: Batch) -> None:
    turned = [p for p in batch.taken if p.orientation != 1]
    assert [p.orientation for p in turned] == [6]
    (path,) = FOLDER.rglob(turned[0].name)
    pixels = upright_pixels(path.read_bytes())
    assert (pixels.shape[1], pixels.shape[0]) == turned[0].upright_size_px == (1800, 2400)


def test_no_photo_stands_for_two_spots(batch: Batch) -> None:
    copies = {ObservationKey.SAME_FILE, ObservationKey.SAME_PICTURE}
    assert [p.name for p in batch.taken for o in p.observations if o.key in copies] == []
