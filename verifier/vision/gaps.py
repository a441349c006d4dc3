"""Gaps between neighbouring bars, with a budget for each: every component by name, combined as JCGM 100 asks."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from verifier.vision.find_bars import Floats, Plane
from verifier.vision.mat_plane import MatTilt, rays
from verifier.vision.read_layers import ReadBar, ReadLayer, waviness_mm

ARM_MM = 60.0
"""Half of the length of bar whose fitted line stands for the bar at a gap."""


class Metric(Plane, Protocol):
    """The metric model with its own budget."""

    def propagate(self, value_of: Callable[[Plane], Floats]) -> Mapping[str, Floats]:
        """Standard uncertainty that each named component of the model adds to each value."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a gap is measured: points of the two bars in pixels, ``ARM_MM`` before and after the station.

    Attributes:
        bars: Indices of the two bars in their layer.
        station_mm: Station along the layer.
        px: (4, 2) first bar before and after, second bar before and after.
        depth_mm: Depth of the layer's plane at the board.
    """

    bars: tuple[int, int]
    station_mm: float
    px: Floats
    depth_mm: float


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
    """Where the gaps of the given pairs of bars are: at the middle of the part of the two bars that is seen."""
    return tuple(_place(plane, layer, pair) for pair in pairs)


def _place(plane: Plane, layer: ReadLayer, pair: tuple[int, int]) -> Place:
    bars = [layer.bars[i] for i in pair]
    middles = np.stack([layer.points_px(plane, b, np.array(b.seen_s_mm)).mean(axis=0) for b in bars])
    on_plane = layer.axes.from_board(plane.to_plane_mm(middles, layer.axes.height_mm))
    station = float(on_plane[:, 0].mean())
    s = np.array([station - ARM_MM, station + ARM_MM])
    px = np.concatenate([layer.points_px(plane, b, s) for b in bars])
    return Place(pair, station, px, layer.axes.height_mm)


def gap_values(plane: Plane, places: Sequence[Place], tilt: Floats, extra_depth_mm: float = 0.0) -> Floats:
    """Centre to centre, across the two bars, in mm.

    Args:
        plane: Metric model of the photo.
        places: (k) places.
        tilt: (2,) slope of the mat against the board.
        extra_depth_mm: Added to the depth of the plane, for its sensitivity.

    Returns:
        (k,) gaps in mm.
    """
    all_rays = rays(plane, np.concatenate([p.px for p in places]))
    depth = np.repeat([p.depth_mm + extra_depth_mm for p in places], 4)
    h = (depth + all_rays.start @ tilt) / (1.0 - all_rays.per_depth @ tilt)
    # Lengths are taken in the board's plane: a tilt of a degree would change them by 0.015 %.
    xy = (all_rays.start + h[:, None] * all_rays.per_depth).reshape(-1, 4, 2)
    along = (xy[:, 1] - xy[:, 0]) + (xy[:, 3] - xy[:, 2])
    along = along / np.linalg.norm(along, axis=1, keepdims=True)
    apart = (xy[:, 2] + xy[:, 3] - xy[:, 0] - xy[:, 1]) / 2
    return np.asarray(np.abs(along[:, 0] * apart[:, 1] - along[:, 1] * apart[:, 0]))


def measure_gaps(
    metric: Metric,
    layer: ReadLayer,
    places: Sequence[Place],
    tilt_of: Callable[[Plane], MatTilt],
    *,
    u_depth_mm: float,
    centre_mm: tuple[float, float],
) -> tuple[GapValue, ...]:
    """Values and budgets of the gaps of one layer.

    Args:
        metric: Metric model with its own budget.
        layer: The layer.
        places: Where its gaps are.
        tilt_of: Tilt of the mat under a given model, so that what the bars say about the tilt is used there too.
        u_depth_mm: Standard uncertainty of the depth of the layer's plane at the board.
        centre_mm: Centre of the board.

    Returns:
        One value for each place.

    Source:
        JCGM 100:2008, 5.1: components multiplied by their sensitivities, combined in quadrature.
    """
    if not places:
        return ()
    tilt = tilt_of(metric)
    values = gap_values(metric, places, tilt.slope)
    model = metric.propagate(lambda plane: gap_values(plane, places, tilt_of(plane).slope))
    depth = np.abs(gap_values(metric, places, tilt.slope, u_depth_mm) - values)
    by_tilt = _tilt_component(metric, places, tilt, values)
    out = []
    for k, place in enumerate(places):
        first, second = (layer.bars[i] for i in place.bars)
        middle = metric.to_plane_mm(place.px.mean(axis=0, keepdims=True), place.depth_mm)[0]
        budget = {name: float(abs(u[k])) for name, u in model.items()}
        budget["plane depth"] = float(depth[k])
        budget["mat tilt"] = float(by_tilt[k])
        budget["line fit, first bar"] = line_u_mm(first, place.station_mm, layer.diameter_mm)
        budget["line fit, second bar"] = line_u_mm(second, place.station_mm, layer.diameter_mm)
        budget["bars not straight"] = math.hypot(waviness_mm(first.fit), waviness_mm(second.fit))
        from_board = float(np.hypot(*(middle - np.asarray(centre_mm))))
        out.append(GapValue(place, float(values[k]), from_board, budget))
    return tuple(out)


def _tilt_component(plane: Plane, places: Sequence[Place], tilt: MatTilt, values: Floats) -> Floats:
    step = 1e-3
    slopes = np.stack(
        [(gap_values(plane, places, tilt.slope + step * e) - values) / step for e in np.eye(2)], axis=1
    )
    return np.asarray(np.sqrt(np.einsum("ki,ij,kj->k", slopes, tilt.covariance, slopes)))


def line_u_mm(bar: ReadBar, station_mm: float, diameter_mm: float) -> float:
    """Standard uncertainty of a bar's line at a station: scatter of the fit, and light falling from one side.

    Shade on one side of a round bar shifts the edge that is seen there by a few hundredths of the diameter; a pixel
    grid adds a few hundredths of a pixel. Both bars of a gap share most of it; half is taken as their own.
    """
    shade = 0.02 * diameter_mm + 0.08 * bar.px_mm
    if not bar.fit.from_edges:
        shade += 0.25 * bar.px_mm
    return math.hypot(bar.fit.line_u_mm(station_mm), shade)


@dataclass(frozen=True, slots=True)
class MeanSpacing:
    """Mean of a run of gaps and its standard uncertainty, in mm."""

    value_mm: float
    standard_uncertainty_mm: float


def mean_spacing(
    metric: Metric, gaps: Sequence[GapValue], tilt_of: Callable[[Plane], MatTilt], u_depth_mm: float
) -> MeanSpacing | None:
    """Mean of the gaps: what the model and the plane add is shared by all of them, the line fits nearly cancel."""
    if not gaps:
        return None
    places = [g.place for g in gaps]
    tilt = tilt_of(metric)
    values = gap_values(metric, places, tilt.slope)
    parts = [
        float(abs(u[0]))
        for u in metric.propagate(
            lambda plane: gap_values(plane, places, tilt_of(plane).slope).mean(keepdims=True)
        ).values()
    ]
    parts.append(float(abs(gap_values(metric, places, tilt.slope, u_depth_mm).mean() - values.mean())))
    step = 1e-3
    slope = np.array(
        [(gap_values(metric, places, tilt.slope + step * e).mean() - values.mean()) / step for e in np.eye(2)]
    )
    parts.append(float(math.sqrt(slope @ tilt.covariance @ slope)))
    own = ("line fit, first bar", "line fit, second bar", "bars not straight")
    fits = [math.sqrt(sum(g.budget[name] ** 2 for name in own)) for g in gaps]
    parts.append(max(fits) / len(gaps))
    return MeanSpacing(float(values.mean()), math.sqrt(sum(p * p for p in parts)))
