"""Words around an overlay: the legend under it, and why a photo or a part of it was refused."""

from __future__ import annotations

from collections import Counter

import cv2
import numpy as np

from verifier.vision.photo_measurement import Layer, PhotoMeasurement
from verifier.vision.pictures.overlay_signs import (
    BLACK,
    GREEN,
    LAYER_COLOURS,
    PURPLE,
    VERMILION,
    Pen,
    dash_px,
    draw_line,
    draw_mark,
    reasons,
    stripes,
    usual_size,
)
from verifier.vision.pictures.overlay_text import Colour, Picture, put_text, wrapped
from verifier.wording import counted

_Row = tuple[str, Colour, int | str | None]
"""Text, its colour, and the sample beside it: length of a dash, name of a shape, number of a reason, or none."""


def with_refusals(canvas: Picture, measurement: PhotoMeasurement, pen: Pen) -> Picture:
    """Write why the photo, or a part of it, was refused and what to do.

    Args:
        canvas: The picture; may be drawn on.
        measurement: What was measured, with at least one refusal.
        pen: Width of lines and text.

    Returns:
        The picture with the words on it, or above it where they are too long or something was measured.
    """
    width = canvas.shape[1]
    head = "Refused in part" if measurement.usable else "NOT MEASURED"
    rows = [(head, round(1.4 * pen.text), VERMILION)]
    for refusal in measurement.refusals:
        text = f"{refusal.reason.replace('-', ' ')}: {refusal.say}"
        rows += [(line, pen.text, BLACK) for line in wrapped(text, pen.text, width - 4 * pen.text)]
    height = round(sum(1.45 * size for _, size, _ in rows)) + pen.text
    panel = np.full((height, width, 3), 255, np.uint8)
    y = 0.5 * pen.text
    for text, size, colour in rows:
        put_text(panel, text, (1.5 * pen.text, y + 0.7 * size), size, colour, from_left=True)
        y += 1.45 * size
    cv2.rectangle(panel, (0, 0), (width - 1, height - 1), VERMILION, 2 * pen.line)
    if height > 0.6 * canvas.shape[0] or measurement.usable:
        return np.vstack([panel, canvas])
    top = (canvas.shape[0] - height) // 2
    canvas[top : top + height] = panel
    return canvas


