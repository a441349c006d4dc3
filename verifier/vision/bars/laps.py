"""Laps: where a bar line steps aside from one bar to the next, as seen on the full-size pixels.

Labels of a few pixels a cell melt two touching bars into one band, and a line fitted through it drifts from the one to
the other. On the pixels a lap is two parallel lines, about a bar's width or two apart, of which one takes over from the
other; that is what is looked for here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median
from verifier.vision.bars.bar_strips import Strip, edge_pairs
from verifier.vision.bars.fit_bars import EdgeFit
from verifier.vision.bars.layer_axes import Floats
from verifier.vision.bars.trace_bars import BarTrack

SLOPES = np.arange(-0.012, 0.0121, 0.003)
"""Directions tried against the track, which the lap itself may have turned."""

COLUMN_STEP = 3
"""Columns of a strip that are tried as a bar's middle: every third, a pixel or two."""

CLEARER = 1.10
"""Two pieces must explain the edges better than the single bowed line by this factor."""

STRONG = 0.3

CLEAR_IN, CLEAR_OUT, CLEAR_STEP = 0.5, 0.25, 0.85
"""A bar's end is clear where its edges show at least so strongly along the lap, at most so strongly beyond its end, and the step
between the two is at least so large, counted in standard deviations of a single block (0.5 to 1 for a bar seen or not)."""

BEYOND_BLOCKS = 5
"""So far beyond an end of one bar, in blocks, the other one must be clear."""

ENDS_AGREE_BLOCKS = 2.0
"""Two ways to find an end, the last block of an unbroken run and the largest step, must agree within so many blocks."""

END_U_BLOCKS = 0.6
"""Standard uncertainty of a clear end: a uniform error of a block to either side, the length of 24 px (JCGM 100:2008, 4.3.7)."""

LEAST_LABEL, MOST_BESIDE = 0.5, 0.6
"""Least mean probability of a bar along each piece, and the most, as a share of it, where the other one has ended."""


@dataclass(frozen=True, slots=True)
class LapFound:
    """A lap in one bar line.

    Attributes:
        before, after: Offset of the two bars at s = 0 from the track without its bow, in mm.
        slope: Their common direction against the track.
        from_s_mm, to_s_mm: Stretch where both bars are seen.
        length_u_mm: Standard uncertainty of that stretch as the length of the lap; None where an end of a bar isn't clear.
    """

    before: float
    after: float
    slope: float
    from_s_mm: float
    to_s_mm: float
    length_u_mm: float | None


def find_lap(strip: Strip, track: BarTrack, fit: EdgeFit, width_mm: float) -> LapFound | None:
    """Look for a step from one bar to a parallel one.

    Args:
        strip: Pixels around the bar line.
        track: The line that the strip was cut along. Its bow may come from the lap and is taken out.
        fit: The single line fitted so far, to be beaten.
        width_mm: Silhouette width of the bars.

    Returns:
        The lap, or None where the single line explains the edges as well.
    """
    strength = np.sqrt(edge_pairs(strip, width_mm * np.array([0.95, 1.05])).max(axis=0).T)
    offsets = strip.offsets_mm
    bow = track.curve[2] * (strip.s_mm / 1000.0) ** 2
    near = (offsets[None, :] + bow[:, None]) / (1.6 * width_mm)
    strength = _best_of_three(strength * np.exp(-0.5 * near**2))
    single = _along(strength, strip, fit.across(strip.s_mm) - track.across(strip.s_mm))
    to_beat = CLEARER * float(single.sum()) + 0.02 * len(single)
    columns = np.arange(0, len(offsets), COLUMN_STEP)
    step = _clearest_step(strength, strip, bow, columns, width_mm, to_beat)
    if step is None:
        return None
    slope, at, first, second = step.slope, step.block, step.before, step.after
    shift = _shift(strip, slope, bow)
    straight = _shifted(strength, columns, shift)
    low, high = _both(straight[:, first] > STRONG, straight[:, second] > STRONG, at)
    labelled = _shifted(_best_of_three(strip.label), columns, shift)
    if not _each_labelled_alone(labelled[:, first], labelled[:, second], low, high):
        return None
    block = median(np.diff(strip.s_mm))
    ends = _clear_ends(straight[:, first], straight[:, second], (low, high), at)
    from_s, to_s = float(strip.s_mm[low]), float(strip.s_mm[high])
    if ends is not None:
        # A block that a bar ends in is mostly lost: half of one is given back at either end.
        from_s, to_s = from_s + (ends[0] - 0.5) * block, to_s + (ends[1] + 0.5) * block
    return LapFound(
        before=float(offsets[columns[first]]),
        after=float(offsets[columns[second]]),
        slope=slope,
        from_s_mm=from_s,
        to_s_mm=to_s,
        length_u_mm=None if ends is None else float(np.hypot(np.sqrt(2.0) * END_U_BLOCKS, ends[2]) * block),
    )


