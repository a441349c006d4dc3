"""Which of two layers lies on top, from the pixels where their bars cross: the upper bar goes through, the lower one is hidden.

Along an upper bar the brightness across it is the same on the crossing as beside it; of the lower bar that holds beside the
crossing only. That needs no light, colour or size of the bars to be known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median
from verifier.vision.bars.find_bars import FoundLayer
from verifier.vision.bars.layer_axes import Floats, Plane
from verifier.vision.bars.read_layers import ReadLayer

WITHIN, THROUGH = np.linspace(-0.2, 0.2, 5), np.linspace(-0.7, 0.7, 13)
"""Where a bar is looked at across, in its widths from its middle, where no light of the deck is blurred into it; and along on a
crossing, in widths of the other bar, beyond that one's rims."""

BESIDE = np.concatenate([np.linspace(-1.5, -0.8, 6), np.linspace(0.8, 1.5, 6)])
"""Where it is looked at beside a crossing: clear of the other bar, near enough to be lit alike."""

NOISE = 8.0
"""Mean square of grey levels by which what is the same may differ; a crossing of bars that look alike says nothing then."""

MARGIN_PX = 20.0

LABELS_COUNT = 0.1
"""What the labels say of which layer of a mat is the upper one, against what the crossings of its bars say. In pictures of two
renderers the crossings alone were right for all of 86 pairs of layers, the labels for 84; where bars look alike both are weak."""


@dataclass(frozen=True, slots=True)
class _Crossings:
    """Crossings in the photo.

    Attributes:
        px: (n, 2) where.
        first_step, second_step: (n, 2) in pixels, along each bar over the width of the other.
    """

    px: Floats
    first_step: Floats
    second_step: Floats


def upper_lead(image: NDArray[np.uint8], plane: Plane, first: ReadLayer, second: ReadLayer) -> float:
    """How clearly the first of two layers lies on the second.

    Args:
        image: Upright full-size photo, (h, w, 3).
        plane: Metric model with which the layers were read.
        first: One layer with at least one bar.
        second: The layer that crosses it.

    Returns:
        Median over the crossings, since other things hide some, from 1 (the first is on top) to -1 (the second is); 0 where
        no bars are seen to cross.
    """
    found = _crossings(image, plane, first, second)
    if len(found.px) == 0:
        return 0.0
    first_off = _looks(image, found, THROUGH, WITHIN)
    first_off -= _looks(image, found, BESIDE, WITHIN).mean(axis=1, keepdims=True)
    second_off = _looks(image, found, WITHIN, THROUGH)
    second_off -= _looks(image, found, WITHIN, BESIDE).mean(axis=2, keepdims=True)
    first_breaks, second_breaks = ((off**2).mean(axis=(1, 2, 3)) for off in (first_off, second_off))
    return median((second_breaks - first_breaks) / (first_breaks + second_breaks + NOISE))


def as_they_cross(
    image: NDArray[np.uint8], plane: Plane, layers: Sequence[ReadLayer], found: Sequence[FoundLayer]
) -> list[ReadLayer]:
    """Name the layers of a mat anew where their bars cross the other way round than the labels say.

    Args:
        image: Upright full-size photo.
        plane: Metric model with which the layers were read.
        layers: One layer, or the upper and the lower one.
        found: The same layers as the labels show them.

    Returns:
        The layers, upper first.
    """
    if len(layers) < 2:
        return list(layers)
    upper, lower = layers
    lean = {layer.position: layer.lean for layer in found}
    lead = upper_lead(image, plane, upper, lower) + LABELS_COUNT * (lean["upper"] - lean["lower"])
    if lead >= 0.0:
        return [upper, lower]
    return [replace(lower, position="upper"), replace(upper, position="lower")]


def _looks(image: NDArray[np.uint8], found: _Crossings, along_first: Floats, along_second: Floats) -> Floats:
    """Pixels about each crossing, (n, along the first bar, along the second, 3); both in widths of the other bar."""
    first = along_first[None, :, None, None] * found.first_step[:, None, None]
    second = along_second[None, None, :, None] * found.second_step[:, None, None]
    at = (found.px[:, None, None] + first + second).astype(np.float32)
    flat = at.reshape(len(at), -1, 2)
    seen = cv2.remap(image, flat[..., 0], flat[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen, np.float64).reshape(*at.shape[:3], -1)


def _crossings(image: NDArray[np.uint8], plane: Plane, first: ReadLayer, second: ReadLayer) -> _Crossings:
    ends = [np.array([b.seen_s_mm for b in layer.bars]) for layer in (first, second)]
    i, j = (k.ravel() for k in np.indices((len(first.bars), len(second.bars))))
    lines = [_on(plane, first, i, ends[0][i].T), _on(plane, second, j, ends[1][j].T)]
    share = _meet(lines[0][0], lines[0][1] - lines[0][0], lines[1][0], lines[1][1] - lines[1][0])
    meet = ((share > 0.0) & (share < 1.0)).all(axis=0)
    i, j, share = i[meet], j[meet], share[:, meet]
    s, t = (e[k, 0] + q * (e[k, 1] - e[k, 0]) for e, k, q in zip(ends, (i, j), share, strict=True))
    # Chords meet only near where bowed bars seen in perspective do.
    for _ in range(2):
        p, q = _on(plane, first, i, np.stack([s, s + 1.0])), _on(plane, second, j, np.stack([t, t + 1.0]))
        more = _meet(p[0], p[1] - p[0], q[0], q[1] - q[0])
        s, t = s + more[0], t + more[1]
    p, q = _on(plane, first, i, np.stack([s, s + 1.0])), _on(plane, second, j, np.stack([t, t + 1.0]))
    ways = [(r[1] - r[0]) / np.linalg.norm(r[1] - r[0], axis=1, keepdims=True) for r in (p, q)]
    wide = [
        np.array([b.outline.width_mm / b.px_mm for b in layer.bars])[k]
        for layer, k in ((first, i), (second, j))
    ]
    slant = np.abs(ways[0][:, 0] * ways[1][:, 1] - ways[0][:, 1] * ways[1][:, 0])
    low, high = np.full(2, MARGIN_PX), np.array(image.shape[1::-1]) - MARGIN_PX
    inside = ((p[0] > low) & (p[0] < high)).all(axis=1)
    steps = ((way * (w / slant)[:, None])[inside] for way, w in zip(ways, wide[::-1], strict=True))
    return _Crossings(p[0][inside], *steps)


def _on(plane: Plane, layer: ReadLayer, bars: NDArray[np.intp], stations_mm: Floats) -> Floats:
    """Pixels (k, n, 2) of stations (k, n) on the centre lines of bars (n)."""
    c0, c1, c2 = np.array([b.fit.curve for b in layer.bars])[bars].T
    z = stations_mm / 1000.0
    across = c0 + c1 * z + c2 * z * z
    return layer.axes.to_px(plane, stations_mm.ravel(), across.ravel()).reshape(*stations_mm.shape, 2)


def _meet(a: Floats, along_a: Floats, b: Floats, along_b: Floats) -> Floats:
    """Shares (2, n) of the steps along two lines after which they meet; far off where they are parallel."""
    cross = along_a[:, 0] * along_b[:, 1] - along_a[:, 1] * along_b[:, 0]
    cross = np.where(np.abs(cross) > 1e-9, cross, 1e-9)
    apart = b - a
    return np.stack(
        [
            (apart[:, 0] * along_b[:, 1] - apart[:, 1] * along_b[:, 0]) / cross,
            (apart[:, 0] * along_a[:, 1] - apart[:, 1] * along_a[:, 0]) / cross,
        ]
    )
