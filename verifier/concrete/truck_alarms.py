"""Alarms of one delivery. Note: tell. Stop: hold the truck until the named person decides."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, Field

from verifier.concrete.pour_log import Truck
from verifier.concrete.pour_plan import age_says
from verifier.concrete.supply import NamedMinutes, slump_off_by_mm, supply_figures

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
MINUTE = timedelta(minutes=1)


class Limits(BaseModel, frozen=True, extra="forbid"):
    """What the log is held against; from order, plan and code of the pour."""

    mix: str
    ordered_slump_mm: Positive
    slump_rule: str
    age: NamedMinutes
    joint: NamedMinutes
    interval_min: Positive
    rate_m3_per_h: Positive
    computed_m3: Positive
    hottest_c: float
    coldest_c: float


class Alarm(BaseModel, frozen=True, extra="forbid"):
    """One alarm: what is so, what to do, by whom, with its source."""

    weight: Literal["note", "stop"]
    kind: str
    about: str
    at: AwareDatetime
    says: str
    do: str
    who: str
    source: str


def alarms_of_truck(truck: Truck, limits: Limits, at: datetime) -> list[Alarm]:
    """Hold one delivery against its limits.

    Args:
        truck: The delivery.
        limits: Order, plan and code of the pour.
        at: Time of the question.

    Returns:
        Alarms of this truck. A load refused before its discharge raises none.

    Source:
        ASTM C94/C94M, IS 4926:2003, BS 8500-2 (age); EN 206:2013, ACI 301-20 (temperature); see each alarm.
    """
    if truck.refused_because and truck.discharge_start_at is None:
        return []
    alarms = []
    if truck.mix != limits.mix:
        says = f"The ticket says {truck.mix}, ordered is {limits.mix}."
        alarms.append(
            _alarm(
                "stop",
                "mix",
                truck,
                says,
                "Do not discharge; call the plant.",
                "contractor's engineer",
                "IBC, Table 1705.3",
            )
        )
    if truck.batch_at is None:
        says = "The batch time is missing or can't be read."
        do = "Take no concrete until the plant has answered."
        alarms.append(_alarm("stop", "batch-time", truck, says, do, "pour leader", "common practice"))
    else:
        age = ((truck.discharge_end_at or at) - truck.batch_at) / MINUTE
        word = age_says(age, limits.age.minutes)
        if word != "within":
            says = f"{age:.0f} min old at the end of discharge, limit {limits.age.minutes:g} min."
            do = "Stop discharge; the purchaser's engineer decides." if word == "over" else "Empty it next."
            alarms.append(
                _alarm(
                    "stop" if word == "over" else "note",
                    "age",
                    truck,
                    says,
                    do,
                    "engineer of record",
                    limits.age.source,
                )
            )
    alarms += _slump_alarms(truck, limits)
    alarms += _temperature_alarms(truck, limits)
    for water in truck.water:
        if not water.ordered_by or not water.within_hold_back:
            told = "without an order" if not water.ordered_by else "beyond the hold-back of the ticket"
            says = f"{water.litres:g} L of water were added {told}."
            do = "Refuse the load, or mark it and take a sample more."
            alarms.append(
                _alarm(
                    "stop", "water", truck, says, do, "contractor's engineer", "ASTM C94/C94M (from memory)"
                )
            )
    return alarms


def _alarm(
    weight: Literal["note", "stop"], kind: str, truck: Truck, says: str, do: str, who: str, source: str
) -> Alarm:
    return Alarm(
        weight=weight,
        kind=kind,
        about=f"ticket {truck.ticket}",
        at=truck.arrived_at,
        says=says,
        do=do,
        who=who,
        source=source,
    )


def _slump_alarms(truck: Truck, limits: Limits) -> list[Alarm]:
    """One reading out asks for a second portion; the second decides; both are kept."""
    off = slump_off_by_mm(limits.slump_rule, limits.ordered_slump_mm)
    low, high = limits.ordered_slump_mm - off, limits.ordered_slump_mm + off
    tests = sorted(truck.slumps, key=lambda s: (s.portion, s.at))
    out = [s for s in tests if not low <= s.slump_mm <= high]
    if not out:
        return []
    rule = next(t for t in supply_figures().slump_tolerance if t.name == limits.slump_rule)
    read = ", ".join(f"{s.slump_mm:g}" for s in tests)
    says = f"Slump {read} mm, allowed {low:g} to {high:g} mm."
    if tests[-1].portion == 2 and tests[-1] in out:
        do = "Refuse it, or let the engineer agree to an admixture; never water beyond the hold-back."
        return [_alarm("stop", "slump", truck, says, do, "engineer of record", rule.source)]
    do = (
        "Taken after the second portion; keep both readings."
        if tests[-1].portion == 2
        else "Take a second portion of this load."
    )
    return [_alarm("note", "slump", truck, says, do, "pour leader", rule.source)]


def _temperature_alarms(truck: Truck, limits: Limits) -> list[Alarm]:
    f, found = supply_figures(), truck.concrete_c
    if found is None:
        return []
    says = f"Concrete {found:g} C, allowed {limits.coldest_c:g} to {limits.hottest_c:g} C."
    source = f.hottest.source if found > f.cool_note.value else f.coldest.source
    if found > limits.hottest_c or found < limits.coldest_c:
        return [
            _alarm(
                "stop",
                "temperature",
                truck,
                says,
                "Do not place it; the engineer decides.",
                "engineer of record",
                source,
            )
        ]
    if found >= f.warm_note.value or found <= f.cool_note.value:
        return [
            _alarm(
                "note",
                "temperature",
                truck,
                says,
                "Tell the plant; read the next truck at once.",
                "pour leader",
                source,
            )
        ]
    return []
