"""Draw the two measured photos of the README's tour again: the steel as found, and corrected.

python tests/journeys/draw_tour_overlays.py
"""

from __future__ import annotations

from pathlib import Path

import cv2

from verifier.pipeline.measurement.measuring import Job, measure_photos
from verifier.pipeline.measurement.pictures import Picture, overlay_of
from verifier.pipeline.measurement.settings import settings_of

SAMPLES = Path(__file__).parents[2] / "sample_images"
WIDTH_PX, LIMIT_BYTES = 900, 250_000
QUALITIES = range(85, 69, -1)
"""JPEG qualities, best first; the first that keeps a picture below the limit is taken."""


def _jpeg(picture: Picture, quality: int) -> bytes:
    asked = [cv2.IMWRITE_JPEG_QUALITY, quality, cv2.IMWRITE_JPEG_OPTIMIZE, 1, cv2.IMWRITE_JPEG_PROGRESSIVE, 1]
    return bytes(cv2.imencode(".jpg", picture, asked)[1])


def main() -> None:
    """Measure both photos with the sample pour's own settings and write their pictures."""
    names = ("as-found", "corrected")
    photos = [SAMPLES / "photos" / f"s1-spot3-{name}.jpg" for name in names]
    jobs = [Job(path, path.name) for path in photos]
    for name, path, seen in zip(
        names, photos, measure_photos(jobs, settings_of(SAMPLES), workers=1), strict=True
    ):
        picture = overlay_of(path, seen, width_px=WIDTH_PX)
        data = next((d for q in QUALITIES if len(d := _jpeg(picture, q)) < LIMIT_BYTES), None)
        if data is None:
            raise SystemExit(f"{name}: no quality keeps it below {LIMIT_BYTES} bytes.")
        target = SAMPLES / "tour" / f"{name}.jpg"
        target.write_bytes(data)
        print(f"{target}: {len(data)} bytes")


if __name__ == "__main__":
    main()
