"""Pictures kept for the reviewer: made once, made anew when the measurement is another, never needed, never in the way."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from verifier.errors import BadInput
from verifier.pipeline.measurement import pictures
from verifier.store import sha256_of
from verifier.vision.photo_measurement import Method, PhotoFacts, PhotoMeasurement, Saying


@pytest.fixture
def photo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, PhotoMeasurement]:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    path = tmp_path / "one.jpg"
    drawn = np.random.default_rng(5).integers(0, 255, (480, 640, 3), dtype=np.uint8)
    path.write_bytes(bytes(cv2.imencode(".jpg", drawn)[1]))
    facts = PhotoFacts(name="one.jpg", sha256=sha256_of(path), width_px=640, height_px=480)
    saying = Saying(reason="no-board", say="Put a board on the bars.")
    method = Method(version="1", labels="none")
    return path, PhotoMeasurement(photo=facts, usable=False, refusals=(saying,), method=method)


def kept() -> list[Path]:
    return sorted(pictures.cache_folder().rglob("*.jpg"))


def test_pictures_are_made_at_intake_and_shown_from_the_cache(photo, monkeypatch):
    path, seen = photo
    pictures.keep_pictures([(path, seen)])
    assert len(kept()) == 3  # measured, taken, small: without a plane there is no view from above
    monkeypatch.setattr(pictures, "upright_pixels", lambda *_: pytest.fail("it was decoded again"))
    data = pictures.picture_of(path, seen, "small")
    assert cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR).shape == (240, 320, 3)
    assert pictures.picture_of(path, seen, "above") is None


def test_another_measurement_is_another_picture(photo):
    path, seen = photo
    pictures.picture_of(path, seen, "measured")
    again = seen.model_copy(update={"refusals": (Saying(reason="too-far", say="Go nearer."),)})
    assert pictures.picture_of(path, again, "measured") != pictures.picture_of(path, seen, "measured")
    assert len(kept()) == 2


def test_a_cache_that_is_gone_or_cannot_be_written_costs_nothing_but_time(photo, tmp_path, monkeypatch):
    path, seen = photo
    first = pictures.picture_of(path, seen, "taken")
    for file in kept():
        file.unlink()
    assert pictures.picture_of(path, seen, "taken") == first
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where a folder should be")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert pictures.picture_of(path, seen, "taken") == first


def test_a_photo_that_cannot_be_decoded_stops_no_other(photo, tmp_path):
    path, seen = photo
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(path.read_bytes()[:300])
    facts = seen.photo.model_copy(update={"sha256": sha256_of(broken), "name": "broken.jpg"})
    other = seen.model_copy(update={"photo": facts})
    pictures.keep_pictures([(broken, other), (path, seen)], workers=2)
    assert len(kept()) == 3
    with pytest.raises(BadInput):
        pictures.picture_of(broken, other, "taken")
