"""From bar lines on label maps to measured layers: laps, diameters, depth of each plane, lines fitted to the pixels."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median, percentile
from verifier.vision.bars.bar_lines import UNKNOWN_DIAMETER_MM, BarLine, group_laps
from verifier.vision.bars.bar_strips import Strip, cut_strips
from verifier.vision.bars.diameters import Outline, silhouette
from verifier.vision.bars.find_bars import FoundLayer
from verifier.vision.bars.fit_bars import WIDTHS_MM, EdgeFit, fit_edges, width_votes
from verifier.vision.bars.lap_ends import LapEnd, Why, lap_ends, length_u_mm
from verifier.vision.bars.laps import LapFound, find_lap, pieces
from verifier.vision.bars.layer_axes import Floats, LayerAxes, MatMaps, Plane
from verifier.vision.bars.trace_bars import BarTrack
from verifier.vision.outlines import MOST_STEP, Across, outline_widths

OUTLINE_U_PX = 0.08
"""Standard uncertainty of an outline's width from the grid of pixels: two rims, each known to a twentieth of a pixel or so
after the mean over the rows of a block."""

END_STATIONS = 2
"""So many profiles make a block where the ends of a lap are looked for."""

LAP_SUSPECTED_MM, LAP_BOW_MM = 0.4, 4.5
"""A line that leaves its blocks in waves larger than this, or bows more over a metre, may run over a lap."""


@dataclass(frozen=True, slots=True)
class ReadBar:
    """One bar line as fitted.

    Attributes:
        fit: The line in layer axes at the layer's plane.
        seen_s_mm: From where to where along s it is seen.
        seen_share: Seen part of the stretch where it could be seen.
        outline: Width of its outline.
        edges_apart_mm: Distance of the two edges that its line was fitted between, None where they disagreed.
        px_mm: Size of a pixel across the bar in mm.
        beside_s_mm: Stretch along s where a second line lies beside it: the other bar of its lap or, without one, what may be a bar.
        strength: How much of the bar the labels and the edges show, 0 to 1.
        waviness_mm: How far it waves about its bowed line.
        whole: Seen part of all of its line that could be seen within reach.
        odd_mm: How far apart its edges are against those of its layer: another size, or a shadow edge taken for the bar's
            own; at least the scatter of the layer.
        lap_ends: What is known of both ends of its lap; None where no lap is told.
        lap_u_mm: Standard uncertainty of the lap's length; None where not both of its ends are clear.
        mat_share: Share of what the labels say of bars along it that says its own mat, not the one below or above.
    """

    fit: EdgeFit
    seen_s_mm: tuple[float, float]
    seen_share: float
    outline: Outline
    edges_apart_mm: float | None
    px_mm: float
    beside_s_mm: tuple[float, float] | None
    strength: float
    waviness_mm: float
    whole: float = 1.0
    odd_mm: float = 0.0
    mat_share: float = 1.0
    lap_ends: tuple[Why, Why] | None = None
    lap_u_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ReadLayer:
    """A layer with its bars in order across."""

    position: str
    axes: LayerAxes
    diameter_mm: float
    bars: tuple[ReadBar, ...]

    def points_px(self, plane: Plane, bar: ReadBar, s: Floats) -> Floats:
        """Where points of a bar's centre line are seen.

        Args:
            plane: Metric model with which the layer was read.
            bar: One of the layer's bars.
            s: (k,) stations along the layer. [mm]

        Returns:
            (k, 2) pixels of the upright full-size photo.
        """
        return self.axes.to_px(plane, s, bar.fit.across(s))


def read_layer(
    image: NDArray[np.uint8], maps: MatMaps, plane: Plane, found: FoundLayer, *, laps: bool = True
) -> ReadLayer | None:
    """Fit all bars of a layer on the full-size pixels.

    Args:
        image: Upright full-size photo.
        maps: Label maps of the layer's mat.
        plane: Metric model of the photo.
        found: The layer from the labels.
        laps: Whether to look for laps.

    Returns:
        The layer, or None where no bar could be read.
    """
    cut = partial(cut_strips, image, maps, plane, found.axes)
    lines = group_laps(found.tracks)
    strips = cut([line.main for line in lines])
    pairs = [(line, strip) for line, strip in zip(lines, strips, strict=True) if strip is not None]
    if not pairs:
        return None
    # A shadow beside a bar can only widen the labelled band: the narrower bands tell the layer's size.
    labelled = float(np.nanpercentile([line.main.width_mm / strip.stretch for line, strip in pairs], 25))
    if not math.isfinite(labelled):
        labelled = UNKNOWN_DIAMETER_MM
    spread = [0.05 * labelled + 0.12 * max(maps.px_per_cell) * strip.px_mm for _, strip in pairs]
    votes = [width_votes(strip, prior, labelled) for (_, strip), prior in zip(pairs, spread, strict=True)]
    common = float(WIDTHS_MM[int(np.argmax(np.sum(votes, axis=0)))])
    fitted = []
    for (line, strip), own, prior in zip(pairs, votes, spread, strict=True):
        one = _fitted(line, strip, own, common, prior)
        lapped = laps and _may_be_lapped(one)
        piece = _piece_of_lap(cut, one, own, common, prior) if lapped else None
        fitted.append(piece or one)
    bars = [_read(one, outline) for one, outline in zip(fitted, _outlines(fitted, common), strict=True)]
    outline = float(np.median([b.outline.width_mm for b in bars]))
    return ReadLayer(found.position, found.axes, outline / silhouette().ratio, _with_oddness(bars))


@dataclass(frozen=True, slots=True)
class _FittedLine:
    """A bar line, the pixels around it, and the line fitted to them."""

    line: BarLine
    strip: Strip
    fit: EdgeFit

    @property
    def seen_s_mm(self) -> tuple[float, float]:
        return self.line.main.seen[0][0], self.line.main.seen[-1][1]


def _with_oddness(bars: Sequence[ReadBar]) -> tuple[ReadBar, ...]:
    apart = np.array([b.edges_apart_mm for b in bars if b.edges_apart_mm is not None])
    if len(apart) == 0:
        return tuple(bars)
    usual = float(np.median(apart))
    scatter = 1.4826 * float(np.median(np.abs(apart - usual)))
    return tuple(
        b if b.edges_apart_mm is None else replace(b, odd_mm=max(abs(b.edges_apart_mm - usual), scatter))
        for b in bars
    )


def _piece_of_lap(
    cut: Callable[..., tuple[Strip | None, ...]],
    one: _FittedLine,
    votes: Floats,
    common_mm: float,
    prior_mm: float,
) -> _FittedLine | None:
    """One of the two bars of a lap instead of a line that drifts from the one to the other."""
    run = one.line.run
    whole = one.strip if run.seen == one.line.main.seen else cut([run])[0]
    lap = None if whole is None else find_lap(whole, run, one.fit, common_mm)
    if lap is None:
        return None
    ends = _ends_of(cut, run, lap, common_mm)
    both = pieces(lap, run)
    for track, own_strip in zip(both, cut(both), strict=True):
        if own_strip is None:
            continue
        piece = _fitted(BarLine(track, track, lap=ends), own_strip, votes, common_mm, prior_mm)
        if piece.fit.from_edges:
            return piece
    return None


def _ends_of(
    cut: Callable[..., tuple[Strip | None, ...]], run: BarTrack, lap: LapFound, width_mm: float
) -> tuple[LapEnd, LapEnd]:
    """Both ends of a lap, on short blocks around it."""
    low = max(run.seen[0][0], lap.from_s_mm - 200.0)
    high = min(run.seen[-1][1], lap.to_s_mm + 200.0)
    around = tuple((max(a, low), min(b, high)) for a, b in run.seen if b > low and a < high)
    (strip,) = cut([replace(run, seen=around)], stations=END_STATIONS)
    if strip is None:
        return LapEnd(lap.from_s_mm, None, "covered"), LapEnd(lap.to_s_mm, None, "covered")
    return lap_ends(strip, lap, width_mm)


def _may_be_lapped(one: _FittedLine) -> bool:
    """Whether to look for a second bar: the line waves or bows, or part of the labelled band is far wider than the rest."""
    band = one.strip.label.sum(axis=1)
    wider = float(percentile(band, 88.0)) > 1.35 * max(median(band), 1e-6)
    bowed = abs(one.fit.curve[2]) > LAP_BOW_MM
    return wider or bowed or waviness_mm(one.fit) > LAP_SUSPECTED_MM or not one.fit.from_edges


def waviness_mm(fit: EdgeFit) -> float:
    """What a bow does not follow: the slow part of the scatter of the blocks, from means over five of them.

    Args:
        fit: Line of one bar with its blocks.

    Returns:
        Root mean square of those means in mm; 0.3 where fewer than 15 blocks agree.
    """
    if len(fit.s_mm) < 15:
        return 0.3
    residual = fit.centre_mm - fit.across(fit.s_mm)
    groups = residual[: len(residual) // 5 * 5].reshape(-1, 5).mean(axis=1)
    return float(np.sqrt(np.mean(groups**2)))


def _fitted(line: BarLine, strip: Strip, votes: Floats, common_mm: float, prior_mm: float) -> _FittedLine:
    """Fit one bar with the layer's width, or with its own where it clearly differs."""
    best = int(np.argmax(votes))
    at_common = float(np.interp(common_mm, WIDTHS_MM, votes))
    width = float(WIDTHS_MM[best]) if votes[best] > 1.25 * at_common else common_mm
    return _FittedLine(line, strip, fit_edges(strip, line.main, width, centre_prior_mm=prior_mm))


