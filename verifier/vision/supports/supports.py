"""Cover blocks and chairs under the bars, and regions for the person to look at, from the label maps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import cv2
import numpy as np

from verifier.vision.bars.layer_axes import Floats, Map, Plane
from verifier.vision.bars.read_layers import ReadLayer
from verifier.vision.photo_measurement import Region, Support
from verifier.vision.supports.block_views import SeenBlock

SMALL_MM, LARGE_MM = 30.0, 60.0
"""Size classes by the larger side as it lies on the mat: small below, large above (common practice, no source)."""

EVEN_MEAN, EVEN_PEAK = 0.70, 0.92
"""Mean and highest probability of a patch of labels at which as many turn out right as not; found on rendered photos."""

COUNTS_FROM = 0.75
"""Chance of a block from which it counts (confidence one half): a block that is not there hides a bar without support, one
that is missed only sends somebody to look. Of those told on drawn photos at least nine in ten are then right."""

JOIN_CELLS = 7
"""Patches of one label with fewer cells than this between them belong together."""

LEAST_REGION_CELLS = 25
"""Regions for the person are larger than this: about 5 x 5 cells, some 20 mm square."""

LEAST_CONFIDENCE, NO_BAR_SHARE = 0.3, 1.0
"""Patches below are left out; a patch within reach that no bar passes keeps this share of its confidence."""

NEAR_BAR_MM = 35.0
"""A block whose middle is nearer to a bar's axis than this carries it."""


@dataclass(frozen=True, slots=True)
class Blob:
    """One patch of a label: its box in full-size pixels, mean and highest probability, number of cells."""

    box_px: tuple[float, float, float, float]
    centre_px: tuple[float, float]
    mean: float
    peak: float
    cells: int

    @property
    def confidence(self) -> float:
        """How sure the labels are of the patch: half where its mean or its peak stands at the even chance."""
        by_mean = 0.5 + 0.5 * (self.mean - EVEN_MEAN) / (0.9 - EVEN_MEAN)
        by_peak = 0.5 + 0.5 * (self.peak - EVEN_PEAK) / (1.0 - EVEN_PEAK)
        return float(np.clip(min(by_mean, by_peak), 0.0, 1.0))


