"""The two parallel lines that best hold one bar that ends and one that begins beside it, on the pixels around a bar line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median
from verifier.vision.bars.bar_strips import Strip
from verifier.vision.bars.layer_axes import Floats

COLUMN_MM = 1.0
"""Lines are tried so far apart across, and an edge counts so far to either side of where it is presumed."""

ASIDE = range(-14, 15, 2)
NEARER = (-2, -1, 0, 1, 2)
"""Columns in which the bar before the lap is tried: about the line through the labels, then about the best of them."""

APART, APARTS = (0.85, 2.2), 5
"""Distance of the two bars, in widths of a bar: tied together they touch, but for ribs and a bar that isn't straight. So many
distances are tried in one such width."""

LEAST_TOLD = 0.1
"""What the labels leave of a bar that they don't see: edges alone can't show one, nor can a single cell hide one."""

LEAST_ALONE_MM, LEAST_LAP_MM = 60.0, 100.0
"""Each bar must be seen alone along so much, and both together; the shortest laps of the codes are 200 mm and more."""

OWN_GAIN = 1.0
"""Blocks of full strength by which a lap must explain two lines better than one of them that goes all along does."""


@dataclass(frozen=True, slots=True)
class Pair:
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
class Cells:
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
    def of(cls, strip: Strip, width_mm: float, together: int = 1) -> Cells:
        """Take the cells from a strip.

        Args:
            strip: The pixels.
            width_mm: Silhouette width of the bars.
            together: So many blocks of the strip make one of the cells.

        Returns:
            The cells.
        """
        every = max(1, round(COLUMN_MM / strip.step_mm))
        k, middle = len(strip.s_mm) // together, (strip.edge.shape[1] - 1) // 2
        s, strength, label = (
            x[: k * together].reshape(k, together, -1).mean(axis=1)
            for x in (strip.s_mm, widest_of(strip.edge, every), np.maximum(strip.label, LEAST_TOLD))
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

    def firsts(self, side: int, about: Pair | None) -> NDArray[np.int64]:
        """Columns in which the first bar is tried.

        Args:
            side: From which side they are counted, 1 or -1.
            about: Only near this pair, where it is given.

        Returns:
            The columns.
        """
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


def best_pair(
    cells: Cells, level: float, directions: Sequence[tuple[float, float]], about: Pair | None = None
) -> Pair | None:
    """Find the two lines that fit best: one that ends, one that begins, both there between.

    Args:
        cells: What shows bars around the bar line.
        level: From how much presence counts as there.
        directions: Slopes and bows that are tried, against the track.
        about: Look only near this pair, where it is given.

    Returns:
        The pair; None where the strip is too short.
    """
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
        straightened(x, cells.strip, cells.s_mm, cells.columns, turned) for x in (known, cells.label)
    )
    best: Pair | None = None
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
            best = Pair(total, 0.0, slope, bow_mm, before, after, start, stop)
    return None if best is None else replace(best, gain=(best.total - most) / len(cells.s_mm))


def _pairs(cells: Cells, strength: Floats, told: Floats, first: NDArray[np.int64]) -> tuple[Floats, Floats]:
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


def widest_of(strength: NDArray[np.floating], reach: int) -> Floats:
    """Take in each column the best of itself and of those within reach; nothing in the outermost columns.

    Args:
        strength: (k, m).
        reach: Columns to either side.

    Returns:
        (k, m).
    """
    best = np.zeros(strength.shape)
    shifted = [strength[:, k : strength.shape[1] - 2 * reach + k] for k in range(2 * reach + 1)]
    best[:, reach:-reach] = np.maximum.reduce(shifted)
    return best


def along(strength: Floats, strip: Strip, offset_mm: Floats) -> Floats:
    """Read the strength along a line; that of the outermost column where it leaves the strip.

    Args:
        strength: (k, m).
        strip: The pixels, for the scale.
        offset_mm: (k,) of the line from the track.

    Returns:
        (k,).
    """
    middle = (strength.shape[1] - 1) / 2
    at = np.clip(np.rint(offset_mm / strip.step_mm + middle).astype(np.int64), 0, strength.shape[1] - 1)
    return np.asarray(strength[np.arange(len(at)), at])


def straightened(
    strength: NDArray[np.floating], strip: Strip, s_mm: Floats, columns: NDArray[np.int64], directions: Floats
) -> Floats:
    """Move every row so that lines of a slope and bow stand upright.

    Args:
        strength: (k, m).
        strip: The pixels, for the scale.
        s_mm: (k,) stations of the rows.
        columns: Columns that are asked.
        directions: (d, 2) slopes and bows.

    Returns:
        (k, d, columns).
    """
    slope, bow_mm = directions.T
    shift = np.rint((np.outer(s_mm, slope) - np.outer((s_mm / 1000.0) ** 2, bow_mm)) / strip.step_mm)
    at = np.clip(columns + shift.astype(np.int64)[..., None], 0, strength.shape[1] - 1)
    return np.asarray(strength[np.arange(len(s_mm))[:, None, None], at])
