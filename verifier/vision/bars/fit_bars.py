"""Sub-pixel fit of bars on the full-size pixels: both edges of the silhouette along many profiles across the bar.

The labels say where a bar runs and how wide it can be; the pixels say where its edges are. Profiles are averaged over
short blocks along the bar; in each block the pair of edges is taken whose distance agrees with the width that the
whole bar votes for, so that a shadow edge or a highlight beside the bar can't take the place of one of its own edges.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median
from verifier.vision.bars.bar_strips import Strip, edge_pairs
from verifier.vision.bars.layer_axes import Floats, Map
from verifier.vision.bars.trace_bars import BarTrack

WIDTHS_MM = np.arange(4.5, 34.0, 0.3)
"""Widths of a bar's outline that are tried, in mm, slant of view taken off."""

WIDTHS_ABOUT = np.array([0.88, 0.92, 0.96, 1.0, 1.04, 1.08, 1.12])
"""Widths that the blocks of a bar may take, as shares of the width that the whole bar votes for."""

LEAST_LIKELY_U = 4.5
"""Columns further from the track than this many standard deviations are not tried as a bar's middle."""

SETTLED_MM = 1e-4
"""A line whose offset, turn and bow a metre on move less than this in a step has settled."""

BLOCKS_ALIKE = 4.0
"""Neighbouring blocks share ribs, ties and shading: means over five of them have 3.9 fifths of the variance of one, not one
fifth (median over the bars of the development pictures), so about one block in four is new information."""

CUE_LINE_U_MM = (1.2, 1.5, 3.0)
"""Standard uncertainty of a line that follows the labels: offset, turn and bow a metre on. Half a label cell of 2 to 3 mm, the
same at the ends of the seen part, and the bow of bars themselves (calculated)."""


@dataclass(frozen=True, slots=True)
class EdgeFit:
    """Result of the fit of one bar.

    Attributes:
        curve: c0, c1, c2 of ``n(s)`` in mm, s in metres from the board's centre.
        covariance: (3, 3) of the curve from the scatter of the blocks.
        s_mm, centre_mm, width_mm: Stations, offsets across and silhouette widths of the blocks that agree.
        scatter_mm: Standard deviation of the block centres about the curve.
        share: Share of the blocks where both edges were found at the bar's own width.
        from_edges: False where the edges disagreed and the centre-line cue was kept.
    """

    curve: tuple[float, float, float]
    covariance: Floats
    s_mm: Floats
    centre_mm: Floats
    width_mm: Floats
    scatter_mm: float
    share: float
    from_edges: bool

    def across(self, s: Floats | float) -> Floats:
        """Offset of the fitted line across the layer.

        Args:
            s: Stations along the layer in mm, of any shape.

        Returns:
            Offsets in mm, of the same shape.
        """
        z = np.asarray(s, float) / 1000.0
        return self.curve[0] + self.curve[1] * z + self.curve[2] * z * z

    def line_u_mm(self, s: float) -> float:
        """Standard uncertainty of the offset at a station, from the scatter of the blocks.

        Args:
            s: Station along the layer. [mm]

        Returns:
            Standard uncertainty in mm.

        Source:
            Law of propagation, JCGM 100:2008, 5.2.2.
        """
        row = np.array([1.0, s / 1000.0, (s / 1000.0) ** 2])
        return float(math.sqrt(max(float(row @ self.covariance @ row), 0.0)))


def width_votes(strip: Strip, centre_prior_mm: float, width_mm: float, width_spread: float = 0.15) -> Floats:
    """How well each silhouette width explains the edges of a bar.

    Args:
        strip: The bar's pixels.
        centre_prior_mm: Standard deviation of the track's offset from the bar's true centre line.
        width_mm: Width that the labels give.
        width_spread: Relative standard deviation of that width.

    Returns:
        (len(WIDTHS_MM),) mean over the blocks of the best pair of edges that far apart.
    """
    columns, prior = _near_track(strip, centre_prior_mm)
    votes = np.zeros(len(WIDTHS_MM))
    off = (WIDTHS_MM / width_mm - 1) / width_spread
    tried = np.flatnonzero(np.abs(off) < 3.0)
    best = (edge_pairs(strip, WIDTHS_MM[tried], columns) * prior).max(axis=1)
    votes[tried] = np.sqrt(best).mean(axis=1) * np.exp(-0.5 * off[tried] ** 2)
    return votes


def _near_track(strip: Strip, centre_prior_mm: float) -> tuple[range, Map]:
    """Columns (c) that can be the bar's middle, and the square of how likely each is (c, 1); others are less so than one in 20,000."""
    offsets = strip.offsets_mm
    middle = len(offsets) // 2
    reach = min(math.ceil(LEAST_LIKELY_U * centre_prior_mm / strip.step_mm), middle)
    columns = range(middle - reach, middle + reach + 1)
    likely = np.exp(-((offsets[columns.start : columns.stop] / centre_prior_mm) ** 2))
    return columns, likely.astype(np.float32)[:, None]


