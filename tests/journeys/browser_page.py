"""What the journeys share: places, screen sizes, the sample pour step by step, and the real page running on a folder."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from verifier.cli.story import begin, play, sign, steps
from verifier.record.keys import device_signer

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
Visit = Callable[..., Any]


def as_found_pour(place: Path, sample: Path = SAMPLE) -> None:
    """Make the sample pour as it was found, recorded.

    Args:
        place: Folder to be made.
        sample: The sample, or a copy of it moved in time.
    """
    place.mkdir(parents=True)
    begin(place, sample)
    _step(place, 0, sample)


def corrected(place: Path, sample: Path = SAMPLE) -> None:
    """Add what was corrected.

    Args:
        place: The sample pour as found.
        sample: The sample that it was made from.
    """
    _step(place, 1, sample)


def walked(place: Path, sample: Path = SAMPLE) -> None:
    """Walk the rounds and release the hold points; the keys lie beside the folder (`verifier.cli.story.key_of`).

    Args:
        place: The sample pour, corrected.
        sample: The sample that it was made from.
    """
    _step(place, 2, sample)


def released(place: Path, sample: Path = SAMPLE) -> Path:
    """Let the engineer of record release the pour.

    Args:
        place: The sample pour, walked.
        sample: The sample that it was made from.

    Returns:
        The release document.
    """
    signed = steps(sample)[3].release
    assert signed is not None
    return sign(place, signed, device_signer(place.parent / "sample.key"))


def _step(place: Path, number: int, sample: Path) -> None:
    play(place, sample, steps(sample)[number], device_signer(place.parent / "sample.key"))


def free_port() -> int:
    """Find a port that nobody uses.

    Returns:
        Its number.
    """
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@contextmanager
def served(folder: Path, settings: Path, port: int | None = None, **more: str) -> Iterator[str]:
    """Run the real page on a folder.

    Args:
        folder: The pour folder.
        settings: Where the page keeps its device key: never with the person's own.
        port: Its port, any free one if not given.
        more: Further variables of its surroundings.

    Yields:
        Its address.
    """
    port = port or free_port()
    env = {
        **os.environ,
        "VERIFIER_FOLDER": str(folder),
        "XDG_CONFIG_HOME": str(settings),
        "XDG_CACHE_HOME": str(settings / "cache"),
        **more,
    }
    command = [sys.executable, "-m", "streamlit", "run", "server.py", "--server.port", str(port)]
    process = subprocess.Popen(
        command, cwd=ROOT / "ui", env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        url = f"http://localhost:{port}/"
        for _ in range(160):
            try:
                urllib.request.urlopen(f"{url}_stcore/health", timeout=1)
            except OSError:
                time.sleep(0.25)
            else:
                break
        else:
            raise TimeoutError("the page did not start within 40 s")
        yield url
    finally:
        process.terminate()
        process.wait(timeout=10)


def keep(page: Any, name: str) -> None:
    """Keep a picture of the whole view for a person to look at.

    Args:
        page: The view in a browser.
        name: Name of the picture.
    """
    SHOTS.mkdir(exist_ok=True)
    width = page.viewport_size["width"]
    page.wait_for_timeout(250)
    height = page.evaluate("document.querySelector('[data-testid=stMain]').scrollHeight")
    page.set_viewport_size({"width": width, "height": min(height, 6000)})
    page.screenshot(path=SHOTS / f"{name}.png")


def settled(page: Any) -> None:
    """Wait until the page has drawn everything that the last touch asked for: it starts, runs and comes to rest."""
    page.wait_for_timeout(200)
    page.wait_for_selector("[data-test-script-state=notRunning]")
    page.wait_for_timeout(300)
