"""Fields of short forms whose text stays on disk as it is typed, so that a reload or a lost connection loses nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import drafts, plain
from ui.parts.kept_text import joined
from ui.parts.pour import DRAFTS
from verifier.pipeline.intake.arriving import file_name

_FILE = "forms.json"
_TURN = "form-turn-"
_SEEN = "-seen"
_FILE_KEY = "-file"


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
    if widget not in st.session_state:
        st.session_state[widget] = st.session_state[f"{widget}{_SEEN}"] = _kept(folder).get(key, "")
    typed = st.text_input(label, key=widget, on_change=_keep_text, args=(folder, key, widget))
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


def file(folder: Path, form: str, name: str, label: str, endings: Sequence[str]) -> Path | None:
    """Ask for a file, which is kept as soon as it is chosen.

    Args:
        folder: The pour folder.
        form: Which form it belongs to.
        name: Name of the field.
        label: One of the page's own words.
        endings: Of files that may be chosen, with their dots.

    Returns:
        Where it lies, None while none is chosen.
    """
    key = f"{_key(form, name)}{_FILE_KEY}"
    widget = f"{key}-{_turn(form)}"
    there = drafts.file_of(folder, _kept(folder).get(key, ""))
    if there is None:
        types = [ending.lstrip(".") for ending in endings]
        st.file_uploader(label, type=types, key=widget, on_change=_keep_file, args=(folder, key, widget))
        return None
    plain.verdict_line("conforming", words.FORM_FILE_KEPT, there.name)
    st.button(words.FORM_FILE_DROP, key=f"{widget}-drop", on_click=_drop_file, args=(folder, key))
    return there


def button(label: str, *, whole: bool, key: str, primary: bool = False) -> bool:
    """A button under a form that is never switched off: the touch that leaves the last field must count.

    Args:
        label: One of the page's own words.
        whole: Whether everything that the form needs is filled in.
        key: Name of the button.
        primary: Whether it is the way on.

    Returns:
        True if it is touched and the form is whole; where something is empty, the page says so.
    """
    touched = st.button(label, key=key, width="stretch", type="primary" if primary else "secondary")
    if touched and not whole:
        plain.notice("missing", words.FORM_EMPTY, words.FORM_EMPTY_SAYS)
    return touched and whole


def forget(folder: Path, form: str) -> None:
    """Empty a form once its entry is in the record.

    Args:
        folder: The pour folder.
        form: The form.
    """
    before = _kept(folder)
    mine = {k: v for k, v in before.items() if k.startswith(f"form-{form}-")}
    for key in mine:
        if key.endswith(_FILE_KEY):
            _drop_file(folder, key)
    _write(folder, {k: v for k, v in before.items() if k not in mine})
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


def _keep_text(folder: Path, key: str, widget: str) -> None:
    """What another tab has written there meanwhile stands beside it; neither is lost."""
    there, seen = _kept(folder).get(key, ""), st.session_state.get(f"{widget}{_SEEN}", "")
    if there.strip() and there != seen:
        st.session_state[widget] = joined(st.session_state[widget], there, "; ")
    _keep(folder, key, widget)
    st.session_state[f"{widget}{_SEEN}"] = st.session_state[widget]


def _keep_file(folder: Path, key: str, widget: str) -> None:
    given = st.session_state.get(widget)
    if given is not None:
        place = drafts.keep_file(folder, file_name(given.name, 1), given.getvalue())
        _write(folder, _kept(folder) | {key: place.parent.name})


def _drop_file(folder: Path, key: str) -> None:
    kept = _kept(folder)
    drafts.drop_file(folder, kept.pop(key, ""))
    _write(folder, kept)


def _write(folder: Path, kept: Mapping[str, str]) -> None:
    path = folder / DRAFTS / _FILE
    path.parent.mkdir(exist_ok=True)
    fresh = path.with_suffix(".new")
    fresh.write_text(json.dumps(kept, ensure_ascii=False), encoding="utf-8")
    fresh.replace(path)
