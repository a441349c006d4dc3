"""Earliest times for forms and props by the days of a code, which only stand in for strength."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Literal

from pydantic import AwareDatetime, BaseModel

from verifier.errors import BadInput, Refusal
from verifier.formwork.figures import LiveDeadDays, SpanDays, striking_figures

Cement = Literal["ordinary", "blended"]
Part = Literal["sides", "slab soffit, props stay", "beam soffit, props stay", "slab props", "beam props"]
CAUTION = (
    "Days only stand in for strength. The engineer of record says when forms and props go; "
    "props that carry floors above stay as the propping plan says."
)


class StrikingDate(BaseModel, frozen=True, extra="forbid"):
    """Earliest time for one part by the days of a code."""

    part: Part
    hours: float
    earliest: AwareDatetime
    source: str
    caution: str = CAUTION


def is456_dates(
    pour_end: datetime,
    *,
    slab_span_m: float | None,
    beam_span_m: float | None,
    mean_temperature_c: float,
    cement: Cement = "ordinary",
) -> tuple[StrikingDate, ...] | Refusal:
    """Earliest striking times by days.

    Args:
        pour_end: End of the pour, with zone.
        slab_span_m: Largest span of the slab; None if there is none.
        beam_span_m: Largest span of the beams; None if there is none.
        mean_temperature_c: Mean of the days since the pour. Below 15 C the days of the code don't apply.
        cement: Blended cement takes 10/7 of the days, rounded up to whole days.

    Returns:
        One date per part, or a refusal where the days don't apply.

    Source:
        IS 456:2000, 11.3.1; blended cement by an Indian works specification.
    """
    rule = striking_figures().is456
    if mean_temperature_c < rule.least_temperature_c:
        return Refusal(
            "too-cold-for-days",
            f"The days of {rule.standard} rest on {rule.least_temperature_c:g} C or more; the mean was "
            f"{mean_temperature_c:g} C. Show the strength on specimens cured beside the slab.",
        )
    hours: list[tuple[Part, float]] = [("sides", rule.sides_hours)]
    if slab_span_m is not None:
        hours.append(("slab soffit, props stay", _days(rule.slab_soffit_days, cement) * 24.0))
        hours.append(("slab props", _days(_by_span(rule.slab_props, slab_span_m), cement) * 24.0))
    if beam_span_m is not None:
        hours.append(("beam soffit, props stay", _days(rule.beam_soffit_days, cement) * 24.0))
        hours.append(("beam props", _days(_by_span(rule.beam_props, beam_span_m), cement) * 24.0))
    return tuple(
        StrikingDate(part=part, hours=h, earliest=pour_end + timedelta(hours=h), source=rule.source)
        for part, h in hours
    )


def _days(days: int, cement: Cement) -> int:
    blended = striking_figures().blended
    return (
        days if cement == "ordinary" else math.ceil(Fraction(days * blended.numerator, blended.denominator))
    )


def _by_span(rows: Sequence[SpanDays], span_m: float) -> int:
    _span(span_m)
    return next(r.days for r in rows if r.span_up_to_m is None or span_m <= r.span_up_to_m)


def _span(span_m: float) -> None:
    if not (math.isfinite(span_m) and span_m > 0):
        raise BadInput(f"The span is {span_m:g} m.", where="striking", todo="Write the clear span in metres.")


def as3600_dates(
    pour_end: datetime, *, slab: bool, beams: bool, mean_temperature_c: float
) -> tuple[StrikingDate, ...] | Refusal:
    """Earliest striking times by days for the mean air temperature.

    Args:
        pour_end: End of the pour, with zone.
        slab: Whether there is a slab.
        beams: Whether there are beams.
        mean_temperature_c: Mean of the air since the pour. At 5 C or below the days don't apply.

    Returns:
        One date per part, or a refusal where the days don't apply.

    Source:
        AS 3610-1995, table 5.4.1, and AS 3600, 17.6.2, from memory.
    """
    rule = striking_figures().as3600
    row = next((r for r in rule.rows if mean_temperature_c > r.above_c), None)
    if row is None:
        return Refusal(
            "too-cold-for-days",
            f"The days on file for {rule.standard} rest on more than {rule.rows[-1].above_c:g} C; the mean was "
            f"{mean_temperature_c:g} C. Show the strength on specimens cured beside the slab.",
        )
    days: list[tuple[Part, int]] = [("sides", row.sides_days)]
    if slab:
        days += [("slab soffit, props stay", row.soffit_days), ("slab props", row.props_days)]
    if beams:
        days += [("beam soffit, props stay", row.soffit_days), ("beam props", row.props_days)]
    return tuple(
        StrikingDate(
            part=part,
            hours=24.0 * d,
            earliest=pour_end + timedelta(days=d),
            source=f"{rule.source}. {rule.note}",
        )
        for part, d in days
    )


def bs8110_dates(
    pour_end: datetime, *, slab: bool, beams: bool, surface_c: float, cement: Cement = "ordinary"
) -> tuple[StrikingDate, ...] | Refusal:
    """Earliest striking times by the surface temperature of the concrete.

    A surface warmer than 16 C counts as 16 C, so that no period is shorter than that of the table's warm column.

    Args:
        pour_end: End of the pour, with zone.
        slab: Whether there is a slab.
        beams: Whether there are beams.
        surface_c: Mean temperature of the concrete's surface.
        cement: The periods are those of Portland cement.

    Returns:
        One date per part, or a refusal where the periods don't apply.

    Source:
        BS 8110-1:1997, table 6.2, from memory.
    """
    rule = striking_figures().bs8110
    if cement == "blended":
        return Refusal(
            "other-cement",
            f"The periods of {rule.standard} are for Portland cement. Show the strength on specimens cured beside the slab.",
        )
    if surface_c < rule.least_c:
        return Refusal(
            "too-cold-for-days",
            f"The periods of {rule.standard} rest on {rule.least_c:g} C or more; the mean was {surface_c:g} C. Show the strength "
            "on specimens cured beside the slab.",
        )
    below = min(surface_c, rule.warm_c) + rule.offset_c
    hours: list[tuple[Part, float]] = [("sides", math.ceil(rule.sides_hours / below))]
    if slab:
        hours.append(("slab soffit, props stay", math.ceil(rule.slab_soffit_days / below) * 24.0))
        hours.append(("slab props", math.ceil(rule.slab_props_days / below) * 24.0))
    if beams:
        hours.append(("beam soffit, props stay", math.ceil(rule.beam_soffit_days / below) * 24.0))
        hours.append(("beam props", math.ceil(rule.beam_props_days / below) * 24.0))
    source = f"{rule.source}. {rule.note}"
    return tuple(
        StrikingDate(part=part, hours=h, earliest=pour_end + timedelta(hours=h), source=source)
        for part, h in hours
    )


def aci347_days(element: Literal["slab", "beam"], span_m: float, *, live_above_dead: bool) -> int:
    """Days before soffit forms and props go where no strength is specified.

    Args:
        element: Slab (one way), or beam and girder soffit.
        span_m: Clear span between supports.
        live_above_dead: Whether the structural live load exceeds the dead load.

    Returns:
        Number of days that count, see `aci347_date`.

    Raises:
        BadInput: If the span is not above zero.

    Source:
        ACI 347R-14, table of stripping times. The column for live load below dead load has the longer times.
    """
    _span(span_m)
    rows: tuple[LiveDeadDays, ...] = getattr(striking_figures().aci347, element)
    row = next(r for r in rows if r.span_up_to_m is None or span_m <= r.span_up_to_m)
    return row.live_above_dead if live_above_dead else row.live_below_dead


def aci347_date(pour_end: datetime, days: int, daily_air_c: Sequence[float]) -> datetime | Refusal:
    """Date on which enough days above 10 C have passed.

    Args:
        pour_end: End of the pour.
        days: Days that must count.
        daily_air_c: Mean air temperature around the concrete, one per day from the first 24 hours on.

    Returns:
        The time, or a refusal that says how many days still lack.

    Source:
        ACI 347R-14: time is the sum of days, not needed in a row, above 10 C (50 F).
    """
    counted = 0
    for number, air_c in enumerate(daily_air_c, start=1):
        counted += air_c > striking_figures().aci347.counted_above_c
        if counted == days:
            return pour_end + timedelta(days=number)
    return Refusal(
        "days-not-reached",
        f"Days above 10 C on record: {counted} of {days}. Go on with the temperature log, or show the strength.",
    )