def legend(measurement: PhotoMeasurement, pen: Pen, width_px: int, left_off: int) -> Picture:
    """A strip for under the picture: what each line, shape and number means, with the mean spacings.

    Args:
        measurement: What was measured.
        pen: Width of lines and text.
        width_px: Width of the picture.
        left_off: Gaps whose value found no room.

    Returns:
        The strip, (h, width_px, 3).
    """
    rows = [*_layer_rows(measurement, pen), *_mark_rows(measurement)]
    if any(layer.gaps for layer in measurement.layers):
        rows.append(("150 ± 2: gap centre to centre and its 95 % interval, mm", BLACK, None))
    if left_off:
        rows.append((f"measured, but no room here for the value: {left_off} of the gaps", BLACK, None))
    if measurement.reach_mm is not None and measurement.layers:
        rows.append(
            (f"dark: more than {measurement.reach_mm:.0f} mm from the board, not measured", BLACK, None)
        )
    if not rows:
        rows.append(("nothing was measured in this photo", BLACK, None))
    text_left = 5 * pen.text if any(mark is not None for _, _, mark in rows) else pen.text
    lines: list[_Row] = []
    for text, colour, mark in rows:
        first, *more = wrapped(text, pen.text, width_px - text_left - 2 * pen.text)
        lines += [(first, colour, mark), *((line, colour, None) for line in more)]
    step = round(1.45 * pen.text)
    strip = np.full((step * len(lines) + step // 2, width_px, 3), 255, np.uint8)
    for k, (text, colour, mark) in enumerate(lines):
        y = step // 4 + step * k + step // 2
        _key(strip, mark, y, colour, pen)
        put_text(strip, text, (text_left, y), pen.text, colour, from_left=True)
    return strip


def _key(strip: Picture, mark: int | str | None, y: int, colour: Colour, pen: Pen) -> None:
    """The sample of a line (length of its dash), of a shape, or the number, at the left of a legend's row."""
    left, half = pen.text // 2, pen.text // 2
    if isinstance(mark, int):
        draw_line(strip, (left, y), (left + 4 * pen.text, y), colour, pen.line + 1, mark)
    elif mark in ("block", "chair", "look"):
        x = left + 2 * pen.text
        strip[y - half - 4 : y + half + 4, x - pen.text : x + pen.text] = (110, 110, 110)
        draw_mark(strip, (x - half, y - half + 2, x + half, y + half - 2), mark, pen)
    elif mark is not None:
        x0, x1 = left, left + 4 * pen.text
        box = strip[y - half : y + half, x0:x1]
        box[stripes((box.shape[0], box.shape[1]), 7 * pen.line, max(2, pen.line))] = PURPLE
        put_text(strip, mark, ((x0 + x1) / 2, y), max(11, round(0.7 * pen.text)), PURPLE)


def _layer_rows(measurement: PhotoMeasurement, pen: Pen) -> list[_Row]:
    rows: list[_Row] = []
    for layer in measurement.layers:
        mat = {"only": "", "near": "top mat, ", "far": "mat below, "}[layer.mat]
        text = f"{mat}{layer.position} layer: {counted(len(layer.bars), 'bar')}"
        if layer.mean_spacing_mm is not None and layer.mean_spacing_expanded_uncertainty_mm is not None:
            text += (
                f", mean {layer.mean_spacing_mm:.1f} ± {layer.mean_spacing_expanded_uncertainty_mm:.1f} mm"
            )
        elif layer.mat == "far":
            text += ", not measured"
        usual = usual_size(layer)
        if usual is not None:
            text += f", likely {usual:g} mm"
            text += "".join(f", {size:g} mm ({n})" for size, n in _other_sizes(layer, usual).items())
        elif layer.mat != "far":
            text += ", size not decided"
        rows.append((text, LAYER_COLOURS[layer.position, layer.mat != "far"], dash_px(layer, pen)))
        laps = [b.lap for b in layer.bars if b.lap is not None and b.lap.length_mm is not None]
        if laps:
            told = "; ".join(f"{lap.length_mm:.0f} ± {lap.expanded_uncertainty_mm:.0f}" for lap in laps)
            rows.append((f"laps in it: {told} mm", BLACK, 2 * pen.line))
    return rows


def _other_sizes(layer: Layer, usual: float) -> dict[float, int]:
    """How many bars are likely of which other size."""
    others = [b.nominal_mm for b in layer.bars if b.nominal_mm is not None and b.nominal_mm != usual]
    return dict(sorted(Counter(others).items()))


def _mark_rows(measurement: PhotoMeasurement) -> list[_Row]:
    counts = Counter(r.reason for layer in measurement.layers if layer.mat != "far" for r in layer.refused)
    rows: list[_Row] = [
        (f"not measured: {reason.replace('-', ' ')} ({counts[reason]})", PURPLE, f"{number}")
        for reason, number in reasons(measurement).items()
    ]
    for supports, word in ((measurement.cover_blocks, "block"), (measurement.chairs, "chair")):
        count = sum(s.confidence >= 0.5 for s in supports)
        if count:
            rows.append((f"{'cover block' if word == 'block' else word} ({count})", BLACK, word))
    if measurement.regions:
        kinds = ", ".join(
            f"{kind} {n}" for kind, n in sorted(Counter(r.kind for r in measurement.regions).items())
        )
        rows.append((f"look here yourself: {kinds}", BLACK, "look"))
    if measurement.board is not None:
        name = "board" if measurement.board.number is None else f"board {measurement.board.number}"
        rows.append((f"{name}, tilt of view {measurement.board.tilt_deg:.0f}°, its axes x and y", GREEN, 0))
    return rows
