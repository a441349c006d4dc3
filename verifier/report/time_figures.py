"""Between which instants a photo was taken, as a bar on an axis of time that all photos share; SVG text.

What is proven is the bar, what a file claims of itself is a small mark on it. A thick end is a time stamp of an authority, hollow
if nobody vouched for it, a dashed end a device's clock, an arrow says that nothing bounds that side; colour only repeats what shape and words say.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal
from xml.sax.saxutils import escape

from verifier.report.figures import COLOUR, FONT, INK, PAPER, QUIET

Bound = Literal["stamp", "unvouched", "clock", "none"]
_BAR, _TRACK, _DOUBT = "#0072B2", "#eef0f3", COLOUR["non_conforming"]
_TOP, _FOOT = 8.0, 26.0
_LEAST = timedelta(minutes=20)


@dataclass(frozen=True, slots=True)
class TimeMark:
    """An instant that a file claims: by the camera's clock or by GPS; ``doubted`` if something speaks against it."""

    kind: Literal["camera", "GPS"]
    at: datetime
    doubted: bool


@dataclass(frozen=True, slots=True)
class TimeBar:
    """The bracket of one photo.

    Attributes:
        not_before: Earliest instant, None where nothing bounds it.
        from_bound: What bounds it below.
        not_after: Latest instant, None where nothing bounds it.
        to_bound: What bounds it above.
        marks: What the file claims.
        says: The same in words, for those who can't see it.
    """

    not_before: datetime | None
    from_bound: Bound
    not_after: datetime | None
    to_bound: Bound
    marks: tuple[TimeMark, ...]
    says: str


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """The span of time that several bars share."""

    start: datetime
    end: datetime


def axis_of(bars: Iterable[TimeBar]) -> TimeAxis | None:
    """Choose the span that shows every bracket; a claim far off is shown at the edge and does not stretch it.

    Args:
        bars: The bars.

    Returns:
        The axis, None where no bar has any instant.
    """
    found = list(bars)
    lows = [b.not_before for b in found if b.not_before is not None]
    lows += [m.at for b in found for m in b.marks if not m.doubted]
    highs = [b.not_after for b in found if b.not_after is not None]
    known = [*lows, *highs]
    if not known:
        return None
    low, high = min(known), max(known)
    pad = max((high - low) * 0.06, (_LEAST - (high - low)) / 2, timedelta(minutes=1))
    return TimeAxis(low - pad, high + pad)


def time_bar(bar: TimeBar, axis: TimeAxis, *, width: float = 340.0) -> str:
    """Draw the bracket of one photo.

    Args:
        bar: The bracket and what the file claims.
        axis: Span of time that it is drawn on.
        width: Width of the figure, px.

    Returns:
        SVG text.
    """
    x0, x1 = 8.0, width - 8.0
    span = (axis.end - axis.start).total_seconds()

    def at(instant: datetime) -> float:
        share = (instant - axis.start).total_seconds() / span
        return x0 + min(max(share, 0.0), 1.0) * (x1 - x0)

    left = at(bar.not_before) if bar.not_before is not None else x0
    right = at(bar.not_after) if bar.not_after is not None else x1
    middle = (_TOP + _FOOT) / 2
    body = f"<rect x='{x0}' y='{_TOP}' width='{x1 - x0:.1f}' height='{_FOOT - _TOP}' rx='3' fill='{_TRACK}'/>"
    if bar.not_before is None or bar.not_after is None:
        body += f"<path d='M{left:.1f} {middle}H{right:.1f}' stroke='{_BAR}' stroke-width='2.5' stroke-dasharray='5 4'/>"
    else:
        body += (
            f"<rect x='{left:.1f}' y='{_TOP + 3}' width='{max(right - left, 2.0):.1f}' height='{_FOOT - _TOP - 6}' "
            f"fill='{_BAR}' fill-opacity='.35'/>"
        )
    body += _end(left, bar.from_bound, outwards=-1) + _end(right, bar.to_bound, outwards=1)
    for mark in bar.marks:
        body += _mark(mark, at(mark.at), middle, beyond=not axis.start <= mark.at <= axis.end)
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:.0f} 34' role='img' {FONT}>"
        f"<title>{escape(bar.says)}</title>{body}</svg>"
    )


