"""From label maps to bar lines: layer directions, then every bar of a layer as a slightly bowed line on its plane.

Coordinates. Image points are pixels of the upright full-size photo, x right, y down, (0, 0) the centre of the top-left
pixel. A layer has its own axes on its plane: ``s`` along the bars and ``n`` across them, in mm, with the origin at the
board's centre.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Map = NDArray[np.float32]

STEP_S_MM, STEP_N_MM = 8.0, 2.0
"""Raster steps along and across a layer. Across: well below the smallest bar; along: a fifth of a mesh, at least."""

DIRECTIONS_APART_DEG = 25.0
"""Two layers of a mat are taken to cross at this angle or more (common practice, no source)."""

SLOPE_LIMIT, SLOPE_STEP = 0.036, 0.004
"""How far a single bar may turn from its layer (about 2 degrees)."""


class Plane(Protocol):
    """What is needed of the metric model: both ways between pixels and a plane parallel to the board."""

    def to_plane_mm(self, px: Floats, height_below_face_mm: float) -> Floats:
        """Where the rays of pixels meet a plane parallel to the printed face.

        Args:
            px: (n, 2) pixels of the upright full-size photo.
            height_below_face_mm: Depth of the plane below the printed face, at the board.

        Returns:
            (n, 2) board coordinates in mm.
        """

    def to_px(self, mm: Floats, height_below_face_mm: float) -> Floats:
        """Where points of such a plane are seen; the inverse of ``to_plane_mm``.

        Args:
            mm: (n, 2) board coordinates in mm.
            height_below_face_mm: Depth of the plane below the printed face, at the board.

        Returns:
            (n, 2) pixels of the upright full-size photo.
        """


@dataclass(frozen=True, slots=True)
class MatMaps:
    """What the labels say about one mat.

    Attributes:
        upper: (h, w) probability that the cell shows an upper bar of this mat.
        lower: (h, w) likewise for a lower bar.
        centre: (h, w) centre-line cue, 0 to 1.
        px_per_cell: Pixels of the full-size photo per cell, x and y.
        photo_px: Width and height of the full-size photo.
    """

    upper: Map
    lower: Map
    centre: Map
    px_per_cell: tuple[float, float]
    photo_px: tuple[int, int]


@dataclass(frozen=True, slots=True)
class LayerAxes:
    """Axes of one layer on its plane.

    Attributes:
        direction_rad: Direction of the bars in board coordinates, 0 to pi.
        height_mm: Depth of the axis plane below the printed face.
        origin_mm: Board coordinates of s = n = 0.
    """

    direction_rad: float
    height_mm: float
    origin_mm: tuple[float, float]

    def to_board(self, s: Floats, n: Floats) -> Floats:
        """Board coordinates of points given along and across the layer.

        Args:
            s: (k,) along the bars. [mm]
            n: (k,) across them. [mm]

        Returns:
            (k, 2) board coordinates in mm, on the layer's plane.
        """
        c, d = math.cos(self.direction_rad), math.sin(self.direction_rad)
        return np.stack([self.origin_mm[0] + s * c - n * d, self.origin_mm[1] + s * d + n * c], axis=-1)

    def from_board(self, xy: Floats) -> Floats:
        """Along and across of points given in board coordinates; the inverse of ``to_board``.

        Args:
            xy: (k, 2) board coordinates in mm, on the layer's plane.

        Returns:
            (k, 2) along and across in mm.
        """
        c, d = math.cos(self.direction_rad), math.sin(self.direction_rad)
        q = xy - np.asarray(self.origin_mm)
        return np.stack([q[:, 0] * c + q[:, 1] * d, -q[:, 0] * d + q[:, 1] * c], axis=-1)

    def to_px(self, plane: Plane, s: Floats, n: Floats) -> Floats:
        """Where points given along and across the layer are seen.

        Args:
            plane: Metric model of the photo.
            s: (k,) along the bars. [mm]
            n: (k,) across them. [mm]

        Returns:
            (k, 2) pixels of the upright full-size photo.
        """
        return plane.to_px(self.to_board(s, n), self.height_mm)


@dataclass(frozen=True, slots=True)
class BarTrack:
    """One bar line on its layer: ``n(s) = c0 + c1 (s/1000) + c2 (s/1000)^2`` in mm.

    Attributes:
        curve: c0, c1, c2 in mm.
        seen: Stretches (from, to) along s in mm where the labels show it.
        share: Seen part of the stretch where it could be seen.
        upper_mm, lower_mm: Length whose labels say upper or lower, weighted with their probability.
        width_mm: Width of the labelled band on the layer's plane.
        whole: Seen part of all of this line that could be seen within reach, beyond its ends too.
    """

    curve: tuple[float, float, float]
    seen: tuple[tuple[float, float], ...]
    share: float
    upper_mm: float
    lower_mm: float
    width_mm: float
    whole: float = 1.0

    def across(self, s: Floats) -> Floats:
        """Offset of the line across the layer.

        Args:
            s: Stations along the layer in mm, of any shape.

        Returns:
            Offsets in mm, of the same shape.
        """
        z = np.asarray(s) / 1000.0
        return self.curve[0] + self.curve[1] * z + self.curve[2] * z * z

    @property
    def seen_mm(self) -> float:
        """Length seen in mm."""
        return float(sum(b - a for a, b in self.seen))


@dataclass(frozen=True, slots=True)
class FoundLayer:
    """A layer's axes and its bar lines, in order across."""

    position: str
    axes: LayerAxes
    tracks: tuple[BarTrack, ...]


