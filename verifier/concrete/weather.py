"""Weather of the pour: evaporation with its doubt, heat, cold, rain, frost, wind. Advice, never a release criterion alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import cache
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, Field

from verifier.codes.cited import Cited, Figure, read_data
from verifier.errors import BadInput

Finite = Annotated[float, Field(allow_inf_nan=False)]
FREEZING_C = 0.0


class Evaporation(Cited, frozen=True):
    """Limits of the evaporation rate and the doubt of the formula."""

    doubt_percent: float
    act_kg_m2_h: float
    low_bleed_kg_m2_h: float


class SectionTemperature(BaseModel, frozen=True, extra="forbid"):
    """Least concrete temperature for sections thinner than a size."""

    below_mm: float | None = None
    celsius: float


class ColdPlacing(Cited, frozen=True):
    """Least concrete temperature at placing."""

    steps: tuple[SectionTemperature, ...]


class WeatherFigures(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``data/weather.toml``."""

    evaporation: Evaporation
    hot_air: Figure
    hot_concrete: Figure
    cold_air: Figure
    cold_placing: ColdPlacing
    freezing_strength: Figure
    after_finish: Figure


class Hour(BaseModel, frozen=True, extra="forbid"):
    """Weather at a time. ``concrete_c`` is the concrete as placed; unknown is left out, and evaporation then too."""

    at: AwareDatetime
    air_c: Annotated[float, Field(ge=-60, le=60)]
    humidity_percent: Annotated[float, Field(ge=0, le=100)]
    wind_km_h: Annotated[float, Field(ge=0, le=400)]
    rain_mm: Annotated[float, Field(ge=0, le=500)] = 0.0
    rain_chance_percent: Annotated[float, Field(ge=0, le=100)] | None = None
    concrete_c: Annotated[float, Field(ge=-10, le=80)] | None = None


class EvaporationRate(BaseModel, frozen=True, extra="forbid"):
    """Rate in kg/m2/h with the range in which the true rate may lie."""

    rate: float
    low: float
    high: float
    source: str


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


@cache
def weather_figures() -> WeatherFigures:
    """Return the figures of weather.

    Returns:
        The checked data.
    """
    return read_data("verifier.concrete", "weather.toml", WeatherFigures)


def evaporation_kg_m2_h(concrete_c: float, air_c: float, humidity: float, wind_km_h: float) -> float:
    """Evaporation of surface moisture, SI form.

    Args:
        concrete_c: Concrete temperature, C.
        air_c: Air temperature, C.
        humidity: Relative humidity as a part of one.
        wind_km_h: Wind 0.5 m above the surface, km/h.

    Returns:
        Rate in kg/m2/h; below zero means dew.

    Raises:
        BadInput: If a figure is outside the range of the formula.

    Source:
        ACI Materials Journal 95-M34 (1998), after the chart of ACI 305R.
    """
    if not (concrete_c > -18 and air_c > -18 and 0 <= humidity <= 1 and wind_km_h >= 0):
        raise BadInput(
            f"Concrete {concrete_c:g} C, air {air_c:g} C, humidity {humidity:g}, wind {wind_km_h:g} km/h can't be used.",
            where="evaporation",
            todo="Write temperatures above -18 C, humidity from 0 to 1, wind from 0.",
        )
    vapour: float = (concrete_c + 18) ** 2.5 - humidity * (air_c + 18) ** 2.5
    return 5.0 * vapour * (wind_km_h + 4) * 1e-6


def evaporation_lb_ft2_h(concrete_f: float, air_f: float, humidity: float, wind_mph: float) -> float:
    """Evaporation of surface moisture, inch-pound form.

    Args:
        concrete_f: Concrete temperature, F.
        air_f: Air temperature, F.
        humidity: Relative humidity as a part of one.
        wind_mph: Wind 0.5 m above the surface, mph.

    Returns:
        Rate in lb/ft2/h.

    Raises:
        BadInput: If a figure is outside the range of the formula.

    Source:
        ACI Materials Journal 95-M34 (1998), from memory.
    """
    if not (concrete_f > 0 and air_f > 0 and 0 <= humidity <= 1 and wind_mph >= 0):
        raise BadInput(
            "A figure is outside the formula.",
            where="evaporation",
            todo="Write temperatures above 0 F, humidity from 0 to 1.",
        )
    vapour: float = concrete_f**2.5 - humidity * air_f**2.5
    return vapour * (1 + 0.4 * wind_mph) * 1e-6


def evaporation_rate(hour: Hour) -> EvaporationRate | None:
    """Evaporation at an hour with its doubt.

    Args:
        hour: Weather with concrete temperature.

    Returns:
        Rate and range, or None while the concrete temperature is unknown.
    """
    if hour.concrete_c is None:
        return None
    rule = weather_figures().evaporation
    rate = evaporation_kg_m2_h(hour.concrete_c, hour.air_c, hour.humidity_percent / 100.0, hour.wind_km_h)
    off = abs(rate) * rule.doubt_percent / 100.0
    return EvaporationRate(rate=rate, low=rate - off, high=rate + off, source=f"{rule.source}. {rule.note}")


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
