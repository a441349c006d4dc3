"""Forms and props: loads and what they come to, sides, sections, readings, floors below, the order of taking props away."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import streamlit as st

from ui import words
from ui.parts import plain
from verifier.errors import BadInput
from verifier.formwork.removal import RemovalPlan
from verifier.pipeline.concreting.falsework import FalseworkChecked, bounds_text, falsework_of
from verifier.report.figures import Verdict

_LOOKED: Final[dict[str, Verdict]] = {
    "conforming": "conforming",
    "inconclusive": "inconclusive",
    "non-conforming": "non_conforming",
}
_STEP: Final[dict[str, Verdict]] = {
    "holds": "conforming",
    "does not hold": "non_conforming",
    "not known": "inconclusive",
    "waits": "missing",
}


def show(folder: Path) -> None:
    """Show what the arithmetic of forms and props comes to; a check of plausibility, never a design.

    Args:
        folder: The pour folder.
    """
    st.subheader(words.FALSEWORK_TITLE)
    plain.paragraph(words.FALSEWORK_SAYS, quiet=True)
    try:
        found = falsework_of(folder)
    except BadInput as error:
        plain.fault(words.CANT_READ, error, verdict="non_conforming")
        return
    if not found.grids:
        plain.notice("missing", words.FALSEWORK_NONE, words.FALSEWORK_NONE_SAYS)
    _grids(found)
    _sides(found)
    _looks(found)
    _floors(found)
    for plan in found.removal:
        removal(plan)
    with st.expander(words.FALSEWORK_SECTIONS, key="falsework-sections", on_change="rerun"):
        plain.points(
            words.FALSEWORK_SECTION.format(
                element=s.element,
                what=words.FALSEWORK_LOOKED[s.what],
                drawn=f"{s.drawn_mm:g}",
                bounds=words.said(bounds_text(s.bounds)),
            )
            for s in found.sections
        )
    with st.expander(words.FALSEWORK_CAUTIONS, key="falsework-cautions", on_change="rerun"):
        plain.points(map(words.said, found.cautions))


def removal(plan: RemovalPlan) -> None:
    """Show in which order props may go, with what each slab then carries.

    Args:
        plan: The plan.
    """
    st.subheader(words.REMOVAL_TITLE)
    for step in plan.steps:
        shape, says = _STEP[step.holds], words.REMOVAL_STEP[step.holds]
        if step.done_at is not None:
            shape, says = "conforming", words.REMOVAL_DONE.format(when=f"{step.done_at:%Y-%m-%d %H:%M}")
        plain.verdict_line(shape, says, f"{step.number}. {words.said(step.says)}")
    plain.paragraph(words.said(plan.source), quiet=True)
    plain.paragraph(" ".join(map(words.said, plan.cautions)), quiet=True)


def _grids(found: FalseworkChecked) -> None:
    for g in found.grids:
        plain.verdict_line(
            "conforming" if g.check.holds else "non_conforming",
            words.FALSEWORK_GRID_SAYS.format(
                load=f"{g.load.total_kn_m2:.2f}",
                grid=f"{g.check.largest_square_grid_m:.2f}",
                brace=f"{g.check.horizontal_kn:.2f}",
                source=words.said(f"{g.load.source}; {g.capacity.source}"),
            ),
            words.FALSEWORK_GRID.format(
                slab=g.slab, load=f"{g.check.load_kn:.2f}", may=f"{g.check.capacity_kn:.2f}"
            ),
        )
        if g.plate is not None:
            plain.verdict_line(
                "conforming" if g.plate.holds else "non_conforming",
                words.FALSEWORK_PLATE_SAYS.format(area=f"{g.plate.least_area_m2:.3f}"),
                words.FALSEWORK_PLATE.format(
                    slab=g.slab, pressure=f"{g.plate.pressure_kpa:.0f}", may=f"{g.plate.allowed_kpa:.0f}"
                ),
            )


def _sides(found: FalseworkChecked) -> None:
    for s in found.sides:
        verdict: Verdict = "missing" if s.holds is None else "conforming" if s.holds else "non_conforming"
        may = (
            words.FALSEWORK_SIDE_OPEN
            if s.may_carry_kpa is None
            else words.FALSEWORK_SIDE_MAY.format(may=f"{s.may_carry_kpa:g}", source=s.may_carry_source)
        )
        plain.verdict_line(
            verdict,
            f"{may} {words.said(s.pressure.source)}.",
            words.FALSEWORK_SIDE.format(
                element=s.element,
                what=words.FALSEWORK_SIDE_WHAT[s.what],
                height=f"{s.height_m:g}",
                pressure=f"{s.pressure.value:.1f}",
                force=f"{s.force_kn_m:.2f}",
            ),
        )


def _looks(found: FalseworkChecked) -> None:
    for look in found.looks:
        for point in look.points:
            plain.verdict_line(
                _LOOKED[point.verdict],
                words.said(bounds_text(look.bounds)),
                f"{words.FALSEWORK_LOOKED[look.what]}, {point.place}: {point.off_mm:+g} mm",
            )


def _floors(found: FalseworkChecked) -> None:
    for share in found.below.floors if found.below is not None else ():
        grid = share.largest_square_grid_m
        carries = share.passed_down_kn_m2 == 0
        plain.verdict_line(
            "conforming" if carries else "inconclusive",
            words.FALSEWORK_FLOOR_CARRIES
            if carries or grid is None
            else words.FALSEWORK_FLOOR_DOWN.format(down=f"{share.passed_down_kn_m2:.2f}", grid=f"{grid:.2f}"),
            words.FALSEWORK_FLOOR.format(
                floor=share.name, load=f"{share.carried_kn_m2:.2f}", may=f"{share.capacity_kn_m2:.2f}"
            ),
        )
    if found.below is not None and not found.below.enough:
        plain.notice(
            "non_conforming",
            words.FALSEWORK_LEFT,
            words.FALSEWORK_LEFT_SAYS.format(left=f"{found.below.left_kn_m2:.2f}"),
        )
