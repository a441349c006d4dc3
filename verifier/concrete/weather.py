"""Weather of the pour: evaporation with its doubt, heat, cold, rain, frost, wind. Advice, never a release criterion alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, Field

from verifier.concrete.evaporation import Hour, evaporation_rate, weather_figures
from verifier.errors import BadInput

FREEZING_C = 0.0


class Advice(BaseModel, frozen=True, extra="forbid"):
    """One advice with its source. ``kind`` is a stable key."""

    kind: Literal["evaporation", "hot", "cold", "rain", "frost", "wind", "not covered"]
    at: AwareDatetime | None
    says: str
    do: str
    source: str


class Site(BaseModel, frozen=True, extra="forbid"):
    """What the advice depends on: least section, low-bleed mix, and wind limits of the pump and of the falsework."""

    least_section_mm: Annotated[float, Field(gt=0)]
    low_bleed: bool = False
    pump_wind_limit_km_h: Annotated[float, Field(gt=0)] | None = None
    falsework_wind_limit_km_h: Annotated[float, Field(gt=0)] | None = None


def advice_for(hour: Hour, site: Site) -> tuple[Advice, ...]:
    """Say what the weather of an hour asks for.

    Args:
        hour: Weather.
        site: What it depends on.

    Returns:
        Advice with sources; empty if there is none.
    """
    f = weather_figures()
    found = []
    rate = evaporation_rate(hour)
    limit = f.evaporation.low_bleed_kg_m2_h if site.low_bleed else f.evaporation.act_kg_m2_h
    if rate is not None and rate.high >= limit:
        says = (
            f"Evaporation about {rate.rate:.2f} kg/m2/h ({rate.low:.2f} to {rate.high:.2f}), guide {limit:g}."
        )
        found.append(
            ("evaporation", says, "Fog, wind break or shade, or wait; curing stuff at hand.", rate.source)
        )
    if hour.air_c >= f.hot_air.value:
        says = f"Air {hour.air_c:g} C."
        found.append(
            ("hot", says, "Cool the mix, shade trucks and deck, pour in the cool hours.", f.hot_air.source)
        )
    if hour.concrete_c is not None and hour.concrete_c > f.hot_concrete.value:
        says = f"Concrete {hour.concrete_c:g} C."
        found.append(("hot", says, "Don't place it; the limit holds at discharge.", f.hot_concrete.source))
    found += _cold(hour, site)
    if hour.rain_mm > 0 or (hour.rain_chance_percent or 0) >= 50:
        says = f"Rain {hour.rain_mm:g} mm."
        if hour.rain_chance_percent is not None:
            says = f"Rain {hour.rain_mm:g} mm, chance {hour.rain_chance_percent:g} %."
        do = "Sheets at hand, no working of the surface under water; emergency joint ready. Rain opens checked items again."
        found.append(("rain", says, do, "trade, common practice"))
    found += _wind(hour, site)
    return tuple(Advice(kind=k, at=hour.at, says=s, do=d, source=src) for k, s, d, src in found)


def _cold(hour: Hour, site: Site) -> list[tuple[str, str, str, str]]:
    f = weather_figures()
    found = []
    least = next(
        s.celsius for s in f.cold_placing.steps if s.below_mm is None or site.least_section_mm < s.below_mm
    )
    if hour.air_c < f.cold_air.value:
        found.append(
            (
                "cold",
                f"Air {hour.air_c:g} C.",
                "Warm the mix, cover at once, no ice in the forms.",
                f.cold_air.source,
            )
        )
    if hour.concrete_c is not None and hour.concrete_c < least:
        says = f"Concrete {hour.concrete_c:g} C, at least {least:g} C for {site.least_section_mm:g} mm."
        found.append(("cold", says, "Don't place it; warm the mix.", f.cold_placing.source))
    if hour.air_c <= FREEZING_C:
        says = f"Frost, {hour.air_c:g} C."
        do = f"Keep it from freezing until {f.freezing_strength.value:g} MPa is shown."
        found.append(("frost", says, do, f.freezing_strength.source))
    return found


def _wind(hour: Hour, site: Site) -> list[tuple[str, str, str, str]]:
    found = []
    if site.pump_wind_limit_km_h is not None and hour.wind_km_h >= site.pump_wind_limit_km_h:
        says = f"Wind {hour.wind_km_h:g} km/h, pump limit {site.pump_wind_limit_km_h:g}."
        found.append(("wind", says, "Fold the boom; place by the second way or wait.", "maker of the pump"))
    if site.falsework_wind_limit_km_h is not None and hour.wind_km_h >= site.falsework_wind_limit_km_h:
        says = f"Wind {hour.wind_km_h:g} km/h, falsework limit {site.falsework_wind_limit_km_h:g}."
        found.append(
            ("wind", says, "Have bracing and permit looked at again before concrete.", "falsework design")
        )
    return found


def window_advice(hours: Sequence[Hour], start: datetime, finish: datetime, site: Site) -> tuple[Advice, ...]:
    """Say what the weather of the whole window asks for: pour, finish and the hours after.

    Args:
        hours: Forecast, any order.
        start: First concrete.
        finish: End of finishing.
        site: What the advice depends on.

    Returns:
        Advice in order of time; hours that no forecast covers are said and not taken as fair.

    Raises:
        BadInput: If the finish is before the start.

    Source:
        Window of pour, finish and 12 h: common practice.
    """
    if finish <= start:
        raise BadInput("The finish is not after the start.", where="weather", todo="Correct the times.")
    f = weather_figures()
    end = finish + timedelta(hours=f.after_finish.value)
    inside = sorted((h for h in hours if start - timedelta(hours=1) < h.at <= end), key=lambda h: h.at)
    found = [a for h in inside for a in advice_for(h, site)]
    ends = [start, *(h.at for h in inside), end]
    holes = [(a, b) for a, b in pairwise(ends) if b - a > timedelta(hours=3)]
    for a, b in holes:
        says = f"No forecast from {a:%Y-%m-%d %H:%M} to {b:%Y-%m-%d %H:%M}."
        found.append(
            Advice(
                kind="not covered",
                at=a,
                says=says,
                do="Read the weather for these hours.",
                source="common practice",
            )
        )
    if inside and all(h.concrete_c is None for h in inside):
        found.append(
            Advice(
                kind="not covered",
                at=None,
                says="The temperature of the concrete is not given, so no evaporation is worked out.",
                do="Write concrete_c as the plant expects it, or type the hour with it.",
                source=f.evaporation.source,
            )
        )
    if site.pump_wind_limit_km_h is None:
        says = "The wind limit of the pump is not given."
        found.append(
            Advice(
                kind="not covered",
                at=None,
                says=says,
                do="Read it in the maker's manual.",
                source="maker of the pump",
            )
        )
    return tuple(found)