@dataclass(frozen=True, slots=True)
class _Raster:
    """Label maps laid onto a layer: rows across (n), columns along (s)."""

    bar: Map
    upper: Map
    lower: Map
    open: NDArray[np.bool_]
    s: Floats
    n: Floats


def find_layers(
    maps: MatMaps,
    plane: Plane,
    *,
    heights_mm: tuple[float, float],
    centre_mm: tuple[float, float],
    reach_mm: float,
    board_mm: tuple[float, float],
    single_layer: bool = False,
) -> tuple[FoundLayer, ...]:
    """Find the layers of one mat and their bars.

    Args:
        maps: Label maps of this mat.
        plane: Metric model of the photo.
        heights_mm: Depth of the upper and of the lower axis plane below the printed face.
        centre_mm: The board's centre in board coordinates.
        reach_mm: Radius around the board within which bars are sought.
        board_mm: Width and height of the card, which hides what lies under it.
        single_layer: Look for one direction only.

    Returns:
        Upper layer first; layers without any bar are left out.
    """
    upper_deg, lower_deg = layer_directions(maps, plane, heights_mm, centre_mm, reach_mm)
    found: list[FoundLayer] = []
    for position, direction, height in (
        ("upper", upper_deg, heights_mm[0]),
        ("lower", lower_deg, heights_mm[1]),
    ):
        if direction is None or (single_layer and found):
            continue
        axes = LayerAxes(math.radians(direction), height, centre_mm)
        raster = _lay(maps, plane, axes, reach_mm, board_mm)
        tracks = _trace(raster)
        if tracks:
            found.append(FoundLayer(position, axes, tracks))
    return _positions(found)


def _positions(found: list[FoundLayer]) -> tuple[FoundLayer, ...]:
    """Let the labels along the bars, not single cells, say which family of bars is the upper one."""
    if len(found) < 2:
        return tuple(found)

    def lean(layer: FoundLayer) -> float:
        up, low = sum(t.upper_mm for t in layer.tracks), sum(t.lower_mm for t in layer.tracks)
        return (up - low) / max(up + low, 1e-9)

    first, second = found
    if lean(first) < lean(second):
        first, second = second, first
    return (
        FoundLayer("upper", first.axes, first.tracks),
        FoundLayer("lower", second.axes, second.tracks),
    )


