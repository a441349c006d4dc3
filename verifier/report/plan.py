"""The pour from above, to scale, as SVG text: elements, openings, spots with their state, and where each can be touched."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from verifier.report.figures import COLOUR, FONT, INK, PAPER, QUIET, Verdict, verdict_mark

PointM = tuple[float, float]

MARGIN_PX, SCALE_BAR_PX, TALLEST_PX = 12.0, 26.0, 460.0
TOUCH_PX = 44.0
"""Least size of a place to touch; WCAG 2.2, 2.5.5 asks for 44 px."""
CROWDED_PX = 46.0
"""Cells smaller than this can't be told apart by a thumb: an element is then drawn as one place."""
TINT: dict[Verdict, str] = {
    "conforming": "#dcebf5",
    "non_conforming": "#f8dcc9",
    "inconclusive": "#f5e3ee",
    "missing": "url(#none)",
}


@dataclass(frozen=True, slots=True)
class PlanSpot:
    """One spot of an element.

    Attributes:
        name: Its name.
        verdict: The worst that is known of it; missing while anything asked is not there.
        says: What is wrong or missing there, in a word or two.
        photo: Whether a photo was taken there.
        reading: Whether a reading was taken there.
        asked: Whether somebody asks for it by name.
        at_m: Where it lies on the plan, None where only its number is known.
    """

    name: str
    verdict: Verdict
    says: str = ""
    photo: bool = False
    reading: bool = False
    asked: bool = False
    at_m: PointM | None = None


@dataclass(frozen=True, slots=True)
class PlanElement:
    """One element seen from above; lengths in metres on the plan of the pour, x right and y up.

    Attributes:
        mark: Its mark on the drawing.
        outline_m: Corners.
        spots: Its spots in order.
        openings_m: Openings as x, y, width, height.
        narrow: Whether its spots lie in a row along its axis, as on a beam.
    """

    mark: str
    outline_m: tuple[PointM, ...]
    spots: tuple[PlanSpot, ...]
    openings_m: tuple[tuple[float, float, float, float], ...] = ()
    narrow: bool = False


@dataclass(frozen=True, slots=True)
class Touch:
    """A place to touch; left, top, width and height as shares of the figure, ``spot`` None for the whole element."""

    element: str
    spot: str | None
    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Plan:
    """The figure and the places on it. ``crowded`` where spots are not drawn apart because they would be too small."""

    svg: str
    touches: tuple[Touch, ...]
    crowded: bool


@dataclass(frozen=True, slots=True)
class _Cell:
    """Where one spot is drawn, px."""

    spot: PlanSpot
    x: float
    y: float
    width: float
    height: float


def plan(
    elements: Sequence[PlanElement], *, width: float = 360.0, chosen: tuple[str, str | None] | None = None
) -> Plan:
    """Draw the pour from above, to scale.

    Args:
        elements: Elements with their outlines.
        width: Width of the figure, px.
        chosen: Element and spot that are looked at now.

    Returns:
        The figure. A spot without a place of its own is drawn in the order of the names.

    Raises:
        ValueError: If there is no element.
    """
    if not elements:
        raise ValueError("a plan needs at least one element")
    xs = [x for e in elements for x, _ in e.outline_m]
    ys = [y for e in elements for _, y in e.outline_m]
    scale = min(
        (width - 2 * MARGIN_PX) / max(max(xs) - min(xs), 0.5), TALLEST_PX / max(max(ys) - min(ys), 0.5)
    )
    height = (max(ys) - min(ys)) * scale + 2 * MARGIN_PX + SCALE_BAR_PX

    def px(at: PointM) -> PointM:
        return MARGIN_PX + (at[0] - min(xs)) * scale, MARGIN_PX + (max(ys) - at[1]) * scale

    cells = {e.mark: _cells(e, px) for e in elements}
    crowded = any(
        min(c.width, c.height) < CROWDED_PX for e in elements if not e.narrow for c in cells[e.mark]
    )
    body, touches = "", []
    for number, e in enumerate(sorted(elements, key=lambda e: e.narrow)):  # beams lie over the panels
        drawn = () if crowded else cells[e.mark]
        body += _element(e, number, drawn, px, scale, chosen == (e.mark, None))
        touches.append(_touch(e.mark, None, _box([px(p) for p in e.outline_m]), width, height))
        for c in drawn:
            body += _spot(c)
            box = (c.x - c.width / 2, c.y - c.height / 2, c.width, c.height)
            touches.append(_touch(e.mark, c.spot.name, box, width, height))
    body += _scale_bar(scale, width, height)
    there = sum(s.verdict != "missing" for e in elements for s in e.spots)
    said = f"spots there: {there} of {sum(len(e.spots) for e in elements)}"
    return Plan(_whole(width, height, body, said), tuple(touches), crowded)


