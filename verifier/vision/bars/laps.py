"""Laps: where a bar line steps aside from one bar to the next, as seen on the full-size pixels.

Labels of a few pixels a cell melt two touching bars into one band, and a line fitted through it drifts from the one to
the other. On the pixels a lap is two parallel lines, about a bar's width or two apart. The first has its outer edge up to
where it ends, the second from where it begins, and between the two both are there; on either side one goes on alone.
Nothing else looks like that: a shadow beside a bar, or a seam, leaves the bar itself where it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median
from verifier.vision.bars.bar_strips import Strip, edge_pairs
from verifier.vision.bars.fit_bars import EdgeFit
from verifier.vision.bars.layer_axes import Floats
from verifier.vision.bars.trace_bars import BarTrack

SLOPES = np.arange(-0.016, 0.0161, 0.004)
FINER = np.arange(-0.004, 0.0041, 0.002)
"""Directions tried against the track, which the lap itself may have turned: first far apart, then near the best of them."""

COLUMN_MM = 1.0
"""Lines are tried so far apart across, and an edge counts so far to either side of where it is presumed."""

ASIDE = range(-14, 15, 2)
NEARER = (-2, -1, 0, 1, 2)
"""Columns in which the bar before the lap is tried: about the line through the labels, then about the best of them."""

APART, APARTS = (0.85, 2.2), 5
"""Distance of the two bars, in widths of a bar: tied together they touch, but for ribs and a bar that isn't straight. So many
distances are tried in one such width."""

MORE_THAN_ONE = 1.03
"""Two lines that hold less than this share of what the single line holds are not looked for any further."""

PRESENT = 0.6
"""A bar is there where its edges show at least this share of what they do along the better half of the line."""

LEAST_TOLD = 0.1
"""What the labels leave of a bar that they don't see: edges alone can't show one, nor can a single cell hide one."""

LEAST_ALONE_MM, LEAST_LAP_MM = 60.0, 100.0
"""Each bar must be seen alone along so much, and both together; the shortest laps of the codes are 200 mm and more."""

OWN_GAIN = 1.0
"""Blocks of full strength by which a lap must explain two lines better than one of them that goes all along does."""

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
    rough = _best_pair(
        _Cells.of(strip, width_mm, together=2), level, [(s, b) for s in SLOPES for b in {bow, 0.0}]
    )
    if rough is None or rough.gain < LEAST_GAIN_CLEAR:
        return None
    bows = {rough.bow_mm, (rough.bow_mm + bow) / 2, rough.bow_mm / 2}
    near = [(rough.slope + s, b) for s in FINER for b in bows]
    pair = _best_pair(_Cells.of(strip, width_mm), level, near, about=rough)
    if pair is None:
        return None
    half = median(np.diff(strip.s_mm)) / 2
    run = float(strip.s_mm[pair.start]) - half, float(strip.s_mm[pair.stop - 1]) + half
    lap = LapFound(pair.before, pair.after, pair.slope, pair.bow_mm, *run)
    return (
        _widened(strip, lap, width_mm, pair) if _sure(strip, lap, pair, width_mm, level, rough.gain) else None
    )


def _widened(strip: Strip, lap: LapFound, width_mm: float, pair: _Pair) -> LapFound:
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
    edge = _widest_of(strip.edge, max(1, round(COLUMN_MM / strip.step_mm)))
    outer, inner = (_along(edge, strip, before + k * side) for k in (-1, 1))
    far, near = (_along(edge, strip, after + k * side) for k in (1, -1))
    told = (_along(strip.label, strip, mm) for mm in (before - side / 2, after + side / 2))
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
    strength = _widest_of(np.sqrt(edge_pairs(strip, width_mm * np.array([0.95, 1.05])).max(axis=0).T), 1)
    line = fit.across(strip.s_mm) - track.across(strip.s_mm)
    single = _along(strength, strip, line)
    columns = np.arange(0, strength.shape[1], 3)
    turned = np.array([(slope, bow_mm) for slope in SLOPES[::2] for bow_mm in (track.curve[2], 0.0)])
    so_far = np.cumsum(_straightened(strength, strip, strip.s_mm, columns, turned), axis=0)
    # No step gains more than the best column up to a block and the best one from there on, whichever these are: most bars
    # are one line, and are done with here.
    most = float((so_far.max(axis=2) + (so_far[-1] - so_far).max(axis=2)).max())
    if most < MORE_THAN_ONE * float(single.sum()):
        return None
    seen = np.cbrt(single**2 * _along(strip.label, strip, line))
    return PRESENT * float(np.sort(seen)[len(seen) // 2 :].mean())


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two lines, the blocks from which on the second and up to which the first is there, and what speaks for it.

    Attributes:
        total: Presence of both bars where they should be less that where they should not, beyond what counts as there. [blocks]
        gain: By how much, per block, that is more than for any two lines one of which goes all along.
    """

    total: float
    gain: float
    slope: float
    bow_mm: float
    before: float
    after: float
    start: int
    stop: int


