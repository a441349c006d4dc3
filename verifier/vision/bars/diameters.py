"""Bar diameter from the width of the outline, and what nominal size it stands for: an indication, never a decision.

All bars of a photo are judged together. What a photo does to outlines (ribs, light, the lens) it does to all of them
much alike, so one shift is common to the photo and a smaller one to each layer; a layer is mostly of one size; and
a shadow against a bar can only widen it. A size is stated only where it is clearly likelier than all others together.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

import numpy as np

from verifier.vision.bars.layer_axes import Floats
from verifier.vision.photo_measurement import NominalChance

Series = Literal["metric", "astm"]

ODD_BAR_CHANCE, NEXT_ODD_TOO = 0.06, 0.6
"""How often a bar of a layer is of another size than the layer's, before looking; and how often the bar beside such a one is of
that other size too, for bars are laid bundle by bundle (common practice, no source)."""

PHOTO_SHIFT, LAYER_SHIFT = 0.03, 0.02
"""Relative standard deviation of what all outlines of a photo share (height of ribs, sharpening, spread of light) and of
what those of a layer share beyond it (its own ribs and rust). Ribs of 5 to 10 % at the crests over a core 3 to 4 % below
nominal leave the first anywhere within some 3 %; the second is its smaller part, for a mat comes from one delivery."""

BAR_SHIFT = 0.02
"""Likewise of a single bar: rust, dirt, how its ribs lie."""

ALIKE_IN_PHOTO, ALIKE_IN_LAYER, WIDER = 0.6, 0.4, 1 / 3
"""Shares of the doubt with which outlines were read: what the bars of a photo have in common of it, what those of a layer have
beyond that, and by how much they are read too wide on the mean. All lie in the same light and blur, so ten bars are not read
better than one, and blur takes from the deck and not from the bar. In pictures of two renderers the middle outline of a layer is
off by 0.9 and 1.0 times what the regression doubts of a single one (root mean square of 68 and 60 layers), wider by a third of
it or more on the mean, and the two layers of a photo are off together (correlation 0.6 and 0.7)."""

SURE_SIZE = 2 / 3
"""Least probability with which a size is stated: twice that of all else together."""

WIDENED_CHANCE, WIDENED_MM = 0.1, 2.0
"""How often a shadow, a wire or a second bar alongside is taken into an outline, and by how much on the mean: a shadow that
is seen apart from its bar is told apart, so it widens by less than half a bar's width (common practice, no source)."""

STRAY_RANGE_MM, LEAST_STRAY, ALL_STRAY_U = 25.0, 0.002, 0.5
"""Outlines that have nothing to do with the bar lie anywhere over so many mm. The worse an outline is read, the more often it is
such a one: in pictures of two renderers none of 380 read to 3 % was a quarter off, one in 68 of those read to 3 to 6 %, one in 31
to 6 to 11 %, one in seven above. The square of the doubt over the last number follows that."""

SHIFTS = np.arange(-0.30, 0.3001, 0.01)
"""Shifts that are tried: logarithm of outline over ``silhouette().ratio`` times the size."""

READINGS = np.linspace(-2.4, 2.4, 9)
"""How much too wide or too narrow a photo may be read, in standard deviations of ``ALIKE_IN_PHOTO``."""


@dataclass(frozen=True, slots=True)
class Silhouette:
    """Outline over nominal diameter: ratio and its standard uncertainty."""

    ratio: float
    u_ratio: float


@cache
def silhouette() -> Silhouette:
    """The outline ratio from the data file."""
    table = _sizes_file()["silhouette"]
    return Silhouette(float(table["ratio"]), float(table["standard_uncertainty"]))


@cache
def nominal_sizes_mm(series: Series) -> tuple[float, ...]:
    """Nominal sizes of a series, from the data file.

    Args:
        series: Name of the series of bar sizes.

    Returns:
        Nominal diameters in mm, in the order of the file.
    """
    return tuple(float(v) for v in _sizes_file()[series]["sizes_mm"])


@cache
def _sizes_file() -> dict[str, Any]:
    return tomllib.loads(
        resources.files("verifier.vision.bars").joinpath("bar_sizes.toml").read_text(encoding="utf-8")
    )


