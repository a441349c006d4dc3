"""Cover blocks in views cut from the full-size photo, laid out along the bars at one scale, by a small trained network.

The label network says where a block may be; it sees the photo at a quarter of its size or less, where a block is a few
cells. Here each such place is looked at again as from straight above, turned so that the lowest bars run across the view:
a block then always has the same size and the same bar over it, whatever the camera did.
``weights/DATASHEET.md`` says what the network was trained on and where it fails.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.vision.bars.layer_axes import Floats, Map, Plane
from verifier.vision.halves import Halves
from verifier.vision.learned import told_by

VIEW_PX, CELL_PX, MM_PER_PX, USUAL_PX = 96, 8, 1.6, 24.0
"""Side of a view, of its cells, its scale, and the side that sizes are told against; as the network was trained."""

AT_ONCE = 4
"""Views that the network is asked about at once. It has to be laid out anew for any other number of them, which takes as long
as looking at 16; and what it makes of a few stays in the processor's cache."""

MIDDLE_CELLS = 4.0
"""Cells no farther from a view's middle than this are believed: blocks there are whole in the view."""

MAYBE, APART_MM = 0.03, 40.0
"""Where the labels' chance of a block is at least this there may be one; places nearer to the middle of a view than this, along
and across, are seen in it."""

FIRST_LOOK, SECOND_LOOK = "blocks.onnx", "blocks_closer.onnx"
"""The network that looks at all views, and the one of three times its size that looks again at what is unsure."""

LIKELY, USUAL_VIEWS, MOST_VIEWS = 0.3, 60, 100
"""So many views of a photo, or as many as there are places at which the labels see a block with at least this chance, if those
are more; but at most so many."""

MOST_MM_PER_PX, DARK = 4.5, 0.02
"""A photo's pixel at most so large on the mat, or nothing is to be seen; added to a view's contrast when it is levelled."""

LEAST = 0.15
"""Cells whose chance is below tell of no block."""

FIRST = np.array([0.98, 1.37, 0.57])
SECOND = np.array([-0.12, 0.60, 0.38, 1.42])
"""The log odds of a block: so much to begin with, then for the log odds that the network of the views and the labels' mean
in its box say, and for the log odds of the second look. Logistic regressions on 88 drawn photos of which no network had
seen anything."""

UNSURE, CLOSER = (0.2, 0.985), 0.8
"""A chance between these is looked at a second time; the scale of the view then, against the usual one."""


@dataclass(frozen=True, slots=True)
class SeenBlock:
    """What looks like a cover block.

    Attributes:
        chance: Chance that it is one.
        outline_px: (4, 2) corners of its box in pixels of the photo.
        middle_mm: Middle of that box on the plane looked at, in board coordinates.
        size_mm: Larger side of the box.
    """

    chance: float
    outline_px: Floats
    middle_mm: tuple[float, float]
    size_mm: float


@dataclass(frozen=True, slots=True)
class Hints:
    """What the labels say of a photo as far as it concerns blocks.

    Attributes:
        block: (h, w) probabilities.
        px_per_cell: Full-size pixels per cell, x and y.
    """

    block: Map
    px_per_cell: tuple[float, float]


def see_blocks(
    halves: Halves,
    hints: Hints,
    plane: Plane,
    *,
    direction_rad: float,
    depth_mm: float,
) -> tuple[SeenBlock, ...]:
    """Look for cover blocks.

    Args:
        halves: The photo, upright, and its halves.
        hints: What the labels say.
        plane: Metric model of the photo.
        direction_rad: Direction of the lowest bars in board coordinates.
        depth_mm: Depth below the printed face of the plane that is laid out.

    Returns:
        Blocks, likeliest first; no two of them at one place.
    """
    c, s = math.cos(direction_rad), math.sin(direction_rad)
    axes = np.array([[c, s], [-s, c]])
    middles = _view_middles(hints, plane, axes, depth_mm)
    if len(middles) == 0:
        return ()
    cells = _looked_at(_views(halves, plane, axes, middles, depth_mm), FIRST_LOOK)
    told = _told(cells, plane, axes, middles, depth_mm)
    chances = _judged(told, halves, hints, plane, axes, depth_mm)
    seen = (replace(block, chance=float(chance)) for block, chance in zip(told, chances, strict=True))
    return tuple(sorted(seen, key=lambda block: -block.chance))


