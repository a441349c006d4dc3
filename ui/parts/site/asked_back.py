"""What the reviewer wants, on top of what is to be done on the deck: the place on the photo, and one touch to answer it."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.arrivals import arrivals_of, workers
from ui.parts.people import acting
from ui.parts.pictures import marked_at, picture_of
from ui.parts.place import name_of
from ui.parts.pour import Open, moment
from ui.parts.review import review
from verifier.pipeline.decision.asked_back import Wanted, wanted_of
from verifier.pipeline.folder.evidence import PHOTO_ENDINGS
from verifier.pipeline.intake.arriving import Answering
from verifier.pipeline.people.permissions import Action, may
from verifier.record.canonical import utc_instant
from verifier.report.figures import Verdict

_SHAPE: dict[str, Verdict] = {"return": "non_conforming", "spot.ask": "missing", "remark": "inconclusive"}
_WIDE = 520
"""As wide as a place in a photo needs to be on a desk. [px]"""
_TURN = "answer-turn-"


def show(at: Open) -> None:
    """Show what the reviewer wants, unanswered first; nothing where nothing is wanted.

    Args:
        at: The pour.
    """
    wanted = wanted_of(at.check)
    if not wanted:
        return
    st.subheader(words.WANTED.format(count=sum(not w.answered for w in wanted)), anchor="wanted")
    who = acting(at.check.pour, "wanted")
    for one in wanted:
        with st.container(border=True, key=f"wanted-{one.entry.seq}"):
            _said(at, one)
            if one.answered:
                plain.verdict_line("missing", "", words.WANTED_ANSWERED.format(person=one.entry.person))
            else:
                _answer(at, one, who)


def _said(at: Open, one: Wanted) -> None:
    when = moment(utc_instant(one.entry.at), at.check.pour)
    place = one.placement
    where = name_of((place.element or "", place.spot)) if place is not None else ""
    what = words.WANTED_KIND[one.kind]
    plain.verdict_line(
        _SHAPE[one.kind],
        f"{what} · {one.entry.person}, {when}",
        f"{where}: {one.text}" if where else one.text,
    )
    entry = next((p for p in at.check.photos if p.original.sha256 == one.original_sha256), None)
    if entry is None:
        return
    data = picture_of(entry, "taken") if one.point_px is None else marked_at(entry, one.point_px)
    if data is None:
        return
    with st.container(width=_WIDE):
        st.image(data, width="stretch", alt=plain.shown(f"{words.WANTED_PLACE}: {entry.original.name}"))


def _answer(at: Open, one: Wanted, who: str) -> None:
    """A photo chosen is sent at once, to the place that is meant and with the word that it answers."""
    seq = one.entry.seq
    if not may(at.check.pour, who, Action.SEND_PHOTOS):
        return
    turn = st.session_state.setdefault(f"{_TURN}{seq}", 0)
    files = st.file_uploader(
        words.WANTED_PHOTO,
        type=[ending.lstrip(".") for ending in PHOTO_ENDINGS],
        accept_multiple_files=True,
        key=f"answer-{seq}-{turn}",
    )
    if files:
        workers().warm()
        with st.spinner(words.SENDING):
            arrivals_of(at.folder).receive(
                [(f.name, f.getvalue()) for f in files],
                one.placement,
                who,
                Answering(record=seq, text=words.WANTED_SAYS),
            )
        st.session_state[f"{_TURN}{seq}"] = turn + 1
        st.rerun()
    if one.kind != "spot.ask":
        review.answer(at, one.entry, key=f"wanted-{seq}")
