"""Pictures that a reviewer trusts at a glance: what was measured, drawn on the photo, and the mat seen from above.

Colours are from the palette of Okabe and Ito (Color Universal Design, 2008). A layer is told by colour, by kind of line
and by the letter at the bar's end; nothing is told by colour alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from verifier.vision.photo_measurement import Layer, PhotoMeasurement, Point

Picture = NDArray[np.uint8]
Colour = tuple[int, int, int]
_Place = Callable[[Point], tuple[int, int]]

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


CARRIED_ON = -1
"""In place of a line's dash: the row goes on with the text of the row above."""


@dataclass(frozen=True, slots=True)
class _Pen:
    """Line width and text size for a picture: chosen so that text stands 9 pixels high at 390 pixels of width."""

    line: int
    text: int


def draw_overlay(photo: Picture, measurement: PhotoMeasurement, width_px: int = 1560) -> Picture:
    """Draw everything measured on the upright photo.

    Args:
        photo: Upright full-size photo, (h, w, 3), blue-green-red.
        measurement: What was measured in it.
        width_px: Width of the picture that comes back; four times a phone's 390 by default.

    Returns:
        The picture (h', width_px, 3).
    """
    scale = width_px / photo.shape[1]
    size = (width_px, max(1, round(photo.shape[0] * scale)))
    canvas = np.asarray(cv2.resize(photo, size, interpolation=cv2.INTER_AREA), np.uint8).copy()
    pen = _Pen(line=max(2, round(width_px / 520)), text=max(12, round(width_px / 36)))

    def at(p: Point) -> tuple[int, int]:
        return round((p[0] + 0.5) * scale - 0.5), round((p[1] + 0.5) * scale - 0.5)

    _veil_beyond_reach(canvas, measurement, at)
    _hatch_refused(canvas, measurement, at, pen)
    for layer in sorted(measurement.layers, key=lambda layer: layer.mat != "far"):
        _draw_bars(canvas, layer, at, pen)
    _draw_boxes(canvas, measurement, at, pen)
    _draw_board(canvas, measurement, at, pen)
    for layer in measurement.layers:
        _draw_gaps(canvas, layer, at, pen)
    return _with_legend(canvas, measurement, pen)


def draw_rectified(
    photo: Picture, measurement: PhotoMeasurement, *, reach_mm: float | None = None, width_px: int = 1560
) -> Picture | None:
    """The upper bars' plane seen from straight above, with a grid of 100 mm.

    Args:
        photo: Upright full-size photo.
        measurement: What was measured in it.
        reach_mm: Half of the side of the square that is shown; the measurement's reach by default.
        width_px: Width and height of the picture.

    Returns:
        The picture, or None where no plane is known.

    The map is a plane one: bars of the lower layer, some centimetre deeper, stand up to a few mm off the grid.
    """
    if measurement.mat_to_px is None or measurement.board is None:
        return None
    reach = reach_mm or measurement.reach_mm or 800.0
    to_px = np.asarray(measurement.mat_to_px, float).reshape(3, 3)
    centre = np.asarray(measurement.centre_mm or (0.0, 0.0))
    mm_per_px = 2.0 * reach / width_px
    shift = np.array([[mm_per_px, 0, centre[0] - reach], [0, mm_per_px, centre[1] - reach], [0, 0, 1.0]])
    warp = to_px @ shift
    flat = cv2.warpPerspective(
        photo,
        warp,
        (width_px, width_px),
        flags=cv2.INTER_AREA | cv2.WARP_INVERSE_MAP,
        borderValue=(40, 40, 40),
    )
    canvas = np.asarray(flat, np.uint8).copy()
    pen = _Pen(line=max(2, round(width_px / 520)), text=max(12, round(width_px / 36)))
    back = np.linalg.inv(warp)

    def at(p: Point) -> tuple[int, int]:
        q = back @ np.array([p[0], p[1], 1.0])
        return round(float(q[0] / q[2])), round(float(q[1] / q[2]))

    _draw_grid(canvas, reach, mm_per_px, pen)
    for layer in measurement.layers:
        if layer.mat != "far":
            _draw_bars(canvas, layer, at, pen)
    for layer in measurement.layers:
        _draw_gaps(canvas, layer, at, pen)
    return canvas


