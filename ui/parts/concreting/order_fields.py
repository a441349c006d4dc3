"""The fields of the order of concrete, each kept in order.toml as soon as it is typed: what, who, placing, supply."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Final

import streamlit as st

from ui import words
from ui.parts import forms, plain
from verifier.concrete.supply import supply_figures
from verifier.drawing.pour import Pour
from verifier.errors import BadInput
from verifier.pipeline.concreting.order_file import keep_order, written_order

_TEXTS: Final = {
    "grade", "cement", "admixture", "exposure_class", "chloride_class", "mix_name", "address", "gate_contact", "truck_limits",
    "balance_called_by", "may_refuse", "may_order_water", "washing_place", "sampling_by", "second_plant", "placing.pump",
    "placing.second_way", "placing.lights",
}  # fmt: skip
_WHOLE: Final = {
    "samples_planned", "specimens_planned", "placing.vibrators", "placing.spare_vibrators", "supply.trucks", "supply.pumps",
}  # fmt: skip
_LEGS: Final = ("load_min", "out_min", "wait_min", "discharge_min", "wash_min", "back_min")
_WHAT: Final = (
    "grade", "volume_m3", "slump_mm", "slump_at", "max_aggregate_mm", "cement", "admixture", "retarder_hours", "exposure_class",
    "chloride_class", "max_water_cement", "min_cement_kg_m3", "mix_name", "address", "gate_contact", "balance_called_by",
    "may_refuse", "may_order_water", "washing_place", "sampling_by", "samples_planned", "specimens_planned", "people_present",
    "second_plant", "second_plant_accepted_by_engineer",
)  # fmt: skip
_SUPPLY: Final = (
    "rate_m3_per_h", "truck_m3", "interval_min", "supply.trucks", "truck_limits", "lead_time_h", "placing.pump",
    "placing.pump_reach_m", "placing.pump_wind_limit_km_h", "placing.hose_m", "placing.line_diameter_mm", "supply.pumps",
    "placing.second_way", "placing.vibrators", "placing.spare_vibrators", "placing.lights", "supply.front_m", "supply.strip_m",
    "supply.age", "supply.slump", "supply.joint",
)  # fmt: skip


def edit(folder: Path, drawing: Pour) -> None:
    """Show the fields of the order to fill in; each is kept in order.toml as soon as it is typed.

    Args:
        folder: The pour folder.
        drawing: Drawing values.
    """
    if drawing.pour.concrete.supply == "site":
        return
    try:
        table = written_order(folder)
    except BadInput as error:
        plain.fault(words.CANT_READ, error, verdict="non_conforming")
        return
    if not table:
        return
    with st.expander(words.ORDER_EDIT, key="order-edit", on_change="rerun"):
        plain.paragraph(words.ORDER_KEPT, quiet=True)
        for name in _WHAT:
            _field(folder, name, _at(table, name))
    with st.expander(words.ORDER_SUPPLY, key="order-supply", on_change="rerun"):
        plain.paragraph(words.ORDER_KEPT, quiet=True)
        _first_truck(folder, table, drawing)
        for name in _SUPPLY:
            _field(folder, name, _at(table, name))
        _trip(folder, table)


def _at(table: Mapping[str, Any], name: str) -> Any:
    outer, dot, inner = name.partition(".")
    if not dot:
        return table.get(name)
    held = table.get(outer, {})
    return held.get(inner) if isinstance(held, dict) else None


def _choices() -> Mapping[str, tuple[str, ...]]:
    """Fields with a few values each; names of limits are those on file."""
    figures = supply_figures()
    return {
        "slump_at": ("truck", "end of pump line"),
        "supply.age": tuple(limit.name for limit in figures.age_limit),
        "supply.slump": tuple(limit.name for limit in figures.slump_tolerance),
        "supply.joint": tuple(limit.name for limit in figures.joint_limit),
    }


def _field(folder: Path, name: str, value: Any) -> None:
    """One field by its kind, whatever the file holds now: a number that was taken out is still asked as a number."""
    key = f"order-field-{name}"
    label = words.ORDER_FIELD[name]

    def kept() -> None:
        typed = st.session_state[key]
        if name == "people_present":
            typed = [who.strip() for who in typed.split(",") if who.strip()]
        keep_order(folder, {name: typed})

    choices = _choices()
    if name == "second_plant_accepted_by_engineer":
        st.checkbox(label, value=value is True, key=key, on_change=kept)
    elif name == "people_present":
        people = ", ".join(map(str, value)) if isinstance(value, list) else str(value or "")
        st.text_input(label, value=people, key=key, on_change=kept)
    elif name in choices:
        _choice(label, key, choices[name], value, kept)
    elif name in _TEXTS:
        st.text_input(label, value=str("" if value is None else value), key=key, on_change=kept)
    else:
        _number(label, key, value, kept, whole=name in _WHOLE)


def _choice(label: str, key: str, options: tuple[str, ...], value: Any, kept: Any) -> None:
    """A value that is none of the choices stays in view as it stands, so that nobody changes it by looking."""
    held = () if value is None or value in options else (str(value),)
    shown = (*held, *options)
    index = None if value is None else shown.index(str(value))
    st.selectbox(
        label,
        shown,
        index=index,
        format_func=lambda v: words.said(v) if v in options else v,
        key=key,
        on_change=kept,
        placeholder=words.ORDER_USUAL,
    )


def _number(label: str, key: str, value: Any, kept: Any, *, whole: bool) -> None:
    """An empty field is taken out of the file; what is written there and is no number is shown, not replaced."""
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if value is not None and not number:
        plain.verdict_line("inconclusive", words.ORDER_NO_NUMBER, f"{label}: {value}")
    if whole:
        given = int(value) if number and value == int(value) else None
        st.number_input(label, value=given, min_value=0, step=1, key=key, on_change=kept)
    else:
        given_float = float(value) if number else None
        st.number_input(
            label, value=given_float, min_value=0.0, step=0.5, format="%g", key=key, on_change=kept
        )


def _first_truck(folder: Path, table: Mapping[str, Any], drawing: Pour) -> None:
    held = table.get("first_truck_at")
    planned = drawing.pour.planned_start
    at = held if isinstance(held, datetime) and held.tzinfo is not None else planned
    keys = ("order-field-first-day", "order-field-first-time")

    def kept() -> None:
        day, time = (st.session_state[k] for k in keys)
        if day is not None and time is not None:
            keep_order(folder, {"first_truck_at": datetime.combine(day, time, at.tzinfo)})

    left, right = st.columns(2, gap="small")
    left.date_input(words.ORDER_FIRST_DAY, value=at.date(), format="YYYY-MM-DD", key=keys[0], on_change=kept)
    right.time_input(words.ORDER_FIRST, value=at.time(), step=300, key=keys[1], on_change=kept)


def _trip(folder: Path, table: Mapping[str, Any]) -> None:
    """The round of one truck: kept as a draft leg by leg, and put into the order once all legs are there."""
    st.subheader(words.ORDER_TRIP)
    held = _at(table, "supply.trip")
    held = held if isinstance(held, dict) else {}
    legs = {
        leg: forms.number(
            folder, "trip", leg, words.ORDER_FIELD[f"supply.trip.{leg}"], start=_figure(held.get(leg))
        )
        for leg in _LEGS
    }
    missing = [words.ORDER_FIELD[f"supply.trip.{leg}"] for leg, value in legs.items() if value is None]
    if missing:
        plain.paragraph(
            words.ORDER_TRIP_LACKS.format(what=", ".join(m.rpartition(", ")[0] or m for m in missing)),
            quiet=True,
        )
    elif legs != {leg: _figure(held.get(leg)) for leg in _LEGS}:
        keep_order(folder, {"supply.trip": legs})
        forms.forget(folder, "trip")
        st.rerun()


def _figure(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