def layer_directions(
    maps: MatMaps,
    plane: Plane,
    heights_mm: tuple[float, float],
    centre_mm: tuple[float, float],
    reach_mm: float,
) -> tuple[float | None, float | None]:
    """Directions of the upper and lower layer: along each the labelled cells, projected, pile up most sharply.

    Args:
        maps: Label maps of this mat.
        plane: Metric model of the photo.
        heights_mm: Depth of the upper and of the lower axis plane below the printed face.
        centre_mm: The board's centre in board coordinates.
        reach_mm: Radius around the board; cells beyond it are not used.

    Returns:
        Upper and lower direction in board coordinates, 0 to 180 degrees, or None where too few cells say such a bar. With
        both layers seen they are apart by ``DIRECTIONS_APART_DEG`` or more before each is sharpened to a tenth of a
        degree; a single one is given to a whole degree.
    """
    curves = [
        _sharpness(weight * maps.centre, maps, plane, height, centre_mm, reach_mm)
        for weight, height in zip((maps.upper, maps.lower), heights_mm, strict=True)
    ]
    grid = np.arange(180.0)
    if curves[0] is None or curves[1] is None:
        return tuple(None if c is None else float(np.argmax(c.coarse)) for c in curves)  # type: ignore[return-value]
    apart = np.abs((grid[:, None] - grid[None, :] + 90) % 180 - 90) >= DIRECTIONS_APART_DEG
    total = np.where(apart, curves[0].coarse[:, None] + curves[1].coarse[None, :], -1.0)
    i, j = np.unravel_index(int(np.argmax(total)), total.shape)
    return curves[0].refine(float(i)), curves[1].refine(float(j))


@dataclass(frozen=True, slots=True)
class _Sharpness:
    xy: Floats
    weight: Floats
    coarse: Floats

    def refine(self, direction_deg: float) -> float:
        """Sharpen a direction to a tenth of a degree."""
        fine = direction_deg + np.arange(-1.5, 1.51, 0.1)
        return float(fine[int(np.argmax(_pile_up(self.xy, self.weight, fine, 3.0)))] % 180.0)


def _sharpness(
    weight: Map,
    maps: MatMaps,
    plane: Plane,
    height_mm: float,
    centre_mm: tuple[float, float],
    reach_mm: float,
) -> _Sharpness | None:
    rows, cols = np.nonzero(weight > 0.2)
    if len(rows) < 60:
        return None
    step = 1 + len(rows) // 12000
    rows, cols = rows[::step], cols[::step]
    xy = plane.to_plane_mm(cell_px(maps.px_per_cell, cols, rows), height_mm) - np.asarray(centre_mm)
    near = np.hypot(xy[:, 0], xy[:, 1]) <= reach_mm
    if int(near.sum()) < 40:
        return None
    xy, w = xy[near], weight[rows, cols][near].astype(np.float64)
    return _Sharpness(xy, w, _pile_up(xy, w, np.arange(180.0), 8.0))


def cell_px(px_per_cell: tuple[float, float], cols: NDArray[np.int64], rows: NDArray[np.int64]) -> Floats:
    """Pixels of the centres of label cells.

    Args:
        px_per_cell: Pixels of the full-size photo per cell, x and y.
        cols: (k,) columns of the cells, from 0 at the left.
        rows: (k,) rows of the cells, from 0 at the top.

    Returns:
        (k, 2) pixels of the upright full-size photo.
    """
    return np.stack([(cols + 0.5) * px_per_cell[0] - 0.5, (rows + 0.5) * px_per_cell[1] - 0.5], axis=-1)


def _pile_up(xy: Floats, weight: Floats, directions_deg: Floats, bin_mm: float) -> Floats:
    """Sum of squares of the projected weights: largest where parallel lines fall into few bins."""
    out = np.empty(len(directions_deg))
    for k, direction in enumerate(np.radians(directions_deg)):
        across = xy[:, 1] * math.cos(direction) - xy[:, 0] * math.sin(direction)
        bins = np.floor(across / bin_mm).astype(np.int64)
        piled = np.bincount(bins - bins.min(), weight)
        out[k] = float((piled**2).sum()) / float(weight.sum()) ** 2
    return out


