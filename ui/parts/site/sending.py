"""Sending photos: several at once, each answered as soon as it is measured, while the person goes on working."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from ui import words
from ui.parts import lengths, plain
from ui.parts.apart import apart
from ui.parts.arrivals import arrivals_of, workers
from ui.parts.people import acting
from ui.parts.pour import Open
from verifier.metrology.budget import result_text
from verifier.pipeline.folder.evidence import PHOTO_ENDINGS, Placement
from verifier.pipeline.intake.arriving import Arrival, Arrivals
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.report.figures import Verdict
from verifier.rules.finding import Finding

ROUND = "photo-round"
BUSY = "photo-busy"
SHOWN = "photo-answers-shown"
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
    number = st.session_state.setdefault(ROUND, 0)
    files = st.file_uploader(
        words.SEND_CHOOSE,
        type=[ending.lstrip(".") for ending in PHOTO_ENDINGS],
        accept_multiple_files=True,
        key=f"photo-files-{number}",
    )
    if files:
        workers().warm()
        plain.notice(None, words.SEND_CHOSEN.format(count=len(files)), words.SEND_CHOSEN_SAYS)
    placement = place_chooser(at, "photo")
    who = acting(at.check.pour, "photo")
    label = words.SEND_COUNT.format(count=len(files)) if files else words.SEND_PHOTOS
    if st.button(label, type="primary", width="stretch", disabled=not files, key="send") and files:
        with st.spinner(words.SENDING):
            arrivals.receive([(f.name, f.getvalue()) for f in files], placement, who)
        st.session_state[ROUND] = number + 1
        st.rerun()
    st.session_state[BUSY] = arrivals.busy()
    apart(lambda: _progress(arrivals), every_s=LOOK_S if arrivals.busy() else None)


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
