"""Alarms of the pour. Note: tell. Stop: hold the truck or the front until the named person decides."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, Field

from verifier.concrete.pour_log import Entry, Movement, Strip, Truck
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


def alarms_of(
    entries: Iterable[Entry], limits: Limits, at: datetime, *, pour_finished: bool = False
) -> tuple[Alarm, ...]:
    """Hold a log against its limits at a time.

    Args:
        entries: The log, in any order.
        limits: Order, plan and code of the pour.
        at: Time of the question; a truck not yet emptied is judged at that time.
        pour_finished: Whether placing has ended, so that no further truck or cover is awaited.

    Returns:
        Alarms, stops first, then by time.

    Source:
        Each alarm names its own.
    """
    found = list(entries)
    trucks = sorted(
        (e for e in found if isinstance(e, Truck) and e.arrived_at <= at), key=lambda t: t.arrived_at
    )
    strips = sorted((e for e in found if isinstance(e, Strip) and e.start_at <= at), key=lambda s: s.start_at)
    alarms = [a for t in trucks for a in alarms_of_truck(t, limits, at)]
    alarms += _gap_alarms(trucks, limits, at, pour_finished)
    alarms += _joint_alarms(strips, limits, at, pour_finished)
    alarms += [a for m in found if isinstance(m, Movement) and m.at <= at for a in _movement_alarms(m)]
    alarms += _rate_alarm(trucks, limits, at, pour_finished)
    alarms += volume_alarm(sum(t.placed_m3 for t in trucks), limits.computed_m3, at) if pour_finished else []
    return tuple(sorted(alarms, key=lambda a: (a.weight != "stop", a.at, a.kind)))


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


def _gap_alarms(trucks: Sequence[Truck], limits: Limits, at: datetime, finished: bool) -> list[Alarm]:
    """A truck that comes late, or has not come yet, against the planned interval."""
    most = limits.interval_min + supply_figures().late_truck.value
    used = [t for t in trucks if not (t.refused_because and t.discharge_start_at is None)]
    times = [t.arrived_at for t in used] + ([] if finished or not used else [at])
    alarms = []
    for before, after in pairwise(times):
        gap = (after - before) / MINUTE
        if gap > most:
            says = f"{gap:.0f} min between trucks, planned {limits.interval_min:g} min."
            alarms.append(
                Alarm(
                    weight="note",
                    kind="gap",
                    about="supply",
                    at=after,
                    says=says,
                    do="Call the plant; look at the front.",
                    who="pour leader",
                    source=supply_figures().late_truck.source,
                )
            )
    return alarms


def _joint_alarms(strips: Sequence[Strip], limits: Limits, at: datetime, finished: bool) -> list[Alarm]:
    """Age of the older face when fresh concrete meets it, or now if it still waits."""
    ends = {s.name: s for s in strips}
    alarms = []
    for strip in strips:
        if not strip.neighbour or strip.neighbour not in ends:
            continue
        covered = strip.neighbour_covered_at or (None if finished else at)
        if covered is None:
            continue
        age = (covered - ends[strip.neighbour].start_at) / MINUTE
        share = supply_figures().note_share.value * limits.joint.minutes
        if age > share:
            made = age > limits.joint.minutes
            says = f"The face of {strip.neighbour} is {age:.0f} min old, limit {limits.joint.minutes:g} min."
            do = (
                "Stop there and make a joint; never cover it."
                if made
                else "Move the front and call the engineer."
            )
            alarms.append(
                Alarm(
                    weight="stop",
                    kind="cold-joint",
                    about=strip.name,
                    at=covered,
                    says=says,
                    do=do,
                    who="engineer of record",
                    source=limits.joint.source,
                )
            )
    return alarms


def _movement_alarms(movement: Movement) -> list[Alarm]:
    share = supply_figures().movement_note_share
    moved, expected = movement.moved_mm, movement.expected_mm
    over = moved is not None and expected is not None and abs(moved) > expected
    half = moved is not None and expected is not None and abs(moved) >= share.value * expected
    unknown = bool(moved) and expected is None
    if not (over or half or unknown or movement.sudden_or_uneven or movement.seen):
        return []
    stop = over or movement.sudden_or_uneven
    told = "none given by the person for temporary works" if expected is None else f"{expected:g} mm"
    read = f"moved {moved:g} mm, expected {told}" if moved is not None else "seen"
    return [
        Alarm(
            weight="stop" if stop else "note",
            kind="movement",
            about=movement.place,
            at=movement.at,
            says=f"Form or prop {read}. {movement.seen}".strip(),
            do="Everybody off, stop, prop; the person for temporary works decides."
            if stop
            else "Read again at once; tell the pour leader.",
            who="temporary works",
            source=share.source,
        )
    ]


def _rate_alarm(trucks: Sequence[Truck], limits: Limits, at: datetime, finished: bool) -> list[Alarm]:
    """The planned rate is a least rate in each hour, not a mean over the pour."""
    starts = [t.discharge_start_at for t in trucks if t.discharge_start_at is not None]
    if finished or not starts or at - min(starts) < timedelta(hours=1):
        return []
    hour = [
        t
        for t in trucks
        if t.discharge_end_at is not None and timedelta() <= at - t.discharge_end_at < timedelta(hours=1)
    ]
    placed = sum(t.placed_m3 for t in hour)
    if placed >= limits.rate_m3_per_h:
        return []
    says = f"{placed:.1f} m3 in the last hour, planned {limits.rate_m3_per_h:g} m3."
    return [
        Alarm(
            weight="note",
            kind="rate",
            about="supply",
            at=at,
            says=says,
            do="Go on to a planned joint only.",
            who="pour leader",
            source="state road manual: the planned rate is a least rate in each hour",
        )
    ]


def volume_alarm(placed_m3: float, computed_m3: float, at: datetime) -> list[Alarm]:
    """Hold the placed volume against the computed one.

    Args:
        placed_m3: By tickets, less what went back.
        computed_m3: Net volume from geometry of the part that is cast.
        at: Time of the comparison.

    Returns:
        A note from 3 %, a stop from 5 %, or nothing.

    Source:
        Common practice, no source.
    """
    f = supply_figures()
    off = (placed_m3 / computed_m3 - 1) * 100.0
    if abs(off) <= f.volume_note.value:
        return []
    stop = abs(off) > f.volume_stop.value
    cause = "forms may bulge or the slab is deeper" if off > 0 else "the slab may be thin"
    return [
        Alarm(
            weight="stop" if stop else "note",
            kind="volume",
            about="pour",
            at=at,
            says=f"Placed {placed_m3:g} m3 against {computed_m3:.3f} m3 computed: {off:+.2f} %; {cause}.",
            do="Measure depth and forms now." if stop else "Measure depth at the pins.",
            who="contractor's engineer",
            source=(f.volume_stop if stop else f.volume_note).source,
        )
    ]
