"""One place on the plan: how each layer stands there, what is to do, and what was taken there."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from ui import words
from ui.parts import lengths, plain, plan
from ui.parts.figures import layer_verdict
from verifier.pipeline.decision.check import Check
from verifier.pipeline.decision.next_steps import Step, of_element
from verifier.report.figures import Verdict
from verifier.rules.coverage import Coverage

SAID = 4
"""Lines of one step that are read before one stops reading."""


def name_of(place: plan.Place) -> str:
    """A place in words.

    Args:
        place: Element and spot.

    Returns:
        The element, with its spot if there is one.
    """
    element, spot = place
    return element if spot is None else words.PLACE_SPOT.format(element=element, spot=spot)


def show(check: Check, steps: Sequence[Step]) -> None:
    """Show the place that is chosen on the plan, if one is.

    Args:
        check: The check.
        steps: What is to be done, in order.
    """
    place = plan.chosen(check)
    if place is None:
        return
    element, spot = place
    if plan.FORMS[0] + "-element" not in st.session_state:  # the page was opened at this place
        plan.fill_forms(place)
    with st.container(border=True, key="place"):
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            st.html(f'<h2 id="place" style="overflow-wrap:anywhere">{plain.safe(name_of(place))}</h2>')
            st.button(words.PLAN_WHOLE, on_click=plan.choose, args=(None,))
        for c in (c for c in check.coverage if c.element == element):
            _layer(check, c, spot)
        here = of_element(steps, element, spot)
        for step in here:
            plain.verdict_line(
                step.verdict,
                words.NEXT_STOPS if step.stops else words.NEXT_CONDITION,
                words.said(step.clears),
            )
            said(step)
        if not here:
            plain.paragraph(words.PLACE_NOTHING, quiet=True)
        _taken(check, place)


def said(step: Step) -> None:
    """Show what is so, the worst first and not more than a screen of it.

    Args:
        step: The step.
    """
    plain.points(words.said(text) for text in step.says[:SAID])
    if len(step.says) > SAID:
        plain.paragraph(words.PLACE_MORE.format(count=len(step.says) - SAID), quiet=True)


def _layer(check: Check, c: Coverage, spot: str | None) -> None:
    what = words.COVERAGE_WHAT[c.what].format(layer=words.said(c.layer))
    if spot is None:
        verdict: Verdict = "missing" if c.missing else "conforming"
        said = words.OF.format(there=c.asked - len(c.missing), asked=c.asked)
        plain.verdict_line(verdict, said, what)
    else:
        state = layer_verdict(check, c, spot)
        plain.verdict_line(state, words.SPOT_STATE[state], what)


def _taken(check: Check, place: plan.Place) -> None:
    """Photos and readings of this place, each photo a way to itself."""
    element, spot = place
    photos = [
        p
        for p in check.photos
        if p.original.placement.element == element and spot in (None, p.original.placement.spot)
    ]
    readings = [
        m for m in check.measurements if m.by == "tape" and m.element == element and spot in (None, m.spot)
    ]
    if not photos and not readings:
        return
    plain.paragraph(words.PLACE_DONE_BY, strong=True)
    for p in photos:
        st.page_link(
            "views/photos.py",
            label=plain.label(f"{p.original.name}: {words.PHOTO_STATE[p.state]}"),
            query_params={"photo": p.original.sha256[:16]},
        )
    plain.points(
        f"{words.said(m.layer or '')} {words.within(words.MEASURAND.get(m.measurand.value, m.measurand.value))}: {lengths.measured(m, check.pour.pour.units)}"
        for m in readings
    )
