"""What is still to be done on the deck: spots, photos, readings, open questions."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from datetime import datetime
from html import escape
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import plain, plan
from ui.parts.figures import layer_verdict, spot_order
from ui.parts.people import acting
from ui.parts.pictures import picture_of
from ui.parts.place import name_of, said
from ui.parts.pour import Open
from ui.parts.site import sending
from verifier.pipeline.decision.check import Check
from verifier.pipeline.decision.next_steps import Step
from verifier.pipeline.folder.evidence import Placement
from verifier.pipeline.intake.adding import Act, add_photos
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.report.figures import QUIET
from verifier.rules.coverage import Coverage

SHOWN = 3
"""So many steps are shown at once: nobody on a deck reads twenty."""
UNPLACED = 5
"""So many photos are asked about at once; the next ones follow as these are answered."""
LIKELY = 8
NARROW = 4
"""So many spots stand in one line on a phone."""
UNFOLDED = 8
"""With more layers than this the table is folded; the plan shows the same."""


def jump() -> None:
    """Offer the way down to the two things that are done most; on a desk they stand beside it anyway."""
    links = "".join(
        f'<a href="{target}" target="_self" style="flex:1;display:flex;align-items:center;justify-content:center;text-align:center;padding:.8rem .4rem;border:1px solid #00507d;'
        f'border-radius:.3rem;color:#00507d;text-decoration:none;font-weight:600">{escape(said)}</a>'
        for target, said in words.JUMP
    )
    st.html(f'<nav class="jump" style="display:flex;gap:.6rem">{links}</nav>')


def next_up(check: Check, steps: Sequence[Step]) -> None:
    """Show what is to be done next, what blocks most first.

    Args:
        check: The check.
        steps: What is to be done, in order.
    """
    st.subheader(words.NEXT_TITLE)
    if not steps:
        plain.verdict_line("conforming", "", words.NEXT_NOTHING)
    for number, step in enumerate(steps[:SHOWN]):
        _step(check, step, number)
    if len(steps) > SHOWN:
        with st.expander(words.NEXT_MORE.format(count=len(steps) - SHOWN)):
            for number, step in enumerate(steps[SHOWN:], start=SHOWN):
                _step(check, step, number)


def _step(check: Check, step: Step, number: int) -> None:
    weight = words.NEXT_STOPS if step.stops else words.NEXT_CONDITION
    with st.container(border=True, key=f"step-{number}"):
        plain.verdict_line(step.verdict, weight, words.said(step.clears))
        said(step)
        if step.element in check.pour.marks and step.element is not None:
            place = (step.element, step.spot)
            st.button(
                words.PLACE_GO.format(place=plain.label(name_of(place))),
                key=f"go-{number}",
                on_click=plan.go,
                args=(place,),
                width="stretch",
            )
        elif step.where == "rounds":
            at = {"round": step.round, "item": step.item}
            asked = {name: str(value) for name, value in at.items() if value is not None}
            st.page_link("views/rounds.py", label=words.ROUNDS_GO, query_params=asked, width="stretch")
        elif step.key == "board/unchecked":
            st.html(f'<a class="way-on" href="#board-check" target="_self">{escape(words.BOARD_CHECK)}</a>')


def by_layer(check: Check) -> None:
    """Show the spots of each element and layer: there, or still to be taken.

    Args:
        check: The check.
    """
    missing = sum(len(c.missing) for c in check.coverage)
    if not missing:
        plain.verdict_line("conforming", "", words.MISSING_NOTHING)
    with st.expander(words.BY_LAYER, expanded=len(check.coverage) <= UNFOLDED):
        for element in check.pour.marks:
            rows = "".join(_layer_row(check, c) for c in check.coverage if c.element == element)
            if rows:
                title = f'<caption style="text-align:left;font-weight:650;padding:.2rem 0">{plain.safe(element)}</caption>'
                st.html(f'<table style="border-collapse:collapse;border:0;width:100%">{title}{rows}</table>')


def _layer_row(check: Check, c: Coverage) -> str:
    names = sorted({*c.there, *c.missing}, key=spot_order)
    states = {name: layer_verdict(check, c, name) for name in names}
    marks = "".join(
        f'<span style="display:inline-flex;align-items:center;gap:.25rem;margin:0 .5rem .1rem 0;white-space:nowrap">'
        f"{plain.mark(states[name], 1.05)}{plain.safe(name)}"
        f'<span class="sr" style="position:absolute;left:-9999px"> {escape(words.SPOT_STATE[states[name]])}</span></span>'
        for name in names
    )
    what = words.COVERAGE_WHAT[c.what].format(layer=plain.safe(words.said(c.layer)))
    count = words.OF.format(there=c.asked - len(c.missing), asked=c.asked)
    cell = "padding:.3rem .5rem .3rem 0;border:0;border-top:1px solid #e3e6ea;vertical-align:top"
    return (
        f'<tr><th scope="row" style="{cell};text-align:left;font-weight:400">{what}</th>'
        f'<td style="{cell};color:{QUIET};white-space:nowrap">{count}</td><td style="{cell};white-space:{"nowrap" if len(names) <= NARROW else "normal"}">{marks}</td></tr>'
    )


def photos_again(check: Check) -> None:
    """Show refused photos of spots that have no other, with what to do.

    Args:
        check: The check.
    """
    there = {p.original.placement.model_dump_json() for p in check.photos if p.state == "counted"}
    again = [
        p
        for p in check.photos
        if p.state == "damaged"
        or (p.state == "refused" and p.original.placement.model_dump_json() not in there)
    ]
    if again:
        st.subheader(words.MISSING_AGAIN)
    for p in again[:SHOWN]:
        _again(p)
    if len(again) > SHOWN:
        with st.expander(words.AGAIN_MORE.format(count=len(again) - SHOWN)):
            for p in again[SHOWN:]:
                _again(p)


def _again(p: PhotoEntry) -> None:
    plain.verdict_line("inconclusive", words.PHOTO_STATE[p.state], p.original.name)
    plain.points(words.said(r.say) for r in p.seen.refusals)


def questions(check: Check) -> None:
    """Show what photos only indicate, and readings that look like slips.

    Args:
        check: The check.
    """
    shown_by_photo = sum(f.indication for f in check.findings)
    if shown_by_photo:
        plain.paragraph(words.INDICATIONS.format(count=shown_by_photo), quiet=True)
    asked = [r for t in check.tapes for r in t.reasons if r.weight == "stops"]
    if asked:
        st.subheader(words.MISSING_QUESTIONS)
    for reason in asked:
        plain.verdict_line("inconclusive", words.said(reason.clears), words.said(reason.says))


def unplaced(at: Open) -> None:
    """Show photos that nobody has placed, and let somebody say by one touch where each was taken.

    Args:
        at: The pour.
    """
    found = [p for p in at.check.photos if p.state == "unplaced" and p.original.path.is_file()]
    if not found:
        return
    st.subheader(words.MISSING_UNPLACED, anchor="unplaced")
    plain.paragraph(words.MISSING_UNPLACED_SAYS, quiet=True)
    who = acting(at.check.pour, "unplaced")
    for entry in found[:UNPLACED]:
        _where(at, entry, who)
    if len(found) > UNPLACED:
        plain.paragraph(words.PLACE_MORE.format(count=len(found) - UNPLACED), quiet=True)


def _where(at: Open, entry: PhotoEntry, who: str) -> None:
    """One photo without a place: its picture, and a button for every spot that still misses one."""
    key = entry.original.sha256[:16]
    with st.container(border=True, key=f"where-{key}"):
        data = picture_of(entry, "taken")
        if data is not None:
            st.image(data, width="stretch", alt=plain.shown(entry.original.name))
        plain.paragraph(entry.original.name, quiet=True)
        plain.paragraph(words.WHERE_TAKEN, strong=True)
        with st.container(horizontal=True, gap="small"):
            for number, place in enumerate(_likely(at.check, entry)):
                if st.button(plain.label(name_of(place)), key=f"where-{key}-{number}"):
                    _put(at, entry, Placement(element=place[0], spot=place[1], basis="said"), who)
        with st.expander(words.WHERE_ELSE):
            placement = sending.place_chooser(at, f"where-{key}")
            if st.button(words.PLACE, key=f"where-{key}-put", width="stretch", disabled=placement is None):
                _put(at, entry, placement, who)


def _likely(check: Check, entry: PhotoEntry) -> tuple[plan.Place, ...]:
    """Spots that still miss a photo, of the element that the board tells if it does; those looked at now come first."""
    known = entry.original.placement.element
    elements = [m for m in check.pour.marks if known in (None, m)]
    now = plan.chosen(check)
    open_ones = [
        (element, spot)
        for element in elements
        for spot in dict.fromkeys(
            s for c in check.coverage if c.element == element and c.what == "spacing" for s in c.missing
        )
    ]
    first = [now] if now is not None and now[1] is not None and now[0] in elements else []
    return tuple(dict.fromkeys((*first, *open_ones)))[:LIKELY]


def _put(at: Open, entry: PhotoEntry, placement: Placement | None, who: str) -> None:
    act = Act(who, datetime.now().astimezone())
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / entry.original.name  # under the name that it was received with
        path.write_bytes(entry.original.path.read_bytes())
        add_photos(at.folder, [path], act, placement=placement)
    st.rerun()
