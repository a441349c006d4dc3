"""What each part of a photo shows: bars of which layer, blocks, board and the rest, from a small trained network.

The network says where to look and what it is; lengths are measured on the full-size pixels elsewhere, and what may be a cover
block is looked at again there. It runs through OpenCV's DNN module on the processor.
``weights/DATASHEET.md`` says what they were trained on and where they fail.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from threading import Lock

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.vision.learned import learned, name_of_labels

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
    out = _look(np.asarray(smaller, np.uint8))
    return LabelMap(out[:-1], out[-1], (2 * width / w, 2 * height / h), name_of_labels())


@cache
def _network() -> tuple[cv2.dnn.Net, Lock]:
    """The network, and a lock to hold while it runs: it writes on scratch memory of its own.

    It is kept, for a new one takes its 100 MB from the system anew with every photo: a sixth of the time of a look.
    """
    return cv2.dnn.readNetFromONNX(np.frombuffer(learned("labels.onnx"), np.uint8)), Lock()


def _look(bgr: Picture) -> Map:
    network, alone = _network()
    with alone:
        network.setInput(cv2.dnn.blobFromImage(bgr, 1 / 255.0, swapRB=True))
        out: Map = np.asarray(network.forward(), np.float32)[0]
    return out