def _view_middles(hints: Hints, plane: Plane, axes: Floats, depth_mm: float) -> Floats:
    """Middles of the views, along and across the bars in mm: where the labels see most first, each where none has looked."""
    smooth = cv2.GaussianBlur(hints.block, (0, 0), 1.0)
    peaks = (smooth == cv2.dilate(smooth, np.ones((7, 7), np.uint8))) & (smooth >= MAYBE)
    rows, columns = np.nonzero(peaks)
    order = np.argsort(-smooth[rows, columns], kind="stable")
    cells = np.stack([columns, rows], axis=1)[order].astype(np.float64)
    px = np.asarray((cells + 0.5) * np.asarray(hints.px_per_cell) - 0.5, np.float64)
    if len(px) == 0:
        return np.empty((0, 2))
    mm = plane.to_plane_mm(px, depth_mm)
    aside = [plane.to_plane_mm(px + step, depth_mm) - mm for step in ([1.0, 0.0], [0.0, 1.0])]
    fine = np.max([np.hypot(*a.T) for a in aside], axis=0) <= MOST_MM_PER_PX
    likely = int((smooth[rows, columns] >= LIKELY).sum())
    most = min(max(USUAL_VIEWS, likely), MOST_VIEWS)
    chosen = np.empty((0, 2))
    for place in (mm @ axes.T)[fine]:
        if not (np.abs(chosen - place).max(axis=1, initial=0.0) < APART_MM).any():
            chosen = np.vstack([chosen, place])
            if len(chosen) == most:
                break
    return chosen


def _views(
    halves: Halves, plane: Plane, axes: Floats, middles: Floats, depth_mm: float, mm_per_px: float = MM_PER_PX
) -> NDArray[np.float32]:
    """Views about middles (n, 2), (n, 3, 96, 96), red-green-blue, mean and contrast of each taken out."""
    half = VIEW_PX / 2 * mm_per_px
    around = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    corners = (middles[:, None] + around).reshape(-1, 2) @ axes
    px = plane.to_px(corners, depth_mm).reshape(-1, 4, 2)
    shortest = np.linalg.norm(px - np.roll(px, 1, axis=1), axis=2).min(axis=1) / VIEW_PX
    times = np.rint(np.log2(np.maximum(shortest, 1e-3)) + 0.15).clip(0, len(halves.pictures) - 1)
    views = np.stack([_warped(halves, outline, int(t)) for outline, t in zip(px, times, strict=True)])
    levels = [cv2.meanStdDev(view.reshape(1, -1)) for view in views]
    mean, spread = np.array(levels, np.float32).reshape(-1, 2, 1, 1, 1).swapaxes(0, 1)
    seen = np.ascontiguousarray(views[..., ::-1].transpose(0, 3, 1, 2), np.float32)
    seen -= mean
    seen /= spread + np.float32(255.0 * DARK)
    return seen