def _lay(
    maps: MatMaps, plane: Plane, axes: LayerAxes, reach_mm: float, board_mm: tuple[float, float]
) -> _Raster:
    """Lay the label maps onto a layer's plane, rows across, columns along."""
    s = np.arange(-reach_mm, reach_mm + 0.1, STEP_S_MM)
    n = np.arange(-reach_mm, reach_mm + 0.1, STEP_N_MM)
    coarse_s, coarse_n = np.linspace(s[0], s[-1], 33), np.linspace(n[0], n[-1], 33)
    grid_s, grid_n = np.meshgrid(coarse_s, coarse_n)
    px = axes.to_px(plane, grid_s.ravel(), grid_n.ravel())
    cell = ((px + 0.5) / np.asarray(maps.px_per_cell) - 0.5).astype(np.float32).reshape(33, 33, 2)
    at = _upsample(cell, len(n), len(s))
    around = np.hypot(*np.meshgrid(s, n)) <= reach_mm
    height, width = maps.upper.shape
    inside = (at[..., 0] > 0) & (at[..., 1] > 0) & (at[..., 0] < width - 1) & (at[..., 1] < height - 1)
    board = _under_card(axes, s, n, board_mm)

    def sample(m: Map) -> Map:
        got = cv2.remap(m, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
        return np.where(around, got, np.float32(0)).astype(np.float32)

    upper, lower, centre = sample(maps.upper), sample(maps.lower), sample(maps.centre)
    bar = (upper + lower) * (0.25 + 0.75 * centre)
    return _Raster(bar, upper, lower, inside & around & ~board, s, n)


def _upsample(grid: Map, rows: int, cols: int) -> Map:
    """Bilinear from the corners of a coarse grid to a fine one whose first and last points coincide with it."""
    x = np.linspace(0, grid.shape[1] - 1, cols, dtype=np.float32)
    y = np.linspace(0, grid.shape[0] - 1, rows, dtype=np.float32)
    at_x, at_y = np.meshgrid(x, y)
    return np.asarray(cv2.remap(grid, at_x, at_y, cv2.INTER_LINEAR), np.float32)


def _under_card(axes: LayerAxes, s: Floats, n: Floats, board_mm: tuple[float, float]) -> NDArray[np.bool_]:
    grid_s, grid_n = np.meshgrid(s, n)
    xy = axes.to_board(grid_s, grid_n) - np.asarray(axes.origin_mm)
    return np.asarray((np.abs(xy[..., 0]) <= board_mm[0] / 2) & (np.abs(xy[..., 1]) <= board_mm[1] / 2))


def _trace(raster: _Raster, least_mm: float = 190.0) -> tuple[BarTrack, ...]:
    """Take bar lines one by one, the clearest first, until what is left no longer makes a bar."""
    along = cv2.blur(raster.bar, (9, 1))
    clear = np.minimum(cv2.GaussianBlur(along, (1, 5), 0, sigmaY=1.2), 0.8)
    slopes = np.arange(-SLOPE_LIMIT, SLOPE_LIMIT + 1e-9, SLOPE_STEP)
    votes = _votes(clear, raster, slopes)
    tracks: list[BarTrack] = []
    for _ in range(80):
        k, row = np.unravel_index(int(np.argmax(votes)), votes.shape)
        if votes[k, row] * STEP_S_MM < 0.6 * least_mm:
            break
        first = (float(raster.n[row]), float(slopes[k] * 1000.0), 0.0)
        track = _follow(raster, clear, first)
        if track is not None and track.seen_mm >= least_mm and track.share >= 0.3:
            tracks.append(track)
            first = track.curve
        _erase(clear, raster, first)
        _revote(votes, clear, raster, slopes, first)
    return tuple(sorted(tracks, key=lambda t: t.curve[0]))


def _votes(clear: Map, raster: _Raster, slopes: Floats) -> Floats:
    """Evidence summed along straight lines: rows of first offset (at s = 0), one table per slope."""
    out = np.zeros((len(slopes), clear.shape[0]))
    _vote_rows(out, clear, raster, slopes, 0, clear.shape[0])
    return out


def _revote(votes: Floats, clear: Map, raster: _Raster, slopes: Floats, gone: Sequence[float]) -> None:
    """Vote again, only where lines could cross the band that was just erased."""
    ends = [gone[0] + gone[1] * z + gone[2] * z * z for z in (raster.s[0] / 1e3, raster.s[-1] / 1e3)]
    margin = SLOPE_LIMIT * raster.s[-1] + 14.0
    low = int((min(*ends, gone[0]) - margin - raster.n[0]) / STEP_N_MM)
    high = int((max(*ends, gone[0]) + margin - raster.n[0]) / STEP_N_MM) + 1
    _vote_rows(votes, clear, raster, slopes, max(low, 0), min(high, clear.shape[0]))


def _vote_rows(votes: Floats, clear: Map, raster: _Raster, slopes: Floats, low: int, high: int) -> None:
    step = 4
    reach = int(SLOPE_LIMIT * raster.s[-1] / STEP_N_MM) + 2
    top = max(low - reach, 0)
    part = clear[top : min(high + reach, clear.shape[0])]
    s = raster.s[::step]
    # Mean over the stations between; the last partial group is dropped with its few centimetres.
    groups = (part.shape[1] // step) * step
    thin = part[:, :groups].reshape(part.shape[0], -1, step).sum(axis=2)
    middle = s[: thin.shape[1]] + STEP_S_MM * (step - 1) / 2
    shift = np.rint(slopes[:, None] * middle / STEP_N_MM).astype(np.int64)
    # Rows of nothing above and below stand for what lies outside.
    padded = np.pad(thin, ((reach, reach), (0, 0)))
    at = np.arange(low, high)[None, :, None] + (shift + reach - top)[:, None, :]
    flat = np.clip(at, 0, padded.shape[0] - 1) * padded.shape[1] + np.arange(padded.shape[1])
    votes[:, low:high] = padded.ravel()[flat].sum(axis=2)


def _follow(raster: _Raster, clear: Map, curve: Sequence[float]) -> BarTrack | None:
    """Fit the bowed line through the ridge near a first guess, with outliers weighted down."""
    z = raster.s / 1000.0
    c = np.asarray(curve, float)
    half = 12.0
    offsets = np.arange(-half, half + 0.1, STEP_N_MM)
    weight = np.zeros_like(z)
    for turn in range(4):
        base = c[0] + c[1] * z + c[2] * z * z
        rows = np.rint((base[None, :] + offsets[:, None] - raster.n[0]) / STEP_N_MM).astype(np.int64)
        ok = (rows >= 0) & (rows < clear.shape[0])
        piece = np.where(ok, np.take_along_axis(clear, np.clip(rows, 0, clear.shape[0] - 1), axis=0), 0.0)
        narrow = np.exp(-0.5 * (offsets / (8.0 if turn < 2 else 5.0)) ** 2)[:, None]
        piece = piece * narrow
        mass = piece.sum(axis=0)
        actual = raster.n[0] + STEP_N_MM * rows
        centre = (piece * actual).sum(axis=0) / np.maximum(mass, 1e-9)
        weight = np.where(mass > 0.25, np.minimum(mass, 1.0), 0.0)
        if float((weight > 0).sum()) * STEP_S_MM < 100.0:
            return None
        c = _weighted_bow(z, centre, weight, c, bowed=turn >= 2)
    return _seen(raster, clear, c)


def _weighted_bow(z: Floats, centre: Floats, weight: Floats, start: Floats, *, bowed: bool) -> Floats:
    """Weighted parabola through (z, centre), bow held small by a prior; residuals beyond 3 mm lose weight."""
    c = start
    for _ in range(2):
        residual = centre - (c[0] + c[1] * z + c[2] * z * z)
        w = weight / (1.0 + (residual / 3.0) ** 2)
        design = np.stack([np.ones_like(z), z, z * z], axis=1)
        # Prior: a bar turns from its layer by some 0.6 degrees and bows by a few mm over a metre.
        prior = np.diag([0.0, 1.0 / 10.0**2, 1.0 / (8.0 if bowed else 0.01) ** 2])
        normal = design.T @ (w[:, None] * design) / 2.0**2 + prior
        c = np.linalg.solve(normal, design.T @ (w * centre) / 2.0**2)
    return c


def _seen(raster: _Raster, clear: Map, c: Floats) -> BarTrack:
    z = raster.s / 1000.0
    base = c[0] + c[1] * z + c[2] * z * z
    rows = np.clip(np.rint((base - raster.n[0]) / STEP_N_MM).astype(np.int64), 1, clear.shape[0] - 2)
    cols = np.arange(len(z))
    near = np.maximum.reduce([clear[rows - 1, cols], clear[rows, cols], clear[rows + 1, cols]])
    within = (base > raster.n[0]) & (base < raster.n[-1])
    possible = raster.open[rows, cols] & within
    there = (near > 0.22) & possible
    stretches = _stretches(there, raster.s)
    if stretches:
        span = (raster.s >= stretches[0][0]) & (raster.s <= stretches[-1][1])
        share = float(there.sum()) / max(float((possible & span).sum()), 1.0)
    else:
        share = 0.0
    whole = float(there.sum()) / max(float(possible.sum()), 1.0)
    use = np.where(there, 1.0, 0.0)
    up = float((raster.upper[rows, cols] * use).sum() * STEP_S_MM)
    low = float((raster.lower[rows, cols] * use).sum() * STEP_S_MM)
    width = _band_width(raster, base, there)
    return BarTrack((float(c[0]), float(c[1]), float(c[2])), stretches, share, up, low, width, whole)


def _band_width(raster: _Raster, base: Floats, there: NDArray[np.bool_], half_mm: float = 22.0) -> float:
    """Median width of the labelled band: the probabilities summed across the bar, out to where they first fall low."""
    steps = int(half_mm / STEP_N_MM)
    cols = np.nonzero(there)[0]
    if len(cols) < 4:
        return math.nan
    rows = np.rint((base[cols] - raster.n[0]) / STEP_N_MM).astype(np.int64)
    at = np.clip(rows[None, :] + np.arange(-steps, steps + 1)[:, None], 0, raster.upper.shape[0] - 1)
    across = np.minimum(raster.upper[at, cols] + raster.lower[at, cols], 1.0)
    left = np.minimum.accumulate(across[steps::-1], axis=0).sum(axis=0)
    right = np.minimum.accumulate(across[steps:], axis=0).sum(axis=0)
    return float(np.median(left + right - across[steps]) * STEP_N_MM)


def _stretches(
    there: NDArray[np.bool_], s: Floats, bridge_mm: float = 40.0, least_mm: float = 48.0
) -> tuple[tuple[float, float], ...]:
    """Runs of true stations, small breaks (crossings, ties) bridged, crumbs left out."""
    out: list[list[float]] = []
    for at in s[there]:
        if out and at - out[-1][1] <= bridge_mm:
            out[-1][1] = float(at)
        else:
            out.append([float(at), float(at)])
    return tuple((a, b) for a, b in out if b - a >= least_mm)


def _erase(clear: Map, raster: _Raster, c: Sequence[float], half_mm: float = 9.0) -> None:
    z = raster.s / 1000.0
    base = c[0] + c[1] * z + c[2] * z * z
    low = np.rint((base - half_mm - raster.n[0]) / STEP_N_MM).astype(np.int64)
    for k in range(int(2 * half_mm / STEP_N_MM) + 1):
        rows = low + k
        ok = (rows >= 0) & (rows < clear.shape[0])
        clear[rows[ok], np.nonzero(ok)[0]] = 0.0
