"""Time between items of a review of 60 photos on the real page, and from a 12-megapixel photo's arrival to its verdict.

    python tests/benchmarks/bench_review.py [FOLDER]

Makes a pour of 60 photos of 4000 x 3000 pixels from the photos of the sample, lets them come in as on the page, and then
walks through photos and findings in headless Chromium: a key pressed, until the next item and its picture are drawn and the
page is at rest. With FOLDER the pour is kept there and used again. Wanted: at most 1 s between items, at most 3 s to a verdict
on two cores. Times of a busy machine mean little; beside them stand the load and the processor time of page, workers and browser
together, which a calm machine would take at most (Linux only).
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from itertools import cycle
from pathlib import Path
from typing import Any

import cv2

sys.path.insert(0, str(Path(__file__).parents[1] / "journeys"))

from browser_page import CHROMIUM, DESK, PHONE, QUIET, SAMPLE, served

from verifier.pipeline.intake.arriving import Arrivals
from verifier.pipeline.measurement.measuring import StandingWorkers

PHOTOS, SPOTS, SIZE = 60, 10, (4000, 3000)
GOOD = {
    "S1": ("s1-spot1", "s1-spot2", "s1-spot4", "s1-spot3-corrected"),
    "S2": ("s2-spot1", "s2-spot2", "s2-spot3"),
}
SLABS = {"T10-150": "T8-200", "T12-150": "T10-200"}


def pour_of_sixty(folder: Path) -> None:
    """Make a pour of six slabs with ten spots each, to start tomorrow, and no photo yet."""
    folder.mkdir(parents=True)
    for name in ("boards.toml", "instruments.toml"):
        (folder / name).write_bytes((SAMPLE / name).read_bytes())
    start = datetime.now().astimezone() + timedelta(days=1)
    text = (SAMPLE / "pour.toml").read_text(encoding="utf-8")
    head, _, rest = text.partition("[[slab]]")
    people = rest[rest.index("[people]") :]
    head = head.replace("2026-05-14T06:30:00+02:00", start.isoformat(timespec="seconds"))
    head = head.replace("least_per_layer = 3", f"least_per_layer = {SPOTS}")
    slabs = ""
    for number, (lower, upper) in zip(range(1, PHOTOS // SPOTS + 1), cycle(SLABS.items()), strict=False):
        slabs += (
            f'[[slab]]\nmark = "S{number}"\nsize_m = [5.2, 4.1]\nposition_m = [{5.2 * (number - 1)}, 0.0]\n'
            f"thickness_mm = 150\ncover_mm = {{ bottom = 20, top = 20 }}\n"
            f'layers = [{{ layer = "B1", callout = "{lower}" }}, {{ layer = "B2", callout = "{upper}" }}]\n'
            'steel = { grade = "Fe500", lap = "auto" }\n\n'
        )
    (folder / "pour.toml").write_text(head + slabs + people, encoding="utf-8")


def photos(count: int) -> list[tuple[str, bytes]]:
    """Photos of 12 megapixels, each a little brighter than the last of its kind so that no two are the same."""
    made = []
    for number in range(count):
        slab, spot = number // SPOTS + 1, number % SPOTS + 1
        names = GOOD["S1" if slab % 2 else "S2"]
        picture = cv2.imread(str(SAMPLE / "photos" / f"{names[spot % len(names)]}.jpg"))
        size = SIZE if picture.shape[1] > picture.shape[0] else SIZE[::-1]
        picture = cv2.convertScaleAbs(
            cv2.resize(picture, size, interpolation=cv2.INTER_CUBIC), alpha=1 + number / 1000
        )
        data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 90])[1].tobytes()
        made.append((f"s{slab}-spot{spot}.jpg", data))
    return made


def taken_in(folder: Path) -> None:
    """Let all photos but the last come in as on the page, and wait until they are answered and their pictures drawn."""
    arrivals = Arrivals(folder, StandingWorkers())
    began = time.monotonic()
    arrivals.receive(photos(PHOTOS)[:-1], None, "engineer-1")
    if not arrivals.wait(1800):
        raise TimeoutError("the photos were not answered within half an hour")
    told = time.monotonic() - began
    seconds = [a.seconds for a in arrivals.photos() if a.seconds is not None]
    arrivals.at_rest(600)
    print(
        f"{PHOTOS - 1} photos answered in {told:.0f} s, {told / (PHOTOS - 1):.1f} s each; "
        f"pictures kept after {time.monotonic() - began:.0f} s; first answer after {min(seconds):.1f} s"
    )


def at_rest(page: Any) -> None:
    """Until nothing runs and every picture on the page is there."""
    page.wait_for_selector("[data-test-script-state=notRunning]")
    page.wait_for_function("[...document.images].every(i => i.complete && i.naturalWidth > 0)")


def processor_s() -> float:
    """Processor time of all processes that this one has started, those that they started among them. [s]"""
    parents, used = {}, {}
    for place in Path("/proc").glob("[0-9]*"):
        try:
            fields = (place / "stat").read_text().rpartition(")")[2].split()
        except OSError:  # gone since it was listed
            continue
        number = int(place.name)
        parents[number] = int(fields[1])
        used[number] = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    ours, fresh = set(), {os.getpid()}
    while fresh:
        ours |= fresh
        fresh = {n for n, parent in parents.items() if parent in fresh} - ours
    return sum(used[n] for n in ours if n in used)


def walk(page: Any, title: Callable[[], str], times: int) -> list[tuple[float, float]]:
    """Go from item to item with the keyboard.

    Args:
        page: The view, at rest.
        title: Tells which item is shown.
        times: How many items.

    Returns:
        Seconds for each step, until the next item is drawn, and the processor time in it.
    """
    taken = []
    for _ in range(times):
        before, began, used = title(), time.monotonic(), processor_s()
        page.keyboard.press("Alt+ArrowRight")
        while title() == before:
            if time.monotonic() - began > 30:
                return taken
            page.wait_for_timeout(5)
        at_rest(page)
        taken.append((time.monotonic() - began, processor_s() - used))
        page.wait_for_timeout(150)
    return taken


def told(what: str, steps: Sequence[tuple[float, float]]) -> None:
    """Print median and worst."""
    wall, used = zip(*steps, strict=True)
    print(
        f"{what}: median {statistics.median(wall):.2f} s, worst {max(wall):.2f} s of {len(wall)}, load {os.getloadavg()[0]:.1f}; "
        f"processor time median {statistics.median(used):.2f} s, worst {max(used):.2f} s"
    )


def reviewed(browser: Any, url: str) -> None:
    """Walk through the photos and through the findings."""
    page = browser.new_page(viewport={"width": DESK[0], "height": DESK[1]})
    page.set_default_timeout(120_000)
    began = time.monotonic()
    page.goto(f"{url}photos")
    page.locator("[data-testid=stImage] img").first.wait_for()
    at_rest(page)
    print(f"first view of the pour: {time.monotonic() - began:.1f} s")
    photo = page.locator("[data-testid=stImage] img").first
    page.locator("h1").first.click()
    told("photo to photo", walk(page, lambda: str(photo.get_attribute("alt")), 58))
    page.goto(f"{url}findings?show=all&order=place")
    page.get_by_role("button", name="Open this finding").first.click()
    page.wait_for_url("**finding=**")
    page.locator("[data-testid=stImage] img").first.wait_for()
    at_rest(page)
    page.locator("h1").first.click()
    told("finding to finding", walk(page, lambda: page.url, 58))
    page.close()


def verdicts(browser: Any, url: str) -> None:
    """Send one photo more, on a phone, and wait for its verdict on the page."""
    page = browser.new_page(viewport={"width": PHONE[0], "height": PHONE[1]})
    page.set_default_timeout(120_000)
    page.goto(url)
    page.get_by_role("button", name="Send photos").wait_for()
    at_rest(page)
    name, data = photos(PHOTOS)[-1]
    page.set_input_files("input[type=file]", {"name": name, "mimeType": "image/jpeg", "buffer": data})
    page.get_by_role("button", name="Send photos (1)").wait_for()
    # The workers start when a photo is chosen; a busy machine needs longer for that than a person for the button.
    page.wait_for_timeout(15_000)
    began, used = time.monotonic(), processor_s()
    page.get_by_role("button", name="Send photos (1)").click()
    page.get_by_text("counts for S6, spot 10").wait_for()
    used = processor_s() - used
    print(
        f"verdict of a 12-megapixel photo: {time.monotonic() - began:.1f} s after the touch, load {os.getloadavg()[0]:.1f}; "
        f"processor time {used:.2f} s"
    )
    page.close()


def main(place: Path) -> None:
    """Make the pour if it is not there, and measure."""
    from playwright.sync_api import sync_playwright  # only this and the journeys need it

    folder, settings = place / "sixty", place / "settings"
    os.environ["XDG_CONFIG_HOME"], os.environ["XDG_CACHE_HOME"] = str(settings), str(settings / "cache")
    if not folder.is_dir():
        pour_of_sixty(folder)
        taken_in(folder)
    with sync_playwright() as started, served(folder, settings) as url:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        reviewed(browser, url)
        verdicts(browser, url)
        browser.close()


if __name__ == "__main__":
    if CHROMIUM is None:
        sys.exit("Chromium must be installed.")
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as scratch:
            main(Path(scratch))