def _warped(halves: Halves, outline_px: Floats, times: int) -> NDArray[np.uint8]:
    """What lies within four corners (4, 2) of the photo, (96, 96, 3), cut from its half of so many times."""
    target = (outline_px + 0.5) * 0.5**times - 0.5
    source = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * VIEW_PX - 0.5
    warp = cv2.getPerspectiveTransform(source.astype(np.float32), target.astype(np.float32))
    view = cv2.warpPerspective(
        halves.pictures[times],
        warp,
        (VIEW_PX, VIEW_PX),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(view, np.uint8)


def _looked_at(views: NDArray[np.float32], network: str) -> NDArray[np.float32]:
    """What a network says of views (n, 3, 96, 96): (n, 5, 12, 12). The last few are filled up with themselves."""
    parts = [views[k : k + AT_ONCE] for k in range(0, len(views), AT_ONCE)]
    told = [told_by(network, np.resize(p, (AT_ONCE, *p.shape[1:])))[: len(p)] for p in parts]
    return np.concatenate(told)


def _told(
    cells: NDArray[np.float32], plane: Plane, axes: Floats, middles: Floats, depth_mm: float
) -> tuple[SeenBlock, ...]:
    """Blocks from what the cells of all views say; of several at one place the likeliest."""
    count = cells.shape[2]
    from_middle = np.arange(count) - (count - 1) / 2
    chance = cells[:, 0].copy()
    chance[:, np.abs(from_middle) > MIDDLE_CELLS] = 0.0
    chance[:, :, np.abs(from_middle) > MIDDLE_CELLS] = 0.0
    view, row, column = np.nonzero(chance >= LEAST)
    order = np.argsort(-chance[view, row, column], kind="stable")
    view, row, column = view[order], row[order], column[order]
    way, sides = cells[view, 1:3, row, column], cells[view, 3:5, row, column]
    px = np.stack([from_middle[column], from_middle[row]], axis=1) * CELL_PX + way * 16.0
    places = middles[view] + px * MM_PER_PX
    boxes = np.exp(np.clip(sides, -2.0, 2.0)) * USUAL_PX * MM_PER_PX
    kept: list[int] = []
    left = np.arange(len(places))
    while len(left):
        best = left[0]
        kept.append(int(best))
        apart = np.abs(places[left] - places[best]) / ((boxes[left] + boxes[best]) / 2)
        left = left[(apart.max(axis=1) >= 0.75) & (left != best)]
    around = places[kept][:, None] + boxes[kept][:, None] / 2 * [[-1, -1], [1, -1], [1, 1], [-1, 1]]
    outlines = plane.to_px(around.reshape(-1, 2) @ axes, depth_mm).reshape(-1, 4, 2)
    return tuple(
        SeenBlock(
            chance=float(chance[view[i], row[i], column[i]]),
            outline_px=outline,
            middle_mm=(float(x), float(y)),
            size_mm=float(boxes[i].max()),
        )
        for i, outline, (x, y) in zip(kept, outlines, places[kept] @ axes, strict=True)
    )


def _judged(
    told: Sequence[SeenBlock], halves: Halves, hints: Hints, plane: Plane, axes: Floats, depth_mm: float
) -> Floats:
    """Chances from the views and the labels together; the unsure ones from a second look too."""
    if not told:
        return np.empty(0)
    seen = np.array([_evidence(block, hints) for block in told])
    chances = _chance(FIRST[0] + seen @ FIRST[1:])
    unsure = (chances >= UNSURE[0]) & (chances <= UNSURE[1])
    if unsure.any():
        middles = np.array([block.middle_mm for block in told])[unsure] @ axes.T
        again = _second_look(halves, plane, axes, middles, depth_mm)
        chances[unsure] = _chance(SECOND[0] + np.column_stack([seen[unsure], again]) @ SECOND[1:])
    return chances


def _evidence(block: SeenBlock, hints: Hints) -> list[float]:
    """What the view and the labels say of a block, in the order of ``FIRST``."""
    cells = (block.outline_px + 0.5) / hints.px_per_cell
    last = np.array(hints.block.shape[::-1]) - 1
    x0, y0 = np.clip(np.floor(cells.min(axis=0)), 0, last).astype(int)
    x1, y1 = np.clip(np.ceil(cells.max(axis=0)), 0, last).astype(int) + 1
    box = (slice(y0, y1), slice(x0, x1))
    return [
        float(_log_odds(np.array(block.chance))),
        float(_log_odds(np.array(hints.block[box].mean()))),
    ]


def _second_look(halves: Halves, plane: Plane, axes: Floats, middles: Floats, depth_mm: float) -> Floats:
    """Log odds of what is in the middle of closer views laid about it, each mirrored so that it is another picture."""
    views = _views(halves, plane, axes, middles, depth_mm, CLOSER * MM_PER_PX)
    chance = _looked_at(views[..., ::-1], SECOND_LOOK)[:, 0]
    first = chance.shape[1] // 2 - 2
    best = chance[:, first : first + 4, first : first + 4].reshape(len(middles), -1).max(axis=1)
    return _log_odds(best.astype(np.float64))


def _chance(log_odds: Floats) -> Floats:
    return np.asarray(1.0 / (1.0 + np.exp(-log_odds)))


def _log_odds(chance: Floats) -> Floats:
    held = np.clip(chance, 1e-3, 1.0 - 1e-3)
    return np.asarray(np.log(held / (1.0 - held)))
