"""Figures of the pour for page and paper, as SVG text: how old a face gets, what one truck more does, how fast water goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from verifier.report.figures import FONT, INK, LINE, PAPER, QUIET

_TICKS_MIN, MOST_TICKS = (5, 10, 15, 20, 30, 60, 120, 240), 5
"""Round times between the marks of an axis, and how many fit on a phone."""
BAR, OVER, BAND = "#8fb9d6", "#D55E00", "#cfe3f1"
WIDTH, HEIGHT = 420.0, 210.0


@dataclass(frozen=True, slots=True)
class Share:
    """A chance with its interval, as parts of one, and what it belongs to."""

    label: str
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Banded:
    """A value with the range in which the true one may lie, at a labelled place."""

    label: str
    value: float
    low: float
    high: float


def histogram(values: Sequence[float], limit: float, planned: float, *, words: tuple[str, str, str]) -> str:
    """Draw how often a time came out, with the limit that it should stay under.

    Args:
        values: One time for each run, min.
        limit: Limit, min.
        planned: The time as planned, min.
        words: What the axis, the limit and the plan are called.

    Returns:
        SVG text.

    Raises:
        ValueError: If there is no value.
    """
    if not values:
        raise ValueError("a histogram needs at least one value")
    top = max(limit * 1.25, sorted(values)[int(0.995 * (len(values) - 1))])
    bins = 24
    counts = [0] * bins
    for value in values:
        counts[min(bins - 1, int(value / top * bins))] += 1
    x0, x1, y0, y1 = 12.0, WIDTH - 12, HEIGHT - 40, 34.0
    step = (x1 - x0) / bins
    body = ""
    for i, count in enumerate(counts):
        tall = (y0 - y1) * count / max(counts)
        colour = OVER if (i + 0.5) * top / bins > limit else BAR
        body += f"<rect x='{x0 + i * step + 0.5:.1f}' y='{y0 - tall:.1f}' width='{step - 1:.1f}' height='{tall:.1f}' fill='{colour}'/>"
    body += f"<path d='M{x0} {y0}H{x1}' stroke='{QUIET}'/>"

    def at(value: float) -> float:
        return x0 + value / top * (x1 - x0)

    for value, said, dash, y in ((limit, words[1], "", 14.0), (planned, words[2], "4 3", 28.0)):
        x = at(value)
        body += (
            f"<path d='M{x:.1f} {y + 4}V{y0}' stroke='{INK}' stroke-width='1.5' stroke-dasharray='{dash}'/>"
        )
        anchor = "end" if x > WIDTH / 2 else "start"
        body += _text(x + (-4 if anchor == "end" else 4), y + 6, f"{said} {value:.0f} min", anchor=anchor)
    between = next(s for s in _TICKS_MIN if top / s <= MOST_TICKS or s == _TICKS_MIN[-1])
    for tick in range(0, int(top) + 1, between):
        body += _text(at(tick), y0 + 16, str(tick), fill=QUIET, anchor="start" if tick == 0 else "middle")
    body += _text((x0 + x1) / 2, HEIGHT - 6, words[0], fill=QUIET)
    over = sum(v > limit for v in values)
    return _svg(HEIGHT, body, f"{words[0]}: {over} of {len(values)} runs over {limit:.0f} min")


def chances(shares: Sequence[Share], *, title: str) -> str:
    """Draw chances under each other, each with its 95 % interval.

    Args:
        shares: Chances, the plan first.
        title: What they are chances of.

    Returns:
        SVG text.
    """
    row, x0, x1 = 40.0, 12.0, WIDTH - 12
    top = max(0.1, min(1.0, 1.15 * max(s.high for s in shares)))
    body = ""
    for i, s in enumerate(shares):
        y = 14 + i * row
        body += _text(x0, y, s.label, anchor="start")
        body += _text(x1, y, f"{_percent(s.low)} – {_percent(s.high)} %", anchor="end", fill=QUIET)
        a, v, b = (x0 + min(p / top, 1) * (x1 - x0) for p in (s.low, s.value, s.high))
        body += f"<rect x='{x0}' y='{y + 6}' width='{x1 - x0}' height='12' fill='#eef0f3'/>"
        body += f"<rect x='{x0}' y='{y + 6}' width='{max(v - x0, 1):.1f}' height='12' fill='{BAR}'/>"
        body += f"<path d='M{a:.1f} {y + 12}H{b:.1f}M{a:.1f} {y + 8}V{y + 16}M{b:.1f} {y + 8}V{y + 16}' stroke='{INK}' stroke-width='1.5'/>"
    told = "; ".join(f"{s.label}: {_percent(s.value)} %" for s in shares)
    return _svg(len(shares) * row + 4, body, f"{title}. {told}")


def rate_over_time(rates: Sequence[Banded], limit: float, *, words: tuple[str, str]) -> str:
    """Draw a rate hour by hour, each with its range, against the value from which something is done.

    Args:
        rates: Rates in order of time.
        limit: Value from which something is done.
        words: What is drawn with its unit, and what the limit is called.

    Returns:
        SVG text.

    Raises:
        ValueError: If there is no rate.
    """
    if not rates:
        raise ValueError("a rate needs at least one hour")
    x0, x1, y0, y1 = 34.0, WIDTH - 12, HEIGHT - 28, 26.0
    top = 1.1 * max(limit, *(r.high for r in rates))
    bottom = min(0.0, *(r.low for r in rates))

    def down(value: float) -> float:
        return y0 - (value - bottom) / (top - bottom) * (y0 - y1)

    step = (x1 - x0) / max(len(rates) - 1, 1)
    xs = [x0 + i * step for i in range(len(rates))]
    upper = [f"{x:.1f} {down(r.high):.1f}" for x, r in zip(xs, rates, strict=True)]
    lower = [f"{x:.1f} {down(r.low):.1f}" for x, r in zip(xs, rates, strict=True)]
    middle = [f"{x:.1f} {down(r.value):.1f}" for x, r in zip(xs, rates, strict=True)]
    body = f"<path d='M{'L'.join([*upper, *reversed(lower)])}Z' fill='{BAND}'/>"
    body += f"<path d='M{'L'.join(middle)}' fill='none' stroke='{INK}' stroke-width='1.8'/>"
    body += (
        f"<path d='M{x0} {down(limit):.1f}H{x1}' stroke='{OVER}' stroke-width='1.5' stroke-dasharray='6 3'/>"
    )
    body += _text(x1, down(limit) - 5, f"{words[1]} {limit:g}", anchor="end")
    body += f"<path d='M{x0} {down(bottom):.1f}H{x1}' stroke='{LINE}'/>"
    for value in (bottom, limit):
        body += _text(x0 - 5, down(value) + 4, f"{value:.1f}", anchor="end", fill=QUIET)
    every = max(1, len(rates) // 6)
    for i, (x, r) in enumerate(zip(xs, rates, strict=True)):
        if i % every == 0:
            body += _text(x, HEIGHT - 10, r.label, fill=QUIET)
    body += _text(4, 14, words[0], anchor="start", fill=QUIET)
    worst = max(rates, key=lambda r: r.high)
    return _svg(
        HEIGHT,
        body,
        f"{words[0]}: largest about {worst.value:.2f} ({worst.low:.2f} to {worst.high:.2f}) at {worst.label}",
    )


def _percent(share: float) -> str:
    value = 100 * share
    return f"{value:.1f}" if value < 10 else f"{value:.0f}"


def _text(x: float, y: float, words: str, *, anchor: str = "middle", fill: str = INK) -> str:
    return f"<text x='{x:.1f}' y='{y:.1f}' font-size='14' text-anchor='{anchor}' fill='{fill}'>{escape(words)}</text>"


def _svg(height: float, body: str, title: str) -> str:
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {WIDTH:.0f} {height:.0f}' role='img' {FONT}>"
        f"<title>{escape(title)}</title><rect width='100%' height='100%' fill='{PAPER}'/>{body}</svg>"
    )
