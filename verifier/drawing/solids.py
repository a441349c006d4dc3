"""Shapes of a building model as triangles: level faces of a slab, axes of straight bars. Lengths in metres."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from verifier.drawing.geometry import Point, area_m2

SAME_M = 1e-5
"""Vertices nearer than this are one point; models are written to a tenth of a millimetre or better."""
LEVEL = 0.9999
STRAIGHT_M = 1.5e-3
"""A bar is straight if it is no wider than its diameter by more than this, ribs aside."""
RIBS = 1.15
"""Outer width of a deformed bar over its nominal diameter, at most."""


@dataclass(frozen=True, slots=True)
class Solid:
    """Triangles of one body.

    Attributes:
        vertices_m: (n, 3) float, z up.
        triangles: (m, 3) int, indices of vertices, counter-clockwise seen from outside.
    """

    vertices_m: NDArray[np.float64]
    triangles: NDArray[np.int64]

    @property
    def volume_m3(self) -> float:
        """Volume inside, by the divergence theorem. [m3]."""
        a, b, c = (self.vertices_m[self.triangles[:, i]] for i in range(3))
        return float(abs(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6)


@dataclass(frozen=True, slots=True)
class LevelFace:
    """The soffit of a body as loops on plan: the outline and the holes in it. [m]."""

    z_m: float
    outline: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True, slots=True)
class Axis:
    """Axis of a straight round bar. [m]."""

    start: tuple[float, float, float]
    end: tuple[float, float, float]

    @property
    def length_m(self) -> float:
        """Length of the bar. [m]."""
        return float(np.linalg.norm(np.subtract(self.end, self.start)))

    @property
    def middle(self) -> tuple[float, float, float]:
        """Middle of the bar. [m]."""
        x, y, z = (np.add(self.start, self.end) / 2).tolist()
        return x, y, z


def welded(solid: Solid) -> Solid:
    """Join vertices that are one point.

    Args:
        solid: Triangles, where each may have vertices of its own.

    Returns:
        The same triangles over shared vertices.
    """
    keys = np.round(solid.vertices_m / SAME_M).astype(np.int64)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return Solid(solid.vertices_m[first], inverse.reshape(-1)[solid.triangles])


def bodies(solid: Solid) -> tuple[Solid, ...]:
    """Split triangles into connected bodies, since one model element may hold many bars.

    Args:
        solid: Triangles over shared vertices.

    Returns:
        Bodies that share no vertex.
    """
    root = list(range(len(solid.vertices_m)))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    for a, b, c in solid.triangles.tolist():
        root[find(b)] = find(a)
        root[find(c)] = find(a)
    groups: dict[int, list[list[int]]] = defaultdict(list)
    for triangle in solid.triangles.tolist():
        groups[find(triangle[0])].append(triangle)
    out = []
    for triangles in groups.values():
        used, inverse = np.unique(np.array(triangles), return_inverse=True)
        out.append(Solid(solid.vertices_m[used], inverse.reshape(-1, 3)))
    return tuple(out)


def soffit(solid: Solid) -> LevelFace | None:
    """Find the lowest level face of a body.

    Args:
        solid: Triangles over shared vertices.

    Returns:
        Outline and holes, or None where the underside is not one level face.
    """
    corners = solid.vertices_m[solid.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normals, axis=1)
    down = normals[:, 2] <= -LEVEL * np.maximum(length, 1e-30)
    z_m = float(solid.vertices_m[:, 2].min())
    at_bottom = np.abs(corners[:, :, 2] - z_m).max(axis=1) <= 10 * SAME_M
    loops = _loops(solid.triangles[down & at_bottom])
    outlines = [_simplified([_point(solid, i) for i in loop]) for loop in loops]
    outlines = sorted((loop for loop in outlines if len(loop) >= 3), key=area_m2, reverse=True)
    if not outlines:
        return None
    return LevelFace(z_m, outlines[0], tuple(outlines[1:]))


def axis(solid: Solid, *, diameter_m: float) -> Axis | None:
    """Find the axis of a straight bar.

    Args:
        solid: Triangles of one bar.
        diameter_m: Its nominal diameter; what is wider is bent. [m]

    Returns:
        Its axis from end to end, or None where the bar is bent.
    """
    mean, along, across, directions = _spread(solid)
    width_m = float((across.max(axis=0) - across.min(axis=0)).max())
    if width_m > RIBS * diameter_m + STRAIGHT_M or along.max() - along.min() < 2 * width_m:
        return None
    # The middle of the extents, not of the vertices: a mesh may have more vertices on one side.
    origin = mean + (across.max(axis=0) + across.min(axis=0)) / 2 @ directions[1:]
    x0, y0, z0 = (origin + along.min() * directions[0]).tolist()
    x1, y1, z1 = (origin + along.max() * directions[0]).tolist()
    return Axis((x0, y0, z0), (x1, y1, z1))


def width_m(solid: Solid) -> float:
    """Measure how wide a long body is across its length.

    Args:
        solid: Triangles of one body.

    Returns:
        The smaller width across. [m]
    """
    _, _, across, _ = _spread(solid)
    return float((across.max(axis=0) - across.min(axis=0)).min())


def _spread(
    solid: Solid,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Mean of the vertices, where each lies along and across the longest direction, and the directions."""
    mean = solid.vertices_m.mean(axis=0)
    centred = solid.vertices_m - mean
    _, _, directions = np.linalg.svd(centred, full_matrices=False)
    return mean, centred @ directions[0], centred @ directions[1:].T, directions


def _point(solid: Solid, index: int) -> Point:
    x, y = solid.vertices_m[index, :2].tolist()
    return x, y


def _loops(triangles: NDArray[np.int64]) -> list[list[int]]:
    """Edges that only one triangle has, joined end to end."""
    edges = {(a, b) for t in triangles.tolist() for a, b in ((t[0], t[1]), (t[1], t[2]), (t[2], t[0]))}
    following = {a: b for a, b in edges if (b, a) not in edges}
    loops = []
    while following:
        start, at = following.popitem()
        loop = [start]
        while at != start and at in following:
            loop.append(at)
            at = following.pop(at)
        if at == start:
            loops.append(loop)
    return loops


def _simplified(loop: list[Point]) -> tuple[Point, ...]:
    """Leave out corners on a straight line."""
    kept = []
    for i, (x, y) in enumerate(loop):
        (x0, y0), (x1, y1) = loop[i - 1], loop[(i + 1) % len(loop)]
        off = abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / max(np.hypot(x1 - x0, y1 - y0), SAME_M)
        if off > SAME_M:
            kept.append((x, y))
    return tuple(kept)
