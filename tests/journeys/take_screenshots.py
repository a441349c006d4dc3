"""Take the pictures of the README's tour from the real page on the sample pour, so that they stay true.

    python tests/journeys/take_screenshots.py FOLDER

writes one JPEG for each step of the tour into FOLDER. It needs Chromium, pdftoppm and the playwright package, and takes about a minute.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from browser_page import (
    CHROMIUM,
    DESK,
    PHONE,
    QUIET,
    SAMPLE,
    as_found_pour,
    corrected,
    released,
    served,
    walked,
)

SHARP = 2
"""Pixels of the picture for one of the page, so that text stays readable."""

QUALITY = 82


def main(out: Path) -> None:
    """Take all pictures.

    Args:
        out: Folder for the pictures; made if absent.
    """
    from playwright.sync_api import sync_playwright  # only this script and the journeys need it

    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        place, settings = Path(scratch) / "L2-east", Path(scratch) / "settings"
        as_found_pour(place)
        later = Path(shutil.copytree(place, Path(scratch) / "later" / "L2-east"))
        shutil.copy(place.parent / "sample.key", later.parent)
        corrected(later)
        walked(later)
        _first_page(released(later), out / "decision.jpg")  # before the browser: both run an event loop
        with sync_playwright() as started:
            browser = started.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
            with served(place, settings) as url:
                _tour(browser, url, out)
            browser.close()


def _first_page(pdf: Path, target: Path) -> None:
    """Picture of the release document: on the page a release of long ago has lapsed."""
    command = [
        "pdftoppm",
        "-jpeg",
        "-r",
        "110",
        "-f",
        "1",
        "-l",
        "1",
        "-singlefile",
        str(pdf),
        str(target.with_suffix("")),
    ]
    subprocess.run(command, check=True)


def _tour(browser: Any, url: str, out: Path) -> None:
    _shot(browser, url, PHONE, out / "phone-to-do.jpg", _nothing)
    _shot(browser, url, PHONE, out / "phone-sent.jpg", _send)
    _shot(browser, f"{url}findings", DESK, out / "findings.jpg", _nothing)
    _shot(browser, f"{url}photos", DESK, out / "photo.jpg", _worst_photo)
    _shot(browser, f"{url}photos?way=points", DESK, out / "measured.jpg", _two_points)


def _shot(browser: Any, url: str, size: tuple[int, int], target: Path, act: Callable[[Any], None]) -> None:
    page = browser.new_page(viewport={"width": size[0], "height": size[1]}, device_scale_factor=SHARP)
    page.set_default_timeout(60_000)
    page.goto(url)
    page.wait_for_selector("h1")
    page.wait_for_timeout(1500)
    act(page)
    page.screenshot(path=target, type="jpeg", quality=QUALITY)
    page.close()


def _nothing(page: Any) -> None:
    del page


def _send(page: Any) -> None:
    page.set_input_files("input[type=file]", [SAMPLE / "photos" / "s2-spot2-shaken.jpg"])
    page.get_by_role("button", name="Send photos").click()
    page.get_by_text("could not be measured").last.scroll_into_view_if_needed()
    page.wait_for_timeout(800)


def _worst_photo(page: Any) -> None:
    for _ in range(2):
        page.get_by_role("button", name="›").click()
        page.wait_for_timeout(1500)


def _two_points(page: Any) -> None:
    sheet = page.locator(".sheet")
    sheet.locator("img").wait_for()
    page.wait_for_timeout(800)
    box = sheet.bounding_box()
    for x, y in ((0.30, 0.30), (0.36, 0.32)):
        page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
    page.get_by_text("Distance on the chosen plane").scroll_into_view_if_needed()
    page.wait_for_timeout(500)


if __name__ == "__main__":
    if len(sys.argv) != 2 or CHROMIUM is None:
        sys.exit("Usage: python tests/journeys/take_screenshots.py FOLDER; Chromium must be installed.")
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    main(Path(sys.argv[1]))
