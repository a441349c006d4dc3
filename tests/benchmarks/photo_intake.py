"""Cost of taking a photo in and of its upright pixels, as multiples of OpenCV's decoder in the same process.

Run: python tests/benchmarks/photo_intake.py [PHOTO.jpg ...]   (without photos: one of 12 megapixels is drawn)
"""

from __future__ import annotations

import io
import statistics
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from verifier.photo.intake import take_in
from verifier.photo.pixels import upright_pixels

ROUNDS = 9


def drawn_photo() -> bytes:
    """Twelve megapixels with structure at all scales and a phone's noise, stored on their side."""
    draw = np.random.default_rng(1)
    coarse = Image.fromarray(draw.integers(40, 220, (60, 80, 3), dtype=np.uint8)).resize((4000, 3000))
    noisy = np.asarray(coarse).astype(np.int16) + draw.normal(0, 4, (3000, 4000, 1)).astype(np.int16)
    tags = Image.Exif()
    tags.update({271: "Maker", 272: "Phone 1", 274: 6})
    out = io.BytesIO()
    Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)).save(out, "JPEG", quality=92, exif=tags)
    return out.getvalue()


def medians_ms(calls: dict[str, Callable[[], object]]) -> dict[str, float]:
    """Median time of each call, the calls taken in turn so that a busy machine slows all of them alike."""
    taken: dict[str, list[float]] = {name: [] for name in calls}
    for _ in range(ROUNDS):
        for name, call in calls.items():
            started = time.perf_counter()
            call()
            taken[name].append((time.perf_counter() - started) * 1000)
    return {name: statistics.median(times) for name, times in taken.items()}


def main() -> None:
    photos = {path: Path(path).read_bytes() for path in sys.argv[1:]} or {"drawn": drawn_photo()}
    cv2.setNumThreads(1)
    now = datetime.now(UTC)
    for name, data in photos.items():
        coded = np.frombuffer(data, np.uint8)
        medians = medians_ms(
            {
                "imdecode": lambda coded=coded: cv2.imdecode(coded, cv2.IMREAD_COLOR),
                "upright_pixels": lambda data=data: upright_pixels(data),
                "take_in": lambda data=data: take_in(data, "a.jpg", received_at=now),
            }
        )
        base = medians.pop("imdecode")
        print(f"{Path(name).name}: {len(data) / 1e6:.1f} MB, imdecode {base:.0f} ms")
        for what, ms in medians.items():
            print(f"  {what:15s} {ms:6.0f} ms = {ms / base:.2f} x imdecode, {1000 / ms:.0f} photos a second")


if __name__ == "__main__":
    main()