@dataclass(frozen=True, slots=True)
class _Step:
    """A step from one column to another: direction, sum of the strength, block from which on the other one counts, columns."""

    slope: float
    total: float
    block: int
    before: int
    after: int


def _clearest_step(
    strength: Floats,
    strip: Strip,
    bow: Floats,
    columns: NDArray[np.int64],
    width_mm: float,
    to_beat: float,
) -> _Step | None:
    """The step with the largest sum over all directions; None where none reaches what there is to beat."""
    edge_blocks = max(3, int(0.08 * len(strip.s_mm)))
    so_far = np.cumsum(_shifted(strength, columns, _shift(strip, SLOPES[:, None], bow)), axis=1)
    # No step gains more than the best column up to a block and the best one from there on, whichever these are:
    # most bars are one line, and are done with here.
    most = so_far.max(axis=2) + (so_far[:, -1:] - so_far).max(axis=2)
    best: _Step | None = None
    for k in np.flatnonzero(most.max(axis=1) >= to_beat):
        found = _best_step(so_far[k], COLUMN_STEP * strip.step_mm, width_mm, edge_blocks)
        if found is not None and found[0] >= to_beat and (best is None or found[0] > best.total):
            best = _Step(float(SLOPES[k]), *found)
    return best


def _shift(strip: Strip, slope: Floats | float, bow: Floats) -> NDArray[np.int64]:
    """Columns (..., k) by which each block is moved so that lines of a direction, or of many (..., 1), stand upright."""
    return np.asarray(np.rint((slope * strip.s_mm - bow) / strip.step_mm), np.int64)


def _clear_ends(
    first: Floats, second: Floats, run: tuple[int, int], at: int
) -> tuple[float, float, float] | None:
    """Shift of both ends of the lap against the unbroken run, and the doubt from their disagreement, in blocks; or None."""
    starts = _start_before(second, at)
    stops = _start_before(first[::-1], len(first) - at)
    if starts is None or stops is None:
        return None
    last = len(first) - 1 - stops
    # What hides both bars hides an end: beyond it the other bar must be seen.
    beyond = (first[max(starts - BEYOND_BLOCKS, 0) : starts], second[last + 1 : last + 1 + BEYOND_BLOCKS])
    if min(float(b.mean()) for b in beyond) < CLEAR_IN:
        return None
    shifts = (starts - run[0], last - run[1])
    if max(abs(k) for k in shifts) > ENDS_AGREE_BLOCKS:
        return None
    return shifts[0] / 2, shifts[1] / 2, float(np.hypot(*shifts)) / 2


def _start_before(clear: Floats, at: int, margin: int = 4) -> int | None:
    """Block from which a bar is seen, by the largest step in how clear its edges are; None where that is not a clear one."""
    best: tuple[float, int] | None = None
    stop = min(at + margin + 2, len(clear))
    for k in range(margin, stop - margin):
        inside, outside = clear[k:stop], clear[:k]
        lift = float(inside.mean() - outside.mean())
        step = lift * float(np.sqrt(len(inside) * len(outside) / stop))
        if best is None or step > best[0]:
            best = (step, k)
    if best is None or best[0] < CLEAR_STEP:
        return None
    k = best[1]
    clear_enough = clear[k:stop].mean() >= CLEAR_IN and clear[:k].mean() <= CLEAR_OUT
    return k if clear_enough else None


