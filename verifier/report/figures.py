"""Figures for page and paper, as SVG text: a value against its limits, gap after gap.

One visual language: a verdict is told by shape and word before colour. Colours are from the palette of Okabe and Ito
(Color Universal Design, 2008), which readers with colour-vision deficiency can tell apart; text stays near black.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from xml.sax.saxutils import escape

from verifier.metrology.budget import result_text
from verifier.wording import counted

Verdict = Literal["conforming", "non_conforming", "inconclusive", "missing"]

INK, QUIET, LINE, PAPER = "#1c1f24", "#5a6270", "#c9ced6", "#ffffff"
COLOUR: dict[Verdict, str] = {
    "conforming": "#0072B2",
    "non_conforming": "#D55E00",
    "inconclusive": "#CC79A7",
    "missing": "#5a6270",
}
FONT = "font-family='DejaVu Sans, Helvetica, Arial, sans-serif'"


def verdict_mark(verdict: Verdict, x: float, y: float, size: float = 7.0) -> str:
    """Draw the shape that stands for a verdict: disc, crossed square, half disc, empty ring.

    Args:
        verdict: The verdict.
        x: Centre, px.
        y: Centre, px.
        size: Half width, px.

    Returns:
        An SVG fragment.
    """
    colour, s = COLOUR[verdict], size
    if verdict == "conforming":
        return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='{s:.1f}' fill='{colour}'/>"
    if verdict == "non_conforming":
        t = 0.5 * s
        return (
            f"<rect x='{x - s:.1f}' y='{y - s:.1f}' width='{2 * s:.1f}' height='{2 * s:.1f}' fill='{colour}'/>"
            f"<path d='M{x - t:.1f} {y - t:.1f}L{x + t:.1f} {y + t:.1f}M{x - t:.1f} {y + t:.1f}L{x + t:.1f} {y - t:.1f}'"
            f" stroke='{PAPER}' stroke-width='{0.3 * s:.1f}'/>"
        )
    ring = f"<circle cx='{x:.1f}' cy='{y:.1f}' r='{s - 1:.1f}' fill='{PAPER}' stroke='{colour}' stroke-width='2'/>"
    if verdict == "inconclusive":
        return (
            ring
            + f"<path d='M{x:.1f} {y - s:.1f}A{s:.1f} {s:.1f} 0 0 1 {x:.1f} {y + s:.1f}Z' fill='{colour}'/>"
        )
    return ring


@dataclass(frozen=True, slots=True)
class Reading:
    """A value with its doubt and what was decided about it; all in the unit of the figure."""

    value: float
    expanded_uncertainty: float
    verdict: Verdict
    label: str = ""


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of a requirement; a side that is not limited is None."""

    lower: float | None
    upper: float | None
    nominal: float | None
    unit: str


def _svg(width: float, height: float, body: str, title: str) -> str:
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:.0f} {height:.0f}' role='img' {FONT}>"
        f"<title>{escape(title)}</title>{body}</svg>"
    )


def _span(readings: tuple[Reading, ...], limits: Limits) -> tuple[float, float]:
    ends = [v for v in (limits.lower, limits.upper, limits.nominal) if v is not None]
    for r in readings:
        ends += [r.value - r.expanded_uncertainty, r.value + r.expanded_uncertainty]
    low, high = min(ends), max(ends)
    pad = 0.12 * (high - low) or max(1.0, 0.05 * abs(high))
    return low - pad, high + pad


def _text(
    x: float, y: float, words: str, *, anchor: str = "middle", size: float = 14, fill: str = INK
) -> str:
    return f"<text x='{x:.1f}' y='{y:.1f}' font-size='{size:.0f}' text-anchor='{anchor}' fill='{fill}'>{escape(words)}</text>"


