"""The pour that the page is about: its folder, and the check of it, made anew whenever a file in the folder changes."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Lock

import streamlit as st

from ui import words
from ui.parts import plain, visits
from ui.parts.arrivals import arrivals_of
from ui.parts.where import folder
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.pipeline.decision.check import Check, check
from verifier.pipeline.people.permissions import Action, demand

DRAFTS = "drafts"
FRESH_S = 600
"""How long an answer is shown before the pour is checked again although no file has changed."""

State = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True)
class Open:
    """The pour folder and what its check said."""

    folder: Path
    check: Check


def opened() -> Open:
    """Check the pour, or say why that can't be done and end the view.

    Returns:
        Folder and check.

    Raises:
        BadInput: If the folder or its drawing values can't be used.
        NotAllowed: If the person logged in has nothing to do with this pour.
    """
    place = entered()
    return Open(place, checked(place))


def entered() -> Path:
    """Find the pour for a view that needs no check of it, or say why there is none and end the view.

    Returns:
        The pour folder.

    Raises:
        BadInput: If its drawing values can't be used.
        NotAllowed: If the person logged in has nothing to do with this pour.
    """
    place = folder()
    if place is None:
        plain.notice("missing", words.NO_FOLDER_TITLE, words.NO_FOLDER)
        st.stop()
    person = visits.person()
    if person is not None:
        demand(read_pour(place), person, Action.SEE)
    return place


def drawn() -> tuple[Path, Pour]:
    """Read the pour without checking it: for views that write the log and must answer at once.

    Returns:
        Folder and drawing values.

    Raises:
        BadInput: If the folder or its drawing values can't be used.
        NotAllowed: If the person logged in has nothing to do with this pour.
    """
    place = folder()
    if place is None:
        plain.notice("missing", words.NO_FOLDER_TITLE, words.NO_FOLDER)
        st.stop()
    drawing = read_pour(place)
    person = visits.person()
    if person is not None:
        demand(drawing, person, Action.SEE)
    return place, drawing


@dataclass(slots=True)
class _Kept:
    """The last check of each folder; the lock lets two visitors wait for one measuring instead of starting two."""

    checks: dict[Path, tuple[State, float, Check]]
    lock: Lock


@st.cache_resource(show_spinner=False)
def _kept() -> _Kept:
    return _Kept({}, Lock())


def checked(place: Path) -> Check:
    """Check a pour, or give the check made before if nothing has changed since.

    Args:
        place: The pour folder.

    Returns:
        The check.

    Raises:
        BadInput: If the folder or its drawing values can't be used.
    """
    kept = _kept()
    # One place on the page whether or not there is something to wait for: what stands below must not move while it is typed in.
    waiting = st.container()
    state = state_of(place)
    found = kept.checks.get(place)
    if found is not None and found[0] == state and time.monotonic() - found[1] < FRESH_S:
        return found[2]
    if found is not None and arrivals_of(place).busy():
        return found[2]  # photos are being measured: the answer is made anew once, when all are there
    bar = waiting.empty()

    def tell(done: int, total: int, name: str) -> None:
        del name
        bar.progress(done / total, text=words.SENT_OF.format(done=done, total=total))

    with waiting, st.spinner(words.WORKING), kept.lock:
        state = state_of(place)
        found = kept.checks.get(place)
        if found is None or found[0] != state or time.monotonic() - found[1] >= FRESH_S:
            now = datetime.now().astimezone()
            found = (state, time.monotonic(), check(place, at=now, progress=tell))
            kept.checks[place] = found
    bar.empty()
    return found[2]


def moment(at: datetime, pour: Pour) -> str:
    """A moment as the people of the pour read it.

    Args:
        at: The moment, with its zone.
        pour: The pour; its planned start tells its zone.

    Returns:
        Day, time and zone.
    """
    return f"{at.astimezone(pour.pour.planned_start.tzinfo):%Y-%m-%d %H:%M %z}"


def state_of(place: Path) -> State:
    """Tell whether anything in a pour folder has changed since it was last looked at.

    Args:
        place: The pour folder.

    Returns:
        Name, time of change and size of every file in it, without what is typed and not yet sent.
    """
    found = []
    for root, names, files in os.walk(place):
        names[:] = sorted(n for n in names if n != DRAFTS)
        for name in sorted(files):
            if name.endswith("-shm"):  # the database's scratch file: it changes when the record is only read
                continue
            path = Path(root) / name
            try:
                stat = path.stat()
            except FileNotFoundError:  # gone since it was listed: the next look will tell
                continue
            found.append((str(path.relative_to(place)), stat.st_mtime_ns, stat.st_size))
    return tuple(found)