def _read(one: _FittedLine, outline: Outline) -> ReadBar:
    fit, track, lap = one.fit, one.line.main, one.line.lap
    return ReadBar(
        fit=fit,
        seen_s_mm=one.seen_s_mm,
        seen_share=track.share,
        outline=outline,
        edges_apart_mm=median(fit.width_mm) if fit.from_edges and len(fit.width_mm) >= 4 else None,
        px_mm=one.strip.px_mm,
        beside_s_mm=one.line.beside_s_mm if lap is None else (lap[0].s_mm, lap[1].s_mm),
        lap_ends=None if lap is None else (lap[0].why, lap[1].why),
        lap_u_mm=None if lap is None else length_u_mm(lap),
        strength=track.share * (0.5 + 0.5 * fit.share),
        waviness_mm=waviness_mm(fit),
        whole=track.whole,
    )


def _outlines(fitted: Sequence[_FittedLine], layer_mm: float) -> list[Outline]:
    """Outlines of bars along their fitted lines, from the layer's width or, where it is surer, from that of their own labels."""
    looks = [(i, guess) for i, one in enumerate(fitted) for guess in _guesses_mm(one, layer_mm)]
    found = outline_widths([_pixels_across(fitted[i], guess) for i, guess in looks])
    told: list[list[Outline]] = [[] for _ in fitted]
    for (i, guess), one in zip(looks, found, strict=True):
        width = guess * one.relative
        u_mm = math.hypot(width * one.u_relative, OUTLINE_U_PX * fitted[i].strip.px_mm)
        told[i].append(Outline(width, u_mm))
    return [min(each, key=lambda o: o.u_mm / o.width_mm) for each in told]


def _guesses_mm(one: _FittedLine, layer_mm: float) -> tuple[float, ...]:
    own_mm = one.line.main.width_mm / one.strip.stretch
    # Not found from the layer's width: a bar of a far larger or smaller size.
    odd = math.isfinite(own_mm) and abs(math.log(own_mm / layer_mm)) > MOST_STEP
    return (layer_mm, own_mm) if odd else (layer_mm,)


def _pixels_across(one: _FittedLine, guess_mm: float) -> Across:
    strip = one.strip
    off = one.fit.across(strip.s_mm) - one.line.main.across(strip.s_mm)
    middle = off / strip.step_mm + (strip.rows.shape[1] - 1) / 2
    apparent = guess_mm * strip.stretch
    return Across(strip.rows, middle, apparent / strip.step_mm, apparent / strip.px_mm)
