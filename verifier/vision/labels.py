"""What each part of a photo shows: bars of which layer, blocks, board and the rest, from a small trained network.

The network says where to look and what it is; lengths are measured on the full-size pixels elsewhere, and what may be a cover
block is looked at again there. It runs through OpenCV's DNN module on the processor.
``weights/DATASHEET.md`` says what they were trained on and where they fail.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.vision.halves import Halves
from verifier.vision.learned import name_of_labels, told_by

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

NEARLY_HALF = 1.6
"""From this reduction on, up to two, pixels may be had by straight lines between neighbours."""

Map = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class LabelMap:
    """Class probabilities and centre-line cue on a coarse grid over the photo.

    Attributes:
        probability: (11, h, w), in the order of ``CLASSES``; sums to 1 over the classes.
        centre: (h, w), 1 on the projected axis of a bar, falling off within about two cells.
        px_per_cell: Photo pixels per cell, x and y. Photo pixel x lies at cell ``(x + 0.5) / px_per_cell - 0.5``.
        weights: First 16 hex digits of the SHA-256 of the weights; part of the method version.
    """

    probability: Map
    centre: Map
    px_per_cell: tuple[float, float]
    weights: str

    def of(self, name: str) -> Map:
        """Probability map (h, w) of one class.

        Args:
            name: One of ``CLASSES``.

        Returns:
            The map.
        """
        probability: Map = self.probability[CLASSES.index(name)]
        return probability


def label_photo(halves: Halves) -> LabelMap:
    """Label a photo.

    Args:
        halves: The photo, upright, and its halves.

    Returns:
        The label map; the same pixels give the same map, whatever the number of threads.
    """
    height, width = halves.pictures[0].shape[:2]
    scale = LONG_SIDE_PX / max(height, width)
    w, h = (max(STEP_PX, round(side * scale / STEP_PX) * STEP_PX) for side in (width, height))
    larger = halves.pictures[halves.down_to(scale)]
    # From about twice the size, straight lines between pixels are means over 2 x 2 of them, at a tenth of the time.
    shrink = max(larger.shape) / max(w, h)
    how = cv2.INTER_AREA if 1.0 < shrink < NEARLY_HALF else cv2.INTER_LINEAR
    smaller = cv2.resize(larger, (w, h), interpolation=how)
    picture = np.asarray(cv2.dnn.blobFromImage(smaller, 1 / 255.0, swapRB=True), np.float32)
    probability, centre = _chances(told_by("labels.onnx", picture)[0])
    return LabelMap(probability, centre, (2 * width / w, 2 * height / h), name_of_labels())


def _chances(logits: Map) -> tuple[Map, Map]:
    """Class probabilities (11, 2h, 2w) and the cue (2h, 2w) from what the network says, (48, h, w).

    The exponential is the library's, which takes a tenth of the time of a layer of the network. No logit of a trained network
    is so large that it would overflow.
    """
    count, (h, w) = len(CLASSES) + 1, logits.shape[1:]
    of_class = logits.reshape(count, -1)
    likely = np.asarray(cv2.exp(of_class[:-1]), np.float32)
    likely *= 1.0 / np.asarray(cv2.reduce(likely, 0, cv2.REDUCE_SUM), np.float32)
    cue = np.asarray(1.0 / (1.0 + cv2.exp(-of_class[-1])), np.float32)
    probability = np.stack([by_cell(row.reshape(4, h, w)) for row in likely])
    return probability, by_cell(cue.reshape(4, h, w))


def by_cell(quarters: Map) -> Map:
    """One map of four that hold a quarter of its cells each.

    Args:
        quarters: (4, h, w): of every 2 x 2 cells the upper left, the upper right, the lower left and the lower right one.

    Returns:
        (2h, 2w).

    Source:
        ONNX operator DepthToSpace, version 13, mode CRD, block size 2; done here because the library takes five times as long.
    """
    _, h, w = quarters.shape
    cells = np.empty((h, 2, 2 * w), np.float32)
    for row in (0, 1):
        cells[:, row] = cv2.merge((quarters[2 * row], quarters[2 * row + 1])).reshape(h, 2 * w)
    return cells.reshape(2 * h, 2 * w)