def _cells(e: PlanElement, px: Callable[[PointM], PointM]) -> tuple[_Cell, ...]:
    corners = [px(p) for p in e.outline_m]
    left, top, w, h = _box(corners)
    if e.narrow or not e.spots:
        return _row(e, corners) if e.spots else ()
    for count in range(len(e.spots), 8 * len(e.spots) + 1):
        columns = _columns(count, w, h)
        rows = -(-count // columns)
        middles = [
            (left + (i % columns + 0.5) * w / columns, top + (i // columns + 0.5) * h / rows)
            for i in range(rows * columns)
        ]
        free = [m for m in middles if _inside(m, corners)]
        if len(free) >= len(e.spots):
            break
    else:
        free = middles
    places = [px(s.at_m) if s.at_m is not None else m for s, m in zip(e.spots, free, strict=False)]
    return tuple(_Cell(s, x, y, w / columns, h / rows) for s, (x, y) in zip(e.spots, places, strict=True))


def _inside(point: PointM, corners: Sequence[PointM]) -> bool:
    """Whether a point lies inside a polygon: a ray to the right crosses its sides an odd number of times."""
    x, y = point
    crossed = False
    for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            crossed = not crossed
    return crossed


def _columns(count: int, width: float, height: float) -> int:
    """Columns for so many spots that cells come out nearly square and few stay empty."""

    def waste(columns: int) -> float:
        rows = -(-count // columns)
        return abs(math.log(width / columns / max(height / rows, 1))) + (rows * columns - count) / count

    return min(range(1, count + 1), key=waste, default=1)


def _row(e: PlanElement, corners: Sequence[PointM]) -> tuple[_Cell, ...]:
    """Spots of a beam along its axis: from the middle of its first end to that of the other."""
    a, b, c, d = corners
    (x0, y0), (x1, y1) = ((a[0] + d[0]) / 2, (a[1] + d[1]) / 2), ((b[0] + c[0]) / 2, (b[1] + c[1]) / 2)
    step = math.hypot(x1 - x0, y1 - y0) / max(len(e.spots), 1)
    size = max(24.0, min(TOUCH_PX, step))  # WCAG 2.2, 2.5.8: never under 24 px
    found = []
    for i, spot in enumerate(e.spots):
        t = (i + 0.5) / len(e.spots)
        found.append(_Cell(spot, x0 + t * (x1 - x0), y0 + t * (y1 - y0), size, size))
    return tuple(found)


def _element(
    e: PlanElement,
    number: int,
    cells: Sequence[_Cell],
    px: Callable[[PointM], PointM],
    scale: float,
    chosen: bool,
) -> str:
    corners = [px(p) for p in e.outline_m]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    left, top, w, _ = _box(corners)
    body = f"<clipPath id='e{number}'><polygon points='{points}'/></clipPath>"
    body += f"<polygon points='{points}' fill='{PAPER}'/><g clip-path='url(#e{number})'>"
    if cells and not e.narrow:
        for c in cells:
            body += _shade(c.spot.verdict, c.x - c.width / 2, c.y - c.height / 2, c.width, c.height)
    else:
        body += f"<polygon points='{points}' fill='{TINT[_worst(e)]}'/>"
    body += "</g>"
    for ox, oy, ow, oh in e.openings_m:
        a, b = px((ox, oy + oh))
        body += (
            f"<path d='M{a:.1f} {b:.1f}h{ow * scale:.1f}v{oh * scale:.1f}h{-ow * scale:.1f}z"
            f"l{ow * scale:.1f} {oh * scale:.1f}' fill='{PAPER}' stroke='{QUIET}'/>"
        )
    edge = 4 if chosen else 1.5
    body += f"<polygon points='{points}' fill='none' stroke='{INK}' stroke-width='{edge}'/>"
    if not cells and not e.narrow:
        x, y = left + w / 2, sum(y for _, y in corners) / len(corners)
        body += verdict_mark(_worst(e), x, y + 12, 8)
        return body + _label(x, y - 4, e.mark, size=15, weight=700, room=w)
    side = 8.0 if not e.narrow else 0.0
    below = 17.0 if not e.narrow else -5.0
    return body + _label(
        left + side, top + below, e.mark, size=14, weight=700, anchor="start", room=max(w, 60.0)
    )


def _spot(c: _Cell) -> str:
    small = c.height < 50
    y = c.y if small else c.y - 2
    body = verdict_mark(c.spot.verdict, c.x, y, 7.5 if small else 9)
    if c.spot.asked:
        body += f"<path d='M{c.x + 9:.1f} {y - 9:.1f}v-13h11l-3 4 3 4h-11' fill='{INK}'/>"
    body += _label(c.x - 13, y + 5, c.spot.name, size=13, anchor="end", room=c.width / 2)
    if c.spot.photo:
        body += _camera(c.x + 14, y + 1)
    if c.spot.reading:
        aside = 30 if c.spot.photo and c.width > 92 else 14
        body += _tape(c.x + aside, y + (1 if aside == 30 or not c.spot.photo else -12))
    if c.spot.says and not small:
        body += _label(c.x, y + 24, c.spot.says, size=12, room=c.width)
    return body


def _camera(x: float, y: float) -> str:
    return (
        f"<path d='M{x:.1f} {y - 4:.1f}h3l1.5-2h4l1.5 2h3v9h-13z' fill='{INK}'/>"
        f"<circle cx='{x + 6.5:.1f}' cy='{y + 0.4:.1f}' r='2.6' fill='{PAPER}'/>"
    )


def _tape(x: float, y: float) -> str:
    ticks = "".join(f"M{x + 2.5 * i:.1f} {y + 5:.1f}v{-5 if i % 2 else -3}" for i in range(1, 5))
    return (
        f"<path d='M{x:.1f} {y - 4:.1f}h13v9h-13z' fill='{PAPER}' stroke='{INK}' stroke-width='1.2'/>"
        f"<path d='{ticks}' stroke='{INK}' stroke-width='1.1'/>"
    )


def _shade(verdict: Verdict, x: float, y: float, w: float, h: float) -> str:
    return f"<rect x='{x:.1f}' y='{y:.1f}' width='{w:.1f}' height='{h:.1f}' fill='{TINT[verdict]}' stroke='#c9ced6' stroke-width='.6'/>"


def _worst(e: PlanElement) -> Verdict:
    order: tuple[Verdict, ...] = ("non_conforming", "missing", "inconclusive", "conforming")
    return next((v for v in order if any(s.verdict == v for s in e.spots)), "missing")


def _label(
    x: float, y: float, words: str, *, size: int, anchor: str = "middle", weight: int = 400, room: float
) -> str:
    """Text with a pale edge, so that no line takes it away; what has no room is cut and ends in an ellipsis."""
    letters = max(1, int(room / (0.62 * size)))
    short = words if len(words) <= letters else words[: max(1, letters - 1)] + "…"
    return (
        f"<text x='{x:.1f}' y='{y:.1f}' font-size='{size}' font-weight='{weight}' text-anchor='{anchor}' fill='{INK}' "
        f"stroke='{PAPER}' stroke-width='3' paint-order='stroke' stroke-linejoin='round'>{escape(short)}</text>"
    )


def _scale_bar(scale: float, width: float, height: float) -> str:
    metres = next(m for m in (5.0, 2.0, 1.0, 0.5, 0.2, 0.1) if m * scale <= 0.35 * width or m == 0.1)
    x, y = MARGIN_PX, height - 8
    body = f"<path d='M{x} {y - 8}v4h{metres * scale:.1f}v-4' fill='none' stroke='{INK}'/>"
    return body + _label(x + metres * scale + 6, y, f"{metres:g} m", size=13, anchor="start", room=width)


def _box(corners: Sequence[PointM]) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)


def _touch(
    element: str, spot: str | None, box: tuple[float, float, float, float], width: float, height: float
) -> Touch:
    """Widen what is too thin for a thumb, about its middle."""
    left, top, w, h = box
    if spot is None:
        left, w = (left, w) if w >= TOUCH_PX else (left - (TOUCH_PX - w) / 2, TOUCH_PX)
        top, h = (top, h) if h >= TOUCH_PX else (top - (TOUCH_PX - h) / 2, TOUCH_PX)
    return Touch(element, spot, left / width, top / height, w / width, h / height)


def _whole(width: float, height: float, body: str, said: str) -> str:
    hatch = (
        "<defs><pattern id='none' width='7' height='7' patternUnits='userSpaceOnUse' patternTransform='rotate(45)'>"
        f"<path d='M0 0v7' stroke='{COLOUR['missing']}' stroke-width='1' stroke-opacity='.35'/></pattern></defs>"
    )
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:.0f} {height:.0f}' role='img' {FONT}>"
        f"<title>{escape(said)}</title>{hatch}{body}</svg>"
    )