def _draw_grid(canvas: Picture, reach_mm: float, mm_per_px: float, pen: _Pen) -> None:
    """Lines each 100 mm, counted from the board's centre, every 500 mm heavier and with its number."""
    veil = canvas.copy()
    count = int(reach_mm // 100)
    for k in range(-count, count + 1):
        p = round((reach_mm + 100.0 * k) / mm_per_px)
        thick = pen.line if k % 5 == 0 else 1
        cv2.line(veil, (p, 0), (p, canvas.shape[0]), WHITE, thick, cv2.LINE_AA)
        cv2.line(veil, (0, p), (canvas.shape[1], p), WHITE, thick, cv2.LINE_AA)
    cv2.addWeighted(veil, 0.45, canvas, 0.55, 0.0, dst=canvas)
    for k in range(-count, count + 1):
        if k % 5 == 0:
            p = round((reach_mm + 100.0 * k) / mm_per_px)
            _put_text(canvas, f"{100 * k} mm", (p, canvas.shape[0] - pen.text), pen, BLACK)
            _put_text(canvas, f"{100 * k} mm", (2 * pen.text, p), pen, BLACK)


def _draw_bars(canvas: Picture, layer: Layer, at: _Place, pen: _Pen) -> None:
    colour = LAYER_COLOURS[layer.position, layer.mat != "far"]
    for bar in layer.bars:
        a, b = at(bar.line_px[0]), at(bar.line_px[1])
        dash = {"upper": None, "lower": 7 * pen.line}[layer.position]
        _line(canvas, a, b, WHITE, pen.line + 2, None)
        _line(canvas, a, b, colour, pen.line, dash if layer.mat != "far" else 3 * pen.line)
        if bar.lap is not None:
            _line(canvas, at(bar.lap.from_px), at(bar.lap.to_px), BLACK, pen.line, 2 * pen.line)


def _draw_gaps(canvas: Picture, layer: Layer, at: _Place, pen: _Pen) -> None:
    """Each gap as a measured arrow and its value beside it, written along the bars so that neighbours don't collide."""
    colour = LAYER_COLOURS[layer.position, layer.mat != "far"]
    for gap in layer.gaps:
        a, b = at(gap.line_px[0]), at(gap.line_px[1])
        cv2.arrowedLine(canvas, a, b, WHITE, pen.line + 2, cv2.LINE_AA, tipLength=0.12)
        for p, q in ((a, b), (b, a)):
            cv2.arrowedLine(canvas, p, q, colour, pen.line, cv2.LINE_AA, tipLength=0.12)
        ends = [at(p) for i in gap.bars for p in layer.bars[i].line_px]
        along = np.subtract(ends[1], ends[0]) + np.subtract(ends[3], ends[2])
        turn = math.degrees(math.atan2(along[1], along[0]))
        turn = (turn + 90.0) % 180.0 - 90.0
        middle = ((a[0] + b[0]) // 2, (a[1] + b[1]) // 2)
        wide = math.hypot(b[0] - a[0], b[1] - a[1])
        text = (
            f"{gap.value_mm:.0f} ± {gap.expanded_uncertainty_mm:.0f}"
            if gap.expanded_uncertainty_mm >= 0.95
            else (f"{gap.value_mm:.1f} ± {gap.expanded_uncertainty_mm:.1f}")
        )
        small = _Pen(pen.line, int(min(pen.text, max(0.75 * wide, 10))))
        _put_text(canvas, text, middle, small, colour, turn_deg=turn)


def _veil_beyond_reach(canvas: Picture, measurement: PhotoMeasurement, at: _Place) -> None:
    """Darken what lies beyond the reach of the board: nothing is said about the steel there."""
    if measurement.mat_to_px is None or measurement.reach_mm is None or measurement.centre_mm is None:
        return
    turn = np.linspace(0.0, 2.0 * math.pi, 73)
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1) * measurement.reach_mm + measurement.centre_mm
    px = np.c_[circle, np.ones(len(circle))] @ np.asarray(measurement.mat_to_px, float).reshape(3, 3).T
    px = px[px[:, 2] > 1e-9]
    outline = np.array([at((float(p[0] / p[2]), float(p[1] / p[2]))) for p in px], np.int32)
    within = np.zeros(canvas.shape[:2], np.uint8)
    cv2.fillPoly(within, [outline], 1)
    beyond = within == 0
    canvas[beyond] = (canvas[beyond] * 0.55).astype(np.uint8)


def _hatch_refused(canvas: Picture, measurement: PhotoMeasurement, at: _Place, pen: _Pen) -> None:
    """Refused stretches of the near mat, hatched, with their reason."""
    for layer in measurement.layers:
        if layer.mat == "far":
            continue
        for stretch in layer.refused:
            outline = np.array([at(p) for p in stretch.outline_px], np.int32)
            mask = np.zeros(canvas.shape[:2], np.uint8)
            cv2.fillPoly(mask, [outline], 255)
            stripes = _stripes(canvas.shape[:2], 7 * pen.line, max(2, pen.line))
            canvas[(mask > 0) & stripes] = PURPLE
            cv2.polylines(canvas, [outline], True, PURPLE, 1, cv2.LINE_AA)
            centre = outline.mean(axis=0).astype(int)
            small = _Pen(pen.line, max(11, int(0.75 * pen.text)))
            along = outline[1] - outline[0]
            turn = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
            text = stretch.reason.replace("-", " ")
            _put_text(canvas, text, (int(centre[0]), int(centre[1])), small, PURPLE, turn_deg=turn)


@cache
def _stripes(shape: tuple[int, int], step: int, width: int) -> NDArray[np.bool_]:
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    return np.asarray(((x + y) % step) < width)


def _draw_boxes(canvas: Picture, measurement: PhotoMeasurement, at: _Place, pen: _Pen) -> None:
    small = _Pen(pen.line, max(11, int(0.7 * pen.text)))
    marked = [(s.box_px, "block", YELLOW) for s in measurement.cover_blocks if s.confidence >= 0.5]
    marked += [(s.box_px, "chair", YELLOW) for s in measurement.chairs if s.confidence >= 0.5]
    marked += [(r.box_px, f"{r.kind}: look", WHITE) for r in measurement.regions]
    for (x, y, w, h), word, colour in marked:
        a, b = at((x, y)), at((x + w, y + h))
        cv2.rectangle(canvas, (a[0] - 2, a[1] - 2), (b[0] + 2, b[1] + 2), BLACK, pen.line + 2)
        cv2.rectangle(canvas, (a[0] - 2, a[1] - 2), (b[0] + 2, b[1] + 2), colour, pen.line)
        _put_text(canvas, word, ((a[0] + b[0]) // 2, a[1] - small.text), small, BLACK)


def _draw_board(canvas: Picture, measurement: PhotoMeasurement, at: _Place, pen: _Pen) -> None:
    board = measurement.board
    if board is None or len(board.corners_px) < 4:
        return
    outline = np.array([at(p) for p in board.corners_px], np.int32)
    cv2.polylines(canvas, [outline], True, WHITE, pen.line + 2, cv2.LINE_AA)
    cv2.polylines(canvas, [outline], True, GREEN, pen.line, cv2.LINE_AA)
    centre = outline.mean(axis=0)
    for end, word in ((outline[1], "x"), (outline[3], "y")):
        tip = centre + 0.45 * (end - outline[0])
        cv2.arrowedLine(
            canvas,
            (int(centre[0]), int(centre[1])),
            (int(tip[0]), int(tip[1])),
            GREEN,
            pen.line + 1,
            cv2.LINE_AA,
            tipLength=0.2,
        )
        _put_text(canvas, word, (int(tip[0]), int(tip[1])), pen, GREEN)
    name = "board" if board.number is None else f"board {board.number}"
    _put_text(
        canvas,
        f"{name}, tilt {board.tilt_deg:.0f}°",
        (int(centre[0]), int(outline[:, 1].max()) + pen.text),
        pen,
        GREEN,
    )


def _with_legend(canvas: Picture, measurement: PhotoMeasurement, pen: _Pen) -> Picture:
    """A strip under the picture: what each kind of line means, with the mean spacing; or why nothing was measured."""
    rows: list[tuple[str, Colour, int | None]] = []
    for refusal in measurement.refusals:
        rows.extend(
            (line, VERMILION, None) for line in _wrapped(f"REFUSED ({refusal.reason}): {refusal.say}", 62)
        )
    for layer in measurement.layers:
        mat = {"only": "", "near": "top mat, ", "far": "mat below, "}[layer.mat]
        text = f"{mat}{layer.position} layer: {len(layer.bars)} bars"
        if layer.mean_spacing_mm is not None and layer.mean_spacing_expanded_uncertainty_mm is not None:
            text += (
                f", mean {layer.mean_spacing_mm:.1f} ± {layer.mean_spacing_expanded_uncertainty_mm:.1f} mm"
            )
        elif layer.mat == "far":
            text += ", not measured"
        sizes = {b.nominal_mm for b in layer.bars if b.nominal_mm is not None}
        if sizes:
            text += ", looks like " + " / ".join(f"{s:g}" for s in sorted(sizes)) + " mm"
        dash = (
            (3 if layer.mat == "far" else 7) * pen.line
            if layer.position == "lower" or layer.mat == "far"
            else 0
        )
        colour = LAYER_COLOURS[layer.position, layer.mat != "far"]
        first, *more = _wrapped(text, 54)
        rows.append((first, colour, dash))
        rows.extend((line, colour, CARRIED_ON) for line in more)
    if any(layer.refused for layer in measurement.layers if layer.mat != "far"):
        rows.append(("hatched: not measured, reason written there", PURPLE, None))
    if measurement.reach_mm is not None and measurement.layers:
        rows.append(
            (f"dark: more than {measurement.reach_mm:.0f} mm from the board, not measured", BLACK, None)
        )
    if any(layer.gaps for layer in measurement.layers):
        rows.append(("gap ± expanded uncertainty (95 %), mm, centre to centre", BLACK, None))
    if not rows:
        rows.append(("nothing was measured in this photo", BLACK, None))
    step = round(1.45 * pen.text)
    strip = np.full((step * len(rows) + step // 2, canvas.shape[1], 3), 255, np.uint8)
    for k, (text, colour, mark) in enumerate(rows):
        y = step // 4 + step * k + step // 2
        left = pen.text
        if mark is not None and mark != CARRIED_ON:
            _line(strip, (left, y), (left + 4 * pen.text, y), colour, pen.line + 1, mark)
        if mark is not None:
            left += 5 * pen.text
        _put_text(strip, text, (left, y), pen, colour if colour != YELLOW else BLACK, anchor="left")
    return np.vstack([canvas, strip])


def _wrapped(text: str, width: int) -> list[str]:
    lines = [""]
    for word in text.split():
        if len(lines[-1]) + len(word) >= width and lines[-1]:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _line(
    canvas: Picture, a: Sequence[int], b: Sequence[int], colour: Colour, width: int, dash: int | None
) -> None:
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


def _put_text(
    canvas: Picture,
    text: str,
    place: tuple[int, int],
    pen: _Pen,
    colour: Colour,
    *,
    turn_deg: float = 0.0,
    anchor: str = "middle",
) -> None:
    """Text on a white plate, turned, centred on its place (or starting there)."""
    plate, mask = _plate(text, pen.text, colour, round(turn_deg))
    h, w = mask.shape
    x = place[0] - (w // 2 if anchor == "middle" else 0)
    y = place[1] - h // 2
    x0, y0, x1, y1 = max(x, 0), max(y, 0), min(x + w, canvas.shape[1]), min(y + h, canvas.shape[0])
    if x0 >= x1 or y0 >= y1:
        return
    part = mask[y0 - y : y1 - y, x0 - x : x1 - x, None].astype(np.float32) / 255.0
    under = canvas[y0:y1, x0:x1].astype(np.float32)
    over = plate[y0 - y : y1 - y, x0 - x : x1 - x].astype(np.float32)
    canvas[y0:y1, x0:x1] = np.rint(under + (over - under) * part).astype(np.uint8)


def _plate(text: str, size: int, colour: Colour, turn_deg: int) -> tuple[Picture, NDArray[np.uint8]]:
    font = ImageFont.load_default(size)
    left, top, right, bottom = font.getbbox(text)
    margin = max(2, size // 6)
    w, h = int(right - left) + 2 * margin, int(bottom - top) + 2 * margin
    picture = Image.new("RGBA", (w, h), (255, 255, 255, 225))
    ink = (colour[2], colour[1], colour[0], 255)
    ImageDraw.Draw(picture).text((margin - left, margin - top), text, font=font, fill=_dark(ink))
    turned = picture.rotate(-turn_deg, expand=True, resample=Image.Resampling.BICUBIC)
    pixels = np.asarray(turned)
    return np.ascontiguousarray(pixels[..., 2::-1]), np.ascontiguousarray(pixels[..., 3])


def _dark(ink: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    """The ink, darkened where it would not stand out on white (contrast 4.5 to 1; WCAG 2.2, 1.4.3)."""
    r, g, b, a = ink
    while _contrast_on_white(r, g, b) < 4.5:
        r, g, b = int(0.92 * r), int(0.92 * g), int(0.92 * b)
    return r, g, b, a


def _contrast_on_white(r: int, g: int, b: int) -> float:
    def linear(v: int) -> float:
        c = v / 255.0
        return c / 12.92 if c <= 0.04045 else float(((c + 0.055) / 1.055) ** 2.4)

    return 1.05 / (0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b) + 0.05)
