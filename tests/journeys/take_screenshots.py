"""Take the pictures of the README's tour from the real page on the sample pour, so that they stay true.

    python tests/journeys/take_screenshots.py FOLDER

writes one JPEG for each step of the tour into FOLDER. It needs Chromium, pdftoppm and the playwright package, and takes about a minute.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

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
from disputed_pour import disputed_pour
from PIL import Image
from stamp_authority import make_authority

from verifier.cli.moved import ending_now, moved_sample
from verifier.cli.story import steps
from verifier.pipeline.folder.evidence import evidence_in
from verifier.pipeline.people.acting import Act
from verifier.pipeline.review.reviewing import About, Remark, say

SHARP = {PHONE: 2.0, DESK: 1.5}
"""Pixels of the picture for one of the page, so that text stays readable at the width of a README."""

QUALITY = 74


def main(out: Path) -> None:
    """Take all pictures.

    Args:
        out: Folder for the pictures; made if absent.
    """
    from playwright.sync_api import sync_playwright  # only this script and the journeys need it

    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        home, settings = Path(scratch), Path(scratch) / "settings"
        found, later, asked = (home / name / "L2-east" for name in ("found", "later", "asked"))
        fresh = _ending_now(home / "as-found-sample", 1)
        as_found_pour(found, fresh)
        sample = _ending_now(home / "released-sample", 4)
        as_found_pour(later, sample)
        corrected(later, sample)
        walked(later, sample)
        # Before the browser: both run an event loop.
        _first_page(released(later, sample), out / "decision.jpg")
        disputed_pour(asked, make_authority(home / "authority"))
        with sync_playwright() as started:
            browser = started.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
            with served(found, settings) as url:
                _tour(browser, url, out, found, fresh / "photos" / "s2-spot2-shaken.jpg")
            with served(later, settings) as url:
                _later(browser, url, out)
            with served(asked, settings) as url:
                _years_later(browser, url, out)
            browser.close()


def _ending_now(place: Path, told: int) -> Path:
    """The sample moved so that so many steps of its story end now: rounds and release lapse by the clock."""
    last = steps(SAMPLE)[told - 1].ends_at
    return moved_sample(SAMPLE, place, ending_now(last, datetime.now().astimezone()))


def _asked_back(pour: Path) -> None:
    """The reviewer points at a place in a photo."""
    photo = next(p for p in evidence_in(pour, ("S1", "S2")).photos if p.name == "s1-spot1.jpg")
    about = About(original_sha256=photo.sha256, point_px=(900.0, 700.0), element="S1", spot="1")
    say(pour, Remark(text="Is this bar tied?", about=about), Act("reviewer-1", datetime.now().astimezone()))


def _first_page(pdf: Path, target: Path) -> None:
    """Picture of the release document."""
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


def _tour(browser: Any, url: str, out: Path, pour: Path, shaken: Path) -> None:
    _shot(browser, url, PHONE, out / "phone-to-do.jpg", _nothing)
    _shot(browser, f"{url}missing?element=S1&spot=3", PHONE, out / "phone-plan.jpg", _at("Plan of the pour"))
    _shot(browser, url, PHONE, out / "phone-sent.jpg", _sent(shaken))
    _asked_back(pour)
    _shot(browser, url, PHONE, out / "phone-asked-back.jpg", _at("The reviewer wants this"))
    _shot(browser, f"{url}findings", DESK, out / "findings.jpg", _nothing)
    _shot(browser, f"{url}findings", DESK, out / "finding.jpg", _worst_finding)
    _shot(browser, f"{url}findings?language=de", DESK, out / "german.jpg", _worst_finding)
    _shot(browser, f"{url}photos?way=points", DESK, out / "measured.jpg", _two_points)


def _later(browser: Any, url: str, out: Path) -> None:
    _shot(browser, f"{url}rounds?round=2&who=engineer-1", PHONE, out / "phone-rounds.jpg", _nothing)
    _shot(browser, f"{url}concrete", PHONE, out / "phone-concrete.jpg", _nothing)
    _shot(browser, f"{url}decision", DESK, out / "released.jpg", _nothing)


def _years_later(browser: Any, url: str, out: Path) -> None:
    _shot(browser, f"{url}timeline", DESK, out / "originals.jpg", _at("The bar is what the record proves"))
    _shot(browser, f"{url}timeline?part=proven", DESK, out / "proven.jpg", _audited)


def _shot(browser: Any, url: str, size: tuple[int, int], target: Path, act: Callable[[Any], None]) -> None:
    page = browser.new_page(viewport={"width": size[0], "height": size[1]}, device_scale_factor=SHARP[size])
    page.set_default_timeout(60_000)
    page.goto(url)
    page.wait_for_selector("h1")
    _at_rest(page)
    act(page)
    _at_rest(page)
    with Image.open(io.BytesIO(page.screenshot())) as picture:
        picture.convert("RGB").save(target, quality=QUALITY, optimize=True, progressive=True)
    page.close()


def _at_rest(page: Any) -> None:
    page.wait_for_timeout(1200)
    page.wait_for_selector("[data-test-script-state=notRunning]")
    page.wait_for_function("[...document.images].every(i => i.complete)")
    page.wait_for_timeout(300)


def _nothing(page: Any) -> None:
    del page


def _sent(photo: Path) -> Callable[[Any], None]:
    """Send a photo and wait for its answer."""

    def send(page: Any) -> None:
        page.set_input_files(".st-key-photo-files-0 input[type=file]", photo)
        page.get_by_role("button", name="Send photos").click()
        page.get_by_text("All answered: 1").evaluate("e => e.scrollIntoView({block: 'center'})")

    return send


def _at(text: str) -> Callable[[Any], None]:
    """Bring a heading to the top of the picture."""

    def scroll(page: Any) -> None:
        page.get_by_text(text).first.evaluate("e => e.scrollIntoView({block: 'start'})")
        page.wait_for_timeout(800)

    return scroll


def _audited(page: Any) -> None:
    page.get_by_role("button", name="Check everything now").click()
    page.get_by_text("Are the bytes intact?").wait_for()
    _at("Are the signatures sound?")(page)


def _worst_finding(page: Any) -> None:
    page.locator("[class*=st-key-open-] button").first.click()
    page.locator("[data-testid=stImage] img").first.wait_for()
    page.wait_for_timeout(1500)


def _two_points(page: Any) -> None:
    sheet = page.locator(".sheet")
    sheet.locator("img").wait_for()
    page.wait_for_timeout(800)
    box = sheet.bounding_box()
    for x, y in ((0.30, 0.30), (0.36, 0.32)):
        page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])
    page.get_by_text("Distance on the chosen plane").evaluate("e => e.scrollIntoView({block: 'end'})")
    page.wait_for_timeout(500)


if __name__ == "__main__":
    if len(sys.argv) != 2 or CHROMIUM is None:
        sys.exit("Usage: python tests/journeys/take_screenshots.py FOLDER; Chromium must be installed.")
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    main(Path(sys.argv[1]))
