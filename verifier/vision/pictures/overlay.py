"""Pictures that a reviewer trusts at a glance: what was measured, drawn on the photo, and the mat seen from above."""

from __future__ import annotations

import math

import cv2
import numpy as np

from verifier.vision.photo_measurement import PhotoMeasurement, Point
from verifier.vision.pictures.label_places import Ground, turned_box
from verifier.vision.pictures.overlay_gaps import draw_bars, draw_gaps
from verifier.vision.pictures.overlay_legend import legend, with_refusals
from verifier.vision.pictures.overlay_signs import (
    BLACK,
    GREEN,
    PURPLE,
    WHITE,
    Pen,
    Place,
    draw_mark,
    reasons,
    stripes,
)
from verifier.vision.pictures.overlay_text import Picture, plate_size, put_text


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
    pen = Pen(line=max(2, round(width_px / 520)), text=max(12, round(width_px / 36)))

    def at(p: Point) -> tuple[int, int]:
        return round((p[0] + 0.5) * scale - 0.5), round((p[1] + 0.5) * scale - 0.5)

    ground = Ground(size)
    _veil_beyond_reach(canvas, measurement, at)
    _hatch_refused(canvas, measurement, at, pen)
    for layer in sorted(measurement.layers, key=lambda layer: layer.mat != "far"):
        draw_bars(canvas, layer, at, pen, ground)
    _draw_marks(canvas, measurement, at, pen, ground)
    _draw_board(canvas, measurement, at, pen, ground)
    left_off = draw_gaps(canvas, measurement, at, pen, ground)
    _write_reasons(canvas, measurement, at, pen, ground)
    if measurement.refusals:
        canvas = with_refusals(canvas, measurement, pen)
    return np.vstack([canvas, legend(measurement, pen, width_px, left_off)])


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
    pen = Pen(line=max(2, round(width_px / 520)), text=max(12, round(width_px / 36)))
    back = np.linalg.inv(warp)

    def at(p: Point) -> tuple[int, int]:
        q = back @ np.array([p[0], p[1], 1.0])
        return round(float(q[0] / q[2])), round(float(q[1] / q[2]))

    ground = Ground((width_px, width_px))
    _draw_grid(canvas, reach, mm_per_px, pen)
    for layer in measurement.layers:
        if layer.mat != "far":
            draw_bars(canvas, layer, at, pen, ground)
    _draw_board(canvas, measurement, at, pen, ground)
    _draw_rulers(canvas, reach, mm_per_px, pen, ground)
    draw_gaps(canvas, measurement, at, pen, ground)
    return canvas


def _draw_grid(canvas: Picture, reach_mm: float, mm_per_px: float, pen: Pen) -> None:
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


def _draw_rulers(canvas: Picture, reach_mm: float, mm_per_px: float, pen: Pen, ground: Ground) -> None:
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


def _veil_beyond_reach(canvas: Picture, measurement: PhotoMeasurement, at: Place) -> None:
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


def _hatch_refused(canvas: Picture, measurement: PhotoMeasurement, at: Place, pen: Pen) -> None:
    """Refused stretches of the near mat, hatched."""
    for layer in measurement.layers:
        if layer.mat == "far":
            continue
        for stretch in layer.refused:
            outline = np.array([at(p) for p in stretch.outline_px], np.int32)
            mask = np.zeros(canvas.shape[:2], np.uint8)
            cv2.fillPoly(mask, [outline], 255)
            striped = stripes((canvas.shape[0], canvas.shape[1]), 7 * pen.line, max(2, pen.line))
            canvas[(mask > 0) & striped] = PURPLE
            cv2.polylines(canvas, [outline], True, PURPLE, 1, cv2.LINE_AA)


def _write_reasons(
    canvas: Picture, measurement: PhotoMeasurement, at: Place, pen: Pen, ground: Ground
) -> None:
    """One text for each hatched stretch: its reason where that fits, else the number that the legend explains."""
    numbers = reasons(measurement)
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


def _draw_marks(canvas: Picture, measurement: PhotoMeasurement, at: Place, pen: Pen, ground: Ground) -> None:
    """Cover blocks squared, chairs in a diamond, things to look at between small corners: shapes, no words."""
    marked = [(s.box_px, "block") for s in measurement.cover_blocks if s.confidence >= 0.5]
    marked += [(s.box_px, "chair") for s in measurement.chairs if s.confidence >= 0.5]
    marked += [(r.box_px, "look") for r in measurement.regions]
    for (x, y, w, h), shape in marked:
        (x0, y0), (x1, y1) = at((x, y)), at((x + w, y + h))
        draw_mark(canvas, (x0 - 2, y0 - 2, x1 + 2, y1 + 2), shape, pen)
        if shape != "look":
            centre, size = ((x0 + x1) / 2, (y0 + y1) / 2), (x1 - x0 + 6.0, y1 - y0 + 6.0)
            ground.drawn.append(turned_box(centre, size, 0.0))


def _draw_board(canvas: Picture, measurement: PhotoMeasurement, at: Place, pen: Pen, ground: Ground) -> None:
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
