"""The page on a sample pour as it was found, in a browser and without one.

The browser is the Chromium of the system; where it or its driver is missing the journeys are skipped and say so.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from browser_page import CHROMIUM, QUIET, Serve, Visit, as_found_pour, served


@pytest.fixture(scope="session")
def as_found(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first step of the sample's story, recorded: measured once for all journeys."""
    place = tmp_path_factory.mktemp("pour") / "L2-east"
    as_found_pour(place)
    return place


@pytest.fixture
def pour(as_found: Path, tmp_path: Path) -> Path:
    """A copy of the pour as found, to be changed."""
    return Path(shutil.copytree(as_found, tmp_path / "L2-east"))


@pytest.fixture(scope="module")
def serve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serve]:
    """Start the real page on a folder, once a folder; the answer is its address."""
    settings = tmp_path_factory.mktemp("settings")
    urls: dict[Path, str] = {}
    with ExitStack() as running:

        def start(folder: Path) -> str:
            if folder not in urls:
                urls[folder] = running.enter_context(served(folder, settings))
            return urls[folder]

        yield start


@pytest.fixture(scope="module")
def chromium() -> Iterator[object]:
    """One browser for the module: its event loop must end with it, or later tests can't run loops of their own."""
    playwright = pytest.importorskip("playwright.sync_api", reason="needs the playwright package")
    if CHROMIUM is None:
        pytest.skip("needs Chromium")
    with playwright.sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture
def visit(chromium: Any) -> Iterator[Visit]:
    """Open a view in the browser, at a size; closed with the test."""
    pages = []

    def go(url: str, size: tuple[int, int], wait_for: str = "h1") -> Any:
        page = chromium.new_page(viewport={"width": size[0], "height": size[1]})
        page.set_default_timeout(45_000)
        page.asked = []
        page.on("request", lambda request: page.asked.append(request.url))
        page.goto(url)
        page.wait_for_selector(wait_for)
        page.wait_for_selector(
            "[data-test-script-state=notRunning]"
        )  # a click while the view is drawn can get lost
        pages.append(page)
        return page

    yield go
    for page in pages:
        page.close()
