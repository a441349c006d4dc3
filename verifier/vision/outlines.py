"""Where the two rims of a bar's outline are, read from the brightness across it by a small trained regression.

The strongest edges of a bar are not always its rims: under a grey sky the rim is a dark line and the strongest edge lies
inside it; in the sun the bar's own shadow can lie against it and the strongest edge lies outside; a lens that spreads
light moves both. All of this follows from what light does on a round bar, and drawn bars know their rims exactly, so the
regression was trained on them (``tests/scenes/outlines.py``). It only serves the size of a bar, which is an indication;
lines and gaps come from fitted edges.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median, percentile
from verifier.vision.learned import learned

Floats = NDArray[np.float64]

SAMPLES, SPAN = 49, 1.6
"""Samples across a block, over so many guessed widths to either side of its middle; as in the training."""

TURNS, MOST_STEP = 3, 0.4
"""The first guess may be off by half; the regression was trained on guesses off by a sixth (one standard deviation)."""

GUESS_U, MOST_FROM_GUESS = 0.16, 0.75
"""Standard deviation of the guesses of the training, relative; and the largest share of what the regression knows of a width that
may come from the guess, beyond which it would know next to nothing."""

SURER = 0.6
"""Share of the blocks that are used: where bars cross, or something lies on the bar, the regression says it is unsure."""


@dataclass(frozen=True, slots=True)
class Rims:
    """Outline of each block of a bar, in guessed widths.

    Attributes:
        width: (k,) width over the guessed width.
        middle: (k,) middle of the outline from where it was thought to be.
        spread: (k,) scale of the relative error of the width (Laplace's), as the regression tells it.
    """

    width: Floats
    middle: Floats
    spread: Floats


@cache
def _layers() -> tuple[tuple[NDArray[np.float32], NDArray[np.float32]], ...]:
    table = np.load(io.BytesIO(learned("outlines.npz")), allow_pickle=False)
    return tuple((table[f"weight_{i}"], table[f"bias_{i}"]) for i in range(len(table.files) // 2))


def read_rims(rows: NDArray[np.float32], guess_px: Floats) -> Rims:
    """Read the outline of bars in each of their blocks.

    Args:
        rows: (k, SAMPLES, 3) brightness across the bar, blue-green-red, 0 to 255, from ``-SPAN`` to ``SPAN`` guessed widths
            about its presumed middle.
        guess_px: (k,) guessed width of the outline in pixels of the photo.

    Returns:
        The rims of all blocks.
    """
    x = rows.transpose(0, 2, 1).reshape(len(rows), -1) / np.float32(255.0)
    x = x - x.mean(axis=1, keepdims=True)
    spread = np.sqrt(np.einsum("ij,ij->i", x, x) / np.float32(x.shape[1])) + np.float32(0.01)
    told = np.stack([np.log(guess_px) - 2.3, np.log(spread) + 2.5], axis=1, dtype=np.float32)
    y = np.concatenate([x / spread[:, None], told], axis=1)
    *hidden, last = _layers()
    for weight, bias in hidden:
        y = np.maximum(y @ weight.T + bias, np.float32(0.0))
    y = (y @ last[0].T + last[1]).astype(np.float64)
    return Rims(np.exp(y[:, 0]), y[:, 1], np.exp(np.clip(y[:, 2], -6.0, 1.0)))


@dataclass(frozen=True, slots=True)
class OutlineWidth:
    """Width of a bar's outline.

    Attributes:
        relative: Over the first guess.
        u_relative: Its relative standard uncertainty. The light is the same all along a bar, so it isn't taken to shrink
            with the number of blocks.
    """

    relative: float
    u_relative: float


@dataclass(frozen=True, slots=True)
class Across:
    """Brightness across a bar, and what is presumed of its outline there.

    Attributes:
        rows: (k, m, 3) brightness of its blocks, blue-green-red, 0 to 255.
        middle: (k,) column of the bar's presumed middle in each block.
        guess_columns: Guessed width in columns.
        guess_px: The same in pixels of the photo.
    """

    rows: NDArray[np.float32]
    middle: Floats
    guess_columns: float
    guess_px: float


def outline_widths(bars: Sequence[Across]) -> tuple[OutlineWidth, ...]:
    """Width of each bar's outline from the surer of its blocks; the guesses are mended twice on the way.

    Args:
        bars: The bars, at least one; all are read at once, each for itself.

    Returns:
        Their widths.
    """
    counts = [len(bar.rows) for bar in bars]
    ends = np.cumsum(counts)
    blocks = [slice(end - count, end) for count, end in zip(counts, ends, strict=True)]
    total = np.zeros(len(bars))
    for _ in range(TURNS):
        grown = np.exp(total)
        rows = np.concatenate([_across(bar, float(g)) for bar, g in zip(bars, grown, strict=True)])
        guess_px = np.repeat([bar.guess_px for bar in bars] * grown, counts)
        rims = read_rims(rows, guess_px)
        steps = [_surer(rims.width[at], rims.spread[at]) for at in blocks]
        total += np.clip(steps, -MOST_STEP, MOST_STEP)
    return tuple(
        OutlineWidth(float(np.exp(t)), _without_guess(median(rims.spread[at])))
        for t, at in zip(total, blocks, strict=True)
    )


def _without_guess(spread: float) -> float:
    """The doubt that pixels alone leave.

    The regression learned that its guess is good for ``GUESS_U`` and counts that as knowledge. Once it was asked again at its
    own answer, the guess is no knowledge of anything, and its share is taken off: 1 / u^2 less 1 / ``GUESS_U``^2.
    """
    from_guess = (
        2.0 * (spread / GUESS_U) ** 2
    )  # Laplace's distribution has twice the square of its scale as its variance.
    return spread / math.sqrt(1.0 - min(from_guess, MOST_FROM_GUESS))


def _surer(width: Floats, spread: Floats) -> float:
    """Logarithm of a bar's relative width, from the surer of its blocks."""
    sure = spread <= percentile(spread, 100.0 * SURER)
    return _weighted_median(np.log(width[sure]), 1.0 / spread[sure])


def _across(bar: Across, grown: float) -> NDArray[np.float32]:
    """Each block sampled anew about its middle, ``SPAN`` guessed widths to either side; beyond its ends, its ends."""
    count, columns = bar.rows.shape[:2]
    at = bar.middle[:, None] + np.linspace(-SPAN, SPAN, SAMPLES) * (bar.guess_columns * grown)
    at = np.clip(at, 0.0, columns - 1.001)
    low = at.astype(np.int64)
    part = (at - low)[..., None].astype(np.float32)
    at_once = bar.rows.reshape(-1, bar.rows.shape[2])
    first = low + np.arange(count)[:, None] * columns
    below = at_once.take(first, axis=0)
    return np.asarray(below + (at_once.take(first + 1, axis=0) - below) * part, np.float32)


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values, kind="stable")
    running = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(running, running[-1] / 2)])
