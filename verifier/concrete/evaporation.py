"""How fast a fresh surface dries, by a published formula with its stated doubt, and the figures of weather."""

from __future__ import annotations

from functools import cache
from typing import Annotated

from pydantic import AwareDatetime, BaseModel, Field

from verifier.codes.cited import Cited, Figure, read_data
from verifier.errors import BadInput

Finite = Annotated[float, Field(allow_inf_nan=False)]


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
