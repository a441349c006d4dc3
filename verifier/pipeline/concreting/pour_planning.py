"""The plan of a pour from its order: trucks, strips, the time to a cold joint, and what late trucks do to it."""

from __future__ import annotations

from pathlib import Path

from pydantic import BaseModel

from verifier.concrete.late_trucks import Outcome, Question, SupplyDoubt, simulate, what_one_more_does
from verifier.concrete.order import OrderSheet
from verifier.concrete.pour_plan import Strip, StripMargin, SupplyPlan, strip_margin, strips, supply_plan
from verifier.concrete.supply import age_limit, joint_limit
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import Refusal

RUNS = 1000


class Change(BaseModel, frozen=True, extra="forbid"):
    """A supply beside the planned one: trucks and pumps added or taken away, and what the runs say."""

    trucks: int
    pumps: int
    outcome: Outcome


class PourPlan(BaseModel, frozen=True, extra="forbid"):
    """Supply, strips and margin as planned; ``changes`` hold the plan itself first."""

    supply: SupplyPlan
    margin: StripMargin
    strips: tuple[Strip, ...]
    changes: tuple[Change, ...]
    joint_limit_min: float

    @property
    def planned(self) -> Outcome:
        """What the runs say of the supply as planned."""
        return self.changes[0].outcome


def plan_of(folder: Path, sheet: OrderSheet, *, runs: int = RUNS) -> PourPlan | Refusal:
    """Plan a pour.

    Args:
        folder: The pour folder.
        sheet: The order; its table ``supply`` says how trucks run and how the slab is placed.
        runs: How often the supply is run.

    Returns:
        The plan, or a refusal that says what the order must still give.

    Raises:
        BadInput: If the figures of the order contradict each other.

    Source:
        Arithmetic of the round; seeded runs with the spread of `SupplyDoubt`, which are settings of the project.
    """
    terms, pour = sheet.supply, read_pour(folder)
    if terms.trip is None:
        return Refusal("no-trip", "Give the minutes of one truck's round under [supply] trip in order.toml.")
    length_m, front_m = _extent(pour, terms.front_m)
    if length_m is None or front_m is None:
        return Refusal("no-front", "Give front_m, the length of a strip, under [supply] in order.toml.")
    thickness = max(s.thickness_mm for s in pour.slabs)
    joint = joint_limit(terms.joint)
    plan = supply_plan(
        sheet.volume_m3,
        sheet.rate_m3_per_h,
        sheet.truck_m3,
        terms.trip,
        age_limit(terms.age),
        trucks=terms.trucks,
        pumps=terms.pumps,
    )
    margin = strip_margin(front_m, terms.strip_m, thickness, plan.held_rate_m3_per_h, joint)
    question = Question(strip_m3=margin.strip_m3, joint_limit_min=joint.minutes, pumps=terms.pumps, runs=runs)
    changes = [(0, 0), (1, 0), (0, 1)]
    changes += [(-1, 0)] if plan.trucks > 1 else []
    changes += [(0, -1)] if terms.pumps > 1 else []
    doubt = SupplyDoubt()
    outcomes = (
        simulate(plan, doubt, question),
        *what_one_more_does(plan, doubt, question, changes[1:]),
    )
    return PourPlan(
        supply=plan,
        margin=margin,
        strips=strips(length_m, front_m, terms.strip_m, thickness, plan.held_rate_m3_per_h),
        changes=tuple(
            Change(trucks=t, pumps=p, outcome=o) for (t, p), o in zip(changes, outcomes, strict=True)
        ),
        joint_limit_min=joint.minutes,
    )


def _extent(pour: Pour, front_m: float | None) -> tuple[float | None, float | None]:
    """Length across the strips and along one, of the slabs side by side; strips run along the short side."""
    if not pour.slabs:
        return None, None
    xs = [v for s in pour.slabs for v in (s.position_m[0], s.position_m[0] + s.extent_m[0])]
    ys = [v for s in pour.slabs for v in (s.position_m[1], s.position_m[1] + s.extent_m[1])]
    width, height = max(xs) - min(xs), max(ys) - min(ys)
    return max(width, height), front_m or min(width, height)
