"""Typing the pour log on a phone: the browser keeps each entry until the record has it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import streamlit as st

from ui import words
from verifier.concrete.pour_log import Truck
from verifier.errors import VerifierError
from verifier.pipeline.concreting.typed_log import record_typed
from verifier.pipeline.people.acting import Act

TAKEN = "log-taken"
REFUSED = "log-refused"
MOST_AT_ONCE = 200
_NEEDED = {
    "arrived": ("ticket", "plant", "volume_m3"),
    "discharging": ("ticket",),
    "emptied": ("ticket",),
    "test": ("ticket",),
    "water": ("ticket", "litres"),
    "refused": ("ticket", "says"),
    "cube": ("ticket", "sample", "mark"),
    "vibrator": ("says",),
    "people": ("says",),
    "rain": ("rain",),
    "reading": ("air_c", "humidity_percent", "wind_km_h"),
    "strip": ("name",),
    "movement": ("place",),
    "other": ("says",),
}
_FORMS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("arrived", ("ticket", "volume_m3", "batch_at", "at", "plant", "place")),
    ("discharging", ("ticket", "at", "place")),
    ("emptied", ("ticket", "at", "returned_m3")),
    ("test", ("ticket", "slump_mm", "concrete_c", "sample", "at")),
    ("water", ("ticket", "litres", "ordered_by", "within_hold_back", "at")),
    ("refused", ("ticket", "says", "returned_m3", "at")),
    ("cube", ("ticket", "sample", "mark", "age_to_test_days", "at")),
    ("vibrator", ("says", "at")),
    ("people", ("says", "at")),
    ("reading", ("air_c", "humidity_percent", "wind_km_h", "concrete_c", "rain", "at")),
    ("strip", ("name", "neighbour", "at")),
    ("movement", ("place", "moved_mm", "expected_mm", "sudden", "seen", "at")),
    ("stop", ("says", "at")),
    ("go-on", ("says", "at")),
    ("joint", ("says", "at")),
    ("other", ("says", "at")),
    ("end", ("says", "at")),
)
_FIRST = {"arrived", "discharging", "emptied"}
_NUMBERS = {
    "volume_m3", "returned_m3", "slump_mm", "concrete_c", "litres", "age_to_test_days", "air_c", "humidity_percent",
    "wind_km_h", "moved_mm", "expected_mm",
}  # fmt: skip


@st.cache_resource(show_spinner=False)
def _source(name: str) -> str:
    return files("ui.parts.concreting").joinpath(name).read_text(encoding="utf-8")


def show(folder: Path, pour_id: str, person: str, trucks: Sequence[Truck], plant: str) -> None:
    """Show the buttons of the log, and record what the browser has kept.

    Args:
        folder: The pour folder.
        pour_id: Id of the pour, under which the browser keeps entries.
        person: Who writes.
        trucks: Trucks in the log so far, to choose from.
        plant: Plant that tickets come from unless typed otherwise.
    """
    component = st.components.v2.component(
        "log_entry",
        html="<div class='log-entry'></div>",
        css=_source("log_entry.css"),
        js=_source("log_entry.js"),
    )
    taken: list[str] = st.session_state.setdefault(TAKEN, [])
    refused: dict[str, str] = st.session_state.setdefault(REFUSED, {})
    data = {
        "pour": pour_id,
        "forms": _forms(trucks, plant),
        "words": words.LOG_WORDS,
        "taken": list(taken),
        "refused": dict(refused),
    }
    result: Any = component(
        key="log-entry", data=data, default={"waiting": []}, on_waiting_change=lambda: None
    )
    if _take(folder, result.waiting, person, taken, refused):
        st.rerun()


def _take(folder: Path, sent: object, person: str, taken: list[str], refused: dict[str, str]) -> bool:
    """Record what is new among the entries sent; tells whether anything was."""
    if not isinstance(sent, Sequence) or isinstance(sent, str):
        return False
    new = [
        e for e in sent[:MOST_AT_ONCE]
        if isinstance(e, Mapping) and isinstance(e.get("once"), str) and e["once"] not in {*taken, *refused}
    ]  # fmt: skip
    for entry in new:
        name = str(entry["once"])
        try:
            record_typed(folder, entry, Act(person, datetime.now().astimezone()))
        except VerifierError as error:
            refused[name] = f"{_in_words(words.said(error.wrong))} {words.said(error.todo)}"
        else:
            taken.append(name)
    return bool(new)


def _in_words(wrong: str) -> str:
    """A fault with the labels that the person saw in place of the names of fields."""
    for name in sorted(words.LOG_FIELD, key=len, reverse=True):
        if "_" in name:
            wrong = wrong.replace(name, words.LOG_FIELD[name])
    return wrong


def _forms(trucks: Sequence[Truck], plant: str) -> list[dict[str, Any]]:
    forms = []
    for name, fields in _FORMS:
        if name in ("discharging", "emptied", "test", "water", "refused", "cube") and not trucks:
            continue
        shown = [_field(name, one, trucks, plant) for one in fields]
        forms.append({"name": name, "title": words.LOG_KIND[name], "fields": shown, "first": name in _FIRST})
    return forms


def _field(form: str, name: str, trucks: Sequence[Truck], plant: str) -> dict[str, Any]:
    out: dict[str, Any] = {
        "name": name,
        "label": words.LOG_FIELD[name],
        "needed": name in _NEEDED.get(form, ()),
        "type": "number" if name in _NUMBERS else "time" if name in ("at", "batch_at") else "text",
    }
    if name == "ticket" and form != "arrived":
        out["options"] = [[t.ticket, _ticket(t)] for t in _choice(form, trucks)]
    if name in ("within_hold_back", "sudden"):
        out["options"] = [["yes", words.YES], ["no", words.NO]]
    if name == "rain":
        out["options"] = [
            [key, words.LOG_RAIN[key]] for key in ("pools can't be removed", "first drops", "none")
        ]
    if name == "plant":
        out["value"] = plant
    return out


def _choice(form: str, trucks: Sequence[Truck]) -> list[Truck]:
    """Trucks that fit the form, the most likely last, which is the one proposed."""
    here = [t for t in trucks if not t.refused_because]
    if form == "discharging":
        fitting = [t for t in here if t.discharge_start_at is None]
    elif form == "emptied":
        fitting = [t for t in here if t.discharge_start_at is not None and t.discharge_end_at is None]
    else:
        fitting = here
    rest = [t for t in trucks if t not in fitting]
    return [*rest, *fitting]


def _ticket(truck: Truck) -> str:
    return f"{truck.ticket} · {truck.volume_m3:g} m³ · {truck.arrived_at.astimezone():%H:%M}"
