"""The page on a sample pour as it was found, in a browser and without one.

The browser is the Chromium of the system; where it or its driver is missing the journeys are skipped and say so.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from browser_page import CHROMIUM, QUIET, ROOT, SAMPLE, Serve

from verifier.cli.demo import steps
from verifier.pipeline.adding import Act, add_photos, add_tape
from verifier.record.keys import device_signer


@pytest.fixture(scope="session")
def settings_place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the page of the tests keeps its device key: never with the person's own."""
    return tmp_path_factory.mktemp("settings")


@pytest.fixture(scope="session")
def as_found(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first step of the sample's story, recorded: measured once for all journeys."""
    place = tmp_path_factory.mktemp("pour") / "L2-east"
    place.mkdir()
    for name in ("pour.toml", "boards.toml", "instruments.toml"):
        shutil.copy(SAMPLE / name, place)
    step = steps(SAMPLE)[0]
    act = Act("engineer-1", step.at, device_signer(place.parent / "sample.key"))
    add_photos(place, [SAMPLE / "photos" / name for name in step.photos], act)
    add_tape(place, [SAMPLE / "tape" / name for name in step.tape], act)
    return place


@pytest.fixture
def pour(as_found: Path, tmp_path: Path) -> Path:
    """A copy of the pour as found, to be changed."""
    return Path(shutil.copytree(as_found, tmp_path / "L2-east"))


@pytest.fixture
def serve(settings_place: Path) -> Iterator[Serve]:
    """Start the real page on a folder; the answer is its address."""
    running: list[subprocess.Popen[bytes]] = []

    def start(folder: Path) -> str:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        env = {**os.environ, "VERIFIER_FOLDER": str(folder), "XDG_CONFIG_HOME": str(settings_place)}
        command = [sys.executable, "-m", "streamlit", "run", "app.py", "--server.port", str(port)]
        running.append(
            subprocess.Popen(
                command, cwd=ROOT / "ui", env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            )
        )
        url = f"http://localhost:{port}/"
        for _ in range(120):
            try:
                urllib.request.urlopen(f"{url}_stcore/health", timeout=1)
            except OSError:
                time.sleep(0.25)
            else:
                return url
        raise TimeoutError("the page did not start within 30 s")

    yield start
    for process in running:
        process.terminate()
        process.wait(timeout=10)


@pytest.fixture(scope="session")
def chromium() -> Iterator[object]:
    playwright = pytest.importorskip("playwright.sync_api", reason="needs the playwright package")
    if CHROMIUM is None:
        pytest.skip("needs Chromium")
    with playwright.sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield browser
        browser.close()
