"""Sending photos: several at once, each answered as soon as it is measured, while the person goes on working."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import lengths, plain, visits
from ui.parts.apart import apart
from ui.parts.arrivals import arrivals_of, workers
from ui.parts.people import acting
from ui.parts.pour import Open
from verifier.errors import BadInput
from verifier.metrology.budget import result_text
from verifier.pipeline.folder.evidence import PHOTO_ENDINGS, Placement
from verifier.pipeline.intake import chosen
from verifier.pipeline.intake.arriving import Arrival, Arrivals
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.report.figures import Verdict
from verifier.rules.finding import Finding

ROUND = "photo-round"
BUSY = "photo-busy"
SHOWN = "photo-answers-shown"
NOT_KEPT = "photos-not-kept"
BY_NAME = ""
LOOK_S = 0.7
"""How often the list of photos is drawn again while some are being measured."""
WORST_FIRST: tuple[Verdict, ...] = ("non_conforming", "inconclusive", "conforming")


def show(at: Open) -> None:
    """Show where photos are chosen and sent, and what became of those sent.

    Args:
        at: The pour.
    """
    arrivals = arrivals_of(at.folder)
    st.subheader(words.SEND_TITLE, anchor="send-photos")
    waiting = _chosen(at.folder)
    placement = place_chooser(at, "photo")
    who = acting(at.check.pour, "photo")
    label = words.SEND_COUNT.format(count=len(waiting)) if waiting else words.SEND_PHOTOS
    if st.button(label, type="primary", width="stretch", disabled=not waiting, key="send"):
        with st.spinner(words.SENDING):
            arrivals.receive(chosen.handed_on(waiting), placement, who)
        st.rerun()
    st.session_state[BUSY] = arrivals.busy()
    apart(lambda: _progress(arrivals), every_s=LOOK_S if arrivals.busy() else None)


def _chosen(folder: Path) -> tuple[chosen.Chosen, ...]:
    """Where photos are chosen; each is kept on the server at once, and stands here until it is sent or dropped."""
    person = visits.person()
    key = f"photo-files-{st.session_state.setdefault(ROUND, 0)}"
    st.file_uploader(
        words.SEND_CHOOSE,
        type=[ending.lstrip(".") for ending in PHOTO_ENDINGS],
        accept_multiple_files=True,
        key=key,
        on_change=_keep,
        args=(folder, person, key),
    )
    with st.container():
        for told in st.session_state.pop(NOT_KEPT, ()):
            plain.notice("inconclusive", words.SEND_NOT_KEPT, told)
        waiting = chosen.waiting(folder, person)
        if waiting:
            workers().warm()
            says = words.SEND_CHOSEN_SAYS.format(days=chosen.KEPT_FOR.days)
            plain.notice(None, words.SEND_CHOSEN.format(count=len(waiting)), says)
            _drop_some(folder, person, waiting)
    return waiting


def _keep(folder: Path, person: str | None, key: str) -> None:
    """Keep what was chosen just now, and empty the field for the next choice."""
    chosen.sweep(folder)
    told = []
    for file in st.session_state.get(key) or ():
        try:
            chosen.keep(folder, person, file.name, file.getvalue())
        except BadInput as error:
            told.append(f"{error.where}: {words.said(error.wrong)} {words.said(error.todo)}")
    st.session_state[NOT_KEPT] = tuple(told)
    st.session_state[ROUND] += 1


def _drop_some(folder: Path, person: str | None, waiting: Sequence[chosen.Chosen]) -> None:
    """Let photos go that were chosen by mistake, one by one or all."""
    with st.expander(words.SEND_CHOSEN_WHICH, key="photos-chosen", on_change="rerun") as listed:
        if not listed.open:
            return
        for photo in waiting:
            name, touch = st.columns([3, 2], gap="small", vertical_alignment="center", wrap=False)
            with name:
                plain.paragraph(photo.name)
            touch.button(
                words.SEND_CHOSEN_DROP,
                key=f"drop-{photo.sha256}",
                width="stretch",
                on_click=chosen.drop,
                args=(folder, person, (photo.sha256,)),
            )
        if len(waiting) > 1:
            st.button(
                words.SEND_CHOSEN_DROP_ALL,
                width="stretch",
                on_click=chosen.drop,
                args=(folder, person, tuple(p.sha256 for p in waiting)),
            )


def _progress(arrivals: Arrivals) -> None:
    """Count, time left, and one answer a photo, newest first; when all are answered the whole view is drawn again.

    The answers are shown first and the view a look later: checking the whole pour takes longer than reading one answer.
    """
    photos = arrivals.photos()
    busy = not all(a.done for a in photos)
    if st.session_state.get(BUSY) and not busy:
        if st.session_state.pop(SHOWN, False):
            st.session_state[BUSY] = False
            st.rerun(scope="app")
        st.session_state[SHOWN] = True
    if not photos:
        return
    done = [a for a in photos if a.done]
    if busy:
        told = words.SENT_OF.format(done=len(done), total=len(photos))
        left = _left_s(photos)
        plain.paragraph(told if left is None else f"{told} · {_left(left)}", strong=True)
        st.progress(len(done) / len(photos))
    else:
        _summed_up(arrivals, photos)
    # While they come in the newest is on top; afterwards those that ask something of a person.
    for arrival in sorted(done, key=lambda a: (0 if busy else _settled(a), -a.number)):
        answer(arrival)


def _settled(arrival: Arrival) -> bool:
    """Whether a photo asks nothing more of anybody."""
    counted = arrival.entry is not None and arrival.entry.state == "counted"
    return counted and all(f.verdict == "conforming" for f in arrival.findings)


def _left_s(photos: Sequence[Arrival]) -> float | None:
    """Time left from the pace so far; nothing is said before two are done."""
    times = sorted(a.seconds for a in photos if a.seconds is not None)
    waiting = sum(not a.done for a in photos)
    return times[-1] / len(times) * waiting if len(times) > 1 else None


def _left(seconds: float) -> str:
    if seconds < 60:
        return words.LEFT_SECONDS.format(count=max(5, 5 * round(seconds / 5)))
    return words.LEFT_MINUTES.format(count=round(seconds / 60 + 0.5))


def _summed_up(arrivals: Arrivals, photos: Sequence[Arrival]) -> None:
    plain.paragraph(words.SENT_ALL.format(count=len(photos)), strong=True)
    with st.container(horizontal=True, gap="small"):
        if any(a.state == "held" for a in photos) and st.button(words.SEND_AGAIN, type="primary"):
            arrivals.again()
            st.rerun(scope="app")
        if st.button(words.SENT_CLEAR):
            arrivals.clear()
            st.rerun(scope="app")


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
        words.SPOT,
        spots_of(at, element),
        key=f"{key}-spot",
        disabled=not element,
        accept_new_options=True,
        placeholder=words.SPOT_CHOOSE,
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


def answer(arrival: Arrival) -> None:
    """Say what became of one photo: used or not, why, and what to do.

    Args:
        arrival: A photo that is answered.
    """
    entry = arrival.entry
    with st.container(border=True):
        if entry is None:
            state = words.SEND_HELD if arrival.state == "held" else words.NOT_TAKEN
            plain.verdict_line("inconclusive" if arrival.state == "held" else "missing", state, arrival.name)
            plain.paragraph(words.said(arrival.says))
            return
        verdict, said = _said(entry, arrival.findings)
        plain.verdict_line(verdict, said, arrival.name)
        for refusal in entry.seen.refusals:
            plain.paragraph(words.said(refusal.say))
        wrong = [f for f in arrival.findings if f.verdict == verdict != "conforming"]
        for finding in wrong:
            plain.paragraph(_against_limits(finding))
        for step in dict.fromkeys(f.next_step for f in wrong if f.next_step):
            plain.paragraph(words.said(step), strong=True)
        for name, layer in zip(entry.layers, entry.seen.layers, strict=False):
            if name is not None and layer.mean_spacing_mm is not None:
                u = layer.mean_spacing_expanded_uncertainty_mm or 0.0
                value = result_text(layer.mean_spacing_mm, u)
                plain.labelled(name, words.MEAN_OF.format(value=value, gaps=len(layer.gaps)))
        if entry.state != "unplaced":
            for remark in entry.remarks:
                plain.paragraph(words.said(remark))
        for observation in entry.intake.warnings if entry.intake is not None else ():
            plain.paragraph(words.said(f"{observation.says} {observation.todo}"))


def _against_limits(finding: Finding) -> str:
    rule = words.within(words.RULE.get(finding.requirement.rule, finding.requirement.rule))
    worst = f" {lengths.measured(finding.worst.measurement, 'mm')}" if finding.worst is not None else ""
    layer = words.said(finding.requirement.layer or "")
    return f"{layer} {rule}{worst}, {words.within(words.FINDINGS_ASKED)} {lengths.limits(finding.requirement, 'mm')}".strip()


def _said(entry: PhotoEntry, findings: Sequence[Finding]) -> tuple[Verdict, str]:
    if entry.state == "refused":
        return "inconclusive", words.PHOTO_STATE["refused"]
    if entry.state != "counted":
        return "missing", words.PHOTO_STATE[entry.state]
    place = entry.original.placement
    states = {f.verdict for f in findings}
    verdict: Verdict = next((v for v in WORST_FIRST if v in states), "missing")
    counts = words.PHOTO_COUNTS.format(element=place.element, spot=place.spot)
    return verdict, f"{counts}: {words.PHOTO_VERDICT[verdict]}"