def _each_labelled_alone(first: Floats, second: Floats, low: int, high: int) -> bool:
    """Whether the labels see the first bar alone before the lap and the second alone after it.

    A shadow that runs beside a bar all along is no second bar; nor is a band that the labels take too wide.
    """
    before, after = slice(None, max(low, 1)), slice(min(high + 1, len(first) - 1), None)
    own = (float(first[before].mean()), float(second[after].mean()))
    other = (float(second[before].mean()), float(first[after].mean()))
    return min(own) > LEAST_LABEL and all(o < MOST_BESIDE * p for o, p in zip(other, own, strict=True))


def _best_of_three(strength: Floats) -> Floats:
    """Each column the best of itself and its two neighbours; nothing in the outermost columns."""
    best = np.zeros_like(strength)
    best[:, 1:-1] = np.maximum(np.maximum(strength[:, :-2], strength[:, 1:-1]), strength[:, 2:])
    return best


def _along(strength: Floats, strip: Strip, offset_mm: Floats) -> Floats:
    """Strength, the best of three columns, along a line given by its offset from the track."""
    middle = (strength.shape[1] - 1) / 2
    at = np.clip(np.rint(offset_mm / strip.step_mm + middle).astype(np.int64), 1, strength.shape[1] - 2)
    return np.asarray(strength[np.arange(len(at)), at])


def _shifted(strength: Floats, columns: NDArray[np.int64], shift: NDArray[np.int64]) -> Floats:
    """Strength with every row moved so that lines of one direction stand upright; nothing from outside the strip."""
    blocks, last = len(strength), strength.shape[1] - 1
    # The outermost columns hold nothing.
    at = np.clip(columns + shift[..., None], 0, last)
    return np.asarray(strength.take(at + (last + 1) * np.arange(blocks)[:, None]))


def _best_step(
    so_far: Floats, column_mm: float, width_mm: float, edge_blocks: int
) -> tuple[float, int, int, int] | None:
    """Best sum of one column up to a block and another column from there on: sum, block, column before, after."""
    m = so_far.shape[1]
    best: tuple[float, int, int, int] | None = None
    low, high = int(0.8 * width_mm / column_mm), int(2.4 * width_mm / column_mm) + 1
    inner = so_far[edge_blocks:-edge_blocks]
    if inner.size == 0:
        return None
    for apart in (*range(-high, -low + 1), *range(low, high + 1)):
        first = slice(max(0, -apart), min(m, m - apart))
        second = slice(first.start + apart, first.stop + apart)
        if first.start >= first.stop:
            continue
        total = so_far[-1, second] + inner[:, first] - inner[:, second]
        k, j = np.unravel_index(int(np.argmax(total)), total.shape)
        if best is None or total[k, j] > best[0]:
            best = (float(total[k, j]), int(k) + edge_blocks, first.start + int(j), second.start + int(j))
    return best


def _both(first: NDArray[np.bool_], second: NDArray[np.bool_], at: int, bridge: int = 3) -> tuple[int, int]:
    """Blocks around the step where both bars are clear: the second before it, the first after it."""
    low, missed = at, 0
    for k in range(at - 1, -1, -1):
        missed = 0 if second[k] else missed + 1
        if missed > bridge:
            break
        low = k if second[k] else low
    high, missed = at, 0
    for k in range(at, len(first)):
        missed = 0 if first[k] else missed + 1
        if missed > bridge:
            break
        high = k if first[k] else high
    return low, high


def piece_beside(lap: LapFound, track: BarTrack, run_s_mm: tuple[float, float]) -> BarTrack:
    """The longer of the two bars near the board, cut where the lap begins.

    Args:
        lap: The lap.
        track: The bar line that it was found in.
        run_s_mm: From where to where the bar line is seen.

    Returns:
        A track along that bar alone.
    """
    before, after = (run_s_mm[0], lap.from_s_mm), (lap.to_s_mm, run_s_mm[1])

    def near_board(run: tuple[float, float]) -> float:
        return min(run[1], 500.0) - max(run[0], -500.0)

    use_first = near_board(before) >= near_board(after)
    keep = before if use_first else after
    c0, c1, _ = track.curve
    offset = lap.before if use_first else lap.after
    return BarTrack(
        (c0 + offset, c1 + 1000.0 * lap.slope, 0.0),
        (keep,),
        track.share,
        track.upper_mm,
        track.lower_mm,
        track.width_mm,
        track.whole,
    )
