"""Weather of the pour: a forecast to bring, evaporation with its doubt, and advice with its source."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import streamlit as st
from pydantic import ValidationError

from ui import words
from ui.parts import forms, plain
from verifier.concrete.evaporation import Hour, weather_figures
from verifier.errors import BadInput, faults_of
from verifier.pipeline.concreting.forecasting import Weather, keep_forecast, keep_hour, weather_of
from verifier.report.supply_figures import Banded, rate_over_time
from verifier.store.table import table_text


def show(folder: Path) -> None:
    """Show the forecast and what it asks for; advice only, never an answer.

    Args:
        folder: The pour folder.
    """
    st.subheader(words.WEATHER_TITLE)
    plain.paragraph(words.WEATHER_SAYS, quiet=True)
    try:
        weather = weather_of(folder)
    except BadInput as error:
        plain.fault(words.CANT_READ, error)
        weather = None
    if weather is not None:
        _advice(weather)
        _rates(weather)
    _type(folder)
    given = st.file_uploader(words.WEATHER_FILE, type=["csv"], key="weather-file")
    if given is not None and st.button(words.WEATHER_KEEP, width="stretch"):
        try:
            keep_forecast(folder, table_text(given.getvalue(), where=given.name))
        except BadInput as error:
            plain.fault(words.CLOSE_NOT_KEPT, error)
        else:
            st.rerun()


def _type(folder: Path) -> None:
    """One hour typed by somebody who has read it."""
    with st.expander(words.WEATHER_TYPE, key="weather-type", on_change="rerun"):
        now = datetime.now().astimezone().replace(minute=0, second=0, microsecond=0)
        day = st.date_input(words.WEATHER_DAY, value=now.date(), key="weather-day")
        hour = st.time_input(words.LOG_FIELD["at"], value=now.time(), step=3600, key="weather-hour")
        read = {
            name: forms.number(folder, "weather", name, words.LOG_FIELD[name])
            for name in ("air_c", "humidity_percent", "wind_km_h", "concrete_c")
        }
        rain = forms.number(folder, "weather", "rain_mm", words.WEATHER_RAIN)
        whole = all(read[n] is not None for n in ("air_c", "humidity_percent", "wind_km_h"))
        if forms.button(words.WEATHER_KEEP_HOUR, whole=whole, key="weather-keep"):
            at = datetime.combine(day, hour, now.tzinfo)
            try:
                keep_hour(folder, Hour.model_validate(read | {"at": at, "rain_mm": rain or 0.0}))
            except ValidationError as error:
                plain.notice("inconclusive", words.CLOSE_NOT_KEPT, words.said(faults_of(error)))
            else:
                forms.forget(folder, "weather")
                st.rerun()


def _advice(weather: Weather) -> None:
    if not weather.advice:
        plain.verdict_line("conforming", "", words.WEATHER_NONE)
    seen: dict[str, int] = {}
    for advice in weather.advice:
        seen[advice.kind] = seen.get(advice.kind, 0) + 1
    for kind, count in seen.items():
        first = next(a for a in weather.advice if a.kind == kind)
        at = f"{first.at:%H:%M}: " if first.at is not None else ""
        more = f" (+{count - 1} h)" if count > 1 else ""
        plain.verdict_line(
            "inconclusive",
            f"{words.said(first.do).removesuffix('.')} · {words.said(first.source)}",
            f"{at}{words.said(first.says)}{more}",
        )


def _rates(weather: Weather) -> None:
    rates = [
        Banded(f"{h.at:%H}", r.rate, r.low, r.high)
        for h, r in zip(weather.hours, weather.rates, strict=True)
        if r is not None
    ]
    if not rates:
        return
    act = weather_figures().evaporation.act_kg_m2_h
    worst = max(rates, key=lambda r: r.high)
    plain.figure(
        rate_over_time(rates, act, words=(words.WEATHER_RATE, words.WEATHER_GUIDE)),
        words.WEATHER_ALT.format(
            value=f"{worst.value:.2f}", low=f"{worst.low:.2f}", high=f"{worst.high:.2f}"
        ),
        most_px=560,
    )
