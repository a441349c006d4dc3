"""Gaps between neighbouring bars, with a budget for each: every component by name, combined as JCGM 100 asks."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from verifier.vision.bars.layer_axes import Floats, Plane
from verifier.vision.bars.mat_metric import MatMetric
from verifier.vision.bars.mat_plane import MatShape, rays
from verifier.vision.bars.read_layers import ReadBar, ReadLayer

ARM_MM = 60.0
"""Half of the length of bar whose fitted line stands for the bar at a gap."""


Shape = Callable[[MatMetric], MatShape]
"""What the bars say of mat and lens under a given model, or under each of many."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a gap is measured: points of the two bars in pixels, ``ARM_MM`` before and after the station.

    Attributes:
        bars: Indices of the two bars in their layer.
        station_mm: Station along the layer.
        px: (4, 2) first bar before and after, second bar before and after.
        depth_mm: Depth of the layer's plane at the board.
        centre_mm: Centre of the board.
    """

    bars: tuple[int, int]
    station_mm: float
    px: Floats
    depth_mm: float
    centre_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class GapValue:
    """A gap with its budget: standard uncertainties in mm by name."""

    place: Place
    value_mm: float
    from_board_mm: float
    budget: dict[str, float]

    @property
    def standard_uncertainty_mm(self) -> float:
        """Combined standard uncertainty (JCGM 100:2008, 5.1.2)."""
        return math.sqrt(sum(u * u for u in self.budget.values()))


def gap_places(plane: Plane, layer: ReadLayer, pairs: Sequence[tuple[int, int]]) -> tuple[Place, ...]:
    """Where the gaps of the given pairs of bars are: at the middle of the part of the two bars that is seen.

    Args:
        plane: Metric model of the photo.
        layer: Layer of the bars.
        pairs: Indices of two bars each in ``layer.bars``.

    Returns:
        One place for each pair, with pixels of both bars ``ARM_MM`` before and after the station.
    """
    if not pairs:
        return ()
    bars = [layer.bars[i] for i in np.ravel(pairs)]
    middle = _points_px(plane, layer, bars, np.array([b.seen_s_mm for b in bars])).mean(axis=1)
    on_plane = layer.axes.from_board(plane.to_plane_mm(middle, layer.axes.height_mm))
    station = on_plane[:, 0].reshape(-1, 2).mean(axis=1)
    ends = np.repeat(station, 2)[:, None] + np.array([-ARM_MM, ARM_MM])
    px = _points_px(plane, layer, bars, ends).reshape(-1, 4, 2)
    return tuple(
        Place(pair, float(s), at, layer.axes.height_mm, layer.axes.origin_mm)
        for pair, s, at in zip(pairs, station, px, strict=True)
    )


def _points_px(plane: Plane, layer: ReadLayer, bars: Sequence[ReadBar], s: Floats) -> Floats:
    """Pixels (k, j, 2) of points of the centre lines of k bars at stations (k, j), in one call of the model."""
    across = np.array([bar.fit.across(at) for bar, at in zip(bars, s, strict=True)])
    return layer.axes.to_px(plane, s.ravel(), across.ravel()).reshape(*s.shape, 2)


def gap_values(plane: Plane, places: Sequence[Place], tilt: Floats, extra_depth_mm: float = 0.0) -> Floats:
    """Centre to centre, across the two bars, in mm.

    Args:
        plane: Metric model of the photo, or many such at once.
        places: (k) places.
        tilt: (..., 2) slope of the mat against the board, for each model.
        extra_depth_mm: Added to the depth of the plane, for its sensitivity.

    Returns:
        (..., k) gaps in mm.
    """
    seen = rays(plane, np.concatenate([p.px for p in places]), places[0].centre_mm)
    depth = np.repeat([p.depth_mm + extra_depth_mm for p in places], 4)
    # Lengths are taken in the board's plane: a tilt of a degree would change them by 0.015 %.
    xy = seen.on(depth, tilt)
    before, after, beyond_before, beyond_after = (xy[..., k::4, :] for k in range(4))
    along = (after - before) + (beyond_after - beyond_before)
    along = along / np.linalg.norm(along, axis=-1, keepdims=True)
    apart = (beyond_before + beyond_after - before - after) / 2
    return np.asarray(np.abs(along[..., 0] * apart[..., 1] - along[..., 1] * apart[..., 0]))


@dataclass(frozen=True, slots=True)
class LayerGaps:
    """All gaps of one layer, and their mean where there are any: value and standard uncertainty in mm."""

    gaps: tuple[GapValue, ...]
    mean_mm: float | None
    mean_u_mm: float | None


def measure_gaps(
    metric: MatMetric,
    layers: Sequence[ReadLayer],
    shape_of: Shape,
    *,
    u_depth_mm: Sequence[float],
    centre_mm: tuple[float, float],
    keep: Callable[[ReadLayer, GapValue], bool],
) -> tuple[LayerGaps, ...]:
    """Values and budgets of the gaps of all layers.

    Args:
        metric: Metric model with its own budget.
        layers: Layers of the mat that the board lies on.
        shape_of: Mat and lens under a given model, so that what the bars say of them is used there too.
        u_depth_mm: For each layer, standard uncertainty of the depth of its plane at the board.
        centre_mm: Centre of the board.
        keep: Whether a gap is reported and so counts in its layer's mean.

    Returns:
        For each layer its gaps, one between each pair of neighbours, and the mean of those kept.

    Source:
        JCGM 100:2008, 5.1: components multiplied by their sensitivities, combined in quadrature; 5.2 for the mean,
        whose gaps share what the model and the plane add.
    """
    places = [gap_places(metric, layer, [(i, i + 1) for i in range(len(layer.bars) - 1)]) for layer in layers]
    flat = [p for group in places for p in group]
    if not flat:
        return tuple(LayerGaps((), None, None) for _ in layers)
    u_depth = np.repeat(np.asarray(u_depth_mm, float), [len(group) for group in places])
    shared = _SharedDoubt.of(metric, flat, shape_of(metric), shape_of, u_depth)
    out, start = [], 0
    for layer, group in zip(layers, places, strict=True):
        at = slice(start, start + len(group))
        start += len(group)
        gaps = _layer_gaps(metric, layer, group, shared, at, centre_mm)
        out.append(_with_mean(gaps, [keep(layer, g) for g in gaps], shared, at))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class _SharedDoubt:
    """What all gaps of a photo share: signed effects (gaps, sources) of one standard deviation of each source."""

    values: Floats
    effects: dict[str, Floats]

    @classmethod
    def of(
        cls,
        metric: MatMetric,
        places: Sequence[Place],
        shape: MatShape,
        shape_of: Shape,
        u_depth_mm: Floats,
    ) -> _SharedDoubt:
        def valued(model: MatMetric, seen: MatShape) -> Floats:
            return gap_values(model.bent(seen.bend), places, seen.slope)

        values = valued(metric, shape)
        effects = dict(metric.effects(lambda model: valued(model, shape_of(model)), values))
        lens = metric.bent(shape.bend)
        deeper = (gap_values(lens, places, shape.slope, 1.0) - values) * u_depth_mm
        step = 1e-3
        moved = [gap_values(lens, places, shape.slope + step * e) for e in np.eye(2)]
        moved.append(gap_values(metric.bent(shape.bend + step), places, shape.slope))
        slopes = (np.stack(moved, axis=1) - values[:, None]) / step
        effects["plane depth"] = deeper[:, None]
        effects["mat tilt"] = slopes @ _root(shape.covariance)
        return cls(values, effects)

    def budget(self, at: slice) -> dict[str, Floats]:
        """Standard uncertainty of each gap by source."""
        return {name: np.sqrt((e[at] ** 2).sum(axis=1)) for name, e in self.effects.items()}

    def of_mean(self, rows: Sequence[int]) -> float:
        """Standard uncertainty that the shared sources leave in the mean of some gaps."""
        return math.sqrt(sum(float((e[list(rows)].mean(axis=0) ** 2).sum()) for e in self.effects.values()))


def _root(covariance: Floats) -> Floats:
    values, vectors = np.linalg.eigh((covariance + covariance.T) / 2)
    return np.asarray(vectors * np.sqrt(np.clip(values, 0.0, None)))


def _layer_gaps(
    plane: Plane,
    layer: ReadLayer,
    places: Sequence[Place],
    shared: _SharedDoubt,
    at: slice,
    centre_mm: tuple[float, float],
) -> tuple[GapValue, ...]:
    """The gaps of one layer, which stand at ``at`` among those of all layers."""
    if not places:
        return ()
    budget = shared.budget(at)
    middles = plane.to_plane_mm(np.array([p.px.mean(axis=0) for p in places]), layer.axes.height_mm)
    from_board = np.hypot(*(middles - np.asarray(centre_mm)).T)
    return tuple(
        GapValue(
            place,
            float(shared.values[at][k]),
            float(from_board[k]),
            {name: float(u[k]) for name, u in budget.items()} | _line_doubts(layer, place),
        )
        for k, place in enumerate(places)
    )


def _line_doubts(layer: ReadLayer, place: Place) -> dict[str, float]:
    first, second = (layer.bars[i] for i in place.bars)
    return {
        "line fit, first bar": line_u_mm(first, place.station_mm, layer.diameter_mm),
        "line fit, second bar": line_u_mm(second, place.station_mm, layer.diameter_mm),
        "bars not straight": math.hypot(first.waviness_mm, second.waviness_mm),
    }


def _with_mean(
    gaps: tuple[GapValue, ...], kept: Sequence[bool], shared: _SharedDoubt, at: slice
) -> LayerGaps:
    rows = [at.start + k for k, use in enumerate(kept) if use]
    if not rows:
        return LayerGaps(gaps, None, None)
    own = ("line fit, first bar", "line fit, second bar", "bars not straight")
    fits = [
        math.sqrt(sum(g.budget[name] ** 2 for name in own)) for g, use in zip(gaps, kept, strict=True) if use
    ]
    # Along an unbroken run of gaps all line fits but the outermost cancel.
    u = math.hypot(shared.of_mean(rows), max(fits) / len(rows))
    return LayerGaps(gaps, float(shared.values[rows].mean()), u)


EDGE_SHIFT_SHARE = 0.03
"""Standard uncertainty of a bar's middle from light that falls from one side, as a share of its diameter. The distance of the
strongest edges differs from the outline by 6 % of it (standard deviation over 82 layers of the development pictures); where
one edge alone does it, the middle moves by half of that."""

EDGE_U_PX = 0.08
"""Of the middle of two edges from the grid of pixels: each by a parabola through samples 0.6 px apart, good to a fifth of that
step, 0.12 px (calculated); two of them, halved."""

CUE_U_PX = 0.25
"""Further doubt of a line that follows the labels and not the pixels: a tenth of a label cell, which is 2 to 4 px wide; its
fit has 1.2 mm of its own. Its gaps are refused; it counts only in drawings."""

ODD_SHARE = 0.35
"""What the edges' distance is off the layer's moves the middle by something between nothing (both edges share it) and half
(one does it all); as often near the ends of that range as not: an arcsine distribution, a half over the root of two
(JCGM 101:2008, 6.4.6)."""


def line_u_mm(bar: ReadBar, station_mm: float, diameter_mm: float) -> float:
    """Standard uncertainty of a bar's line at a station: scatter of the fit, light from one side, the grid of pixels.

    Both bars of a gap share much of what the light does; all of it is taken as their own, which is the wider way.

    Args:
        bar: The bar as read.
        station_mm: Station along the layer.
        diameter_mm: Diameter of the layer's bars.

    Returns:
        Standard uncertainty in mm, across the bar; larger where the edges were not found or lie oddly far apart.
    """
    shade = EDGE_SHIFT_SHARE * diameter_mm + EDGE_U_PX * bar.px_mm
    if not bar.fit.from_edges:
        shade += CUE_U_PX * bar.px_mm
    return math.hypot(bar.fit.line_u_mm(station_mm), shade, ODD_SHARE * bar.odd_mm)
