"""Alarms of the pour as a whole. Note: tell. Stop: hold the front until the named person decides."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from verifier.concrete.evaporation import evaporation_kg_m2_h, weather_figures
from verifier.concrete.order import OrderSheet
from verifier.concrete.pour_log import Entry, HourReading, Movement, Strip, Truck
from verifier.concrete.supply import NamedMinutes, supply_figures
from verifier.concrete.truck_alarms import Alarm, Limits, alarms_of_truck

MINUTE = timedelta(minutes=1)


def limits_of(
    sheet: OrderSheet, *, age: NamedMinutes, joint: NamedMinutes, slump_rule: str, computed_m3: float
) -> Limits:
    """Take the limits of the log from the order.

    Args:
        sheet: The order.
        age: Age limit of the standard that governs.
        joint: Limit for an uncovered face.
        slump_rule: Standard of the slump tolerance.
        computed_m3: Net volume from geometry.

    Returns:
        What the log is held against.
    """
    return Limits(
        mix=sheet.mix_name,
        ordered_slump_mm=sheet.slump_mm,
        slump_rule=slump_rule,
        age=age,
        joint=joint,
        interval_min=sheet.interval_min,
        rate_m3_per_h=sheet.rate_m3_per_h,
        computed_m3=computed_m3,
        hottest_c=sheet.hottest_c,
        coldest_c=sheet.coldest_c,
    )


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
    alarms += [a for r in found if isinstance(r, HourReading) and r.at <= at for a in _reading_alarms(r)]
    alarms += _rate_alarm(trucks, limits, at, pour_finished)
    alarms += volume_alarm(sum(t.placed_m3 for t in trucks), limits.computed_m3, at) if pour_finished else []
    return tuple(sorted(alarms, key=lambda a: (a.weight != "stop", a.at, a.kind)))


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
            says=f"Form or prop {read}. Seen: {movement.seen}" if movement.seen else f"Form or prop {read}.",
            do="Everybody off, stop, prop; the person for temporary works decides."
            if stop
            else "Read again at once; tell the pour leader.",
            who="temporary works",
            source=share.source,
        )
    ]


def _reading_alarms(reading: HourReading) -> list[Alarm]:
    """Evaporation, rain, heaps and displaced steel of an hourly reading."""
    f, air = supply_figures(), weather_figures().evaporation
    found: list[tuple[bool, str, str, str, str]] = []
    if reading.concrete_c is not None:
        rate = evaporation_kg_m2_h(
            reading.concrete_c, reading.air_c, reading.humidity_percent / 100.0, reading.wind_km_h
        )
        if rate >= air.low_bleed_kg_m2_h:
            says = f"Evaporation about {rate:.2f} kg/m2/h, true rate within {air.doubt_percent:g} %."
            found.append(
                (rate >= air.act_kg_m2_h, "evaporation", says, "Fog, wind break, or wait.", air.source)
            )
    if reading.rain != "none":
        stop = reading.rain != "first drops"
        do = "Make a stop end with dowels; joint." if stop else "Sheets out; no working of the surface."
        found.append((stop, "rain", f"Rain: {reading.rain}.", do, "trade, common practice"))
    if reading.highest_heap_mm > f.heap.value:
        says = f"Heap {reading.highest_heap_mm:g} mm over level, at most {f.heap.value:g} mm."
        found.append((True, "heap", says, "Spread it before more is placed.", f.heap.source))
    if reading.steel_out_of_place_m > 0:
        stop = reading.steel_out_of_place_m > f.steel_out.value
        says = f"Steel or box out of place over {reading.steel_out_of_place_m:g} m."
        found.append(
            (stop, "steel", says, "Stop the strip." if stop else "Put it back; photo.", f.steel_out.source)
        )
    return [
        Alarm(
            weight="stop" if stop else "note",
            kind=kind,
            about="deck",
            at=reading.at,
            says=says,
            do=do,
            who="contractor's engineer" if stop else "pour leader",
            source=source,
        )
        for stop, kind, says, do, source in found
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
