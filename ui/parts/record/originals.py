"""Each original with its picture in small, its bracket of time as a bar, and what its file claims of itself."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.pour import moment
from ui.parts.record import take_away
from ui.parts.record.record import ALL, Choice, Record
from verifier.pipeline.measurement.pictures import thumbnail_of
from verifier.pipeline.sealing.originals import Claim, OriginalTold, bar_of
from verifier.report.figures import COLOUR, QUIET
from verifier.report.time_figures import TimeAxis, TimeBar, axis_of, sign, time_bar, time_scale

STEP = 12
SHOWN = "originals-shown"
MOST_BARS = 60
_WIDE_PX = 460
"""As wide as its letters are of the page's size."""


def show(record: Record, choice: Choice) -> None:
    """Show the photos chosen, all on one axis of time.

    Args:
        record: The record.
        choice: Element and person.
    """
    chosen = [
        o
        for o in record.originals
        if choice.element in (ALL, o.spot.element) and choice.person in (ALL, o.person)
    ]
    if not chosen:
        plain.notice("missing", words.ORIGINALS_NONE, words.ORIGINALS_NONE_SAYS)
        return
    plain.paragraph(words.BARS_SAYS, quiet=True)
    _key()
    bars = [bar_of(o) for o in chosen]
    axis = axis_of(bars)
    shown = st.session_state.get(SHOWN, STEP)
    if axis is not None and len(chosen) > 1:
        _overview(record, bars[:MOST_BARS], [o.name for o in chosen[:MOST_BARS]], axis)
        if len(chosen) > MOST_BARS:
            plain.paragraph(words.BARS_MORE.format(count=len(chosen) - MOST_BARS), quiet=True)
    for original, bar in list(zip(chosen, bars, strict=True))[:shown]:
        _card(record, original, bar, axis)
    if len(chosen) > shown and st.button(
        words.FINDINGS_MORE.format(count=len(chosen) - shown), width="stretch"
    ):
        st.session_state[SHOWN] = shown + 3 * STEP
        st.rerun()


def _key() -> None:
    """What each sign on a bar means."""
    signs = "".join(
        f'<span style="display:inline-flex;align-items:center;gap:.3rem;margin:0 1rem .2rem 0">'
        f'<img alt="" src="{plain.image_source(sign(name))}" style="width:1.3rem;height:1.3rem">'
        f"{plain.safe(words.BARS_KEY[name])}</span>"
        for name in ("stamp", "unvouched", "clock", "none", "camera", "GPS", "doubted")
    )
    st.html(f'<div style="display:flex;flex-wrap:wrap;font-size:.9rem;color:{QUIET}">{signs}</div>')


def _overview(record: Record, bars: Sequence[TimeBar], names: Sequence[str], axis: TimeAxis) -> None:
    """All brackets under each other, so that what stands apart is seen."""
    scale = _image(time_scale(axis, _ends(record, axis)), "")
    rows = "".join(
        f'<div style="font-size:.9rem;color:{QUIET};overflow:hidden;text-overflow:ellipsis;white-space:nowrap">'
        f"{plain.safe(name)}</div>{_image(time_bar(bar, axis), words.said(bar.says))}"
        for name, bar in zip(names, bars, strict=True)
    )
    st.html(
        '<div style="display:grid;grid-template-columns:minmax(4rem,11rem) minmax(12rem,34rem);gap:.15rem .6rem;'
        f'align-items:center"><div></div>{scale}{rows}</div>'
    )


def _image(svg: str, alt: str) -> str:
    return f'<img alt="{plain.safe(alt)}" src="{plain.image_source(svg)}" style="width:100%">'


def _card(record: Record, original: OriginalTold, bar: TimeBar, axis: TimeAxis | None) -> None:
    with st.container(border=True):
        left, right = st.columns((1, 3), gap="medium")
        with left:
            data = thumbnail_of(original.sha256, record.told.read)
            if data is None:
                plain.notice("non_conforming", plain.shown(original.name), words.ORIGINAL_GONE)
            else:
                st.image(data, width=240, alt=plain.shown(original.name))
        with right:
            plain.paragraph(original.name, strong=True)
            if axis is not None:
                drawn = _image(time_scale(axis, _ends(record, axis)), "") + _image(
                    time_bar(bar, axis), bar.says
                )
                st.html(f'<div style="max-width:{_WIDE_PX}px">{drawn}</div>')
            plain.pairs(_rows(record, original, bar))
            _claims(original.claims)
            if original.remarks:
                st.html(
                    f'<details style="font-size:.9rem;color:{QUIET}"><summary style="min-height:3rem;padding:.7rem 0">'
                    f"{plain.safe(words.ORIGINAL_REMARKS)}</summary>{plain.safe(words.said(' '.join(original.remarks)))}</details>"
                )
        with st.expander(words.ORIGINAL_TAKE):
            take_away.of_photo(record, original)


def _ends(record: Record, axis: TimeAxis) -> Sequence[str]:
    zone = record.pour.pour.planned_start.tzinfo
    middle = axis.start + (axis.end - axis.start) / 2
    return [f"{at.astimezone(zone):%m-%d %H:%M}" for at in (axis.start, middle, axis.end)]


def _rows(record: Record, original: OriginalTold, bar: TimeBar) -> list[tuple[str, str]]:
    at, b = original.spot, original.bracket
    place = " · ".join(part for part in (at.element, f"{words.SPOT} {at.spot}" if at.spot else None) if part)
    return [
        (words.BRACKET_FROM, f"{_when(record, b.not_before)} - {words.BOUND_FROM[bar.from_bound]}"),
        (words.BRACKET_TO, f"{_when(record, b.not_after)} - {words.BOUND_TO[bar.to_bound]}"),
        (words.ORIGINAL_PLACE, place or words.ORIGINAL_PLACE_NONE),
        (words.ORIGINAL_RECORD, words.ORIGINAL_FROM.format(seq=original.record.seq, person=original.person)),
        (words.PHOTOS_FINGERPRINT, original.sha256),
    ]


def _when(record: Record, instant: str | None) -> str:
    if instant is None:
        return words.BRACKET_NONE
    return moment(datetime.fromisoformat(instant), record.pour)


def _claims(claims: Sequence[Claim]) -> None:
    """Claims stand apart from what is proven, each with how it fits."""
    rows = "".join(
        f'<li style="overflow-wrap:anywhere;margin:0 0 .2rem 0"><span style="color:{QUIET}">'
        f"{plain.safe(words.CLAIM.get(c.what, c.what))}:</span> {plain.safe(c.says)} - "
        f'<strong style="color:{COLOUR["non_conforming"] if c.fits in ("doubtful", "contradicts") else QUIET};font-weight:600">'
        f"{plain.safe(words.CLAIM_FITS[c.fits])}</strong>"
        f"{' ' + plain.safe(words.said(c.why)) if c.fits in ('doubtful', 'contradicts') else ''}</li>"
        for c in claims
    )
    if rows:
        st.html(f'<ul style="margin:.2rem 0;padding-left:1.2rem;font-size:.95rem">{rows}</ul>')