def tolerance_bar(reading: Reading, limits: Limits, *, width: float = 340.0) -> str:
    """Draw one value with its 95 % interval against the band that is allowed.

    Args:
        reading: Value, expanded uncertainty and verdict.
        limits: Limits and nominal value.
        width: Width of the figure, px.

    Returns:
        SVG text.
    """
    low, high = _span((reading,), limits)
    x0, x1 = 10.0, width - 10.0

    def at(value: float) -> float:
        return x0 + (value - low) / (high - low) * (x1 - x0)

    left = at(limits.lower) if limits.lower is not None else x0
    right = at(limits.upper) if limits.upper is not None else x1
    body = f"<rect x='{x0}' y='22' width='{x1 - x0:.1f}' height='18' rx='3' fill='#eef0f3'/>"
    body += f"<rect x='{left:.1f}' y='22' width='{max(right - left, 0):.1f}' height='18' fill='#cfe3f1'/>"
    for limit in (limits.lower, limits.upper):
        if limit is not None:
            body += f"<path d='M{at(limit):.1f} 18V44' stroke='{INK}' stroke-width='1.5'/>"
            body += _text(at(limit), 60, f"{limit:.4g}", fill=QUIET)
    if limits.nominal is not None:
        body += f"<path d='M{at(limits.nominal):.1f} 22V40' stroke='{QUIET}' stroke-width='1' stroke-dasharray='2 2'/>"
    a, b = at(reading.value - reading.expanded_uncertainty), at(reading.value + reading.expanded_uncertainty)
    body += f"<path d='M{a:.1f} 31H{b:.1f}M{a:.1f} 26V36M{b:.1f} 26V36' stroke='{INK}' stroke-width='2'/>"
    body += verdict_mark(reading.verdict, at(reading.value), 31, 6)
    said = result_text(reading.value, reading.expanded_uncertainty, limits.unit)
    body += _text(min(max(at(reading.value), 85), width - 85), 14, said, size=15)
    return _svg(width, 66, body, f"{said}, {reading.verdict.replace('_', '-')}")


def gap_chart(
    readings: tuple[Reading, ...], limits: Limits, *, width: float = 420.0, height: float = 200.0
) -> str:
    """Draw gap after gap along a layer, each with its 95 % interval, over the band that is allowed.

    Args:
        readings: Gaps in order across the layer.
        limits: Limits of a single gap and the drawing's spacing.
        width: Width of the figure, px.
        height: Height of the figure, px.

    Returns:
        SVG text.

    Raises:
        ValueError: If there is no reading.
    """
    if not readings:
        raise ValueError("a gap chart needs at least one gap")
    low, high = _span(readings, limits)
    x0, x1, y0, y1 = 50.0, width - 12.0, height - 28.0, 24.0

    def down(value: float) -> float:
        return y0 - (value - low) / (high - low) * (y0 - y1)

    top = down(limits.upper) if limits.upper is not None else y1
    bottom = down(limits.lower) if limits.lower is not None else y0
    body = f"<rect x='{x0}' y='{y1}' width='{x1 - x0:.1f}' height='{y0 - y1:.1f}' fill='#f6f7f9'/>"
    body += f"<rect x='{x0}' y='{top:.1f}' width='{x1 - x0:.1f}' height='{max(bottom - top, 0):.1f}' fill='#cfe3f1'/>"
    for value, dash in ((limits.lower, ""), (limits.upper, ""), (limits.nominal, "4 3")):
        if value is not None:
            body += f"<path d='M{x0} {down(value):.1f}H{x1:.1f}' stroke='{QUIET}' stroke-dasharray='{dash}'/>"
            body += _text(x0 - 5, down(value) + 5, f"{value:.4g}", anchor="end", fill=QUIET)
    step = (x1 - x0) / len(readings)
    for i, r in enumerate(readings):
        x = x0 + (i + 0.5) * step
        a, b = down(r.value - r.expanded_uncertainty), down(r.value + r.expanded_uncertainty)
        body += f"<path d='M{x:.1f} {a:.1f}V{b:.1f}' stroke='{INK}' stroke-width='1.5'/>"
        body += verdict_mark(r.verdict, x, down(r.value), min(6.0, 0.35 * step + 1))
        if r.verdict != "conforming":
            body += _text(max(x, x0 + 15), max(b - 6, 20), f"{r.value:.{2 if limits.unit == 'in' else 0}f}")
        if step > 20 or i % 2 == 0:
            body += _text(x, height - 9, r.label or str(i + 1), fill=QUIET)
    body += _text(4, 14, limits.unit, anchor="start", fill=QUIET)
    worst = max(
        readings, key=lambda r: abs(r.value - (limits.nominal if limits.nominal is not None else r.value))
    )
    return _svg(
        width,
        height,
        body,
        f"{counted(len(readings), 'gap')}; farthest from the drawing {worst.value:.1f} {limits.unit}",
    )
