"""The pour from above, to be touched: every element and spot leads to what is known of it and what is to do there."""

from __future__ import annotations

import math
from dataclasses import asdict
from importlib.resources import files
from typing import Any

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.figures import layer_verdict, spot_verdicts
from verifier.drawing.pour import Beam, Slab
from verifier.pipeline.decision.check import Check
from verifier.report.figures import Verdict
from verifier.report.plan import PlanElement, PlanSpot, plan

Place = tuple[str, str | None]
"""Mark of an element, and the name of one of its spots or None for the whole element."""

ELEMENT, SPOT = "element", "spot"
FORMS = ("photo", "reading")
"""Forms that ask for a place, by the beginning of their widgets' keys."""
_GOES = "plan-goes"
_KEPT: tuple[Verdict, ...] = ("conforming", "non_conforming", "inconclusive", "missing")


@st.cache_resource(show_spinner=False)
def _source(name: str) -> str:
    return files("ui.parts").joinpath(name).read_text(encoding="utf-8")


def chosen(check: Check) -> Place | None:
    """The place that is looked at, as the URL keeps it.

    Args:
        check: The check.

    Returns:
        Element and spot, None for the whole pour. What the URL says counts only where the pour has such a place.
    """
    element, spot = st.query_params.get(ELEMENT), st.query_params.get(SPOT)
    if element not in check.pour.marks:
        return None
    return element, spot if spot in places(check, element) else None


def choose(place: Place | None) -> None:
    """Look at a place, or at the whole pour again.

    Args:
        place: Element and spot, None for the whole pour.
    """
    for name, value in zip((ELEMENT, SPOT), place or (None, None), strict=True):
        if value is None:
            st.query_params.pop(name, None)
        else:
            st.query_params[name] = value
    if place is not None:
        fill_forms(place)


def fill_forms(place: Place) -> None:
    """Put the place into the forms for photos and readings, so that nobody chooses it twice.

    Args:
        place: Element and spot.
    """
    element, spot = place
    for form in FORMS:
        st.session_state[f"{form}-element"] = element
        if spot is not None:
            st.session_state[f"{form}-spot"] = spot


def go(place: Place) -> None:
    """Look at a place, and bring the plan into view.

    Args:
        place: Element and spot.
    """
    choose(place)
    st.session_state[_GOES] = st.session_state.get(_GOES, 0) + 1


def places(check: Check, element: str) -> tuple[str, ...]:
    """Spots of an element in the order of their numbers.

    Args:
        check: The check.
        element: Mark of the element.

    Returns:
        Names of all spots that are asked for or there.
    """
    return tuple(spot_verdicts(check, element))


def show(check: Check, asked: frozenset[Place] = frozenset()) -> None:
    """Show the plan; touching an element or spot chooses it.

    Args:
        check: The check.
        asked: Places that somebody asks for by name.
    """
    now = chosen(check)
    every = tuple(e for e in (_on_plan(check, element, asked) for element in check.pour.elements) if e)
    if every:
        drawn = plan(every, chosen=now)
        if drawn.crowded and now is not None and any(e.mark == now[0] for e in every):
            drawn = plan([e for e in every if e.mark == now[0]], chosen=now)
        said = {(e.mark, s.name): words.VERDICT[s.verdict] for e in every for s in e.spots}
        touches = [
            asdict(t)
            | {
                "says": plain.shown(_named((t.element, t.spot), said)),
                "chosen": now == (t.element, t.spot),
            }
            for t in drawn.touches
        ]
        told = "; ".join(f"{e} {s} {verdict}" for (e, s), verdict in said.items())
        _touched(drawn.svg, f"{words.PLAN_ALT} {told}", touches)
    _undrawn(check, {e.mark for e in every})
    _legend()


def _named(place: Place, said: dict[tuple[str, str], str]) -> str:
    element, spot = place
    if spot is None:
        return words.PLAN_ELEMENT.format(element=element)
    return words.PLAN_SPOT.format(element=element, spot=spot, says=said[element, spot])


