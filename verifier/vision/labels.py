"""What each part of a photo shows: bars of which layer, blocks, board and the rest, from a small trained network.

The network says where to look and what it is; lengths are measured on the full-size pixels elsewhere. A second one of the same
build looks closer at what may be a cover block. Both run through OpenCV's DNN module on the processor.
``weights/DATASHEET.md`` says what they were trained on and where they fail.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import cv2
import numpy as np
from numpy.typing import NDArray

CLASSES = (
    "none",
    "near_upper",
    "near_lower",
    "far_upper",
    "far_lower",
    "block",
    "chair",
    "conduit",
    "board",
    "debris",
    "water",
)
LONG_SIDE_PX, STEP_PX = 1024, 32
"""Size at which the network was trained, and the multiple that its sides must be."""

CLOSER, CLOSER_PX, FIRST_SHARE = 1.5, 192, 0.4
"""Enlargement of the closer look at what may be cover blocks, side of its patches, and how much the first look counts."""

MAYBE, LEAST_CELLS, MOST_PATCHES = 0.25, 4, 24
"""Cells likelier than this may be a cover block; fewer together are none; most patches that are looked at again."""

Picture = NDArray[np.uint8]
Map = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class LabelMap:
    """Class probabilities and centre-line cue on a coarse grid over the photo.

    Attributes:
        probability: (11, h, w), in the order of ``CLASSES``; sums to 1 over the classes.
        centre: (h, w), 1 on the projected axis of a bar, falling off within about two cells.
        px_per_cell: Photo pixels per cell, x and y. Photo pixel x lies at cell ``(x + 0.5) / px_per_cell - 0.5``.
        weights: First 16 hex digits of the SHA-256 of the weights; part of the method version.
        blocks: (h, w), what a second, closer look says of cover blocks; None where there was none.
    """

    probability: Map
    centre: Map
    px_per_cell: tuple[float, float]
    weights: str
    blocks: Map | None = None

    def of(self, name: str) -> Map:
        """Probability map (h, w) of one class.

        Args:
            name: One of ``CLASSES``.

        Returns:
            The map; for cover blocks that of the second look, where there was one.
        """
        if name == "block" and self.blocks is not None:
            return self.blocks
        probability: Map = self.probability[CLASSES.index(name)]
        return probability


def weights_name() -> str:
    """Name of the weights that labels come from: the first 16 hex digits of their SHA-256."""
    return _weights()[2]


@cache
def _weights() -> tuple[bytes, bytes, str]:
    first, closer = (
        files("verifier.vision").joinpath(f"weights/{name}.onnx").read_bytes()
        for name in ("labels", "blocks")
    )
    return first, closer, hashlib.sha256(first + closer).hexdigest()[:16]


def label_photo(bgr: NDArray[np.uint8]) -> LabelMap:
    """Label a photo.

    Args:
        bgr: (H, W, 3) uint8, upright, full size.

    Returns:
        The label map; the same pixels give the same map, whatever the number of threads.
    """
    height, width = bgr.shape[:2]
    scale = LONG_SIDE_PX / max(height, width)
    w, h = (max(STEP_PX, round(side * scale / STEP_PX) * STEP_PX) for side in (width, height))
    # Halving means over 2 x 2 pixels, a tenth of the work of an arbitrary ratio: what is left to do is a quarter.
    halved = cv2.resize(bgr, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA) if scale < 0.5 else bgr
    smaller = cv2.resize(halved, (w, h), interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR)
    first, closer, name = _weights()
    out = _forward(_network(first), np.asarray(smaller, np.uint8))
    blocks = _closer_look(bgr, out[CLASSES.index("block")], _network(closer))
    return LabelMap(out[:-1], out[-1], (2 * width / w, 2 * height / h), name, blocks)


def _network(data: bytes) -> cv2.dnn.Net:
    return cv2.dnn.readNetFromONNX(np.frombuffer(data, np.uint8))


def _forward(network: cv2.dnn.Net, bgr: Picture) -> Map:
    network.setInput(cv2.dnn.blobFromImage(bgr, 1 / 255.0, swapRB=True))
    out: Map = np.asarray(network.forward(), np.float32)[0]
    return out


def _closer_look(bgr: Picture, first: Map, network: cv2.dnn.Net) -> Map:
    """Look again, ``CLOSER`` times as large, where the first look takes something for a cover block.

    A block is often no more than 8 cells wide at the first look, and a leaf or a scrap looks much like it there.

    Args:
        bgr: The photo, full size: half of it may be smaller than the closer look.
        first: (h, w) probability of a cover block at the first look.
        network: The network of the closer look.

    Returns:
        (h, w) the weighted mean of both looks in the patches looked at again; nothing elsewhere.
    """
    side = round(CLOSER_PX / CLOSER / 2)
    across, down = bgr.shape[1] / first.shape[1], bgr.shape[0] / first.shape[0]
    total, looks = np.zeros_like(first), np.zeros_like(first)
    for x, y in _maybe_blocks(first):
        if looks[round(y), round(x)]:
            continue
        left, top = (
            max(0, min(round(c - side / 2), n - side)) for c, n in zip((x, y), first.shape[::-1], strict=True)
        )
        own = (slice(top, top + side), slice(left, left + side))
        rows = slice(round(top * down), round((top + side) * down))
        columns = slice(round(left * across), round((left + side) * across))
        view = cv2.resize(bgr[rows, columns], (CLOSER_PX, CLOSER_PX), interpolation=cv2.INTER_AREA)
        again = _forward(network, np.asarray(view, np.uint8))[CLASSES.index("block")]
        total[own] += cv2.resize(again, first[own].shape[::-1], interpolation=cv2.INTER_AREA)
        looks[own] += 1
    both = FIRST_SHARE * first + (1 - FIRST_SHARE) * total / np.maximum(looks, 1)
    return np.where(looks > 0, both, 0).astype(np.float32)


def _maybe_blocks(first: Map) -> list[tuple[float, float]]:
    """Middles, in cells, of what the first look takes for a block, likeliest first."""
    mask = np.asarray(first > MAYBE, np.uint8)
    _, _, stats, centres = cv2.connectedComponentsWithStats(mask, connectivity=8)
    found = []
    for (x, y, w, h, cells), (cx, cy) in zip(stats[1:].tolist(), centres[1:].tolist(), strict=True):
        if cells >= LEAST_CELLS:
            found.append((float(first[y : y + h, x : x + w].max()), cx, cy))
    return [(cx, cy) for _, cx, cy in sorted(found, reverse=True)[:MOST_PATCHES]]