def blobs(
    probability: Map,
    px_per_cell: tuple[float, float],
    *,
    threshold: float = 0.5,
    least_cells: int = 4,
    join_cells: int = JOIN_CELLS,
) -> tuple[Blob, ...]:
    """Patches where a label is likelier than the threshold.

    Args:
        probability: (h, w) of the label.
        px_per_cell: Full-size pixels per cell, x and y.
        threshold: Least probability of a cell.
        least_cells: Smaller patches are left out.
        join_cells: Patches with fewer cells between them are one.

    Returns:
        Patches from top to bottom.
    """
    mask = np.asarray(probability > threshold, np.uint8)
    # Mostly there is nothing, or something in one corner: the rest need not be looked through.
    left, top, width, height = cv2.boundingRect(mask)
    if width == 0:
        return ()
    left, right = max(left - join_cells, 0), left + width + join_cells
    top, bottom = max(top - join_cells, 0), top + height + join_cells
    mask, probability = mask[top:bottom, left:right], probability[top:bottom, left:right]
    # A bar that runs over a block parts it in two: patches nearer than that are one.
    joined = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((join_cells, join_cells), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(np.asarray(joined, np.uint8), connectivity=8)
    sx, sy = px_per_cell
    out = []
    for k in range(1, count):
        x, y, w, h = (int(v) for v in stats[k][:4])
        window = (slice(y, y + h), slice(x, x + w))
        own = (labels[window] == k) & (mask[window] > 0)
        rows, cols = np.nonzero(own)
        if len(rows) < least_cells:
            continue
        values = probability[window][own]
        x, y = x + left, y + top
        centre = ((float(cols.mean()) + x + 0.5) * sx - 0.5, (float(rows.mean()) + y + 0.5) * sy - 0.5)
        box = (x * sx - 0.5, y * sy - 0.5, w * sx, h * sy)
        out.append(Blob(box, centre, float(values.mean()), float(values.max()), len(rows)))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class Ground:
    """What supports stand under, and on what plane their places and sizes are taken.

    Attributes:
        plane: Metric model of the photo.
        layers: Layers of the mat as read; a support's layer and bar are indices into them.
        depth_mm: Depth of the plane below the printed face.
        reach_mm: Radius around the board beyond which neither place, size nor bar is stated.
        centre_mm: The board's centre in board coordinates.
    """

    plane: Plane
    layers: Sequence[ReadLayer]
    depth_mm: float
    reach_mm: float
    centre_mm: tuple[float, float]


def chairs(probability: Map, px_per_cell: tuple[float, float], ground: Ground) -> tuple[Support, ...]:
    """Chairs from the label map: box, confidence, place on the mat and the bar that each carries.

    Only the place across the mat is given; height, and so cover, can't be read from above: tape or gauge it.

    Args:
        probability: (h, w) of the label, 0 to 1.
        px_per_cell: Full-size pixels per cell, x and y.
        ground: The mat.

    Returns:
        Supports in the order of ``blobs``; those below ``LEAST_CONFIDENCE`` are left out.
    """
    out = []
    for blob in blobs(probability, px_per_cell, least_cells=6):
        if blob.confidence < LEAST_CONFIDENCE:
            continue
        x, y, w, h = blob.box_px
        ends = np.array([[x, y + h / 2], [x + w, y + h / 2], [x + w / 2, y], [x + w / 2, y + h]])
        mm = ground.plane.to_plane_mm(ends, ground.depth_mm)
        size = float(max(np.hypot(*(mm[1] - mm[0])), np.hypot(*(mm[3] - mm[2]))))
        out.append(_support(blob.box_px, blob.centre_px, size, blob.confidence, ground))
    return tuple(out)


def cover_blocks(
    seen: Sequence[SeenBlock], ground: Ground, width_px: int, height_px: int
) -> tuple[Support, ...]:
    """Cover blocks from what was seen in the views: box, confidence, place on the mat and the bar that each carries.

    Args:
        seen: Blocks.
        ground: The mat.
        width_px: Width of the photo.
        height_px: Height of the photo: boxes end at its edges.

    Returns:
        Supports in the order of ``seen``; those below ``LEAST_CONFIDENCE`` are left out.
    """
    out = []
    for block in seen:
        confidence = _confidence(block.chance)
        if confidence < LEAST_CONFIDENCE:
            continue
        corners = np.clip(block.outline_px, -0.5, np.array([width_px, height_px]) - 0.5)
        (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
        box = (float(x0), float(y0), float(x1 - x0), float(y1 - y0))
        out.append(_support(box, (float(x0 + x1) / 2, float(y0 + y1) / 2), block.size_mm, confidence, ground))
    return tuple(out)


def _confidence(chance: float) -> float:
    """Half where the block begins to count, straight from there to both ends."""
    if chance < COUNTS_FROM:
        return 0.5 * chance / COUNTS_FROM
    return 0.5 + 0.5 * (chance - COUNTS_FROM) / (1.0 - COUNTS_FROM)


def _support(
    box_px: tuple[float, float, float, float],
    centre_px: tuple[float, float],
    size_mm: float,
    confidence: float,
    ground: Ground,
) -> Support:
    at = np.array([centre_px])
    x, y = ground.plane.to_plane_mm(at, ground.depth_mm)[0]
    within = math.hypot(x - ground.centre_mm[0], y - ground.centre_mm[1]) <= ground.reach_mm
    layer, bar = _carried(ground.layers, ground.plane, at[0]) if within else (None, None)
    size_class: Literal["small", "medium", "large"] = (
        "small" if size_mm < SMALL_MM else "large" if size_mm > LARGE_MM else "medium"
    )
    return Support(
        box_px=box_px,
        confidence=round(confidence * (NO_BAR_SHARE if within and bar is None else 1.0), 3),
        position_mm=(round(float(x), 1), round(float(y), 1)) if within else None,
        size_mm=round(size_mm, 1) if within else None,
        size_class=size_class if within else None,
        layer=layer,
        bar=bar,
    )


def _carried(layers: Sequence[ReadLayer], plane: Plane, px: Floats) -> tuple[int | None, int | None]:
    """Layer and bar whose axis passes nearest, lowest layer first."""
    order = sorted(range(len(layers)), key=lambda i: layers[i].position != "lower")
    for i in order:
        s, n = layers[i].axes.from_board(plane.to_plane_mm(px[None, :], layers[i].axes.height_mm))[0]
        apart = [abs(float(b.fit.across(float(s))) - float(n)) for b in layers[i].bars]
        if apart and min(apart) <= NEAR_BAR_MM:
            return i, int(np.argmin(apart))
    return None, None


@dataclass(frozen=True, slots=True)
class Carried:
    """Supports along one bar: pitches between them and the longest stretch in view without one, in mm."""

    pitches_mm: tuple[float, ...]
    unsupported_mm: float


def along_bar(layer: ReadLayer, bar: int, positions_mm: Sequence[tuple[float, float]]) -> Carried:
    """Pitches of the supports of one bar, and the longest part of it in view that carries none.

    Args:
        layer: Layer of the bar.
        bar: Index of the bar in ``layer.bars``.
        positions_mm: Supports that carry it, in board coordinates; in any order, none at all too.

    Returns:
        Distances along the bar between neighbouring supports, and that longest part with the bar's ends in view counted
        as stops; both to whole mm.
    """
    low, high = layer.bars[bar].seen_s_mm
    s = sorted(float(v) for v in layer.axes.from_board(np.asarray(positions_mm, float).reshape(-1, 2))[:, 0])
    stops = [low, *[v for v in s if low <= v <= high], high]
    pitches = tuple(round(b - a, 0) for a, b in pairwise(s))
    return Carried(pitches, round(max(b - a for a, b in pairwise(stops)), 0))


def regions(
    maps: Sequence[tuple[Literal["conduit", "debris", "water"], Map]],
    px_per_cell: tuple[float, float],
    plane: Plane,
    depth_mm: float,
) -> tuple[Region, ...]:
    """Conduits, debris and water as boxes for the person to look at.

    Args:
        maps: Kind and (h, w) probability of each label, 0 to 1.
        px_per_cell: Full-size pixels per cell, x and y.
        plane: Metric model of the photo.
        depth_mm: Depth below the printed face of the plane on which areas are taken.

    Returns:
        Regions kind by kind, each in the order of ``blobs``. Areas count labelled cells, all as large as one at the patch's middle
        and as high as wide: an aid for looking, no measurement.
    """
    out = []
    for kind, probability in maps:
        smooth = np.asarray(cv2.GaussianBlur(probability, (0, 0), 1.0), np.float32)
        join = 21 if kind == "conduit" else JOIN_CELLS
        for blob in blobs(smooth, px_per_cell, least_cells=LEAST_REGION_CELLS, join_cells=join):
            x, y, w, h = blob.box_px
            at = np.array(
                [
                    [blob.centre_px[0], blob.centre_px[1]],
                    [blob.centre_px[0] + px_per_cell[0], blob.centre_px[1]],
                ]
            )
            mm = plane.to_plane_mm(at, depth_mm)
            cell_m2 = (float(np.hypot(*(mm[1] - mm[0]))) / 1000.0) ** 2
            out.append(
                Region(
                    kind=kind,
                    box_px=(x, y, w, h),
                    confidence=round(min(blob.mean, 1.0), 3),
                    area_m2=round(blob.cells * cell_m2, 4),
                )
            )
    return tuple(out)
