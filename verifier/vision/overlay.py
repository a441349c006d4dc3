"""Pictures that a reviewer trusts at a glance: what was measured, drawn on the photo, and the mat seen from above.

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

from verifier.vision.label_places import Ground, turned_box
from verifier.vision.overlay_text import Colour, Picture, plate_size, put_text, wrapped
from verifier.vision.photo_measurement import Bar, Gap, Layer, PhotoMeasurement, Point

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

    ground = Ground(size)
    _veil_beyond_reach(canvas, measurement, at)
    _hatch_refused(canvas, measurement, at, pen)
    for layer in sorted(measurement.layers, key=lambda layer: layer.mat != "far"):
        _draw_bars(canvas, layer, at, pen, ground)
    _draw_marks(canvas, measurement, at, pen, ground)
    _draw_board(canvas, measurement, at, pen, ground)
    left_off = _draw_gaps(canvas, measurement, at, pen, ground)
    _write_reasons(canvas, measurement, at, pen, ground)
    if measurement.refusals:
        canvas = _with_refusals(canvas, measurement, pen)
    return np.vstack([canvas, _legend(measurement, pen, width_px, left_off)])


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

    ground = Ground((width_px, width_px))
    _draw_grid(canvas, reach, mm_per_px, pen)
    for layer in measurement.layers:
        if layer.mat != "far":
            _draw_bars(canvas, layer, at, pen, ground)
    _draw_board(canvas, measurement, at, pen, ground)
    _draw_rulers(canvas, reach, mm_per_px, pen, ground)
    _draw_gaps(canvas, measurement, at, pen, ground)
    return canvas


def _draw_grid(canvas: Picture, reach_mm: float, mm_per_px: float, pen: _Pen) -> None:
    """Lines each 100 mm, counted from the board's centre, every 500 mm heavier."""
    side = canvas.shape[0]
    veil = canvas.copy()
    count = int(reach_mm // 100)
    for k in range(-count, count + 1):
        p = round((reach_mm + 100.0 * k) / mm_per_px)
        thick = pen.line if k % 5 == 0 else 1
        cv2.line(veil, (p, 0), (p, side), WHITE, thick, cv2.LINE_AA)
        cv2.line(veil, (0, p), (side, p), WHITE, thick, cv2.LINE_AA)
    cv2.addWeighted(veil, 0.45, canvas, 0.55, 0.0, dst=canvas)


def _draw_rulers(canvas: Picture, reach_mm: float, mm_per_px: float, pen: _Pen, ground: Ground) -> None:
    """Along two edges, ticks of 10 mm and a number each 200 mm."""
    side = canvas.shape[0]
    count = int(reach_mm // 100)
    edge = 2 * pen.text
    canvas[side - edge :] = WHITE
    canvas[:, :edge] = WHITE
    tens = int(reach_mm // 10)
    for k in range(-tens, tens + 1):
        p = round((reach_mm + 10.0 * k) / mm_per_px)
        long = round(pen.text * (0.6 if k % 10 == 0 else 0.4 if k % 5 == 0 else 0.25))
        if p > edge:
            cv2.line(canvas, (p, side - edge), (p, side - edge + long), BLACK, 1)
        if p < side - edge:
            cv2.line(canvas, (edge - long, p), (edge, p), BLACK, 1)
    small = max(11, round(0.7 * pen.text))
    for k in range(-count, count + 1):
        p = round((reach_mm + 100.0 * k) / mm_per_px)
        if k % 2 == 0 and 2 * edge < p < side - 2 * edge:
            put_text(canvas, f"{100 * k}", (p, side - 0.6 * pen.text), small, BLACK)
            put_text(canvas, f"{100 * k}", (0.6 * pen.text, p), small, BLACK, turn_deg=-90.0)
    title = "seen from above, mm; grid 100, ticks 10"
    w, h = plate_size(title, pen.text)
    put_text(canvas, title, (edge + w / 2 + 4, h / 2 + 4), pen.text, BLACK)
    ground.closed.append(turned_box((edge + w / 2 + 4, h / 2 + 4), (w, h), 0.0))
    ground.closed.append(turned_box((edge / 2, side / 2), (edge, side), 0.0))
    ground.closed.append(turned_box((side / 2, side - edge / 2), (side, edge), 0.0))


def _draw_bars(canvas: Picture, layer: Layer, at: _Place, pen: _Pen, ground: Ground) -> None:
    far = layer.mat == "far"
    colour, usual = LAYER_COLOURS[layer.position, not far], _usual_size(layer)
    for bar in layer.bars:
        a, b = at(bar.line_px[0]), at(bar.line_px[1])
        if far:
            _line(canvas, a, b, colour, max(1, pen.line // 2), _dash(layer, pen))
            continue
        _line(canvas, a, b, WHITE, pen.line + 2, None)
        _line(canvas, a, b, colour, pen.line, _dash(layer, pen))
        if bar.lap is not None:
            _line(canvas, at(bar.lap.from_px), at(bar.lap.to_px), BLACK, pen.line, 2 * pen.line)
        if bar.nominal_mm is not None and bar.nominal_mm != usual:
            # A bar that looks like another size than its layer carries that size near both of its ends.
            for share in (0.12, 0.88):
                place = (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
                size = f"{bar.nominal_mm:g} mm?"
                put_text(canvas, size, place, pen.text, colour)
                ground.closed.append(turned_box(place, plate_size(size, pen.text), 0.0))


def _dash(layer: Layer, pen: _Pen) -> int:
    """Length of a dash: none for an upper layer, long for a lower one, short in a mat that lies below."""
    if layer.mat == "far":
        return 4 * pen.line if layer.position == "lower" else 2 * pen.line
    return 7 * pen.line if layer.position == "lower" else 0


def _draw_gaps(canvas: Picture, measurement: PhotoMeasurement, at: _Place, pen: _Pen, ground: Ground) -> int:
    """Each gap as a measured arrow, its value between the same two bars; how many values found no room."""
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


def _room(layer: Layer, gap: Gap, at: _Place) -> float:
    """Length along which a value may slide; those with least are placed first."""
    start, end = _between([layer.bars[i] for i in gap.bars], at)
    return float(np.hypot(*(end - start)))


def _gap_label(layer: Layer, gap: Gap, at: _Place, pen: _Pen, ground: Ground) -> _Label | None:
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


def _between(bars: Sequence[Bar], at: _Place) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Ends of the line midway between two bars, in pixels of the picture."""
    (a, b), (c, d) = ([np.asarray(at(p), float) for p in bar.line_px] for bar in bars)
    if (b - a) @ (d - c) < 0:
        c, d = d, c
    return (a + c) / 2.0, (b + d) / 2.0


def gap_text(gap: Gap) -> str:
    """Value and expanded uncertainty of a gap in mm, to the digit that the uncertainty allows."""
    digits = 0 if gap.expanded_uncertainty_mm >= 0.95 else 1
    return f"{gap.value_mm:.{digits}f} ± {gap.expanded_uncertainty_mm:.{digits}f}"


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
    """Refused stretches of the near mat, hatched."""
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


def _reasons(measurement: PhotoMeasurement) -> dict[str, int]:
    """Reasons of the stretches of the near mat that were not measured, numbered in their order."""
    keys = [r.reason for layer in measurement.layers if layer.mat != "far" for r in layer.refused]
    return {reason: k for k, reason in enumerate(dict.fromkeys(keys), start=1)}


def _write_reasons(
    canvas: Picture, measurement: PhotoMeasurement, at: _Place, pen: _Pen, ground: Ground
) -> None:
    """One text for each hatched stretch: its reason where that fits, else the number that the legend explains."""
    numbers = _reasons(measurement)
    size = max(11, round(0.7 * pen.text))
    for stretch in (r for layer in measurement.layers if layer.mat != "far" for r in layer.refused):
        outline = np.array([at(p) for p in stretch.outline_px], float)
        sides = np.roll(outline, -1, axis=0) - outline
        longest = sides[int(np.argmax(np.hypot(sides[:, 0], sides[:, 1])))]
        length = float(np.hypot(*longest))
        if length < 1.0:
            continue
        along = longest / length
        reach = np.ptp(outline @ along), np.ptp(outline @ np.array([-along[1], along[0]]))
        turn = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
        number = numbers[stretch.reason]
        for text in (f"{number} {stretch.reason.replace('-', ' ')}", f"{number}"):
            box = plate_size(text, size)
            if len(text) > 2 and (box[0] > 0.9 * reach[0] or box[1] > 0.9 * reach[1]):
                continue
            room = max(0.0, 0.5 * (reach[0] - box[0]))
            places = [outline.mean(axis=0) + s * k * room / 6 * along for k in range(7) for s in (1, -1)]
            taken = ground.take([turned_box((float(p[0]), float(p[1])), box, turn) for p in places])
            if taken is not None:
                place = (float(places[taken][0]), float(places[taken][1]))
                put_text(canvas, text, place, size, PURPLE, turn_deg=turn)
                break


@cache
def _stripes(shape: tuple[int, int], step: int, width: int) -> NDArray[np.bool_]:
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    return np.asarray(((x + y) % step) < width)


def _draw_marks(
    canvas: Picture, measurement: PhotoMeasurement, at: _Place, pen: _Pen, ground: Ground
) -> None:
    """Cover blocks squared, chairs in a diamond, things to look at between small corners: shapes, no words."""
    marked = [(s.box_px, "block") for s in measurement.cover_blocks if s.confidence >= 0.5]
    marked += [(s.box_px, "chair") for s in measurement.chairs if s.confidence >= 0.5]
    marked += [(r.box_px, "look") for r in measurement.regions]
    for (x, y, w, h), shape in marked:
        (x0, y0), (x1, y1) = at((x, y)), at((x + w, y + h))
        _mark(canvas, (x0 - 2, y0 - 2, x1 + 2, y1 + 2), shape, pen)
        if shape != "look":
            centre, size = ((x0 + x1) / 2, (y0 + y1) / 2), (x1 - x0 + 6.0, y1 - y0 + 6.0)
            ground.drawn.append(turned_box(centre, size, 0.0))


def _mark(canvas: Picture, box: tuple[int, int, int, int], shape: str, pen: _Pen) -> None:
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


def _draw_board(
    canvas: Picture, measurement: PhotoMeasurement, at: _Place, pen: _Pen, ground: Ground
) -> None:
    """The board's outline and axes, kept free of labels."""
    board = measurement.board
    if board is None or len(board.corners_px) != 4:
        return
    outline = np.array([at(p) for p in board.corners_px], np.int32)
    cv2.polylines(canvas, [outline], True, WHITE, pen.line + 2, cv2.LINE_AA)
    cv2.polylines(canvas, [outline], True, GREEN, pen.line, cv2.LINE_AA)
    centre = outline.mean(axis=0)
    for end, word in ((outline[1], "x"), (outline[3], "y")):
        tip = centre + 0.42 * (end - outline[0])
        ends = (int(centre[0]), int(centre[1])), (int(tip[0]), int(tip[1]))
        cv2.arrowedLine(canvas, *ends, WHITE, 2 * pen.line + 2, cv2.LINE_AA, tipLength=0.2)
        cv2.arrowedLine(canvas, *ends, GREEN, pen.line + 1, cv2.LINE_AA, tipLength=0.2)
        put_text(canvas, word, (float(tip[0]), float(tip[1])), max(11, round(0.7 * pen.text)), GREEN)
    ground.closed.append(outline.astype(float))


def _with_refusals(canvas: Picture, measurement: PhotoMeasurement, pen: _Pen) -> Picture:
    """Why the photo, or a part of it, was refused and what to do, on the picture; above it where it is too long."""
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


_Row = tuple[str, Colour, int | str | None]


def _legend(measurement: PhotoMeasurement, pen: _Pen, width_px: int, left_off: int) -> Picture:
    """A strip for under the picture: what each line, shape and number means, with the mean spacings."""
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


def _key(strip: Picture, mark: int | str | None, y: int, colour: Colour, pen: _Pen) -> None:
    """The sample of a line (length of its dash), of a shape, or the number, at the left of a legend's row."""
    left, half = pen.text // 2, pen.text // 2
    if isinstance(mark, int):
        _line(strip, (left, y), (left + 4 * pen.text, y), colour, pen.line + 1, mark)
    elif mark in ("block", "chair", "look"):
        x = left + 2 * pen.text
        strip[y - half - 4 : y + half + 4, x - pen.text : x + pen.text] = (110, 110, 110)
        _mark(strip, (x - half, y - half + 2, x + half, y + half - 2), mark, pen)
    elif mark is not None:
        x0, x1 = left, left + 4 * pen.text
        box = strip[y - half : y + half, x0:x1]
        box[_stripes((box.shape[0], box.shape[1]), 7 * pen.line, max(2, pen.line))] = PURPLE
        put_text(strip, mark, ((x0 + x1) / 2, y), max(11, round(0.7 * pen.text)), PURPLE)


def _layer_rows(measurement: PhotoMeasurement, pen: _Pen) -> list[_Row]:
    rows: list[_Row] = []
    for layer in measurement.layers:
        mat = {"only": "", "near": "top mat, ", "far": "mat below, "}[layer.mat]
        text = f"{mat}{layer.position} layer: {len(layer.bars)} bars"
        if layer.mean_spacing_mm is not None and layer.mean_spacing_expanded_uncertainty_mm is not None:
            text += (
                f", mean {layer.mean_spacing_mm:.1f} ± {layer.mean_spacing_expanded_uncertainty_mm:.1f} mm"
            )
        elif layer.mat == "far":
            text += ", not measured"
        usual = _usual_size(layer)
        if usual is not None:
            text += f", likely {usual:g} mm"
            text += "".join(f", {size:g} mm ({n})" for size, n in _other_sizes(layer, usual).items())
        rows.append((text, LAYER_COLOURS[layer.position, layer.mat != "far"], _dash(layer, pen)))
        laps = [b.lap for b in layer.bars if b.lap is not None and b.lap.length_mm is not None]
        if laps:
            told = "; ".join(f"{lap.length_mm:.0f} ± {lap.expanded_uncertainty_mm:.0f}" for lap in laps)
            rows.append((f"laps in it: {told} mm", BLACK, 2 * pen.line))
    return rows


def _usual_size(layer: Layer) -> float | None:
    """The size that most of a layer's bars likely are."""
    sizes = Counter(b.nominal_mm for b in layer.bars if b.nominal_mm is not None)
    return max(sizes, key=lambda size: (sizes[size], size)) if sizes else None


def _other_sizes(layer: Layer, usual: float) -> dict[float, int]:
    """How many bars are likely of which other size."""
    others = [b.nominal_mm for b in layer.bars if b.nominal_mm is not None and b.nominal_mm != usual]
    return dict(sorted(Counter(others).items()))


def _mark_rows(measurement: PhotoMeasurement) -> list[_Row]:
    counts = Counter(r.reason for layer in measurement.layers if layer.mat != "far" for r in layer.refused)
    rows: list[_Row] = [
        (f"not measured: {reason.replace('-', ' ')} ({counts[reason]})", PURPLE, f"{number}")
        for reason, number in _reasons(measurement).items()
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
