"""The full-size pixels around one bar, straightened and turned into edge strengths.

Profiles across the bar are averaged over short blocks along it: ribs and noise go, the two edges of the silhouette stay.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median, percentile
from verifier.vision.bars.layer_axes import Floats, LayerAxes, Map, MatMaps, Plane
from verifier.vision.bars.trace_bars import BarTrack

PROFILE_PX, STATION_PX, BLOCK_STATIONS = 0.6, 3.0, 8
"""Sampling across and along a bar in full-size pixels, and how many profiles make a block."""

LEAST_PROFILE_MM, LEAST_STATION_MM = 0.25, 2.0
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
        contrast: (k,) largest step in grey levels per pixel in each block.
        label: (k, m) probability of the labels that there is a bar of this mat.
        rows: (k, m, 3) brightness, blue-green-red.
    """

    s_mm: Floats
    step_mm: float
    px_mm: float
    stretch: float
    edge: Map
    contrast: Floats
    label: Floats
    rows: Map

    @property
    def offsets_mm(self) -> Floats:
        """Offset of each column from the track, in mm."""
        m = self.edge.shape[1]
        return np.asarray((np.arange(m) - (m - 1) / 2) * self.step_mm)


def cut_strip(
    image: NDArray[np.uint8], maps: MatMaps, plane: Plane, axes: LayerAxes, track: BarTrack
) -> Strip | None:
    """Sample the pixels around a bar and turn them into edge strengths.

    Args:
        image: Upright full-size photo, (h, w, 3) or (h, w).
        maps: Label maps of the bar's mat.
        plane: Metric model of the photo.
        axes: Axes of the bar's layer.
        track: The bar line from the labels.

    Returns:
        The strip, or None where less than four blocks lie in the photo.
    """
    profiles = _profiles(plane, axes, track)
    if profiles is None:
        return None
    pixels = cv2.remap(image, profiles.x, profiles.y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    stations = profiles.s_mm.reshape(-1, BLOCK_STATIONS).mean(axis=1)
    seen = np.zeros(len(stations), bool)
    for a, b in track.seen:
        seen |= (stations >= a - 8.0) & (stations <= b + 8.0)
    if int(seen.sum()) < 4:
        return None
    rows = _block_means(np.asarray(pixels, np.uint8))[seen]
    edge, contrast = _edges(rows, profiles.step_mm / profiles.px_mm)
    middle = slice(BLOCK_STATIONS // 2, None, BLOCK_STATIONS)
    label = _labelled(maps, profiles.x[middle][seen], profiles.y[middle][seen])
    return Strip(
        stations[seen], profiles.step_mm, profiles.px_mm, profiles.stretch, edge, contrast, label, rows
    )


@dataclass(frozen=True, slots=True)
class _Profiles:
    """Where a bar is sampled: one row per profile across it, whole blocks of them.

    Attributes:
        s_mm: (n,) station of each profile.
        x, y: (n, m) pixels of its samples.
        step_mm, px_mm, stretch: As those of the strip.
    """

    s_mm: Floats
    x: Map
    y: Map
    step_mm: float
    px_mm: float
    stretch: float


def _profiles(plane: Plane, axes: LayerAxes, track: BarTrack) -> _Profiles | None:
    """The profiles, straight between knots 40 mm apart; None where there are less than four blocks of them."""
    from_s, to_s = track.seen[0][0], track.seen[-1][1]
    knots = np.linspace(from_s, to_s, max(int((to_s - from_s) / 40.0), 2) + 1)
    across = track.across(knots)
    both = axes.to_px(plane, np.tile(knots, 2), np.concatenate([across, across + 10.0]))
    base, beside = both[: len(knots)], both[len(knots) :]
    along_px = float(np.linalg.norm(np.diff(base, axis=0), axis=1).sum())
    px_mm = 10.0 / median(np.linalg.norm(beside - base, axis=1))
    count = int(along_px / max(STATION_PX, LEAST_STATION_MM / px_mm)) // BLOCK_STATIONS * BLOCK_STATIONS
    if count < 4 * BLOCK_STATIONS:
        return None
    at = (np.arange(count) + 0.5) / count * (to_s - from_s) + from_s
    half_mm = 24.0 + 4.0 * px_mm
    step_mm = max(PROFILE_PX * px_mm, LEAST_PROFILE_MM)
    offsets = np.arange(-int(half_mm / step_mm), int(half_mm / step_mm) + 1) * step_mm
    x, y = (
        _fan(np.interp(at, knots, base[:, k]), np.interp(at, knots, (beside - base)[:, k] / 10.0), offsets)
        for k in (0, 1)
    )
    half = len(knots) // 2
    stretch = _stretch(plane, axes, base[half : half + 1], float(across[half]))
    return _Profiles(at, x, y, step_mm, px_mm, stretch)


def _fan(start: NDArray[np.floating], step: NDArray[np.floating], offsets: NDArray[np.floating]) -> Map:
    """One coordinate of the profiles: ``start + step * offset``; in single precision, 0.0003 px in a large photo."""
    s, d, o = (v.astype(np.float32) for v in (start, step, offsets))
    return s[:, None] + d[:, None] * o


def _block_means(pixels: NDArray[np.uint8]) -> Map:
    """Means over ``BLOCK_STATIONS`` rows, (k, m, 3). Sums of bytes fit 16 bits, which is five times as quick as floats."""
    stacked = pixels.reshape(len(pixels) // BLOCK_STATIONS, BLOCK_STATIONS, pixels.shape[1], -1)
    return np.asarray(stacked.sum(axis=1, dtype=np.uint16) / np.float32(BLOCK_STATIONS), np.float32)


def _labelled(maps: MatMaps, x: Map, y: Map) -> Floats:
    """Probability of a bar of the mat at photo pixels."""
    sx, sy = maps.px_per_cell
    at_x, at_y = (x + 0.5) / sx - 0.5, (y + 0.5) / sy - 0.5
    upper, lower = (cv2.remap(m, at_x, at_y, cv2.INTER_LINEAR) for m in (maps.upper, maps.lower))
    return np.minimum(np.asarray(upper, np.float64) + lower, 1.0)


def _stretch(plane: Plane, axes: LayerAxes, px: Floats, across_mm: float) -> float:
    """1 / cos of the angle between the viewing ray of a pixel (1, 2) on the layer and the plane's normal, along the bar."""
    depth = 100.0
    deeper = axes.from_board(plane.to_plane_mm(px, axes.height_mm + depth))[0]
    return math.hypot(1.0, (float(deeper[1]) - across_mm) / depth)


def _edges(blocks: Map, step_px: float) -> tuple[Map, Floats]:
    """Edge strength across each block, all channels together, 1 at the strongest edge of the block."""
    # A kernel one row high: blocks stay apart.
    smooth = np.asarray(cv2.GaussianBlur(blocks, (7, 1), 0.88 / step_px), np.float32).reshape(blocks.shape)
    change = smooth[:, 2:] - smooth[:, :-2]
    step = np.zeros(blocks.shape[:2], np.float32)
    step[:, 1:-1] = np.sqrt(np.einsum("kmc,kmc->km", change, change)) / np.float32(2 * step_px)
    top = percentile(step, 97.0)
    return np.minimum(step / np.maximum(top, 1.0).astype(np.float32)[:, None], np.float32(1.0)), top


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
