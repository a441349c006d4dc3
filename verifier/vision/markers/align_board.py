"""Exact places of a board's points: the board is drawn as the photo should show it, and shifted patch by patch.

A patch lies around an inner corner of the checkered field or around a whole marker. Both look the same from all sides,
so light that spills over from white to black does not move them; that is why their places, and not the outlines of the
markers, carry the metric model.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.board.definition import BoardDefinition
from verifier.metrology.order_statistics import median
from verifier.vision.markers.corners import Floats, Grey, mapped
from verifier.vision.markers.draw_board import Singles, drawn

BLURS_PX = (0.6, 0.9, 1.3, 1.8, 2.5, 3.5, 5.0)
"""Standard deviations of the blur that are tried."""

PIXELS_A_PATCH, FEW_PIXELS = 900, 200
"""More pixels than this are thinned out: they add little and cost time. The fewer for a rough alignment."""

SAMPLES_A_ROW = 1024
"""Places are handed to OpenCV in rows of this length: it takes no longer ones than 32767."""

STEPS, FEW_STEPS = 5, 3
OVERSAMPLING = 1.5
"""Resolution of the drawing against that of the photo. Each pixel of it is exact, so a finer one gains nothing."""

MAX_SHIFT_SHARE = 0.2
"""A patch that moves further than this share of its half side has lost its place."""


@dataclass(frozen=True, slots=True)
class AlignedPoints:
    """Places of points that look the same from all sides.

    Attributes:
        mm: (n, 2) in board axes.
        px: (n, 2) in the photo.
        match: (n,) correlation of each patch with the drawing, those of lost patches set to 0.
        blur_px: Standard deviation of the blur that fits best.
    """

    mm: Floats
    px: Floats
    match: Floats
    blur_px: float

    @property
    def good(self) -> NDArray[np.bool_]:
        """Patches that are as clear as most of the others."""
        return np.asarray(self.match > max(0.75, 1.0 - 3.0 * (1.0 - median(self.match))))


def align(
    grey: Grey,
    definition: BoardDefinition,
    to_px: Floats,
    *,
    blur_px: float | None = None,
    rough: bool = False,
) -> AlignedPoints:
    """Find the exact places of all points of a board.

    Args:
        grey: (h, w) full-size photo.
        definition: The board.
        to_px: (3, 3) homography from board mm to pixels, right to within a pixel or two.
        blur_px: Standard deviation of the blur, where it is known from an alignment before.
        rough: To a tenth of a pixel or so, in a third of the time.

    Returns:
        Points with their places and how well each fits.
    """
    centres, halves = _patches(definition)
    corners = definition.corners_mm().reshape(-1, 2)
    px_per_mm = float(np.sqrt(abs(np.linalg.det(_slope(to_px, corners.mean(axis=0))))))
    scale = float(np.clip(OVERSAMPLING * px_per_mm, 0.5, 12.0))
    if blur_px is None:
        blur_px = _blur_px(grey, definition, to_px, scale, px_per_mm)
    drawing = _whole(definition, scale, blur_px * scale / px_per_mm, len(centres))
    cut = _cut(grey, to_px, centres, halves, FEW_PIXELS if rough else PIXELS_A_PATCH)
    places, match = _shifted(cut, drawing, to_px, FEW_STEPS if rough else STEPS)
    return AlignedPoints(centres, places, match, blur_px)


def _blur_px(grey: Grey, definition: BoardDefinition, to_px: Floats, scale: float, px_per_mm: float) -> float:
    """The blur with which a few patches, spread over the board, fit best."""
    centres, halves = _patches(definition)
    sample = np.linspace(0, len(centres) - 1, min(6, len(centres))).astype(int)
    few = _cut(grey, to_px, centres[sample], halves[sample], PIXELS_A_PATCH)
    trials: list[tuple[float, float]] = []
    for blur in BLURS_PX:
        drawing = _pieces(definition, scale, blur * scale / px_per_mm, centres[sample], halves[sample])
        trials.append((median(_shifted(few, drawing, to_px, 2)[1]), blur))
        if len(trials) > 2 and trials[-1][0] < trials[-2][0] < trials[-3][0]:
            break
    return max(trials)[1]


def _patches(definition: BoardDefinition) -> tuple[Floats, Floats]:
    """Centres (n, 2) and half sides (n,) of the patches, in mm."""
    markers = definition.corners_mm()
    centres, halves = markers.mean(axis=1), 0.5 * definition.marker_sides_mm() * 1.12
    if definition.chessboard:
        inner = definition.chessboard.inner_corners_mm()
        centres = np.r_[inner, centres]
        halves = np.r_[np.full(len(inner), 0.42 * definition.chessboard.square_mm), halves]
    return centres, halves


@dataclass(frozen=True, slots=True)
class _Drawing:
    """The board, or pieces of it, as a blurred picture that can be sampled anywhere, with its slope.

    Attributes:
        layers: (h, w, 3) brightness, 0 to 1, and its slope per mm along x and y.
        px_per_mm: Its resolution.
        corner_mm: (2, n) for each patch where in board mm the top-left edge of the picture would lie.
    """

    layers: NDArray[np.float32]
    px_per_mm: float
    corner_mm: Floats

    @classmethod
    def of(cls, sharp: NDArray[np.float32], px_per_mm: float, blur: float, corner_mm: Floats) -> _Drawing:
        """Blur a picture and take its slope."""
        soft = cv2.GaussianBlur(sharp, (0, 0), max(blur, 0.3))
        slope = np.array([[-0.5, 0.0, 0.5]]) * px_per_mm
        layers = cv2.merge([soft, cv2.filter2D(soft, -1, slope), cv2.filter2D(soft, -1, slope.T)])
        return cls(np.asarray(layers, np.float32), px_per_mm, corner_mm)

    def at(self, mm: Floats, patch: NDArray[np.int64]) -> Singles:
        """Brightness and slopes (3, m) at places (2, m) of the board, each on the patch (m,) that it belongs to."""
        rows = -(-len(patch) // SAMPLES_A_ROW)
        px = np.zeros((2, rows * SAMPLES_A_ROW), np.float32)
        px[:, : len(patch)] = (mm - self.corner_mm[:, patch]) * self.px_per_mm - 0.5
        x, y = px.reshape(2, rows, SAMPLES_A_ROW)
        sampled = cv2.remap(self.layers, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return np.asarray(sampled.reshape(-1, 3)[: len(patch)].T, np.float32)


def _whole(definition: BoardDefinition, px_per_mm: float, blur: float, patches: int) -> _Drawing:
    """The whole board."""
    sharp, corner = drawn(definition, round(px_per_mm, 2))
    return _Drawing.of(sharp, round(px_per_mm, 2), blur, np.tile(corner[:, None], patches))


def _pieces(
    definition: BoardDefinition, px_per_mm: float, blur: float, centres: Floats, halves: Floats
) -> _Drawing:
    """A few patches (centres (n, 2), half sides (n,), mm), one below the other: a fraction of the work of the whole board."""
    px_per_mm = round(px_per_mm, 2)
    sharp, corner = drawn(definition, px_per_mm)
    # Room for a patch that moves, and for the blur, which reaches four standard deviations far.
    half = int((1.0 + MAX_SHIFT_SHARE) * float(halves.max()) * px_per_mm + 4.0 * blur) + 6
    first = np.rint((centres - corner) * px_per_mm).astype(int) - half
    steps = np.arange(2 * half + 1)
    rows, columns = (np.clip(first[:, axis, None] + steps, 0, sharp.shape[1 - axis] - 1) for axis in (1, 0))
    tiles = sharp[rows[:, :, None], columns[:, None, :]].reshape(-1, len(steps))
    down = np.stack([np.zeros(len(first)), np.arange(len(first)) * len(steps)])
    return _Drawing.of(tiles, px_per_mm, blur, np.asarray(corner[:, None] + (first.T - down) / px_per_mm))


@dataclass(frozen=True, slots=True)
class _Cut:
    """Pixels of many patches, one patch after the other.

    Attributes:
        start_px: (n, 2) middle of each patch as projected.
        reach_px: (n,) how far a patch may move.
        patch: (m,) which patch each pixel belongs to, rising: a patch's pixels stand together. One that lies partly outside the
            photo has none.
        px: (2, m) places of the pixels.
        grey: (m,) their values.
    """

    start_px: Floats
    reach_px: Floats
    patch: NDArray[np.int64]
    px: Floats
    grey: Singles

    def only(self, chosen: NDArray[np.bool_]) -> _Cut:
        """The same with the pixels of the chosen patches (n,) only."""
        if chosen.all():
            return self
        keep = chosen[self.patch]
        return _Cut(self.start_px, self.reach_px, self.patch[keep], self.px[:, keep], self.grey[keep])

    def products(self, columns: Singles) -> Floats:
        """Sums of the products of any two of (c, m) columns over the pixels of each patch: (n, c, c)."""
        ends = np.searchsorted(self.patch, np.arange(len(self.start_px) + 1))
        return np.array([columns[:, a:b] @ columns[:, a:b].T for a, b in pairwise(ends.tolist())], float)


def _cut(grey: Grey, to_px: Floats, centres: Floats, halves: Floats, most: int) -> _Cut:
    """The pixels of each patch, thinned out where there are more than ``most``."""
    back = np.asarray(np.linalg.inv(to_px), np.float64)
    height, width = grey.shape
    around = centres[:, None] + halves[:, None, None] * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    boxes = mapped(to_px, around.reshape(-1, 2)).reshape(-1, 4, 2)
    low, high = np.floor(boxes.min(axis=1)), np.ceil(boxes.max(axis=1))
    sides = (high - low).min(axis=1)
    whole = (low >= 2).all(axis=1) & (high <= [width - 3, height - 3]).all(axis=1) & (sides >= 5)
    at = [np.zeros((3, 0), np.int64)]
    for k in np.flatnonzero(whole):
        left, top, right, bottom = map(int, (*low[k], *high[k]))
        every = max(1, int(cv2.contourArea(boxes[k].astype(np.float32))) // most)
        row, column = np.divmod(
            np.arange(0, (right - left + 1) * (bottom - top + 1), every), right - left + 1
        )
        at.append(np.stack([column + left, row + top, np.full_like(row, k)]))
    x, y, patch = np.concatenate(at, axis=1)
    mm = _through(back, np.stack([x, y]).astype(float))[0]
    inside = (np.abs(mm - centres.T[:, patch]) <= halves[patch]).all(axis=0)
    x, y, patch = x[inside], y[inside], patch[inside]
    reach = np.where(whole, MAX_SHIFT_SHARE * 0.5 * sides + 1.0, 0.0)
    values = grey[y, x].astype(np.float32)
    return _Cut(mapped(to_px, centres), reach, patch, np.stack([x, y]).astype(float), values)


def _through(homography: Floats, points: Floats) -> tuple[Floats, Floats]:
    """Points (2, m) mapped by a homography, (2, m), and the divisors (m,)."""
    mapped_to = homography[:, :2] @ points + homography[:, 2:]
    return mapped_to[:2] / mapped_to[2], mapped_to[2]


def _shifted(cut: _Cut, drawing: _Drawing, to_px: Floats, steps: int) -> tuple[Floats, Floats]:
    """Shift each patch of the drawing until it fits the photo; brightness and contrast are free.

    Returns:
        Places (n, 2) and correlations (n,) with the photo, 0 for a patch that is lost.
    """
    back = np.asarray(np.linalg.inv(to_px), np.float64)
    shift, match = np.zeros_like(cut.start_px), np.zeros(len(cut.start_px))
    moving = np.bincount(cut.patch, minlength=len(shift)) > 0
    lost = ~moving
    for _ in range(steps):
        now = cut.only(moving)
        model, slope = _modelled(drawing, back, now, shift)
        products = now.products(np.stack([model, np.ones_like(model), *slope, now.grey]))
        step, gain = _step(products)
        match = np.where(moving, _correlations(products), match)
        shift += np.where(moving[:, None], np.clip(step, -1.5, 1.5), 0.0)
        lost |= moving & ((gain <= 1.0) | (np.abs(shift).max(axis=1) > cut.reach_px))
        moving &= ~lost & (np.abs(step).max(axis=1) >= 0.003)
        if not moving.any():
            break
    return cut.start_px + np.where(lost[:, None], 0.0, shift), np.where(lost, 0.0, match)


def _modelled(
    drawing: _Drawing, back: Floats, cut: _Cut, shift: Floats
) -> tuple[Singles, tuple[Singles, Singles]]:
    """Brightness (m,) of the drawing, each patch shifted (n, 2), at the pixels of a cut, and its slopes by the shifts in x and y."""
    mm, divisor = _through(back, cut.px - shift.T[:, cut.patch])
    value, by_x, by_y = drawing.at(mm, cut.patch)
    x, y = mm.astype(np.float32)
    over = np.float32(-1.0) / divisor.astype(np.float32)
    by_px, by_py = (
        (by_x * (right - x * far) + by_y * (down - y * far)) * over
        for right, down, far in back.T[:2].astype(np.float32)
    )
    return value, (by_px, by_py)


def _step(products: Floats) -> tuple[Floats, Floats]:
    """Least squares of each patch: its next move (n, 2) in pixels, and its contrast (n,) in grey levels.

    Args:
        products: (n, 5, 5) of drawing, one, slopes by the shift and photo.
    """
    solved = np.linalg.solve(products[:, :4, :4] + 1e-6 * np.eye(4), products[:, :4, 4:])[:, :, 0]
    gain = solved[:, 0]
    return np.asarray(solved[:, 2:] / np.where(gain > 1.0, gain, 1.0)[:, None]), np.asarray(gain)


def _correlations(products: Floats) -> Floats:
    """Correlation of the drawing with the photo over each patch (n,), from the same products."""
    count, drawing, photo = products[:, 1, 1], products[:, 0, 1], products[:, 1, 4]
    each = np.maximum(count, 1.0)
    both = products[:, 0, 4] - drawing * photo / each
    size = (products[:, 0, 0] - drawing**2 / each) * (products[:, 4, 4] - photo**2 / each)
    return np.asarray(both / np.where(size > 1e-18, np.sqrt(np.maximum(size, 0.0)), np.inf))


def _slope(to_px: Floats, at_mm: Floats) -> Floats:
    """Derivative (2, 2) of the homography at a place."""
    around = mapped(to_px, at_mm + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    return np.stack([around[1] - around[0], around[2] - around[0]], axis=1)
