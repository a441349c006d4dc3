"""The plan of a pour: trucks, strips, the time to a cold joint, and what late trucks, one truck more or one pump less do."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import plain
from verifier.errors import BadInput, Refusal
from verifier.pipeline.concreting.orders import Order
from verifier.pipeline.concreting.pour_planning import Change, PourPlan, plan_of
from verifier.report.figures import Verdict
from verifier.report.supply_figures import Share, chances, histogram


def show(folder: Path, order: Order | None) -> None:
    """Show the plan with its figures.

    Args:
        folder: The pour folder.
        order: The order that it rests on.
    """
    if order is None:
        return
    st.subheader(words.PLAN_POUR)
    try:
        plan = plan_of(folder, order.sheet)
    except BadInput as error:
        plain.fault(words.PLAN_CANT, error, where=False)
        return
    if isinstance(plan, Refusal):
        plain.notice("missing", words.PLAN_CANT, words.said(plan.say))
        return
    _facts(plan)
    _figures(plan)


def _facts(plan: PourPlan) -> None:
    supply, margin = plan.supply, plan.margin
    age: Verdict = {"within": "conforming", "note": "inconclusive", "over": "non_conforming"}[supply.age_says]  # type: ignore[assignment] # the three words map to three verdicts
    plain.pairs(
        [
            (words.PLAN_LOADS, f"{supply.loads} × {supply.truck_m3:g} m³"),
            (words.PLAN_TRUCKS, words.PLAN_TRUCKS_SAYS.format(have=supply.trucks, need=supply.trucks_needed)),
            (words.PLAN_INTERVAL, f"{supply.held_interval_min:.0f} min"),
            (words.PLAN_DURATION, f"{supply.duration_min:.0f} min"),
            (words.PLAN_STRIPS, f"{len(plan.strips)} × {margin.strip_m3:.2f} m³"),
        ]
    )
    plain.verdict_line(
        age,
        words.said(supply.age_limit.source),
        words.PLAN_AGE.format(age=f"{supply.age_min:.0f}", limit=f"{supply.age_limit.minutes:.0f}"),
    )
    joint: Verdict = {
        "within": "conforming",
        "note and call": "inconclusive",
        "joint made": "non_conforming",
    }[margin.says]  # type: ignore[assignment] # the three words map to three verdicts
    plain.verdict_line(
        joint,
        words.said(margin.source),
        words.PLAN_JOINT.format(age=f"{margin.contact_age_min:.0f}", limit=f"{margin.limit_min:.0f}"),
    )


def _figures(plan: PourPlan) -> None:
    ages = plan.planned.contact_ages_min
    st.subheader(words.PLAN_LATE)
    plain.paragraph(words.PLAN_LATE_SAYS.format(runs=len(ages)), quiet=True)
    labels = (words.PLAN_AXIS, words.PLAN_LIMIT, words.PLAN_PLANNED)
    over = sum(a > plan.joint_limit_min for a in ages)
    plain.figure(
        histogram(ages, plan.joint_limit_min, plan.margin.contact_age_min, words=labels),
        words.PLAN_LATE_ALT.format(over=over, runs=len(ages), limit=f"{plan.joint_limit_min:.0f}"),
        most_px=560,
    )
    st.subheader(words.PLAN_WHAT_IF)
    shares = [_share(change) for change in plan.changes]
    plain.figure(
        chances(shares, title=words.PLAN_CHANCE),
        "; ".join(f"{s.label}: {100 * s.low:.1f} – {100 * s.high:.1f} %" for s in shares),
        most_px=560,
    )
    plain.paragraph(words.PLAN_WHAT_IF_SAYS, quiet=True)


def _share(change: Change) -> Share:
    joint = change.outcome.joint_exceeded
    name = {
        (0, 0): "as-planned",
        (1, 0): "truck-more",
        (-1, 0): "truck-less",
        (0, 1): "pump-more",
        (0, -1): "pump-less",
    }
    label = words.PLAN_CHANGE[name[change.trucks, change.pumps]].format(
        minutes=f"{change.outcome.duration_half_min:.0f}"
    )
    return Share(label, joint.value, max(joint.low, 0.0), joint.high)