def _touched(svg: str, alt: str, touches: list[dict[str, Any]]) -> None:
    component = st.components.v2.component(
        "plan", html="<div class='plan'></div>", css=_source("plan.css"), js=_source("plan.js")
    )

    def follow() -> None:
        sent = st.session_state["plan"].get("touched")
        if isinstance(sent, int) and 0 <= sent < len(touches):
            choose((touches[sent]["element"], touches[sent]["spot"]))

    data = {"src": plain.image_source(svg), "alt": plain.shown(alt), "touches": touches}
    data["goes"] = st.session_state.get(_GOES, 0)
    component(key="plan", data=data, on_touched_change=follow)


def _undrawn(check: Check, drawn: set[str]) -> None:
    """Elements whose length is not in the drawing values can't be drawn; they are offered as buttons."""
    rest = [mark for mark in check.pour.marks if mark not in drawn]
    if not rest:
        return
    plain.paragraph(words.PLAN_UNDRAWN, quiet=True)
    with st.container(horizontal=True, gap="small"):
        for mark in rest:
            st.button(plain.label(mark), key=f"plan-{mark}", on_click=choose, args=((mark, None),))


def _legend() -> None:
    shapes = "".join(
        f'<span style="display:inline-flex;gap:.3rem;align-items:center">{plain.mark(v, 1)}{plain.safe(words.SPOT_STATE[v])}</span>'
        for v in _KEPT
    )
    st.html(
        f'<div style="display:flex;flex-wrap:wrap;gap:.2rem 1rem;font-size:.9rem">{shapes}</div>'
        f'<p style="margin:.2rem 0 0 0;font-size:.9rem">{plain.safe(words.PLAN_SIGNS)}</p>'
    )


def _on_plan(check: Check, element: Slab | Beam, asked: frozenset[Place]) -> PlanElement | None:
    mark = element.mark
    dx, dy = element.position_m
    located = {
        s.spot: (s.at_m[0] + dx, s.at_m[1] + dy)
        for s in check.pour.spots
        if s.element == mark and s.at_m is not None
    }
    photos = {p.original.placement.spot for p in check.photos if p.original.placement.element == mark}
    readings = {m.spot for m in check.measurements if m.element == mark and m.by == "tape"}
    spots = tuple(
        PlanSpot(
            name,
            verdict,
            _says(check, mark, name, verdict),
            photo=name in photos,
            reading=name in readings,
            asked=(mark, name) in asked,
            at_m=located.get(name),
        )
        for name, verdict in spot_verdicts(check, mark).items()
    )
    if isinstance(element, Slab):
        outline = tuple((x + dx, y + dy) for x, y in element.outline)
        openings = tuple((x + dx, y + dy, w, h) for x, y, w, h in element.openings)
        return PlanElement(mark, outline, spots, openings)
    length = element.length_m or element.span_m
    if length is None:
        return None
    return PlanElement(mark, _beam_outline(element, length), spots, narrow=True)


def _beam_outline(beam: Beam, length_m: float) -> tuple[tuple[float, float], ...]:
    """Corners of a beam whose axis starts at its position."""
    (x, y), turn, half = beam.position_m, math.radians(beam.direction_deg), beam.width_mm / 2000
    ux, uy = math.cos(turn), math.sin(turn)
    ends = ((0.0, -half), (length_m, -half), (length_m, half), (0.0, half))
    return tuple((x + a * ux - b * uy, y + a * uy + b * ux) for a, b in ends)


def _says(check: Check, element: str, spot: str, verdict: Verdict) -> str:
    """Which layers the state of a spot is about, in a word or two."""
    here = [c for c in check.coverage if c.element == element]
    if verdict in ("non_conforming", "inconclusive"):
        bad = [c.layer for c in here if layer_verdict(check, c, spot) == verdict]
        return ", ".join(dict.fromkeys(bad))
    asked = [c for c in here if c.what == "spacing"]
    left = [c.layer for c in asked if spot in c.missing]
    if left and len(left) < len(asked):
        return ", ".join(left)
    if not left and any(c.what == "cover" and spot in c.missing for c in here):
        return words.PLAN_COVER
    return ""
