"""Laps: where a bar line steps aside from one bar to the next, as seen on the full-size pixels.

Labels of a few pixels a cell melt two touching bars into one band, and a line fitted through it drifts from the one to
the other. On the pixels a lap is two parallel lines, about a bar's width or two apart. The first has its outer edge up to
where it ends, the second from where it begins, and between the two both are there; on either side one goes on alone.
Nothing else looks like that: a shadow beside a bar, or a seam, leaves the bar itself where it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from verifier.metrology.order_statistics import median
from verifier.vision.bars.bar_strips import Strip, edge_pairs
from verifier.vision.bars.fit_bars import EdgeFit
from verifier.vision.bars.lap_pairs import (
    COLUMN_MM,
    LEAST_TOLD,
    Cells,
    Pair,
    along,
    best_pair,
    straightened,
    widest_of,
)
from verifier.vision.bars.layer_axes import Floats
from verifier.vision.bars.trace_bars import BarTrack

SLOPES = np.arange(-0.016, 0.0161, 0.004)
FINER = np.arange(-0.004, 0.0041, 0.002)
"""Directions tried against the track, which the lap itself may have turned: first far apart, then near the best of them."""

MORE_THAN_ONE = 1.03
"""Two lines that hold less than this share of what the single line holds are not looked for any further."""

PRESENT = 0.6
"""A bar is there where its edges show at least this share of what they do along the better half of the line."""

LEAST_GAIN, LEAST_GAIN_LONG, LEAST_GAIN_CLEAR = -0.025, -0.05, -0.075
"""The same against any two lines at all, one of which goes all along, per block. It may be below zero, for a line turned a
little can always take in more; the more so the longer and the more clearly both bars are seen."""

LONG_MM, LEAST_BOTH, CLEARLY_BOTH = 160.0, 0.8, 1.05
"""A lap is long from here; mean presence of each bar in it, in units of what counts as there: at least, and where it is clear."""

CLEAR_STEP = 0.6
"""Least step between a bar that is there and one that has ended, counted in standard deviations of a single block (0.2 or so)."""

LEAST_LABEL, MOST_BESIDE = 0.5, 0.6
"""Least mean probability of a bar along each piece, and the most, as a share of it, where the other one has ended."""


@dataclass(frozen=True, slots=True)
class LapFound:
    """A lap in one bar line.

    Attributes:
        before, after: Offset of the two bars at s = 0 from the track, in mm.
        slope, bow_mm: Their common direction against the track, and its bow over a metre that they don't have.
        from_s_mm, to_s_mm: Stretch where both bars are seen: the second begins and the first ends.
    """

    before: float
    after: float
    slope: float
    bow_mm: float
    from_s_mm: float
    to_s_mm: float

    def offsets(self, s: Floats) -> tuple[Floats, Floats]:
        """Offset of both bars from the track.

        Args:
            s: Stations along the layer in mm, of any shape.

        Returns:
            Of the bar before and of the one after the lap, in mm, of the same shape.
        """
        turned = self.slope * s - self.bow_mm * (s / 1000.0) ** 2
        return self.before + turned, self.after + turned


def find_lap(strip: Strip, track: BarTrack, fit: EdgeFit, width_mm: float) -> LapFound | None:
    """Look for a step from one bar to a parallel one.

    Args:
        strip: Pixels around the bar line.
        track: The line that the strip was cut along. Its bow may come from the lap: it is tried with and without.
        fit: The single line fitted so far.
        width_mm: Silhouette width of the bars.

    Returns:
        The lap, or None where nothing shows that one bar ends and another goes on.
    """
    level = _level(strip, track, fit, width_mm)
    if level is None:
        return None
    bow = track.curve[2]
    rough = best_pair(
        Cells.of(strip, width_mm, together=2), level, [(s, b) for s in SLOPES for b in {bow, 0.0}]
    )
    if rough is None or rough.gain < LEAST_GAIN_CLEAR:
        return None
    bows = {rough.bow_mm, (rough.bow_mm + bow) / 2, rough.bow_mm / 2}
    near = [(rough.slope + s, b) for s in FINER for b in bows]
    pair = best_pair(Cells.of(strip, width_mm), level, near, about=rough)
    if pair is None:
        return None
    half = median(np.diff(strip.s_mm)) / 2
    run = float(strip.s_mm[pair.start]) - half, float(strip.s_mm[pair.stop - 1]) + half
    lap = LapFound(pair.before, pair.after, pair.slope, pair.bow_mm, *run)
    return (
        _widened(strip, lap, width_mm, pair) if _sure(strip, lap, pair, width_mm, level, rough.gain) else None
    )


def _widened(strip: Strip, lap: LapFound, width_mm: float, pair: Pair) -> LapFound:
    """The lap as long as its edges alone show both bars, if that is longer: labels may miss a bar beside another."""
    first, second = (x.edges for x in shown(strip, lap.offsets(strip.s_mm), width_mm))
    start = _last_below(second[: pair.start], PRESENT * float(second[pair.start :].mean()))
    stop = _last_below(first[: pair.stop - 1 : -1], PRESENT * float(first[: pair.stop].mean()))
    half = median(np.diff(strip.s_mm)) / 2
    from_s = float(strip.s_mm[pair.start - start]) - half
    to_s = float(strip.s_mm[pair.stop - 1 + stop]) + half
    return replace(lap, from_s_mm=min(from_s, lap.from_s_mm), to_s_mm=max(to_s, lap.to_s_mm))


@dataclass(frozen=True, slots=True)
class Shown:
    """How clearly a bar is there, block by block, (k,), 0 to 1: by its two edges, and by the labels."""

    edges: Floats
    label: Floats

    @property
    def both(self) -> Floats:
        """By three things that must agree: each of its edges, and the labels."""
        return np.cbrt(self.edges**2 * np.maximum(self.label, LEAST_TOLD))


def shown(strip: Strip, offsets: tuple[Floats, Floats], width_mm: float) -> tuple[Shown, Shown]:
    """How clearly each of the two bars of a lap is there.

    Args:
        strip: Pixels around them, k blocks.
        offsets: (k,) of the first and of the second bar from the track that the strip was cut along, in mm.
        width_mm: Silhouette width of the bars.

    Returns:
        Of the first and of the second bar.
    """
    before, after = offsets
    side = math.copysign(width_mm * strip.stretch / 2, float((after - before).mean()))
    edge = widest_of(strip.edge, max(1, round(COLUMN_MM / strip.step_mm)))
    outer, inner = (along(edge, strip, before + k * side) for k in (-1, 1))
    far, near = (along(edge, strip, after + k * side) for k in (1, -1))
    told = (along(strip.label, strip, mm) for mm in (before - side / 2, after + side / 2))
    first, second = np.sqrt(outer * np.maximum(inner, far)), np.sqrt(far * np.maximum(near, outer))
    return Shown(first, next(told)), Shown(second, next(told))


def pieces(lap: LapFound, track: BarTrack) -> tuple[BarTrack, BarTrack]:
    """The two bars of a lap, each where it is alone.

    Args:
        lap: The lap.
        track: The bar line that it was found in.

    Returns:
        A track along the bar before and one along the bar after the lap, the one first that has more of it near the board.
    """
    c0, c1, c2 = track.curve
    seen = (track.seen[0][0], lap.from_s_mm), (lap.to_s_mm, track.seen[-1][1])
    both = [
        replace(track, curve=(c0 + offset, c1 + 1000.0 * lap.slope, c2 - lap.bow_mm), seen=(run,))
        for offset, run in zip((lap.before, lap.after), seen, strict=True)
    ]
    first, second = sorted(both, key=lambda t: max(t.seen[0][0], -500.0) - min(t.seen[0][1], 500.0))
    return first, second


def _level(strip: Strip, track: BarTrack, fit: EdgeFit, width_mm: float) -> float | None:
    """From how much edges and labels on a bar counts as there; None where no two lines hold more than the single one."""
    strength = widest_of(np.sqrt(edge_pairs(strip, width_mm * np.array([0.95, 1.05])).max(axis=0).T), 1)
    line = fit.across(strip.s_mm) - track.across(strip.s_mm)
    single = along(strength, strip, line)
    columns = np.arange(0, strength.shape[1], 3)
    turned = np.array([(slope, bow_mm) for slope in SLOPES[::2] for bow_mm in (track.curve[2], 0.0)])
    so_far = np.cumsum(straightened(strength, strip, strip.s_mm, columns, turned), axis=0)
    # No step gains more than the best column up to a block and the best one from there on, whichever these are: most bars
    # are one line, and are done with here.
    most = float((so_far.max(axis=2) + (so_far[-1] - so_far).max(axis=2)).max())
    if most < MORE_THAN_ONE * float(single.sum()):
        return None
    seen = np.cbrt(single**2 * along(strip.label, strip, line))
    return PRESENT * float(np.sort(seen)[len(seen) // 2 :].mean())


def _sure(strip: Strip, lap: LapFound, pair: Pair, width_mm: float, level: float, gain: float) -> bool:
    """Whether both bars are seen in the lap, and on either side one of them alone, by edges and by labels.

    A shadow that runs beside a bar all along is no second bar; nor is a band that the labels take too wide.
    """
    one, other = shown(strip, lap.offsets(strip.s_mm), width_mm)
    first, second = one.both, other.both
    both = min(float(x[pair.start : pair.stop].mean()) for x in (first, second)) / level
    needed = LEAST_GAIN
    if lap.to_s_mm - lap.from_s_mm >= LONG_MM:
        needed = LEAST_GAIN_CLEAR if both >= CLEARLY_BOTH else LEAST_GAIN_LONG
    if both < LEAST_BOTH or gain < needed:
        return False
    before, after = slice(None, pair.start), slice(pair.stop, None)
    steps = _step(first[: pair.stop], first[after]), _step(second[pair.start :], second[before])
    own = float(one.label[before].mean()), float(other.label[after].mean())
    beside = float(other.label[before].mean()), float(one.label[after].mean())
    labelled = min(own) > LEAST_LABEL and all(o < MOST_BESIDE * p for o, p in zip(beside, own, strict=True))
    return labelled and min(steps) >= CLEAR_STEP


def _last_below(values: Floats, level: float) -> int:
    """How many values at the end lie above a level, but for single ones and two: no further than three that lie below."""
    below = 0
    for k, value in enumerate(values[::-1]):
        below = below + 1 if value < level else 0
        if below == 3:
            return k - 2
    return len(values) - below


def _step(there: Floats, gone: Floats) -> float:
    """Difference of two means, as if each block had a standard deviation of 1."""
    return float((there.mean() - gone.mean()) * np.sqrt(len(there) * len(gone) / (len(there) + len(gone))))