def time_scale(axis: TimeAxis, labels: Sequence[str], *, width: float = 340.0) -> str:
    """Draw what the bars are read against.

    Args:
        axis: Span of time.
        labels: Its start, middle and end, as people read them.
        width: Width of the figure, px.

    Returns:
        SVG text.
    """
    x0, x1 = 8.0, width - 8.0
    places = ((x0, "start"), ((x0 + x1) / 2, "middle"), (x1, "end"))
    body = f"<path d='M{x0} 20H{x1:.1f}' stroke='{QUIET}'/>"
    for (x, anchor), label in zip(places, labels, strict=True):
        body += f"<path d='M{x:.1f} 15V20' stroke='{QUIET}'/>"
        body += f"<text x='{x:.1f}' y='11' font-size='10.5' text-anchor='{anchor}' fill='{INK}'>{escape(label)}</text>"
    said = escape(f"{labels[0]} to {labels[-1]}")
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:.0f} 22' role='img' {FONT}>"
        f"<title>{said}</title>{body}</svg>"
    )


def sign(kind: Literal["stamp", "unvouched", "clock", "none", "camera", "GPS", "doubted"]) -> str:
    """Draw one sign of the bars alone, for a key.

    Args:
        kind: Which one.

    Returns:
        SVG text, 24 x 24.
    """
    if kind in ("stamp", "unvouched", "clock", "none"):
        drawn = _end(12.0, kind, outwards=-1)
        drawn = f"<g transform='translate(0 -5)'>{drawn}</g>"
    else:
        instant = datetime(2000, 1, 1)  # noqa: DTZ001 - only its shape is drawn
        shape: Literal["camera", "GPS"] = "GPS" if kind == "GPS" else "camera"
        drawn = _mark(TimeMark(shape, instant, kind == "doubted"), 12.0, 12.0, beyond=False)
    return f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 24 24'>{drawn}</svg>"


def _end(x: float, bound: Bound, *, outwards: int) -> str:
    middle = (_TOP + _FOOT) / 2
    if bound == "stamp":
        return f"<path d='M{x:.1f} {_TOP - 4}V{_FOOT + 4}' stroke='{_BAR}' stroke-width='5'/>"
    if bound == "unvouched":
        return f"<rect x='{x - 2.5:.1f}' y='{_TOP - 4}' width='5' height='{_FOOT - _TOP + 8}' fill='{PAPER}' stroke='{_BAR}' stroke-width='1.6'/>"
    if bound == "clock":
        return f"<path d='M{x:.1f} {_TOP - 3}V{_FOOT + 3}' stroke='{_BAR}' stroke-width='2.5' stroke-dasharray='4 3'/>"
    tip, back = x, x - outwards * 9
    return f"<path d='M{back:.1f} {middle - 6}L{tip:.1f} {middle}L{back:.1f} {middle + 6}' fill='none' stroke='{_BAR}' stroke-width='2.5'/>"


def _mark(mark: TimeMark, x: float, y: float, *, beyond: bool) -> str:
    """A diamond for the camera, a triangle for GPS; crossed and in another colour where doubted; a bar beside it beyond the axis."""
    s = 6.5
    shape = (
        f"M{x:.1f} {y - s}L{x + s:.1f} {y}L{x:.1f} {y + s}L{x - s:.1f} {y}Z"
        if mark.kind == "camera"
        else f"M{x:.1f} {y - s}L{x + s:.1f} {y + s * 0.8}L{x - s:.1f} {y + s * 0.8}Z"
    )
    colour = _DOUBT if mark.doubted else INK
    drawn = f"<path d='{shape}' fill='{PAPER}' stroke='{colour}' stroke-width='1.8'/>"
    if mark.doubted:
        t = s * 0.42
        drawn += (
            f"<path d='M{x - t:.1f} {y - t:.1f}L{x + t:.1f} {y + t:.1f}M{x - t:.1f} {y + t:.1f}L{x + t:.1f} {y - t:.1f}' "
            f"stroke='{colour}' stroke-width='1.8'/>"
        )
    if beyond:
        drawn += f"<path d='M{x:.1f} {y - 12}V{y - 7}M{x:.1f} {y + 7}V{y + 12}' stroke='{colour}' stroke-width='1.8'/>"
    return drawn
