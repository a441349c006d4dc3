"""What people say in the review: forms for a remark, an item sent back, a further spot, an own measurement; and what was said."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import streamlit as st

from ui import words
from ui.parts import kept_text, lengths, own_key, plain
from ui.parts.people import acting
from ui.parts.pour import Open, moment
from ui.parts.review.two_points import Point, Points
from verifier.drawing.callout import Units
from verifier.errors import VerifierError
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey, key_file_of
from verifier.pipeline.people.permissions import Action
from verifier.pipeline.review.reviewing import measure_personally, say, send_back
from verifier.pipeline.review.said import About, AskedSpot, Entry, OwnMeasurement, Remark, SentBack
from verifier.record.canonical import utc_instant
from verifier.vision.distance import Plane

ACTIONS = {"remark": Action.REMARK, "return": Action.RETURN, "spot": Action.ASK_SPOT}


def places(entries: Sequence[Entry]) -> dict[str, Point]:
    """Number the words that stand at a place of a photo.

    Args:
        entries: Words of the review on one photo, in order.

    Returns:
        Place by number; the number is that of the record.
    """
    return {
        str(e.seq): e.word.about.point_px
        for e in entries
        if isinstance(e.word, Remark | SentBack) and e.word.about.point_px is not None
    }


def told(at: Open, entries: Sequence[Entry], *, key: str) -> None:
    """Show what was said, who said it and how that is known, and let it be answered or lifted.

    Args:
        at: The pour.
        entries: Words of the review, in order.
        key: Where it stands.
    """
    if not entries:
        return
    st.subheader(words.REVIEW_TITLE)
    for entry in entries:
        who = words.REVIEW_OWN_KEY if entry.own_key else words.REVIEW_CLAIMED
        when = moment(utc_instant(entry.at), at.check.pour)
        plain.labelled(f"{entry.seq} · {_kind(entry)}", _text(entry, at.check.pour.pour.units))
        plain.paragraph(f"{entry.person} ({who}), {when}", quiet=True)
        if entry in at.check.review.open_returns:
            _reply(at, entry, "lift", f"{key}-{entry.seq}")
        elif isinstance(entry.word, Remark) and entry.word.answers is None:
            _reply(at, entry, "answer", f"{key}-{entry.seq}")


def answer(at: Open, entry: Entry, *, key: str) -> None:
    """Let somebody answer a word of the review in words.

    Args:
        at: The pour.
        entry: The word.
        key: Where it stands.
    """
    _reply(at, entry, "answer", key)


def _reply(at: Open, entry: Entry, how: str, key: str) -> None:
    """Answer a remark, or lift what was sent back."""
    lifts = how == "lift"
    with st.expander(words.REVIEW_LIFT if lifts else words.REVIEW_ANSWER):
        person = acting(at.check.pour, key, Action.RETURN if lifts else Action.REMARK)
        if not person:
            plain.paragraph(words.REVIEW_NOBODY)
            return
        text = kept_text.area(words.REVIEW_TEXT, at.folder, person, key)
        sent, passphrase = _touched(key, words.REVIEW_LIFT if lifts else words.REVIEW_ANSWER, signs=lifts)
        if sent and not text:
            plain.notice("inconclusive", words.REVIEW_REFUSED, words.REVIEW_NEEDS_WORDS)
        elif sent:
            word: Remark | SentBack = (
                SentBack(text=text, about=entry.word.about, lifts=entry.seq)
                if lifts and isinstance(entry.word, SentBack)
                else Remark(text=text, about=_about(entry), answers=entry.seq)
            )
            _record(at, word, Act(person, datetime.now().astimezone()), passphrase, key)


def _about(entry: Entry) -> About:
    """Same photo and place of the drawing, without the point: one number there is enough."""
    word = entry.word
    if not isinstance(word, Remark | SentBack):
        return About()
    return word.about.model_copy(update={"point_px": None})


def _kind(entry: Entry) -> str:
    lifted = isinstance(entry.word, SentBack) and entry.word.lifts is not None
    return words.REVIEW_KIND["lifted" if lifted else entry.word.kind]


def _text(entry: Entry, units: Units) -> str:
    word = entry.word
    if isinstance(word, OwnMeasurement):
        value = lengths.length(word.distance_mm, word.expanded_uncertainty_mm, units)
        return f"{word.what}: {value} ({words.within(words.POINTS_PLANES[word.plane])})"
    number = word.answers if isinstance(word, Remark) else word.lifts if isinstance(word, SentBack) else None
    return word.text if number is None else f"{word.text} ({words.REVIEW_RECORD.format(seq=number)})"


def form(at: Open, about: About, *, key: str) -> None:
    """Ask what is to be said about a photo or a finding, and put it into the record.

    Args:
        at: The pour.
        about: What it is about.
        key: Which form it is.
    """
    if about.original_sha256 is None and about.requirement is None:
        plain.paragraph(words.REVIEW_NEEDS_RECORD)
        return
    what = st.segmented_control(
        words.REVIEW_SAY,
        tuple(ACTIONS),
        required=True,
        default="remark",
        format_func=lambda name: words.REVIEW_WHAT[name],
        key=f"{key}-what",
        wrap=True,
        label_visibility="collapsed",
    )
    chosen = what or "remark"
    person = acting(at.check.pour, f"{key}-{chosen}", ACTIONS[chosen])
    if not person:
        plain.paragraph(words.REVIEW_NOBODY)
        return
    text = kept_text.area(words.REVIEW_TEXT, at.folder, person, key)
    spot = ""
    if chosen == "spot":
        spot = kept_text.line(words.REVIEW_SPOT, at.folder, person, f"{key} spot", most=60)
    sent, passphrase = _touched(key, words.REVIEW_ACT[chosen], signs=chosen == "return")
    if not sent:
        return
    if not text:
        plain.notice("inconclusive", words.REVIEW_REFUSED, words.REVIEW_NEEDS_WORDS)
    elif chosen == "spot" and about.element is None:
        plain.notice("inconclusive", words.REVIEW_REFUSED, words.REVIEW_NEEDS_ELEMENT)
    elif chosen == "spot" and not spot:
        plain.notice("inconclusive", words.REVIEW_REFUSED, words.REVIEW_NEEDS_SPOT)
    else:
        word = _word(chosen, text, spot, about)
        _record(at, word, Act(person, datetime.now().astimezone()), passphrase, key)


def _word(what: str, text: str, spot: str, about: About) -> Remark | SentBack | AskedSpot:
    if what == "return":
        return SentBack(text=text, about=about)
    if what == "spot":
        original = about.original_sha256
        return AskedSpot(element=about.element or "", spot=spot, text=text, original_sha256=original)
    return Remark(text=text, about=about)


def _record(at: Open, word: Remark | SentBack | AskedSpot, act: Act, passphrase: str, name: str) -> None:
    """Put a word into the record; if that is refused, say why and leave what was typed where it is."""
    try:
        if isinstance(word, SentBack):
            key = key_file_of(act.person)
            if not key.is_file():
                plain.notice(
                    "inconclusive", words.REVIEW_REFUSED, words.REVIEW_NO_KEY.format(person=act.person)
                )
                return
            send_back(at.folder, word, act, OwnKey(key, passphrase).opened())
        else:
            say(at.folder, word, act)
    except VerifierError as error:
        plain.fault(words.REVIEW_REFUSED, error)
        return
    kept_text.forget(at.folder, act.person, name, f"{name} spot")
    st.toast(words.REVIEW_DONE)
    st.rerun()


def _touched(key: str, label: str, *, signs: bool) -> tuple[bool, str]:
    """Whether the button is touched just now, and the passphrase where it takes one."""
    if not signs:
        return st.button(label, key=f"{key}-send"), ""
    given = own_key.signing(key, (label,))
    return (False, "") if given is None else (True, given[1])


def own_measurement(at: Open, entry: PhotoEntry, points: Points, plane: str) -> None:
    """Offer to put a distance just measured into the record as this person's own.

    Args:
        at: The pour.
        entry: The photo.
        points: Both points.
        plane: Where they lie.
    """
    if not entry.original.in_record:
        return
    key = f"own-{entry.original.sha256[:16]}"
    person = acting(at.check.pour, key, Action.MEASURE)
    if not person:
        return
    what = kept_text.line(words.OWN_WHAT, at.folder, person, key, most=200)
    if not st.button(words.OWN_KEEP, key=f"{key}-send"):
        return
    if not what:
        plain.notice("inconclusive", words.REVIEW_REFUSED, words.OWN_NEEDS_WORDS)
        return
    placed = entry.original.placement
    about = About(
        original_sha256=entry.original.sha256,
        element=placed.element if placed.element in at.check.pour.marks else None,
        spot=placed.spot,
    )
    where: Plane = "board" if plane == "board" else "lower" if plane == "lower" else "upper"
    try:
        measure_personally(
            at.folder,
            entry.original.path,
            points,
            where,
            Act(person, datetime.now().astimezone()),
            what=what,
            about=about,
        )
    except VerifierError as error:
        plain.fault(words.REVIEW_REFUSED, error)
        return
    kept_text.forget(at.folder, person, key)
    st.rerun()
