"""Sending photos: several at once, counted while they are measured, each with its own answer afterwards."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.figures import photo_verdict
from ui.parts.people import acting
from ui.parts.pour import Open
from verifier.metrology.budget import result_text
from verifier.pipeline.adding import Act, Added, add_photos
from verifier.pipeline.check import Check
from verifier.pipeline.evidence import PHOTO_ENDINGS, Placement
from verifier.pipeline.photos import PhotoEntry
from verifier.report.figures import Verdict

SENT = "sent-photos"
ROUND = "photo-round"
BY_NAME = ""


def show(at: Open) -> None:
    """Show where photos are chosen and sent, and what became of those just sent.

    Args:
        at: The pour.
    """
    st.subheader(words.SEND_TITLE, anchor="send-photos")
    number = st.session_state.setdefault(ROUND, 0)
    files = st.file_uploader(
        words.SEND_CHOOSE,
        type=[ending.lstrip(".") for ending in PHOTO_ENDINGS],
        accept_multiple_files=True,
        key=f"photo-files-{number}",
    )
    placement = place_chooser(at, "photo")
    who = acting(at.check.pour, "photo")
    if st.button(words.SEND_PHOTOS, type="primary", width="stretch", disabled=not files) and files:
        sent = send(at, [(f.name, f.getvalue()) for f in files], placement, who)
        st.session_state[SENT] = sent
        st.session_state[ROUND] = number + 1
        st.rerun()
    for added in st.session_state.get(SENT, ()):
        answer(at, added)


def place_chooser(at: Open, key: str) -> Placement | None:
    """Ask which element and spot photos show.

    Args:
        at: The pour.
        key: Which form it stands in.

    Returns:
        The place said, None if the file names are to tell.
    """
    marks = at.check.pour.marks
    left, right = st.columns(2, gap="small", wrap=False)
    element = left.selectbox(
        words.ELEMENT,
        (BY_NAME, *marks),
        format_func=lambda m: m or words.SEND_BY_NAME,
        key=f"{key}-element",
    )
    spot = right.selectbox(
        words.SPOT, spots_of(at, element), key=f"{key}-spot", disabled=not element, accept_new_options=True
    )
    if not element or not spot:
        return None
    return Placement(element=element, spot=str(spot).strip(), basis="said")


def spots_of(at: Open, element: str) -> tuple[str, ...]:
    """Spots of an element, those still missing first.

    Args:
        at: The pour.
        element: Mark of the element, empty for none.

    Returns:
        Names of spots.
    """
    asked = [c for c in at.check.coverage if c.element == element]
    missing = dict.fromkeys(s for c in asked if c.what == "spacing" for s in c.missing)
    rest = dict.fromkeys(s for c in asked for s in (*c.there, *c.missing))
    return tuple(dict.fromkeys((*missing, *sorted(rest))))


def send(
    at: Open, files: Sequence[tuple[str, bytes]], placement: Placement | None, who: str
) -> tuple[Added, ...]:
    """Put photos into the record, with a count of those measured.

    Args:
        at: The pour.
        files: Name and bytes of each.
        placement: What all of them show, None to read it from their names.
        who: The person who sends them.

    Returns:
        What became of each.

    Raises:
        BadInput: If nothing can be recorded at all; the photos chosen stay chosen.
    """
    bar = st.progress(0.0, text=words.SENDING)
    with tempfile.TemporaryDirectory() as scratch:
        paths = []
        for number, (name, data) in enumerate(files):
            # A folder for each: two photos of one name are two photos.
            path = Path(scratch) / str(number) / _file_name(name, number)
            path.parent.mkdir()
            path.write_bytes(data)
            paths.append(path)

        def tell(done: int, total: int, name: str) -> None:
            del name
            bar.progress(done / total, text=words.SENT_OF.format(done=done, total=total))

        added = add_photos(
            at.folder, paths, Act(who, datetime.now().astimezone()), placement=placement, progress=tell
        )
    bar.empty()
    return added


def _file_name(name: str, number: int) -> str:
    """The name as sent, without any folder; a name too long for the disk is cut in front of its ending."""
    plain_name = name.replace("\\", "/").rsplit("/", 1)[-1].replace("\0", "")
    if plain_name in ("", ".", ".."):
        return f"photo-{number + 1}"
    stem, dot, ending = plain_name.rpartition(".")
    while len(plain_name.encode()) > 200 and len(stem) > 1:
        stem = stem[:-1]
        plain_name = f"{stem}{dot}{ending}"
    return plain_name


def answer(at: Open, added: Added) -> None:
    """Say what became of one photo: used or not, why, and what to do.

    Args:
        at: The pour, checked with the photo in it.
        added: What was said on adding it.
    """
    entry = next((p for p in at.check.photos if p.original.sha256 == added.sha256), None)
    with st.container(border=True):
        if not added.in_record or entry is None:
            plain.verdict_line("missing", words.NOT_TAKEN, added.name)
            plain.paragraph(added.says)
            return
        plain.verdict_line(*_said(at.check, entry), added.name)
        for refusal in entry.seen.refusals:
            plain.paragraph(refusal.say)
        for name, layer in zip(entry.layers, entry.seen.layers, strict=False):
            if name is not None and layer.mean_spacing_mm is not None:
                u = layer.mean_spacing_expanded_uncertainty_mm or 0.0
                value = result_text(layer.mean_spacing_mm, u)
                plain.labelled(name, words.MEAN_OF.format(value=value, gaps=len(layer.gaps)))
        for remark in entry.remarks:
            plain.paragraph(remark)
        for observation in entry.intake.warnings if entry.intake is not None else ():
            plain.paragraph(f"{observation.says} {observation.todo}")


def _said(check: Check, entry: PhotoEntry) -> tuple[Verdict, str]:
    if entry.state == "refused":
        return "inconclusive", words.PHOTO_STATE["refused"]
    if entry.state != "counted":
        return "missing", words.PHOTO_STATE[entry.state]
    place = entry.original.placement
    verdict = photo_verdict(check, entry)
    counts = words.PHOTO_COUNTS.format(element=place.element, spot=place.spot)
    return verdict, f"{counts}: {words.PHOTO_VERDICT[verdict]}"
