"""What the journeys share: places, screen sizes, and how the browser is started."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_images"
SHOTS = Path(__file__).parent / "shots"
DESK, PHONE = (1280, 900), (390, 844)
CHROMIUM = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
Serve = Callable[[Path], str]
