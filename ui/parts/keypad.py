"""Large keys for numbers: for gloves, and for a phone whose own keyboard would cover what is to be read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from importlib.resources import files
from typing import Any

import streamlit as st

from ui import words

LARGEST = 999_999.0


@st.cache_resource(show_spinner=False)
def _source(name: str) -> str:
    return files("ui.parts").joinpath(name).read_text(encoding="utf-8")


def keypad(
    fields: Sequence[str], send: str, *, key: str, sign: bool = False
) -> tuple[float | None, ...] | None:
    """Show number fields with large keys and one button that sends them; what is typed survives a reload of the tab.

    Args:
        fields: Labels of the fields; the first must be filled.
        send: Label of the button.
        key: One for each form.
        sign: Whether a minus may be typed.

    Returns:
        A number for each field, None for one left empty, in the run after the button was touched; else None.
    """
    component = st.components.v2.component(
        "keypad", html="<div class='keypad'></div>", css=_source("keypad.css"), js=_source("keypad.js")
    )
    data = {
        "fields": list(fields),
        "send": send,
        "key": key,
        "sign": sign,
        "both": len(fields) > 1,
        "cleared": st.session_state.get(_cleared(key), 0),
        "words": words.KEYPAD,
    }
    result: Any = component(key=f"keypad-{key}", data=data, on_sent_change=lambda: None)
    return checked(result.sent, len(fields), sign=sign)


def clear(key: str) -> None:
    """Empty the fields once what they held is kept.

    Args:
        key: The form.
    """
    st.session_state[_cleared(key)] = st.session_state.get(_cleared(key), 0) + 1


def _cleared(key: str) -> str:
    return f"keypad-{key}-cleared"


def checked(sent: object, count: int, *, sign: bool) -> tuple[float | None, ...] | None:
    """Read what a browser sent, which is input like any other.

    Args:
        sent: Texts, one a field.
        count: Number of fields.
        sign: Whether a minus may stand there.

    Returns:
        Numbers, None for empty fields; None as a whole if the first is empty or anything is no number.
    """
    if not isinstance(sent, Sequence) or isinstance(sent, str) or len(sent) != count:
        return None
    found: list[float | None] = []
    for text in sent:
        if not isinstance(text, str):
            return None
        if not text.strip():
            found.append(None)
            continue
        try:
            value = float(text)
        except ValueError:
            return None
        if not math.isfinite(value) or abs(value) > LARGEST or (value < 0 and not sign):
            return None
        found.append(value)
    return tuple(found) if found and found[0] is not None else None
