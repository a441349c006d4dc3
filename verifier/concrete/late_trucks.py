"""What late trucks and breakdowns do to a pour: seeded runs of the supply, with chances and not one forecast."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

from verifier.concrete.pour_plan import SupplyPlan
from verifier.errors import BadInput

Share = Annotated[float, Field(ge=0, le=1)]
Spread = Annotated[float, Field(ge=0, le=2)]
Minutes = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Z_95 = 1.959963984540054


class SupplyDoubt(BaseModel, frozen=True, extra="forbid"):
    """How uneven the supply is. Settings of the project from its own tickets; no published source.

    ``*_spread`` is standard deviation over mean. A breakdown delays one trip; a pump stop delays one discharge.
    """

    travel_spread: Spread = 0.25
    handling_spread: Spread = 0.15
    breakdown_chance: Share = 0.02
    breakdown_min: Minutes = 45.0
    pump_stop_chance: Share = 0.01
    pump_stop_min: Minutes = 30.0


class Question(BaseModel, frozen=True, extra="forbid"):
    """What is asked of the runs: the strip that waits, its limit, the pumps, and how the runs are drawn."""

    strip_m3: Annotated[float, Field(gt=0)]
    joint_limit_min: Annotated[float, Field(gt=0)]
    pumps: Annotated[int, Field(ge=1, le=6)] = 1
    runs: Annotated[int, Field(ge=100, le=20_000)] = 2_000
    seed: int = 1


class Chance(BaseModel, frozen=True, extra="forbid"):
    """A chance with its 95 % interval from the number of runs (Wilson)."""

    value: float
    low: float
    high: float


class Outcome(BaseModel, frozen=True, extra="forbid"):
    """All runs of one supply. The tuples hold one figure per run, sorted, ready to be drawn."""

    trucks: int
    pumps: int
    joint_exceeded: Chance
    age_exceeded: Chance
    duration_half_min: float
    duration_nine_in_ten_min: float
    contact_ages_min: tuple[float, ...]
    durations_min: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Draws:
    """Random figures of all runs, one row a run and one column a load; the same for every number of trucks."""

    load: NDArray[np.float64]
    out: NDArray[np.float64]
    discharge: NDArray[np.float64]
    back: NDArray[np.float64]
    late: NDArray[np.float64]
    stop: NDArray[np.float64]


def simulate(plan: SupplyPlan, doubt: SupplyDoubt, question: Question) -> Outcome:
    """Run the supply many times.

    Trucks queue at the plant and at the pump in the order in which they come; one that breaks down is overtaken. A face waits
    for its strip as planned, plus what the next truck is late. The runs are drawn from the seed alone, so two supplies with
    one seed meet the same bad luck and may be compared.

    Args:
        plan: The supply, with its number of trucks.
        doubt: How uneven it is.
        question: Strip, limit, pumps, runs, seed.

    Returns:
        Chances of exceeding the joint time and the age limit, and the spread of the duration.

    Source:
        Discrete-event simulation with lognormal times; interval of a chance after Wilson (1927).
    """
    draws = _draw(plan, doubt, question)
    found = [_one_run(plan, question, draws, run) for run in range(question.runs)]
    contact = sorted(f[0] for f in found)
    duration = sorted(f[1] for f in found)
    over_age = sum(f[2] > plan.age_limit.minutes for f in found)
    over_joint = sum(age > question.joint_limit_min for age in contact)
    return Outcome(
        trucks=plan.trucks,
        pumps=question.pumps,
        joint_exceeded=wilson(over_joint, question.runs),
        age_exceeded=wilson(over_age, question.runs),
        duration_half_min=float(np.quantile(duration, 0.5)),
        duration_nine_in_ten_min=float(np.quantile(duration, 0.9)),
        contact_ages_min=tuple(contact),
        durations_min=tuple(duration),
    )


def what_one_more_does(
    plan: SupplyPlan, doubt: SupplyDoubt, question: Question, changes: Sequence[tuple[int, int]]
) -> tuple[Outcome, ...]:
    """Compare supplies under the same bad luck.

    Args:
        plan: The supply.
        doubt: How uneven it is.
        question: Strip, limit, pumps, runs, seed.
        changes: Trucks and pumps to add or take away, for example ``[(0, 0), (1, 0), (0, -1)]``.

    Returns:
        One outcome per change, in order.

    Raises:
        BadInput: If a change leaves no truck or no pump.
    """
    outcomes = []
    for trucks, pumps in changes:
        if plan.trucks + trucks < 1 or question.pumps + pumps < 1:
            raise BadInput("A change leaves no truck or no pump.", where="pour plan", todo="Take fewer away.")
        other = plan.model_copy(update={"trucks": plan.trucks + trucks})
        outcomes.append(simulate(other, doubt, question.model_copy(update={"pumps": question.pumps + pumps})))
    return tuple(outcomes)


def wilson(hits: int, runs: int) -> Chance:
    """Chance with its 95 % interval.

    Args:
        hits: Runs in which it happened.
        runs: All runs.

    Returns:
        Share and interval.

    Source:
        E. B. Wilson, Journal of the American Statistical Association 22 (1927), 209-212.
    """
    share, square = hits / runs, Z_95**2
    centre = (share + square / (2 * runs)) / (1 + square / runs)
    half = Z_95 / (1 + square / runs) * math.sqrt(share * (1 - share) / runs + square / (4 * runs**2))
    return Chance(value=share, low=max(0.0, centre - half), high=min(1.0, centre + half))


def _draw(plan: SupplyPlan, doubt: SupplyDoubt, question: Question) -> _Draws:
    generator = np.random.default_rng(question.seed)
    shape = (question.runs, plan.loads)
    trip = plan.round_trip

    def times(mean: float, spread: float) -> NDArray[np.float64]:
        drawn = generator.standard_normal(shape)
        sigma = math.sqrt(math.log1p(spread**2))
        return mean * np.exp(sigma * drawn - sigma**2 / 2)

    return _Draws(
        load=times(trip.load_min, doubt.handling_spread),
        out=times(trip.out_min, doubt.travel_spread),
        discharge=times(trip.discharge_min, doubt.handling_spread),
        back=times(trip.back_min, doubt.travel_spread),
        late=np.where(generator.random(shape) < doubt.breakdown_chance, doubt.breakdown_min, 0.0),
        stop=np.where(generator.random(shape) < doubt.pump_stop_chance, doubt.pump_stop_min, 0.0),
    )


def _one_run(plan: SupplyPlan, question: Question, draws: _Draws, run: int) -> tuple[float, float, float]:
    """Return worst contact age, duration, worst age at the end of discharge."""
    trip, pumps = plan.round_trip, question.pumps
    planned_gap = pumps * plan.interval_min - trip.discharge_min
    contact = question.strip_m3 / plan.truck_m3 * plan.interval_min * pumps
    # (time, order of entry, load or -1 for a truck that stands at the plant, time at which its batch began)
    events: list[tuple[float, int, int, float]] = [(0.0, truck, -1, 0.0) for truck in range(plan.trucks)]
    entry, next_load, plant_free = len(events), 0, 0.0
    pump_free = [-math.inf] * pumps
    worst_late = worst_age = last = 0.0
    first = math.inf
    while events:
        now, _, load, batch = heapq.heappop(events)
        if load < 0:
            if next_load == plan.loads:
                continue
            start = max(now, plant_free, next_load * plan.interval_min)
            plant_free = start + draws.load[run, next_load]
            ready = plant_free + draws.out[run, next_load] + draws.late[run, next_load] + trip.wait_min
            heapq.heappush(events, (ready, entry, next_load, start))
            next_load += 1
        else:
            pump = pump_free.index(min(pump_free))
            before = pump_free[pump]
            begin = max(now, before)
            if before > -math.inf:
                worst_late = max(worst_late, begin - before - planned_gap + draws.stop[run, load])
            first = min(first, begin)
            end = begin + draws.stop[run, load] + draws.discharge[run, load]
            pump_free[pump], last = end, max(last, end)
            worst_age = max(worst_age, end - batch)
            heapq.heappush(events, (end + trip.wash_min + draws.back[run, load], entry, -1, 0.0))
        entry += 1
    return float(contact + worst_late), float(last - first), float(worst_age)
