"""Soffit level, line, plumb and section: what the drawing allows them to be off, and whether they are."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.codes.cited import Known
from verifier.errors import BadInput
from verifier.formwork.figures import SectionRule, formwork_figures

Verdict = Literal["conforming", "non-conforming", "inconclusive"]
Number = Annotated[float, Field(allow_inf_nan=False)]


class Bounds(BaseModel, frozen=True, extra="forbid"):
    """How far a value may be off the drawing, in mm; an absent bound is no limit."""

    low_mm: float | None
    high_mm: float | None
    source: str
    status: Known
    note: str = ""


class Reading(BaseModel, frozen=True, extra="forbid"):
    """One point: what the drawing asks for (camber counted in) and what was found, in mm of one datum."""

    place: str
    planned_mm: Number
    found_mm: Number


class Judged(BaseModel, frozen=True, extra="forbid"):
    """One point held against its bounds."""

    place: str
    off_mm: float
    verdict: Verdict


class Survey(BaseModel, frozen=True, extra="forbid"):
    """All points, worst first. ``verdict`` is that of the worst point."""

    points: tuple[Judged, ...]
    verdict: Verdict
    bounds: Bounds


def deviation(name: str) -> Bounds:
    """Return the bounds of a deviation that does not depend on the code of the pour.

    Args:
        name: ``soffit_level``, ``top_level``, ``plan_position``, ``slab_thickness``, ``prop_plumb_mm_per_m``,
            ``prop_eccentricity``, ``edge_line``, ``finish_under_2_m`` or ``finish_under_200_mm``.

    Returns:
        Bounds with source.

    Raises:
        BadInput: If there is no such entry.
    """
    entries = formwork_figures().deviation
    if name not in entries:
        raise BadInput(
            f'There is no deviation "{name}".', where="formwork", todo=f"Known are: {', '.join(entries)}."
        )
    found = entries[name]
    return Bounds(
        low_mm=found.low_mm, high_mm=found.high_mm, source=found.source, status=found.status, note=found.note
    )


def section_bounds(code: str, dimension_mm: float) -> Bounds:
    """How far the width or depth of a beam, drop or edge may be off.

    Args:
        code: Code of the pour, with edition.
        dimension_mm: Width or depth on the drawing.

    Returns:
        Bounds with source.

    Raises:
        BadInput: If the code has no entry here or the dimension is not positive.

    Source:
        IS 456:2000, 11.1; ACI 117-10, 4.5; EN 13670:2009, 10.4 (class 1, interpolated between sizes);
        AS 3600:2018, 17.5.2.
    """
    rules = formwork_figures().section
    rule = next((r for r in rules if r.code == code), None)
    if rule is None:
        raise BadInput(
            f'No section deviations are known for "{code}".',
            where="formwork",
            todo=f"Known are: {', '.join(r.code for r in rules)}. Else give them in the project's own tolerances.",
        )
    if not dimension_mm > 0:
        raise BadInput(
            f"The dimension is {dimension_mm:g} mm.", where="formwork", todo="Write a number above zero."
        )
    low, high = _interpolated(rule, dimension_mm) if rule.interpolated else _stepped(rule, dimension_mm)
    return Bounds(low_mm=low, high_mm=high, source=rule.source, status=rule.status, note=rule.note)


def _stepped(rule: SectionRule, dimension_mm: float) -> tuple[float, float]:
    step = next(s for s in rule.steps if s.up_to_mm is None or dimension_mm <= s.up_to_mm)
    share_mm = step.share * dimension_mm
    return min(step.low_mm, -share_mm), max(step.high_mm, share_mm)


def _interpolated(rule: SectionRule, dimension_mm: float) -> tuple[float, float]:
    """Between two sizes in a straight line; below the first and above the last their own values."""
    sizes = [s.up_to_mm or 0.0 for s in rule.steps]
    above = next((i for i, size in enumerate(sizes) if dimension_mm <= size), len(sizes))
    if above in (0, len(sizes)):
        step = rule.steps[min(above, len(sizes) - 1)]
        return step.low_mm, step.high_mm
    lower, upper = rule.steps[above - 1], rule.steps[above]
    part = (dimension_mm - sizes[above - 1]) / (sizes[above] - sizes[above - 1])
    return (
        lower.low_mm + part * (upper.low_mm - lower.low_mm),
        lower.high_mm + part * (upper.high_mm - lower.high_mm),
    )


def survey(readings: Sequence[Reading], bounds: Bounds, *, expanded_uncertainty_mm: float) -> Survey:
    """Hold levels, lines or sections against their bounds.

    A point passes only if it is inside by more than its doubt, fails only if it is outside by more than its doubt.

    Args:
        readings: Points, at least one.
        bounds: How far they may be off.
        expanded_uncertainty_mm: Doubt of one reading at 95 %, >= 0.

    Returns:
        Points worst first.

    Raises:
        BadInput: If there is no point, or the doubt is negative.

    Source:
        JCGM 106:2012, 8.3 (guarded acceptance).
    """
    if not readings:
        raise BadInput(
            "There is no reading.", where="survey", todo="Read level or size at the points asked for."
        )
    if not expanded_uncertainty_mm >= 0:
        raise BadInput(
            "The doubt of the reading is below zero.", where="survey", todo="Write it as a number from 0."
        )
    order = {"non-conforming": 0, "inconclusive": 1, "conforming": 2}
    points = []
    for reading in readings:
        off = reading.found_mm - reading.planned_mm
        margins = [
            m for m in (_margin(off, bounds.low_mm, 1.0), _margin(off, bounds.high_mm, -1.0)) if m is not None
        ]
        verdict = _verdict(min(margins), expanded_uncertainty_mm) if margins else "inconclusive"
        points.append(Judged(place=reading.place, off_mm=off, verdict=verdict))
    points.sort(key=lambda p: (order[p.verdict], -abs(p.off_mm), p.place))
    return Survey(points=tuple(points), verdict=points[0].verdict, bounds=bounds)


def _margin(off: float, bound: float | None, sign: float) -> float | None:
    return None if bound is None else sign * (off - bound)


def _verdict(margin: float, doubt: float) -> Verdict:
    if margin >= doubt:
        return "conforming"
    return "non-conforming" if margin < -doubt else "inconclusive"
