"""The full-size pixels around one bar, straightened and turned into edge strengths.

Profiles across the bar are averaged over short blocks along it: ribs and noise go, the two edges of the silhouette stay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median, percentile
from verifier.vision.bars.layer_axes import Floats, LayerAxes, Map, MatMaps, Plane
from verifier.vision.bars.trace_bars import BarTrack

PROFILE_PX, STATION_PX, BLOCK_STATIONS = 0.6, 3.0, 8
"""Sampling across and along a bar in full-size pixels, and how many profiles make a block."""

LEAST_PROFILE_MM, LEAST_STATION_MM = 0.4, 2.0
"""Sampling is no finer than this where pixels are very small: ribs are 5 to 8 mm apart and half a millimetre high, and the
blur of the lens is wider."""


@dataclass(frozen=True, slots=True)
class Strip:
    """Pixels around one bar, straightened: one row per block along the bar, one column per step across.

    Attributes:
        s_mm: (k,) station of each block.
        step_mm: Column step in mm on the layer's plane.
        px_mm: Size of a full-size pixel across the bar in mm, at the middle of the bar.
        stretch: Width that a bar's outline takes on the layer's plane over its diameter; more than 1 in slanted view.
        edge: (k, m) edge strength, 0 to 1 within each block.
        label: (k, m) probability of the labels that there is a bar of this mat.
        rows: (k, m, 3) brightness, blue-green-red.
    """

    s_mm: Floats
    step_mm: float
    px_mm: float
    stretch: float
    edge: Map
    label: Floats
    rows: Map

    @property
    def offsets_mm(self) -> Floats:
        """Offset of each column from the track, in mm."""
        m = self.edge.shape[1]
        return np.asarray((np.arange(m) - (m - 1) / 2) * self.step_mm)


def cut_strips(
    image: NDArray[np.uint8],
    maps: MatMaps,
    plane: Plane,
    axes: LayerAxes,
    tracks: Sequence[BarTrack],
    stations: int = BLOCK_STATIONS,
) -> tuple[Strip | None, ...]:
    """Sample the pixels around bars and turn them into edge strengths.

    Args:
        image: Upright full-size photo, (h, w, 3) or (h, w).
        maps: Label maps of the bars' mat.
        plane: Metric model of the photo.
        axes: Axes of the bars' layer.
        tracks: Bar lines from the labels, at least one.
        stations: How many profiles make a block.

    Returns:
        The strip of each, None where less than four blocks lie in the photo.
    """
    labels = cv2.add(maps.upper, maps.lower)
    return tuple(
        None
        if profiles is None
        else _strip(image, np.asarray(labels, np.float32), maps.px_per_cell, profiles)
        for profiles in _profiles(plane, axes, tracks, stations)
    )


def _strip(
    image: NDArray[np.uint8], labels: Map, px_per_cell: tuple[float, float], profiles: _Profiles
) -> Strip | None:
    middles = profiles.s_mm.reshape(-1, profiles.stations).mean(axis=1)
    seen = np.zeros(len(middles), bool)
    for a, b in profiles.seen_s_mm:
        seen |= (middles >= a - 8.0) & (middles <= b + 8.0)
    if int(seen.sum()) < 4:
        return None
    pixels = cv2.remap(image, profiles.x, profiles.y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    rows = _block_means(np.asarray(pixels, np.uint8), profiles.stations)[seen]
    edge = _edges(rows, profiles.step_mm / profiles.px_mm)
    middle = slice(profiles.stations // 2, None, profiles.stations)
    label = _labelled(labels, px_per_cell, profiles.x[middle][seen], profiles.y[middle][seen])
    return Strip(middles[seen], profiles.step_mm, profiles.px_mm, profiles.stretch, edge, label, rows)


@dataclass(frozen=True, slots=True)
class _Profiles:
    """Where a bar is sampled: one row per profile across it, whole blocks of them.

    Attributes:
        seen_s_mm: Stretches along s where the labels show the bar.
        s_mm: (n,) station of each profile.
        x, y: (n, m) pixels of its samples.
        step_mm, px_mm, stretch: As those of the strip.
        stations: How many profiles make a block.
    """

    seen_s_mm: tuple[tuple[float, float], ...]
    s_mm: Floats
    x: Map
    y: Map
    step_mm: float
    px_mm: float
    stretch: float
    stations: int


def _profiles(
    plane: Plane, axes: LayerAxes, tracks: Sequence[BarTrack], stations: int
) -> list[_Profiles | None]:
    """The profiles of each bar, straight between knots 40 mm apart; None where there are less than four blocks of them."""
    knots = [_knots(track) for track in tracks]
    across = [track.across(s) for track, s in zip(tracks, knots, strict=True)]
    s, n = np.concatenate(knots), np.concatenate(across)
    px = axes.to_px(plane, np.tile(s, 2), np.concatenate([n, n + 10.0])).reshape(2, -1, 2)
    of_each = np.split(px, np.cumsum([len(k) for k in knots])[:-1], axis=1)
    middles = np.array([base[len(base) // 2] for base, _ in of_each])
    stretch = _stretch(plane, axes, middles, np.array([a[len(a) // 2] for a in across]))
    return [
        _sampled(track, k, base, beside, float(one), stations)
        for track, k, (base, beside), one in zip(tracks, knots, of_each, stretch, strict=True)
    ]


def _knots(track: BarTrack) -> Floats:
    from_s, to_s = track.seen[0][0], track.seen[-1][1]
    return np.linspace(from_s, to_s, max(int((to_s - from_s) / 40.0), 2) + 1)


def _sampled(
    track: BarTrack, knots: Floats, base: Floats, beside: Floats, stretch: float, stations: int
) -> _Profiles | None:
    """The profiles of a bar seen at ``base`` (k, 2) in pixels; ``beside`` it lie points 10 mm across."""
    along_px = float(np.linalg.norm(np.diff(base, axis=0), axis=1).sum())
    px_mm = 10.0 / median(np.linalg.norm(beside - base, axis=1))
    count = int(along_px / max(STATION_PX, LEAST_STATION_MM / px_mm)) // stations * stations
    if count < 4 * stations:
        return None
    at = (np.arange(count) + 0.5) / count * (knots[-1] - knots[0]) + knots[0]
    half_mm = 24.0 + 4.0 * px_mm
    step_mm = max(PROFILE_PX * px_mm, LEAST_PROFILE_MM)
    offsets = np.arange(-int(half_mm / step_mm), int(half_mm / step_mm) + 1) * step_mm
    x, y = (
        _fan(np.interp(at, knots, base[:, k]), np.interp(at, knots, (beside - base)[:, k] / 10.0), offsets)
        for k in (0, 1)
    )
    return _Profiles(track.seen, at, x, y, step_mm, px_mm, stretch, stations)


def _fan(start: NDArray[np.floating], step: NDArray[np.floating], offsets: NDArray[np.floating]) -> Map:
    """One coordinate of the profiles: ``start + step * offset``; in single precision, 0.0003 px in a large photo."""
    s, d, o = (v.astype(np.float32) for v in (start, step, offsets))
    return s[:, None] + d[:, None] * o


def _block_means(pixels: NDArray[np.uint8], together: int) -> Map:
    """Means over ``together`` rows, (k, m, 3). Sums of bytes fit 16 bits, which is five times as quick as floats."""
    stacked = pixels.reshape(len(pixels) // together, together, pixels.shape[1], -1)
    return np.asarray(stacked.sum(axis=1, dtype=np.uint16) / np.float32(together), np.float32)


def _labelled(labels: Map, px_per_cell: tuple[float, float], x: Map, y: Map) -> Floats:
    """Probability of a bar of the mat at photo pixels."""
    at_x, at_y = ((v + 0.5) / size - 0.5 for v, size in zip((x, y), px_per_cell, strict=True))
    return np.minimum(np.asarray(cv2.remap(labels, at_x, at_y, cv2.INTER_LINEAR), np.float64), 1.0)


def _stretch(plane: Plane, axes: LayerAxes, px: Floats, across_mm: Floats) -> Floats:
    """1 / cos of the angle between the viewing rays of pixels (n, 2) on the layer and the plane's normal, along the bars."""
    depth = 100.0
    deeper = axes.from_board(plane.to_plane_mm(px, axes.height_mm + depth))[:, 1]
    return np.asarray(np.hypot(1.0, (deeper - across_mm) / depth))


