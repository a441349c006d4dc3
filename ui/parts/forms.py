"""Fields of short forms whose text stays on disk as it is typed, so that a reload or a lost connection loses nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, time
from pathlib import Path

import streamlit as st

from ui.parts.pour import DRAFTS

_FILE = "forms.json"
_TURN = "form-turn-"


def text(folder: Path, form: str, name: str, label: str) -> str:
    """Ask for a text.

    Args:
        folder: The pour folder.
        form: Which form it belongs to.
        name: Name of the field.
        label: One of the page's own words.

    Returns:
        What is typed, without blanks at its ends.
    """
    key = _key(form, name)
    widget = f"{key}-{_turn(form)}"
    typed = st.text_input(
        label, value=_kept(folder).get(key, ""), key=widget, on_change=_keep, args=(folder, key, widget)
    )
    return str(typed).strip()


def number(folder: Path, form: str, name: str, label: str, *, start: float | None = None) -> float | None:
    """Ask for a number.

    Args:
        folder: The pour folder.
        form: Which form it belongs to.
        name: Name of the field.
        label: One of the page's own words, with the unit.
        start: What stands there until something is typed.

    Returns:
        The number, None while it is empty.
    """
    key = _key(form, name)
    widget = f"{key}-{_turn(form)}"
    kept = _kept(folder).get(key)
    value = start if kept is None else float(kept) if kept else None
    typed = st.number_input(
        label, value=value, step=1.0, format="%g", key=widget, on_change=_keep, args=(folder, key, widget)
    )
    return None if typed is None else float(typed)


def choice(
    folder: Path, form: str, name: str, label: str, options: Mapping[str, str], *, start: str = ""
) -> str:
    """Ask for one of a few.

    Args:
        folder: The pour folder.
        form: Which form it belongs to.
        name: Name of the field.
        label: One of the page's own words.
        options: Value -> one of the page's own words.
        start: What is chosen until somebody chooses; the first if not given.

    Returns:
        The value chosen.
    """
    key = _key(form, name)
    widget = f"{key}-{_turn(form)}"
    values = list(options)
    kept = _kept(folder).get(key, start)
    index = values.index(kept) if kept in values else 0
    chosen = st.selectbox(
        label,
        values,
        index=index,
        format_func=lambda v: options[v],
        key=widget,
        on_change=_keep,
        args=(folder, key, widget),
    )
    return str(chosen)


def moment(folder: Path, form: str, name: str, day_label: str, time_label: str) -> datetime:
    """Ask for a day and an hour; now, until somebody chooses.

    Args:
        folder: The pour folder.
        form: Which form it belongs to.
        name: Name of the field.
        day_label: One of the page's own words.
        time_label: One of the page's own words.

    Returns:
        The moment, in the zone of the machine that serves the page.
    """
    now = datetime.now().astimezone().replace(second=0, microsecond=0)
    keys = [_key(form, f"{name}-{part}") for part in ("day", "time")]
    widgets = [f"{key}-{_turn(form)}" for key in keys]
    kept = _kept(folder)
    day_kept, time_kept = (kept.get(key, "") for key in keys)
    left, right = st.columns(2, gap="small")
    day = left.date_input(
        day_label,
        value=date.fromisoformat(day_kept) if day_kept else now.date(),
        format="YYYY-MM-DD",
        key=widgets[0],
        on_change=_keep,
        args=(folder, keys[0], widgets[0]),
    )
    hour = right.time_input(
        time_label,
        value=time.fromisoformat(time_kept) if time_kept else now.time(),
        step=900,
        key=widgets[1],
        on_change=_keep,
        args=(folder, keys[1], widgets[1]),
    )
    return datetime.combine(day or now.date(), hour or now.time(), now.tzinfo)


def forget(folder: Path, form: str) -> None:
    """Empty a form once its entry is in the record.

    Args:
        folder: The pour folder.
        form: The form.
    """
    kept = {k: v for k, v in _kept(folder).items() if not k.startswith(f"form-{form}-")}
    _write(folder, kept)
    st.session_state[f"{_TURN}{form}"] = _turn(form) + 1


def _key(form: str, name: str) -> str:
    return f"form-{form}-{name}"


def _turn(form: str) -> int:
    """How often this form was sent in this visit: a field with a new name is empty again in the browser, too."""
    return int(st.session_state.get(f"{_TURN}{form}", 0))


def _kept(folder: Path) -> dict[str, str]:
    path = folder / DRAFTS / _FILE
    return dict(json.loads(path.read_text(encoding="utf-8"))) if path.is_file() else {}


def _keep(folder: Path, key: str, widget: str) -> None:
    typed = st.session_state.get(widget)
    kept = _kept(folder)
    kept[key] = "" if typed is None else str(typed)
    _write(folder, kept)


def _write(folder: Path, kept: Mapping[str, str]) -> None:
    path = folder / DRAFTS / _FILE
    path.parent.mkdir(exist_ok=True)
    fresh = path.with_suffix(".new")
    fresh.write_text(json.dumps(kept, ensure_ascii=False), encoding="utf-8")
    fresh.replace(path)