def fit_edges(
    strip: Strip, track: BarTrack, width_mm: float, *, centre_prior_mm: float, bow_prior_mm: float = 6.0
) -> EdgeFit:
    """Fit the bar's centre line between its two edges.

    Args:
        strip: The bar's pixels.
        track: The bar line from the labels.
        width_mm: Silhouette width that the bar, or its layer, votes for.
        centre_prior_mm: Standard deviation of the track's offset from the bar's true centre line.
        bow_prior_mm: Standard deviation of the bow over a metre.

    Returns:
        The fit; with ``from_edges`` false where less than a quarter of the blocks show both edges.
    """
    centre, width, good = _block_edges(strip, width_mm, centre_prior_mm)
    share = float(good.mean())
    base = track.across(strip.s_mm)
    if int(good.sum()) < 4 or share < 0.2:
        return _from_cue(strip, track, share)
    s, c = strip.s_mm[good], centre[good] + base[good]
    curve, covariance, keep, scatter = robust_bow(s, c, np.asarray(track.curve), bow_prior_mm, strip.px_mm)
    off = curve[0] + curve[1] * s / 1e3 + curve[2] * (s / 1e3) ** 2 - track.across(s)
    if median(np.abs(off)) > 2.2 * centre_prior_mm or int(keep.sum()) < 4:
        return _from_cue(strip, track, share)
    shape = (float(curve[0]), float(curve[1]), float(curve[2]))
    return EdgeFit(shape, covariance, s[keep], c[keep], width[good][keep], scatter, share, True)


def _from_cue(strip: Strip, track: BarTrack, share: float) -> EdgeFit:
    covariance = np.diag(np.square(CUE_LINE_U_MM))
    none = np.zeros(0)
    return EdgeFit(track.curve, covariance, none, none, none, CUE_LINE_U_MM[0], share, False)


def _block_edges(
    strip: Strip, width_mm: float, centre_prior_mm: float
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Per block: centre and width from the pair of edges nearest to the expected width, and whether both are clear."""
    columns, prior = _near_track(strip, centre_prior_mm)
    likely = np.exp(-(((WIDTHS_ABOUT - 1) / 0.07) ** 2)).astype(np.float32)
    pairs = edge_pairs(strip, width_mm * WIDTHS_ABOUT, columns) * prior * likely[:, None, None]
    which, where = np.divmod(pairs.reshape(-1, len(strip.s_mm)).argmax(axis=0), len(columns))
    best = pairs[which, where, np.arange(len(strip.s_mm))]
    at, chosen = columns.start + where, width_mm * WIDTHS_ABOUT[which]
    half = chosen * strip.stretch / 2 / strip.step_mm
    left = _peak(strip.edge, at - half)
    right = _peak(strip.edge, at + half)
    middle = (strip.edge.shape[1] - 1) / 2
    centre = ((left + right) / 2 - middle) * strip.step_mm
    width = (right - left) * strip.step_mm / strip.stretch
    good = (best > 0.3**2) & (np.abs(width / width_mm - 1) < 0.2)
    return centre, width, good


def _peak(edge: Map, near: Floats) -> Floats:
    """Sub-sample place of the strongest edge within one sample of ``near``, by a parabola."""
    rows = np.arange(len(near))
    first = np.clip(np.rint(near).astype(np.int64), 2, edge.shape[1] - 3)
    around = np.stack([edge[rows, first + k] for k in (-1, 0, 1)])
    at = first + around.argmax(axis=0) - 1
    at = np.clip(at, 1, edge.shape[1] - 2)
    a, b, c = edge[rows, at - 1], edge[rows, at], edge[rows, at + 1]
    bend = a - 2 * b + c
    curved = bend < -1e-9
    shift = np.clip(0.5 * (a - c) / np.where(curved, bend, -1.0), -0.5, 0.5)
    return np.asarray(at + np.where(curved, shift, 0.0))


def robust_bow(
    s: Floats, c: Floats, start: Floats, bow_prior_mm: float, px_mm: float
) -> tuple[Floats, Floats, NDArray[np.bool_], float]:
    """Robust parabola through block centres.

    Args:
        s: (k,) stations in mm.
        c: (k,) offsets across in mm.
        start: (3,) curve to start from.
        bow_prior_mm: Standard deviation of the bow over a metre, in mm.
        px_mm: Size of a pixel in mm: the floor of the scatter is a twentieth of it.

    Returns:
        Curve (3,), covariance (3, 3), which blocks agree (k,), their standard deviation in mm.

    Source:
        Iteratively reweighted least squares with Tukey's biweight (P. J. Huber, E. M. Ronchetti,
        Robust Statistics, 2nd ed. 2009; from memory).
    """
    z = s / 1000.0
    design = np.stack([np.ones_like(z), z, z * z], axis=1)
    curve = np.asarray(start, float)
    curve = curve + np.array([median(c - design @ curve), 0.0, 0.0])
    prior = np.diag([0.0, 1.0 / 15.0**2, 1.0 / bow_prior_mm**2])
    scale = max(1.4826 * median(np.abs(c - design @ curve)), 0.05 * px_mm)
    weight = np.ones_like(z)
    for _ in range(12):
        residual = c - design @ curve
        scale = max(1.4826 * median(np.abs(residual)), 0.05 * px_mm)
        weight = np.clip(1.0 - (residual / (4.0 * scale)) ** 2, 0.0, None) ** 2
        weighted = design.T * (weight / scale**2)
        normal = weighted @ design + prior
        before, curve = curve, np.linalg.solve(normal, weighted @ c)
        if float(np.abs(curve - before).max()) < SETTLED_MM:
            break
    keep = weight > 0.2
    scatter = float(np.sqrt(np.mean((c - design @ curve)[keep] ** 2))) if keep.any() else scale
    covariance = np.linalg.inv(normal) * BLOCKS_ALIKE
    return curve, covariance, keep, scatter