@dataclass(frozen=True, slots=True)
class Outline:
    """Outline of one bar.

    Attributes:
        width_mm: Width of the silhouette in mm, corrected for depth and slant of view.
        u_mm: Standard uncertainty from scatter and pixels, without what all bars of the photo share.
    """

    width_mm: float
    u_mm: float


def diameter_of(outline: Outline) -> tuple[float, float]:
    """Diameter of a bar from its outline.

    Args:
        outline: Width of the bar's silhouette over its ribs, with its standard uncertainty. [mm]

    Returns:
        Diameter and its standard uncertainty in mm; the doubt about the ribs is in it.
    """
    shape = silhouette()
    d = outline.width_mm / shape.ratio
    return d, math.hypot(outline.u_mm / shape.ratio, d * shape.u_ratio)


@dataclass(frozen=True, slots=True)
class BarSize:
    """What nominal size a bar may be of.

    Attributes:
        chances: Sizes with more than 1 % probability, likeliest first.
        borne_out: Probability that the bar is of the likeliest size and that its own outline shows it, not only its neighbours.
    """

    chances: tuple[NominalChance, ...]
    borne_out: float

    @property
    def stated_mm(self) -> float | None:
        """The likeliest size; None where it isn't sure, for then the mark rolled on the bar is to be read."""
        return self.chances[0].nominal_mm if self.borne_out >= SURE_SIZE else None


def bar_sizes(layers: Sequence[Sequence[Outline]], series: Series) -> tuple[tuple[BarSize, ...], ...]:
    """Probabilities over the nominal sizes for every bar of a mat.

    Args:
        layers: For each layer of the mat the outline of each bar.
        series: Series of nominal sizes.

    Returns:
        One size for each layer and bar.

    Source:
        Bayes' rule for a mixture with shared, unknown shifts, summed over a grid (textbook, from memory).
    """
    tables = [_table(outlines, series) for outlines in layers]
    steps = [_from_photo_to_layer(outlines) for outlines in layers]
    shared = [
        s @ (t.layer * _common(series)[:, None]).sum(axis=0) for s, t in zip(steps, tables, strict=True)
    ]
    prior = np.exp(-0.5 * np.add.outer(READINGS**2, (SHIFTS / PHOTO_SHIFT) ** 2))
    out = []
    for k, (table, step) in enumerate(zip(tables, steps, strict=True)):
        others = prior * np.prod([s for i, s in enumerate(shared) if i != k], axis=0)
        weight = table.layer * _common(series)[:, None] * np.einsum("rp,rpl->l", others, step)
        weight = weight / max(float(weight.sum()), 1e-300)
        out.append(_layer_sizes(table, weight, series))
    return tuple(out)


def _from_photo_to_layer(known: Sequence[Outline]) -> Floats:
    """Probability of a layer's shift for each reading of the photo and shift of its bars: (readings, shifts, layer's shifts)."""
    doubt = float(np.median([o.u_mm / o.width_mm for o in known]))
    read = doubt * (WIDER + ALIKE_IN_PHOTO * READINGS)
    off = SHIFTS[None, None, :] - SHIFTS[None, :, None] - read[:, None, None]
    rows = np.exp(-0.5 * (off / math.hypot(LAYER_SHIFT, ALIKE_IN_LAYER * doubt)) ** 2)
    return np.asarray(rows / rows.sum(axis=2, keepdims=True))


@dataclass(frozen=True, slots=True)
class _Table:
    """What the outlines of a layer say.

    Attributes:
        bar: (n, layer's sizes, sizes, shifts) probability of each bar's size, given the layer's size and the shift.
        own: (n, sizes, shifts) probability that the outline is the bar's own, given its size and the shift.
        layer: (layer's sizes, shifts) likelihood of all outlines together, 1 at the largest.
    """

    bar: Floats
    own: Floats
    layer: Floats


def _table(known: Sequence[Outline], series: Series) -> _Table:
    sizes = np.asarray(nominal_sizes_mm(series))
    width = np.array([o.width_mm for o in known])[:, None, None]
    mean = (silhouette().ratio * sizes)[:, None] * np.exp(SHIFTS)[None, :]
    read = np.array([o.u_mm for o in known])[:, None, None]
    u = np.hypot(read, BAR_SHIFT * sizes[:, None])
    stray = np.minimum((read / width / ALL_STRAY_U) ** 2 + LEAST_STRAY, 1.0)
    told = (1.0 - WIDENED_CHANCE) * _normal(width - mean, u) + WIDENED_CHANCE * _widened(width - mean, u)
    own = (1.0 - stray) * told
    bar = own + stray / STRAY_RANGE_MM
    each, layer = _along(bar, _odd(series))
    return _Table(each, own / bar, layer)


