"""Plan of the supply: loads, interval, trucks, age at discharge, strips and the margin to a cold joint."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.concrete.quantities import loads_for
from verifier.concrete.supply import NamedMinutes, supply_figures
from verifier.errors import BadInput
from verifier.wording import counted

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Minutes = Annotated[float, Field(ge=0, allow_inf_nan=False)]
SLACK = 1e-9


class RoundTrip(BaseModel, frozen=True, extra="forbid"):
    """Legs of one truck in minutes, in order. The age counts from loading to the end of discharge."""

    load_min: Minutes
    out_min: Minutes
    wait_min: Minutes
    discharge_min: Positive
    wash_min: Minutes
    back_min: Minutes

    @property
    def total_min(self) -> float:
        """The whole round."""
        return (
            self.load_min + self.out_min + self.wait_min + self.discharge_min + self.wash_min + self.back_min
        )

    @property
    def age_at_discharge_end_min(self) -> float:
        """Age of the concrete when the truck is empty."""
        return self.load_min + self.out_min + self.wait_min + self.discharge_min


class SupplyPlan(BaseModel, frozen=True, extra="forbid"):
    """Supply for a pour. ``held_*`` are what the given number of trucks really keeps up."""

    volume_m3: Positive
    truck_m3: Positive
    loads: int
    interval_min: float
    round_trip: RoundTrip
    trucks_needed: int
    trucks_with_spare: int
    trucks: int
    held_interval_min: float
    held_rate_m3_per_h: float
    duration_min: float
    age_min: float
    age_says: Literal["within", "note", "over"]
    age_limit: NamedMinutes


class StripMargin(BaseModel, frozen=True, extra="forbid"):
    """Contact age of a front and its margin to the joint limit."""

    strip_m3: float
    contact_age_min: float
    late_min: float
    limit_min: float
    margin_min: float
    says: Literal["within", "note and call", "joint made"]
    source: str


class Strip(BaseModel, frozen=True, extra="forbid"):
    """One strip of the sequence."""

    number: int
    from_m: float
    to_m: float
    volume_m3: float
    start_min: float
    end_min: float


def trucks_for(round_trip_min: float, interval_min: float) -> int:
    """Trucks that keep an interval.

    Args:
        round_trip_min: Whole round of one truck.
        interval_min: Between arrivals.

    Returns:
        Trucks, without a spare.

    Source:
        Published example: round of 49 min at 15 min takes 4, with one spare 5. Rule is common practice.
    """
    return math.ceil(round_trip_min / interval_min - SLACK)


def supply_plan(
    volume_m3: float,
    rate_m3_per_h: float,
    truck_m3: float,
    round_trip: RoundTrip,
    limit: NamedMinutes,
    *,
    trucks: int | None = None,
    pumps: int = 1,
) -> SupplyPlan:
    """Plan loads, interval and trucks for a rate.

    Args:
        volume_m3: To place.
        rate_m3_per_h: Rate that the gang can place.
        truck_m3: One truck.
        round_trip: Legs of a truck.
        limit: Age limit of the standard that governs.
        trucks: Trucks at hand; without it as many as needed, without spare.
        pumps: Places at which trucks are emptied at one time.

    Returns:
        The plan, with the age at the end of discharge against its limit.

    Raises:
        BadInput: If a figure can't be used, or the trucks can't be emptied at that rate.

    Source:
        Arithmetic of the round; rule for spares is common practice.
    """
    least = min(volume_m3, rate_m3_per_h, truck_m3, pumps, 1 if trucks is None else trucks)
    if not (math.isfinite(least) and least > 0):
        raise BadInput(
            "Volume, rate, truck size, trucks and pumps must be above zero.",
            where="pour plan",
            todo="Correct them.",
        )
    interval = truck_m3 / rate_m3_per_h * 60.0
    if round_trip.discharge_min > interval * pumps + SLACK:
        raise BadInput(
            f"A truck takes {round_trip.discharge_min:g} min to empty, the rate asks for one each {interval:.1f} min at {counted(pumps, 'pump')}.",
            where="pour plan",
            todo="Lower the rate, or place with one pump more.",
        )
    loads = loads_for(volume_m3, truck_m3)
    needed = min(trucks_for(round_trip.total_min, interval), loads)
    have = needed if trucks is None else trucks
    held = interval if have >= loads else max(interval, round_trip.total_min / have)
    rate = truck_m3 / held * 60.0
    age = round_trip.age_at_discharge_end_min
    return SupplyPlan(
        volume_m3=volume_m3,
        truck_m3=truck_m3,
        loads=loads,
        interval_min=interval,
        round_trip=round_trip,
        trucks_needed=needed,
        trucks_with_spare=needed + 1,
        trucks=have,
        held_interval_min=held,
        held_rate_m3_per_h=rate,
        duration_min=volume_m3 / rate * 60.0,
        age_min=age,
        age_says=age_says(age, limit.minutes),
        age_limit=limit,
    )


def age_says(age_min: float, limit_min: float) -> Literal["within", "note", "over"]:
    """Hold the age of a load against its limit.

    Args:
        age_min: From first contact of cement and water.
        limit_min: Limit of the standard.

    Returns:
        ``over`` beyond the limit, ``note`` from three quarters of it on.
    """
    if age_min > limit_min:
        return "over"
    return "note" if age_min >= supply_figures().note_share.value * limit_min else "within"


def strip_margin(
    front_m: float,
    strip_m: float,
    thickness_mm: float,
    rate_m3_per_h: float,
    limit: NamedMinutes,
    *,
    late_min: float = 0.0,
) -> StripMargin:
    """Margin to a cold joint when a front waits for the next strip.

    Args:
        front_m: Length of the front.
        strip_m: Width of a strip.
        thickness_mm: Depth of the slab.
        rate_m3_per_h: Rate of placing.
        limit: Time until the face must be covered.
        late_min: How late a truck is.

    Returns:
        Contact age and margin; beyond three quarters of the limit the front is moved and the engineer called.

    Raises:
        BadInput: If a figure can't be used.

    Source:
        ACI 309R for the criterion (the lower concrete still answers the vibrator); the minutes are common practice.
    """
    if not (front_m > 0 and strip_m > 0 and thickness_mm > 0 and rate_m3_per_h > 0 and late_min >= 0):
        raise BadInput(
            "Front, strip, depth and rate must be above zero.", where="cold joint", todo="Correct them."
        )
    volume = front_m * strip_m * thickness_mm / 1000.0
    contact = volume / rate_m3_per_h * 60.0
    age = contact + late_min
    says: Literal["within", "note and call", "joint made"] = "within"
    if age > limit.minutes:
        says = "joint made"
    elif age > supply_figures().note_share.value * limit.minutes:
        says = "note and call"
    return StripMargin(
        strip_m3=volume,
        contact_age_min=contact,
        late_min=late_min,
        limit_min=limit.minutes,
        margin_min=limit.minutes - age,
        says=says,
        source=limit.source,
    )


def strips(
    length_m: float, front_m: float, strip_m: float, thickness_mm: float, rate_m3_per_h: float
) -> tuple[Strip, ...]:
    """Cut a slab into strips, in the order of placing.

    Args:
        length_m: Length of the slab across the strips.
        front_m: Length of each strip.
        strip_m: Width of each strip; the last one may be narrower.
        thickness_mm: Depth of the slab.
        rate_m3_per_h: Rate of placing.

    Returns:
        Strips with volume, start and end in minutes from the first concrete.

    Raises:
        BadInput: If a figure can't be used.
    """
    if not (length_m > 0 and front_m > 0 and strip_m > 0 and thickness_mm > 0 and rate_m3_per_h > 0):
        raise BadInput("Lengths, depth and rate must be above zero.", where="strips", todo="Correct them.")
    count = math.ceil(length_m / strip_m - SLACK)
    found, start = [], 0.0
    for number in range(1, count + 1):
        from_m, to_m = (number - 1) * strip_m, min(number * strip_m, length_m)
        volume = (to_m - from_m) * front_m * thickness_mm / 1000.0
        end = start + volume / rate_m3_per_h * 60.0
        found.append(
            Strip(number=number, from_m=from_m, to_m=to_m, volume_m3=volume, start_min=start, end_min=end)
        )
        start = end
    return tuple(found)


def joint_place_fault(
    distance_m: float, span_m: float, crossing_beam_m: Sequence[tuple[float, float]] = ()
) -> str:
    """Say what is wrong with the place of a planned joint.

    Args:
        distance_m: From one support.
        span_m: Clear span.
        crossing_beam_m: Place and width of beams that meet the joint's girder; the joint keeps two widths off.

    Returns:
        A sentence, or an empty text. The drawing governs in any case.

    Raises:
        BadInput: If the place is outside the span.

    Source:
        ACI 318 (older editions), 6.4.4.
    """
    zone = supply_figures().joint_zone
    if not 0 <= distance_m <= span_m:
        raise BadInput(
            f"{distance_m:g} m is outside the span of {span_m:g} m.", where="joint", todo="Correct the place."
        )
    if not zone.from_span - SLACK <= distance_m / span_m <= zone.to_span + SLACK:
        return f"{distance_m:g} m is outside the middle third of {span_m:g} m, {zone.source}"
    for place, width in crossing_beam_m:
        if abs(distance_m - place) < 2 * width:
            return f"{distance_m:g} m is nearer than two widths to the beam at {place:g} m, {zone.source}"
    return ""
