"""The sample pour told in the terminal, and the page in a browser."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
import tempfile
import time
import webbrowser
from datetime import datetime
from importlib.resources import as_file, files
from pathlib import Path

from rich.console import Console
from rich.rule import Rule
from rich.text import Text

from verifier.cli.moved import ending_now, moved_sample
from verifier.cli.progress import progress
from verifier.cli.story import PERSON, Step, begin, play, sign, steps
from verifier.cli.tables import coverage_table, decision_panel, findings_table
from verifier.errors import BadInput
from verifier.pipeline.decision.check import Check, check
from verifier.pipeline.people.acting import Act
from verifier.pipeline.sealing.recording import record_check
from verifier.record.keys import DeviceSigner, device_signer
from verifier.wording import counted

PAGE_STARTS_S = 2.0
IDLE_VARIABLE = "VERIFIER_IDLE_MINUTES"
FOLDER_VARIABLE = "VERIFIER_FOLDER"
"""How the page is told which pour folder to open."""


def tell_story(
    console: Console, folder: Path | None, *, now: datetime | None = None, until: int | None = None
) -> Path:
    """Play the sample pour: order, what was found, what was corrected, rounds and hold points, release; a check after each.

    Args:
        console: Where to tell it.
        folder: A new or empty folder for the pour; a fresh one in the temporary folder if not given.
        now: When the last step is to have been, with its zone; the sample's own dates if not given.
        until: How many steps are told; all if not given.

    Returns:
        The pour folder.

    Raises:
        BadInput: If the folder holds something already.
    """
    place = _fresh(folder)
    started = time.monotonic()
    # A key of its own: invented data must never carry the signature of a real device.
    signer = device_signer(place.parent / f"{place.name}-sample.key")
    console.print(Text(f"The sample pour, in {place}. Everything in it is invented."))
    with as_file(files("sample_images")) as sample, tempfile.TemporaryDirectory() as scratch:
        told = steps(sample)[:until]
        if now is not None:
            sample = moved_sample(sample, Path(scratch) / "sample", ending_now(told[-1].ends_at, now))
            told = steps(sample)[:until]
            console.print(
                Text(
                    f"Its dates are moved so that the last step was at {told[-1].ends_at:%Y-%m-%d %H:%M %z}, and its site "
                    "to where it is that hour."
                )
            )
        begin(place, sample)
        for step in told:
            _tell(console, place, sample, step, signer)
    console.print(Text(f"Told in {time.monotonic() - started:.0f} s. The pour lies in {place}."))
    return place


def _tell(console: Console, place: Path, sample: Path, step: Step, signer: DeviceSigner) -> None:
    console.print(Rule(step.title))
    console.print(Text(" ".join(step.says.split())))
    with progress("Measuring") as told:
        added = play(place, sample, step, signer, told)
    for a in added:
        for refusal in a.seen.refusals if a.seen is not None else ():
            console.print(Text(f"{a.name} is refused ({refusal.reason}): {refusal.say}"))
    if step.release is not None:
        document = sign(place, step.release, signer)
        console.print(Text(f"{step.release.person} has released this pour: {document.name}"))
        return
    checked = check(place, at=step.at)
    record_check(place, checked, Act(PERSON, step.at, signer))
    _show(console, checked)


def _show(console: Console, checked: Check) -> None:
    bad = [f for f in checked.findings if f.verdict != "conforming" and f.measured and not f.indication]
    conforming = sum(f.verdict == "conforming" for f in checked.findings)
    if bad:
        console.print(findings_table(bad, every=False, width=console.width))
    console.print(Text(f"{counted(conforming, 'finding conforms', 'findings conform')}."))
    for f in bad:
        for consequence in f.consequences if f.verdict == "non_conforming" else ():
            console.print(Text(f"{f.place}, {f.requirement.rule}: {consequence.words}"))
    console.print(coverage_table(checked.coverage))
    console.print(decision_panel(checked.decision))


def _fresh(folder: Path | None) -> Path:
    if folder is None:
        folder = Path(tempfile.mkdtemp(prefix="verifier-")) / "L2-east"
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BadInput(
            "There is something there already.", where=str(folder), todo="Name a folder that is new or empty."
        )
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def open_page(folder: Path | None, *, port: int, idle_min: float = 30) -> int:
    """Run the page until it is stopped.

    Args:
        folder: The pour folder, or the folder of pours, to open; None for none.
        port: Port on this machine.
        idle_min: Minutes without use after which the passphrase is asked for again.

    Returns:
        Exit code of the page's process.

    Raises:
        BadInput: If the page is not installed, or there is no such folder.
    """
    if folder is not None and not folder.is_dir():
        raise BadInput(
            "There is no such folder.", where=str(folder), todo="Make one with: verifier new FOLDER"
        )
    spec = importlib.util.find_spec("ui")
    places = list(spec.submodule_search_locations or ()) if spec is not None else []
    app = next((Path(p) / "server.py" for p in places if (Path(p) / "server.py").is_file()), None)
    if app is None:
        raise BadInput("The page is not installed.", where="ui", todo="Install the whole project again.")
    env = dict(os.environ) | {IDLE_VARIABLE: str(idle_min)}
    if folder is not None:
        env[FOLDER_VARIABLE] = str(folder.resolve())
    command = [sys.executable, "-m", "streamlit", "run", str(app), "--server.port", str(port)]
    with subprocess.Popen(command, env=env, cwd=app.parent) as running:
        if _has_screen():
            time.sleep(PAGE_STARTS_S)
            webbrowser.open(f"http://localhost:{port}")
        try:
            return running.wait()
        except KeyboardInterrupt:
            return 0


def _has_screen() -> bool:
    """Whether a window can open; a browser of the text kind would take the terminal over."""
    graphical = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    return bool(graphical) or sys.platform in ("darwin", "win32")