def _along(bar: Floats, first: Floats) -> tuple[Floats, Floats]:
    """From bar to bar across the layer and back: a chain whose state is the size of the bar.

    Args:
        bar: (n, sizes, shifts) likelihood of each outline.
        first: (layer's sizes, sizes) probability of a bar's size on its own.

    Returns:
        ``bar`` and ``layer`` of the table.

    Source:
        Forward-backward recursion of hidden Markov models (Baum et al. 1970, from memory).
    """
    count = len(first)
    same, lone = np.eye(count), NEXT_ODD_TOO * np.eye(count)
    back = same[:, None, :] * (1.0 - NEXT_ODD_TOO) + lone[None]
    # From the layer's own size to another as seldom as lets other sizes keep their share.
    leave = first * (1.0 - NEXT_ODD_TOO) / (1.0 - ODD_BAR_CHANCE)
    leave = np.where(same > 0, 0.0, leave)
    leave = leave + same * (1.0 - leave.sum(axis=1, keepdims=True))
    step = np.where(same[:, :, None] > 0, leave[:, None, :], back)
    ahead = [first[:, :, None] * bar[0][None]]
    total = np.zeros((count, bar.shape[2]))
    for own in bar[1:]:
        norm = ahead[-1].sum(axis=1)
        total += np.log(norm)
        ahead.append(np.einsum("nsk,nst->ntk", ahead[-1] / norm[:, None], step) * own[None])
    total += np.log(ahead[-1].sum(axis=1))
    behind = [np.ones_like(ahead[-1])]
    for own in bar[:0:-1]:
        later = np.einsum("nst,ntk->nsk", step, behind[-1] * own[None])
        behind.append(later / later.sum(axis=1, keepdims=True))
    both = np.stack([f * b for f, b in zip(ahead, behind[::-1], strict=True)])
    return both / both.sum(axis=2, keepdims=True), np.exp(total - total.max())


def _layer_sizes(table: _Table, weight: Floats, series: Series) -> tuple[BarSize, ...]:
    sizes = nominal_sizes_mm(series)
    out = []
    for bar, own in zip(table.bar, table.own, strict=True):
        chance = np.einsum("nk,nsk->s", weight, bar)
        borne_out = np.einsum("nk,nsk,sk->s", weight, bar, own)
        order = np.argsort(-chance, kind="stable")
        chances = (
            NominalChance(nominal_mm=sizes[i], probability=round(float(chance[i]), 4))
            for i in order
            if chance[i] > 0.01
        )
        out.append(BarSize(tuple(chances), float(borne_out[order[0]])))
    return tuple(out)


@cache
def _common(series: Series) -> Floats:
    """How usual each size is before looking."""
    share = np.asarray(_sizes_file()[series]["shares"], float)
    return np.asarray(share / share.sum())


@cache
def _odd(series: Series) -> Floats:
    """Probability of a bar's size given its layer's: mostly the same, else rather a usual size and a near one."""
    count = len(nominal_sizes_mm(series))
    away = np.abs(np.subtract.outer(np.arange(count), np.arange(count))).astype(float)
    other = np.where(away > 0, _common(series) / np.maximum(away, 1.0) ** 2, 0.0)
    other = ODD_BAR_CHANCE * other / other.sum(axis=1, keepdims=True)
    return np.asarray(other + (1.0 - ODD_BAR_CHANCE) * np.eye(count))


def _normal(x: Floats, sd: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * (x / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi)))


def _widened(x: Floats, sd: Floats) -> Floats:
    """Density of a normal error plus an exponential one of mean ``WIDENED_MM``, by sums over the latter's deciles."""
    deciles = -WIDENED_MM * np.log(1.0 - (np.arange(10) + 0.5) / 10.0)
    wider = np.hypot(sd, 0.2 * WIDENED_MM)
    return np.asarray(np.mean([_normal(x - more, wider) for more in deciles], axis=0))
