"""The weather of a pour from the forecast in its folder: advice with source and doubt, never a reason to stop by itself."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from pydantic import BaseModel

from verifier.concrete.evaporation import EvaporationRate, Hour, evaporation_rate
from verifier.concrete.forecast import read_forecast
from verifier.concrete.weather import Advice, Site, window_advice
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.concreting.falsework import falsework_of
from verifier.pipeline.concreting.orders import Order, order_of
from verifier.release.reason import Reason
from verifier.store.table import table_text
from verifier.wording import counted

WEATHER_FILE = "weather.csv"
USUAL_HOURS = 4.0
FINISHING_HOURS = 3.0


class Weather(BaseModel, frozen=True, extra="forbid"):
    """Forecast and advice for the window of pour and finish. ``rates`` go with ``hours``; None where no concrete is given."""

    hours: tuple[Hour, ...]
    rates: tuple[EvaporationRate | None, ...]
    advice: tuple[Advice, ...]


def weather_of(folder: Path) -> Weather | None:
    """Read the forecast of a pour and what it asks for.

    Args:
        folder: The pour folder.

    Returns:
        Forecast and advice, or None while there is no forecast.

    Raises:
        BadInput: If the forecast or the drawing values can't be used.

    Source:
        Each advice names its own; the window of pour, finish and 12 h is common practice.
    """
    path = folder / WEATHER_FILE
    if not path.is_file():
        return None
    pour = read_pour(folder)
    hours = _forecast_in(path)
    start = pour.pour.planned_start
    finish = start + timedelta(hours=_hours_of_pour(folder, pour) + FINISHING_HOURS)
    least = min(
        (s.thickness_mm for s in pour.slabs), default=min((b.width_mm for b in pour.beams), default=150.0)
    )
    return Weather(
        hours=hours,
        rates=tuple(evaporation_rate(h) for h in hours),
        advice=window_advice(hours, start, finish, _site(folder, pour, least)),
    )


def keep_forecast(folder: Path, text: str) -> Weather:
    """Put a forecast into the folder of a pour.

    Args:
        folder: The pour folder.
        text: CSV as `verifier.concrete.forecast` reads it.

    Returns:
        The weather as it is read back.

    Raises:
        BadInput: If it can't be read; the forecast that was there stays.
    """
    read_forecast(text, where=WEATHER_FILE)
    path = folder / WEATHER_FILE
    fresh = path.with_suffix(".new")
    fresh.write_text(text, encoding="utf-8")
    fresh.replace(path)
    weather = weather_of(folder)
    assert weather is not None  # it was written just now
    return weather


def reasons_of_weather(folder: Path) -> tuple[Reason, ...]:
    """Say what the weather brings to the decision: cautions only.

    Args:
        folder: The pour folder.

    Returns:
        One caution for each kind of advice; a forecast that can't be read is one, too.

    Raises:
        BadInput: If the drawing values can't be used.
    """
    try:
        weather = weather_of(folder)
    except BadInput as error:
        return (_caution("unreadable", f"The forecast can't be read: {error.wrong}", error.todo),)
    if weather is None:
        return ()
    kinds = dict.fromkeys(a.kind for a in weather.advice)
    found = []
    for kind in kinds:
        same = [a for a in weather.advice if a.kind == kind]
        first = same[0]
        source = first.source.removesuffix(".")
        says = f"Weather: {first.says} Source: {source}."
        if first.at is not None:
            says = f"Weather at {first.at:%H:%M}: {first.says} Source: {source}."
        if first.at is not None and len(same) > 1:
            says = f"Weather at {first.at:%H:%M} and in {counted(len(same) - 1, 'other hour')}: {first.says} Source: {source}."
        found.append(_caution(kind.replace(" ", "-"), says, first.do))
    return tuple(found)


def keep_hour(folder: Path, hour: Hour) -> Weather:
    """Put one hour that somebody typed into the forecast of a pour; an hour that is there already is replaced.

    Args:
        folder: The pour folder.
        hour: The weather.

    Returns:
        The weather as it is read back.

    Raises:
        BadInput: If the forecast that is there can't be read.
    """
    path = folder / WEATHER_FILE
    there = _forecast_in(path) if path.is_file() else ()
    hours = sorted((*(h for h in there if h.at != hour.at), hour), key=lambda h: h.at)
    names = list(Hour.model_fields)
    rows = (h.model_dump(mode="json") for h in hours)
    lines = [",".join("" if row[n] is None else str(row[n]) for n in names) for row in rows]
    return keep_forecast(folder, "\n".join((",".join(names), *lines)) + "\n")


def _forecast_in(path: Path) -> tuple[Hour, ...]:
    return read_forecast(table_text(path.read_bytes(), where=str(path)), where=str(path))


def _site(folder: Path, pour: Pour, least_mm: float) -> Site:
    """What the advice depends on: the thinnest part, and the wind limits that order and falsework file give."""
    order = _order(folder, pour)
    pump = None if order is None else order.sheet.placing.pump_wind_limit_km_h
    try:
        falsework = falsework_of(folder).wind_limit_km_h
    except BadInput:
        falsework = None  # the falsework file has a reason of its own
    return Site(least_section_mm=least_mm, pump_wind_limit_km_h=pump, falsework_wind_limit_km_h=falsework)


def _order(folder: Path, pour: Pour) -> Order | None:
    """The order where there is one; a file that is not filled in yet has a reason of its own."""
    if pour.pour.concrete.supply == "site":
        return None
    try:
        return order_of(folder, pour.pour.planned_start)
    except BadInput:
        return None


def _hours_of_pour(folder: Path, pour: Pour) -> float:
    order = _order(folder, pour)
    return USUAL_HOURS if order is None else order.sheet.volume_m3 / order.sheet.rate_m3_per_h


def _caution(key: str, says: str, clears: str) -> Reason:
    return Reason(
        key=f"weather-{key}",
        room="weather",
        weight="caution",
        kind="to-know",
        says=says,
        clears=clears,
        owner="pour leader",
    )
