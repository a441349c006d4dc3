"""Two points set on a photo, by finger, mouse or keyboard; they come back as pixels of the upright full-size photo."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from importlib.resources import files
from typing import Any

import streamlit as st

from ui import words

Point = tuple[float, float]
Points = tuple[Point, Point]


@st.cache_resource(show_spinner=False)
def _source(name: str) -> str:
    return files("ui.parts").joinpath(name).read_text(encoding="utf-8")


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
    }
    result: Any = component(key=key, data=data, default={"points": []}, on_points_change=lambda: None)
    return _checked(result.points, size_px)


def _checked(sent: object, size_px: tuple[int, int]) -> Points | None:
    """What a browser sends is input like any other: two finite points inside the photo, or nothing."""
    if not isinstance(sent, Sequence) or len(sent) != 2:
        return None
    points: list[Point] = []
    for pair in sent:
        if not isinstance(pair, Sequence) or len(pair) != 2:
            return None
        x, y = (float(v) if isinstance(v, int | float) else math.nan for v in pair)
        if not (-0.5 <= x <= size_px[0] - 0.5 and -0.5 <= y <= size_px[1] - 0.5):
            return None
        points.append((x, y))
    return points[0], points[1]
