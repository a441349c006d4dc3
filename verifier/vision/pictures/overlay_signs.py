"""The signs of an overlay: how a layer, a refused stretch, a block or a thing to look at is drawn, here and in the legend.

Colours are from the palette of Okabe and Ito (Color Universal Design, 2008). A layer is told by colour, by kind of line
and by the letter at the bar's end; nothing is told by colour alone.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.vision.photo_measurement import Layer, PhotoMeasurement, Point
from verifier.vision.pictures.overlay_text import Colour, Picture

Place = Callable[[Point], tuple[int, int]]
"""From pixels of the photo to those of the picture."""

# Blue, green, red order, as the image library wants it.
BLACK, WHITE = (0, 0, 0), (255, 255, 255)
ORANGE, SKY_BLUE, GREEN = (0, 159, 230), (233, 180, 86), (115, 158, 0)
YELLOW, BLUE, VERMILION, PURPLE = (66, 228, 240), (178, 114, 0), (0, 94, 213), (167, 121, 204)

LAYER_COLOURS: dict[tuple[str, bool], Colour] = {
    ("upper", True): BLUE,
    ("lower", True): VERMILION,
    ("upper", False): SKY_BLUE,
    ("lower", False): ORANGE,
}


@dataclass(frozen=True, slots=True)
class Pen:
    """Line width and text size for a picture: chosen so that text stands 9 pixels high at 390 pixels of width."""

    line: int
    text: int


def draw_line(
    canvas: Picture, a: Sequence[int], b: Sequence[int], colour: Colour, width: int, dash: int | None
) -> None:
    """Draw a line, dashed where a length of dash is given.

    Args:
        canvas: Picture that is drawn on.
        a: x and y of one end. [px]
        b: Of the other.
        colour: Blue, green, red.
        width: Of the line. [px]
        dash: Length of a dash; none or 0 for a whole line. [px]
    """
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    if not dash or length < 1:
        cv2.line(canvas, (a[0], a[1]), (b[0], b[1]), colour, width, cv2.LINE_AA)
        return
    for start in np.arange(0.0, length, 1.6 * dash):
        p, q = start / length, min(start + dash, length) / length
        cv2.line(
            canvas,
            (round(a[0] + p * (b[0] - a[0])), round(a[1] + p * (b[1] - a[1]))),
            (round(a[0] + q * (b[0] - a[0])), round(a[1] + q * (b[1] - a[1]))),
            colour,
            width,
            cv2.LINE_AA,
        )


def dash_px(layer: Layer, pen: Pen) -> int:
    """Length of a dash: none for an upper layer, long for a lower one, short in a mat that lies below.

    Args:
        layer: The layer whose bars are drawn.
        pen: Width of its lines.

    Returns:
        Length in pixels of the picture, 0 for a whole line.
    """
    if layer.mat == "far":
        return 4 * pen.line if layer.position == "lower" else 2 * pen.line
    return 7 * pen.line if layer.position == "lower" else 0


@cache
def stripes(shape: tuple[int, int], step: int, width: int) -> NDArray[np.bool_]:
    """Slanted stripes.

    Args:
        shape: Height and width of the picture.
        step: From stripe to stripe along a row. [px]
        width: Of a stripe along a row. [px]

    Returns:
        (h, w) true on a stripe.
    """
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    return np.asarray(((x + y) % step) < width)


def draw_mark(canvas: Picture, box: tuple[int, int, int, int], shape: str, pen: Pen) -> None:
    """Draw what stands around a block (a square), a chair (a diamond), or a thing to look at (small corners).

    Args:
        canvas: Picture that is drawn on.
        box: Left, top, right and lower edge. [px]
        shape: ``block``, ``chair`` or ``look``.
        pen: Width of the lines.
    """
    x0, y0, x1, y1 = box
    if shape == "look":
        arm = max(3, min(2 * pen.text // 3, (x1 - x0) // 3, (y1 - y0) // 3))
        arms = [((x, y), (dx, dy)) for x, dx in ((x0, 1), (x1, -1)) for y, dy in ((y0, 1), (y1, -1))]
        lines = [np.array([(x, y + dy * arm), (x, y), (x + dx * arm, y)]) for (x, y), (dx, dy) in arms]
        closed, colour = False, WHITE
    elif shape == "chair":
        cx, cy, rx, ry = (x0 + x1) // 2, (y0 + y1) // 2, (x1 - x0) * 7 // 10, (y1 - y0) * 7 // 10
        lines, closed, colour = (
            [np.array([(cx - rx, cy), (cx, cy - ry), (cx + rx, cy), (cx, cy + ry)])],
            True,
            YELLOW,
        )
    else:
        lines, closed, colour = [np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])], True, YELLOW
    paths = [line.astype(np.int32) for line in lines]
    cv2.polylines(canvas, paths, closed, BLACK, pen.line + 2, cv2.LINE_AA)
    cv2.polylines(canvas, paths, closed, colour, pen.line, cv2.LINE_AA)


def reasons(measurement: PhotoMeasurement) -> dict[str, int]:
    """Number the reasons why stretches of the near mat were not measured.

    Args:
        measurement: What was measured.

    Returns:
        Number of each reason, from 1, in the order of the stretches.
    """
    keys = [r.reason for layer in measurement.layers if layer.mat != "far" for r in layer.refused]
    return {reason: k for k, reason in enumerate(dict.fromkeys(keys), start=1)}


def usual_size(layer: Layer) -> float | None:
    """The size that most of a layer's bars likely are.

    Args:
        layer: The layer.

    Returns:
        Nominal size in mm, the larger of two that are as many; None where no bar has one.
    """
    sizes = Counter(b.nominal_mm for b in layer.bars if b.nominal_mm is not None)
    return max(sizes, key=lambda size: (sizes[size], size)) if sizes else None