@dataclass(frozen=True, slots=True)
class _Cells:
    """What shows bars around a bar line, in blocks along and columns across.

    Attributes:
        strip: The pixels.
        s_mm: (k,) stations of the blocks, which may be several of the strip's together.
        strength: (k, m) cube root of the edge strength, the strongest within ``COLUMN_MM`` to either side.
        label: (k, m) cube root of the probability of the labels, at least ``LEAST_TOLD``.
        columns: Columns of the strip that are asked.
        step_mm: Distance of these.
        width_mm: Silhouette width of the bars.
    """

    strip: Strip
    s_mm: Floats
    strength: NDArray[np.float32]
    label: NDArray[np.float32]
    columns: NDArray[np.int64]
    step_mm: float
    width_mm: float

    @classmethod
    def of(cls, strip: Strip, width_mm: float, together: int = 1) -> _Cells:
        every = max(1, round(COLUMN_MM / strip.step_mm))
        k, middle = len(strip.s_mm) // together, (strip.edge.shape[1] - 1) // 2
        s, strength, label = (
            x[: k * together].reshape(k, together, -1).mean(axis=1)
            for x in (strip.s_mm, _widest_of(strip.edge, every), np.maximum(strip.label, LEAST_TOLD))
        )
        reach = middle // every
        columns = middle + np.arange(-reach, reach + 1) * every
        step_mm = every * strip.step_mm
        return cls(
            strip,
            s[:, 0],
            np.cbrt(strength, dtype=np.float32),
            np.cbrt(label, dtype=np.float32),
            columns,
            step_mm,
            width_mm,
        )

    def firsts(self, side: int, about: _Pair | None) -> NDArray[np.int64]:
        """Columns, counted from one side, in which the first bar is tried."""
        reach = len(self.columns) // 2
        tried = ASIDE if about is None else [round(about.before / self.step_mm) + n for n in NEARER]
        columns = np.array([reach + side * n for n in tried])
        return columns[(columns >= self.half) & (columns < 2 * reach - self.half)]

    @property
    def half(self) -> int:
        """Columns from the middle of a bar to its edge."""
        return max(1, round(self.width_mm * self.strip.stretch / 2 / self.step_mm))

    @property
    def aparts(self) -> NDArray[np.int64]:
        """Distances of the two bars that are tried, in columns."""
        low, high = (math.ceil(k * self.width_mm / self.step_mm) for k in APART)
        return np.arange(low, high + 1, max(1, round(self.width_mm / APARTS / self.step_mm)))


