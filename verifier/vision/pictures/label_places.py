"""Where a label may stand on a picture: clear of other labels, of the board and, where possible, of what was drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Corners = NDArray[np.float64]


@dataclass(slots=True)
class Ground:
    """What is taken on one picture.

    Attributes:
        size: Width and height of the picture in pixels; labels stay inside.
        closed: Corners (4, 2) that no label may touch: the board and the labels placed so far.
        drawn: Corners (4, 2) that labels avoid where they can: arrows and marks.
    """

    size: tuple[int, int]
    closed: list[Corners] = field(default_factory=list)
    drawn: list[Corners] = field(default_factory=list)

    def take(self, candidates: Sequence[Corners]) -> int | None:
        """Take the first candidate that is free, least on top of what is drawn.

        Args:
            candidates: Corners (4, 2) of each place, best first.

        Returns:
            Index of the place taken, now closed to others; None where every place touches a closed one or the edge.
        """
        best: tuple[int, int] | None = None
        for k, corners in enumerate(candidates):
            if not self._inside(corners) or bool(overlapping(corners, self.closed).any()):
                continue
            hits = int(overlapping(corners, self.drawn).sum())
            if best is None or hits < best[0]:
                best = (hits, k)
            if hits == 0:
                break
        if best is None:
            return None
        self.closed.append(candidates[best[1]])
        return best[1]

    def _inside(self, corners: Corners) -> bool:
        return bool((corners >= 0).all() and (corners <= np.asarray(self.size, float) - 1.0).all())


def turned_box(centre: tuple[float, float], size: tuple[float, float], turn_deg: float) -> Corners:
    """Corners of a box turned about its centre.

    Args:
        centre: Its centre in pixels.
        size: Width and height in pixels before turning.
        turn_deg: Turn from x to y.

    Returns:
        Corners (4, 2) in pixels, in order round the box.
    """
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (size[0] / 2.0, size[1] / 2.0)
    return np.asarray(half @ np.array([[c, s], [-s, c]]) + centre, float)


def overlapping(corners: Corners, others: Sequence[Corners]) -> NDArray[np.bool_]:
    """Which of the others a convex four-sided shape overlaps.

    Args:
        corners: Shape (4, 2).
        others: Shapes (4, 2), n of them.

    Returns:
        (n,) true where they share area.

    Source:
        Separating axis theorem for convex shapes (Ericson, Real-Time Collision Detection, 2005, 5.2.1; from memory).
    """
    if not others:
        return np.zeros(0, bool)
    them = np.asarray(others, float)
    apart = np.zeros(len(them), bool)
    sides = np.roll(them, -1, axis=1) - them
    own = np.roll(corners, -1, axis=0) - corners
    for axes in (np.broadcast_to(own, sides.shape), sides):
        normals = np.stack([-axes[..., 1], axes[..., 0]], axis=-1)
        a = np.einsum("pc,nkc->nkp", corners, normals)
        b = np.einsum("npc,nkc->nkp", them, normals)
        apart |= ((a.max(-1) <= b.min(-1)) | (b.max(-1) <= a.min(-1))).any(axis=1)
    return ~apart