def _edges(blocks: Map, step_px: float) -> Map:
    """Edge strength across each block, all channels together, 1 at the strongest edge of the block."""
    # A kernel one row high: blocks stay apart.
    smooth = np.asarray(cv2.GaussianBlur(blocks, (7, 1), 0.88 / step_px), np.float32).reshape(blocks.shape)
    change = smooth[:, 2:] - smooth[:, :-2]
    step = np.zeros(blocks.shape[:2], np.float32)
    step[:, 1:-1] = np.sqrt(np.einsum("kmc,kmc->km", change, change)) / np.float32(2 * step_px)
    top = np.maximum(percentile(step, 97.0), 1.0).astype(np.float32)
    return np.asarray(np.minimum(step / top[:, None], np.float32(1.0)), np.float32)


def edge_pairs(strip: Strip, widths_mm: Floats, columns: range | None = None) -> Map:
    """How clear the two edges of a bar are together, for several widths of it and with its middle on each column.

    Args:
        strip: The bar's pixels, k blocks of m columns.
        widths_mm: (w,) silhouette widths of the bar, before the stretch of the strip. [mm]
        columns: Neighbouring columns that are asked for; all m when None.

    Returns:
        (w, len(columns), k) product of both edges, 0 to 1, whose root is their geometric mean; 0 where one of them would lie
        outside the strip.
    """
    across = np.ascontiguousarray(strip.edge.T, np.float32)
    last = len(across) - 1
    middle = np.arange(last + 1) if columns is None else np.arange(columns.start, columns.stop)
    half = widths_mm * strip.stretch / 2 / strip.step_mm
    whole = np.floor(half).astype(np.int64)[:, None]
    # Each edge lies between two columns, so far from the first towards the second.
    part = (half[:, None] - whole)[..., None].astype(np.float32)

    def edges(first: NDArray[np.int64], second: NDArray[np.int64]) -> Map:
        inner, outer = across.take(first, axis=0, mode="clip"), across.take(second, axis=0, mode="clip")
        return np.asarray(inner + part * (outer - inner), np.float32)

    pairs = edges(middle - whole, middle - whole - 1) * edges(middle + whole, middle + whole + 1)
    pairs[(middle <= whole) | (middle >= last - whole)] = 0.0
    return pairs
