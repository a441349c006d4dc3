"""Bars and gaps of an overlay: lines in the sign of their layer, arrows between them, values slid to where there is room."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.vision.photo_measurement import Bar, Gap, Layer, PhotoMeasurement
from verifier.vision.pictures.label_places import Ground, turned_box
from verifier.vision.pictures.overlay_signs import (
    BLACK,
    LAYER_COLOURS,
    WHITE,
    Pen,
    Place,
    dash_px,
    draw_line,
    usual_size,
)
from verifier.vision.pictures.overlay_text import Colour, Picture, plate_size, put_text

SIZE_PLACES = np.array([0.12, 0.2, 0.28, 0.36])
"""Where along a bar its size may stand, best first, and as far from its other end."""


def draw_bars(canvas: Picture, layer: Layer, at: Place, pen: Pen, ground: Ground) -> None:
    """Draw the bars of a layer, with laps and with the sizes of those that look like another size than the others.

    Args:
        canvas: Picture that is drawn on.
        layer: The layer.
        at: From the photo to the picture.
        pen: Width of lines and text.
        ground: Where labels may stand; the sizes written are added.
    """
    far = layer.mat == "far"
    colour, usual = LAYER_COLOURS[layer.position, not far], usual_size(layer)
    for bar in layer.bars:
        a, b = at(bar.line_px[0]), at(bar.line_px[1])
        if far:
            draw_line(canvas, a, b, colour, max(1, pen.line // 2), dash_px(layer, pen))
            continue
        draw_line(canvas, a, b, WHITE, pen.line + 2, None)
        draw_line(canvas, a, b, colour, pen.line, dash_px(layer, pen))
        if bar.lap is not None:
            draw_line(canvas, at(bar.lap.from_px), at(bar.lap.to_px), BLACK, pen.line, 2 * pen.line)
    for bar in layer.bars:
        if far or bar.nominal_mm is None or bar.nominal_mm == usual:
            continue
        # A bar that looks like another size than its layer carries that size near both of its ends.
        start, stop = (np.array(at(point), float) for point in bar.line_px)
        size = f"{bar.nominal_mm:g} mm?"
        for shares in (SIZE_PLACES, 1.0 - SIZE_PLACES):
            places = start + shares[:, None] * (stop - start)
            taken = ground.take([turned_box((x, y), plate_size(size, pen.text), 0.0) for x, y in places])
            if taken is not None:
                put_text(canvas, size, (places[taken][0], places[taken][1]), pen.text, colour)


def draw_gaps(canvas: Picture, measurement: PhotoMeasurement, at: Place, pen: Pen, ground: Ground) -> int:
    """Draw each gap as a measured arrow, its value between the same two bars.

    Args:
        canvas: Picture that is drawn on.
        measurement: What was measured.
        at: From the photo to the picture.
        pen: Width of lines and text.
        ground: Where labels may stand; arrows and values are added.

    Returns:
        How many values found no room.
    """
    gaps = [(layer, gap) for layer in measurement.layers for gap in layer.gaps]
    for layer, gap in gaps:
        colour = LAYER_COLOURS[layer.position, layer.mat != "far"]
        a, b = at(gap.line_px[0]), at(gap.line_px[1])
        wide = math.hypot(b[0] - a[0], b[1] - a[1])
        tip = min(0.3, 4 * pen.line / max(wide, 1.0))
        cv2.line(canvas, a, b, WHITE, pen.line + 2, cv2.LINE_AA)
        for p, q in ((a, b), (b, a)):
            cv2.arrowedLine(canvas, p, q, colour, pen.line, cv2.LINE_AA, tipLength=tip)
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        ground.drawn.append(turned_box(middle, (0.8 * wide, 4.0 * pen.line), turn))
    placed = [
        _gap_label(layer, gap, at, pen, ground)
        for layer, gap in sorted(gaps, key=lambda g: _room(g[0], g[1], at))
    ]
    found = [label for label in placed if label is not None]
    for label in found:
        cv2.line(canvas, label.arrow, label.place, label.colour, max(1, pen.line // 2), cv2.LINE_AA)
    for label in found:
        put_text(canvas, label.text, label.place, label.size, label.colour, turn_deg=label.turn_deg)
    return len(gaps) - len(found)


@dataclass(frozen=True, slots=True)
class _Label:
    """A value and where it stands; a thin line leads from the middle of its arrow to it."""

    text: str
    arrow: tuple[int, int]
    place: tuple[int, int]
    size: int
    colour: Colour
    turn_deg: float


def _room(layer: Layer, gap: Gap, at: Place) -> float:
    """Length along which a value may slide; those with least are placed first."""
    start, end = _between([layer.bars[i] for i in gap.bars], at)
    return float(np.hypot(*(end - start)))


def _gap_label(layer: Layer, gap: Gap, at: Place, pen: Pen, ground: Ground) -> _Label | None:
    """The value along the bars, slid between its two bars to where it is free; smaller where it must be."""
    a, b = at(gap.line_px[0]), at(gap.line_px[1])
    middle = (np.add(a, b)) / 2.0
    start, end = _between([layer.bars[i] for i in gap.bars], at)
    length = float(np.hypot(*(end - start)))
    if length < 1.0:
        return None
    along = (end - start) / length
    turn = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
    wide = abs(float(along[0] * (b[1] - a[1]) - along[1] * (b[0] - a[0])))
    text = gap_text(gap)
    colour = LAYER_COLOURS[layer.position, layer.mat != "far"]
    least = max(11, round(0.6 * pen.text))
    fitting = min(pen.text, 0.7 * wide)
    away = float((middle - start) @ along)
    for size in dict.fromkeys(max(least, round(fitting * part)) for part in (1.0, 0.8, 0.6)):
        box = plate_size(text, size)
        first = 0.5 * box[0] + 3.0 * pen.line
        slides = [s * (first + k * 0.4 * box[0]) for k in range(40) for s in (1.0, -1.0)]
        slides = [t for t in slides if 0.4 * box[0] <= away + t <= length - 0.4 * box[0]]
        places = [start + (away + t) * along for t in [*slides, 0.0]]
        taken = ground.take([turned_box((float(p[0]), float(p[1])), box, turn) for p in places])
        if taken is not None:
            place = round(float(places[taken][0])), round(float(places[taken][1]))
            return _Label(text, (round(float(middle[0])), round(float(middle[1]))), place, size, colour, turn)
    return None


def _between(bars: Sequence[Bar], at: Place) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Ends of the line midway between two bars, in pixels of the picture."""
    (a, b), (c, d) = ([np.asarray(at(p), float) for p in bar.line_px] for bar in bars)
    if (b - a) @ (d - c) < 0:
        c, d = d, c
    return (a + c) / 2.0, (b + d) / 2.0


def gap_text(gap: Gap) -> str:
    """Value and expanded uncertainty of a gap in mm, to the digit that the uncertainty allows.

    Args:
        gap: The gap.

    Returns:
        Such as ``151 ± 2``.
    """
    digits = 0 if gap.expanded_uncertainty_mm >= 0.95 else 1
    return f"{gap.value_mm:.{digits}f} ± {gap.expanded_uncertainty_mm:.{digits}f}"
