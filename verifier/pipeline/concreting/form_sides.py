"""Forms of sides and edges: pressure of the fresh concrete, how far sections may be off, and what was found inside them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from pydantic import BaseModel

from verifier.drawing.pour import Beam, Pour, Slab
from verifier.errors import BadInput
from verifier.formwork.pressure import FreshConcrete, Pressure, head_force_kn_m, lateral_pressure
from verifier.formwork.tolerances import Bounds, Judged, Reading, deviation, section_bounds, survey
from verifier.pipeline.concreting.falsework_file import Found, Looked, Side
from verifier.pipeline.folder.versions import FALSEWORK_FILE

_USUAL_RATE_M_H, _USUAL_C = 1.0, 20.0
"""Only to fill the form: sides and edges take the full liquid head whatever they are."""
_DEVIATION = {
    "soffit level": "soffit_level",
    "plan position": "plan_position",
    "edge line": "edge_line",
    "prop plumb": "prop_plumb_mm_per_m",
    "prop eccentricity": "prop_eccentricity",
}


class SideChecked(BaseModel, frozen=True, extra="forbid"):
    """One side: its pressure at the foot, the force along a metre of it, and what it may carry where that is given. [m, kN/m]."""

    element: str
    what: Literal["beam side", "slab edge"]
    height_m: float
    pressure: Pressure
    force_kn_m: float
    may_carry_kpa: float | None
    may_carry_source: str
    holds: bool | None


class Section(BaseModel, frozen=True, extra="forbid"):
    """How far a dimension may be off inside the forms. [mm]."""

    element: str
    what: Looked
    drawn_mm: float
    bounds: Bounds


class Looks(BaseModel, frozen=True, extra="forbid"):
    """Readings of one kind against their bounds."""

    what: Looked
    points: tuple[Judged, ...]
    bounds: Bounds


def sides_of(pour: Pour, given: Sequence[Side], path: Path) -> tuple[SideChecked, ...]:
    """Take the pressure on every beam side, slab edge, drop and upstand.

    Args:
        pour: Drawing values.
        given: What the falsework file says of sides.
        path: The file, for messages.

    Returns:
        One entry each, in the order of the drawing. A drop is filled through the thickest slab, so its head counts, too.

    Raises:
        BadInput: If the file names an element that is not of this pour, or names one twice.

    Source:
        ACI 347.2R-17: beam sides and slab edges by the full liquid head w h.
    """
    thickest = max((s.thickness_mm for s in pour.slabs), default=0.0)
    heights: dict[str, tuple[Literal["beam side", "slab edge"], float]] = {}
    heights |= {b.mark: ("beam side", b.depth_mm) for b in pour.beams}
    heights |= {s.mark: ("slab edge", s.thickness_mm) for s in pour.slabs}
    heights |= {d.mark: ("beam side", d.added_mm + thickest) for d in pour.drops}
    heights |= {u.mark: ("slab edge", u.added_mm) for u in pour.upstands}
    named: dict[str, Side] = {}
    for side in given:
        if side.element not in heights:
            raise BadInput(
                f"{side.element} is no element of this pour.",
                where=f"{path}, side",
                todo=f"Name one of: {', '.join(heights)}.",
            )
        if side.element in named:
            raise BadInput(
                f"{side.element} stands there twice.", where=f"{path}, side", todo="Keep one of them."
            )
        named[side.element] = side
    return tuple(
        _side(mark, what, mm / 1000.0, named.get(mark, Side(element=mark)))
        for mark, (what, mm) in heights.items()
    )


def _side(mark: str, what: Literal["beam side", "slab edge"], drawn_m: float, side: Side) -> SideChecked:
    height = side.height_m or drawn_m
    concrete = FreshConcrete(
        units="kpa", rate=_USUAL_RATE_M_H, temperature=_USUAL_C, unit_weight=side.unit_weight_kn_m3
    )
    pressure = lateral_pressure(what, concrete, height)
    may = side.may_carry_kpa
    return SideChecked(
        element=mark,
        what=what,
        height_m=height,
        pressure=pressure,
        force_kn_m=head_force_kn_m(pressure.value, height),
        may_carry_kpa=may,
        may_carry_source=side.may_carry_source,
        holds=None if may is None else pressure.value <= may,
    )


def sections_of(pour: Pour) -> tuple[Section, ...]:
    """How far widths, depths and thicknesses may be off inside the forms, by the code of the pour.

    Args:
        pour: Drawing values.

    Returns:
        Two entries a beam, one a slab. A slab takes the code's own rule where that speaks of slabs, else that of ACI 117.

    Raises:
        BadInput: If a dimension can't be used.

    Source:
        IS 456:2000, 11.1; ACI 117-10, 4.5; EN 13670:2009, 10.4; AS 3600:2018, 17.5.2.
    """
    found = [_section(pour, s, "thickness") for s in pour.slabs]
    return (*found, *(_section(pour, b, what) for b in pour.beams for what in _BEAM))


_BEAM: tuple[Looked, Looked] = ("width", "depth")


def _section(pour: Pour, element: Slab | Beam, what: Looked) -> Section:
    code = pour.pour.code
    if isinstance(element, Slab):
        own = code.startswith(("EN 1992", "AS 3600"))
        bounds = section_bounds(code, element.thickness_mm) if own else deviation("slab_thickness")
        return Section(element=element.mark, what=what, drawn_mm=element.thickness_mm, bounds=bounds)
    size = element.width_mm if what == "width" else element.depth_mm
    return Section(element=element.mark, what=what, drawn_mm=size, bounds=section_bounds(code, size))


def looks_of(pour: Pour, found: Sequence[Found]) -> tuple[Looks, ...]:
    """Hold what was found inside the forms and on props against its bounds.

    Args:
        pour: Drawing values.
        found: Readings of the falsework file.

    Returns:
        Readings of one kind and element together, worst first in each. A reading passes only if it is inside by more than its doubt.

    Raises:
        BadInput: If a reading names no element of this pour.

    Source:
        JCGM 106:2012, 8.3 (guarded acceptance); bounds as `sections_of`, ACI 117-06, BS 5975:1996.
    """
    sections = {(s.element, s.what): s for s in sections_of(pour)}
    kinds: dict[tuple[Looked, str], list[Judged]] = {}
    bounds: dict[tuple[Looked, str], Bounds] = {}
    for one in found:
        key = (one.what, one.element if one.what not in _DEVIATION else "")
        section = sections.get((one.element, one.what))
        if one.what not in _DEVIATION and section is None:
            known = ", ".join(f"{what} of {mark}" for mark, what in sections)
            raise BadInput(
                f"{one.what} of {one.element} is not drawn.",
                where=f"{FALSEWORK_FILE}, found, {one.place}",
                todo=f"Name one of: {known}.",
            )
        limit = section.bounds if section is not None else deviation(_DEVIATION[one.what])
        planned = one.planned_mm if one.planned_mm is not None else section.drawn_mm if section else 0.0
        place = f"{one.element}, {one.place}" if one.element else one.place
        reading = Reading(place=place, planned_mm=planned, found_mm=one.found_mm)
        judged = survey([reading], limit, expanded_uncertainty_mm=one.uncertainty_mm).points
        kinds.setdefault(key, []).extend(judged)
        bounds[key] = limit
    worst = {"non-conforming": 0, "inconclusive": 1, "conforming": 2}
    return tuple(
        Looks(
            what=key[0],
            points=tuple(sorted(points, key=lambda p: (worst[p.verdict], -abs(p.off_mm), p.place))),
            bounds=bounds[key],
        )
        for key, points in kinds.items()
    )