def _best_pair(
    cells: _Cells, level: float, directions: Sequence[tuple[float, float]], about: _Pair | None = None
) -> _Pair | None:
    """The two lines that fit best: one that ends, one that begins, both there between; None where the strip is too short."""
    block = median(np.diff(cells.s_mm))
    least = max(2, round(LEAST_ALONE_MM / block)), max(2, round(LEAST_LAP_MM / block))
    if len(cells.s_mm) < 2 * least[0] + least[1]:
        return None
    # Outside the strip nothing speaks for a bar, and nothing against it.
    known = cells.strength.copy()
    edge = max(1, round(COLUMN_MM / cells.strip.step_mm))
    known[:, :edge] = known[:, -edge:] = np.cbrt(level)
    turned = np.array(directions)
    straight, told = (
        _straightened(x, cells.strip, cells.s_mm, cells.columns, turned) for x in (known, cells.label)
    )
    best: _Pair | None = None
    most = -math.inf
    for side in (1, -1) if about is None else (1 if about.after > about.before else -1,):
        first = cells.firsts(side, about)
        if len(first) == 0:
            continue
        pairs = _pairs(cells, straight[..., ::side], told[..., ::side], first)
        total, other, at, start, stop = _best_run(*pairs, level, least)
        most = max(most, other)
        if best is None or total > best.total:
            direction, column, apart = np.unravel_index(at, pairs[0].shape[1:])
            before = side * int(first[column] - len(cells.columns) // 2) * cells.step_mm
            after = before + side * int(cells.aparts[apart]) * cells.step_mm
            slope, bow_mm = (float(x) for x in turned[direction])
            best = _Pair(total, 0.0, slope, bow_mm, before, after, start, stop)
    return None if best is None else replace(best, gain=(best.total - most) / len(cells.s_mm))


def _pairs(cells: _Cells, strength: Floats, told: Floats, first: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """How clearly the bars of every pair of lines are there, (k, directions, columns, distances).

    Each by three things that must agree: its outer edge; its inner one or, where the two bars touch, the outer one of its
    neighbour; and the labels.
    """
    half, last = cells.half, strength.shape[-1] - 1
    second = first[:, None] + cells.aparts
    edges, inside, labels = (np.minimum(second + k, last) for k in (half, -half, half // 2))
    far, near = strength[..., edges], strength[..., inside]
    outer, inner = strength[..., first - half, None], strength[..., first + half, None]
    own = outer * told[..., first - half // 2, None]
    return own * np.maximum(inner, far), far * told[..., labels] * np.maximum(near, outer)


def _best_run(
    first: Floats, second: Floats, level: float, least: tuple[int, int]
) -> tuple[float, float, int, int, int]:
    """Best of the pairs in (k, ...), and the blocks between which both bars are there.

    Returns:
        Its total; the largest one of any pair for two other tales, that the first bar never ends, or that the second has always
        been there; which pair it is; first block of both bars, block behind the last.
    """
    alone, both = least
    first, second = (x.reshape(len(x), -1) - np.float32(level) for x in (first, second))
    zero = np.zeros((1, first.shape[1]), first.dtype)
    ends, begins = (np.concatenate([zero, np.cumsum(x, axis=0)]) for x in (first, second))
    until, since = 2 * ends - ends[-1], begins[-1] - 2 * begins
    last = len(first) - alone
    before, after = since[alone : last - both + 1], until[alone + both : last + 1]
    total = np.maximum.accumulate(before, axis=0) + after
    other = np.maximum(ends[-1] + since.max(axis=0), until.max(axis=0) + begins[-1])
    summit = total.max(axis=0)
    pair = int(np.argmax(np.where(summit - other >= OWN_GAIN, summit, -np.inf)))
    k = int(np.argmax(total[:, pair]))
    start = int(np.argmax(before[: k + 1, pair]))
    return float(summit[pair]), float(other.max()), pair, start + alone, k + alone + both


def _sure(strip: Strip, lap: LapFound, pair: _Pair, width_mm: float, level: float, gain: float) -> bool:
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


def _widest_of(strength: NDArray[np.floating], reach: int) -> Floats:
    """Each column the best of itself and of those within reach; nothing in the outermost columns."""
    best = np.zeros(strength.shape)
    shifted = [strength[:, k : strength.shape[1] - 2 * reach + k] for k in range(2 * reach + 1)]
    best[:, reach:-reach] = np.maximum.reduce(shifted)
    return best


def _along(strength: Floats, strip: Strip, offset_mm: Floats) -> Floats:
    """Strength along a line given by its offset from the track; that of the outermost column where it leaves the strip."""
    middle = (strength.shape[1] - 1) / 2
    at = np.clip(np.rint(offset_mm / strip.step_mm + middle).astype(np.int64), 0, strength.shape[1] - 1)
    return np.asarray(strength[np.arange(len(at)), at])


def _straightened(
    strength: NDArray[np.floating], strip: Strip, s_mm: Floats, columns: NDArray[np.int64], directions: Floats
) -> Floats:
    """Strength with every row moved so that lines of each slope and bow (d, 2) stand upright, (k, d, columns)."""
    slope, bow_mm = directions.T
    shift = np.rint((np.outer(s_mm, slope) - np.outer((s_mm / 1000.0) ** 2, bow_mm)) / strip.step_mm)
    at = np.clip(columns + shift.astype(np.int64)[..., None], 0, strength.shape[1] - 1)
    return np.asarray(strength[np.arange(len(s_mm))[:, None, None], at])
