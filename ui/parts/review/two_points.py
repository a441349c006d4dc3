"""Points set on a photo, by finger, mouse or keyboard; they come back as pixels of the upright full-size photo."""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping, Sequence
from importlib.resources import files
from typing import Any

import streamlit as st

from ui import words
from ui.parts import plain

_TYPED = "-typed"
Point = tuple[float, float]
Points = tuple[Point, Point]


@st.cache_resource(show_spinner=False)
def _source(name: str) -> str:
    return files("ui.parts.review").joinpath(name).read_text(encoding="utf-8")


def two_points(jpeg: bytes, size_px: tuple[int, int], *, alt: str, key: str) -> Points | None:
    """Show a photo on which two points can be set, moved and seen enlarged.

    Args:
        jpeg: The photo, at any scale.
        size_px: Width and height of the upright full-size photo.
        alt: The photo in words.
        key: One for each photo.

    Returns:
        Both points, None until both are set. (0, 0) is the centre of the first pixel.
    """
    points = _points(jpeg, size_px, alt=alt, key=key, most=2, notes={})
    return None if points is None else (points[0], points[1])


def one_point(
    jpeg: bytes, size_px: tuple[int, int], *, alt: str, key: str, notes: Mapping[str, Point]
) -> Point | None:
    """Show a photo on which one point can be set, with numbered notes where some are already.

    Args:
        jpeg: The photo, at any scale.
        size_px: Width and height of the upright full-size photo.
        alt: The photo in words.
        key: One for each photo.
        notes: Place of each note by its number.

    Returns:
        The point, None until it is set. (0, 0) is the centre of the first pixel.
    """
    points = _points(jpeg, size_px, alt=alt, key=key, most=1, notes=notes)
    return None if points is None else points[0]


def _points(
    jpeg: bytes, size_px: tuple[int, int], *, alt: str, key: str, most: int, notes: Mapping[str, Point]
) -> list[Point] | None:
    component = st.components.v2.component(
        "two_points",
        html="<div class='two-points'></div>",
        css=_source("two_points.css"),
        js=_source("two_points.js"),
    )
    data = {
        "src": "data:image/jpeg;base64," + base64.b64encode(jpeg).decode(),
        "width": size_px[0],
        "height": size_px[1],
        "alt": alt,
        "words": words.POINTS_WORDS,
        "most": most,
        "notes": [{"number": number, "x": x, "y": y} for number, (x, y) in notes.items()],
        "typed": st.session_state.get(f"{key}{_TYPED}"),
    }
    result: Any = component(key=key, data=data, default={"points": []}, on_points_change=lambda: None)
    points = _checked(result.points, size_px, most)
    _typed(size_px, key=key, most=most)
    return points


def _typed(size_px: tuple[int, int], *, key: str, most: int) -> None:
    """Let points be typed in pixels, for whoever works without a pointer or wants the same points again."""
    with st.expander(words.POINTS_TYPE), st.form(f"{key}-form", border=False):
        plain.paragraph(words.POINTS_TYPE_SAYS.format(width=size_px[0], height=size_px[1]), quiet=True)
        typed = []
        for number in range(most):
            pair = []
            for side, axis, most_px in zip(
                st.columns(2, gap="small", wrap=False), "xy", size_px, strict=True
            ):
                pair.append(
                    side.number_input(
                        words.POINTS_AXIS.format(number=number + 1, axis=axis),
                        min_value=-0.5,
                        max_value=most_px - 0.5,
                        value=None,
                        step=1.0,
                        format="%.1f",
                        key=f"{key}-{number}{axis}",
                    )
                )
            typed.append(pair)
        sent = st.form_submit_button(words.POINTS_TYPED)
    if not sent:
        return
    if any(v is None for pair in typed for v in pair):
        plain.notice("inconclusive", words.POINTS_TYPE, words.POINTS_TYPE_ALL)
        return
    before = st.session_state.get(f"{key}{_TYPED}") or {"turn": 0}
    st.session_state[f"{key}{_TYPED}"] = {"turn": before["turn"] + 1, "points": typed}
    st.rerun()


def _checked(sent: object, size_px: tuple[int, int], most: int) -> list[Point] | None:
    """What a browser sends is input like any other: so many finite points inside the photo, or nothing."""
    if not isinstance(sent, Sequence) or len(sent) != most:
        return None
    points: list[Point] = []
    for pair in sent:
        if not isinstance(pair, Sequence) or len(pair) != 2:
            return None
        x, y = (float(v) if isinstance(v, int | float) else math.nan for v in pair)
        if not (-0.5 <= x <= size_px[0] - 0.5 and -0.5 <= y <= size_px[1] - 0.5):
            return None
        points.append((x, y))
    return points
