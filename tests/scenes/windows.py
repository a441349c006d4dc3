"""Small windows of drawn scenes, about cover blocks and about what may be taken for one."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.scenes.scene import (
    BOARD,
    CHAIR,
    CONDUIT,
    DEBRIS,
    NEAR_LOWER,
    NONE,
    Scene,
    draw_scene,
)
from tests.scenes.trace import Windows

PHOTO_PX = (2400, 1800)
SIDE_PX = 176
OF_EACH = 12
"""Most windows of a scene about blocks, and number of those about something else."""

NEAREST = 3
"""So many blocks are told apart in a window."""

Floats = NDArray[np.float64]


def projected(cam: Floats, points: Floats) -> Floats:
    """Pixels of points.

    Args:
        cam: (20,) view, as the tracer reads it.
        points: (n, 3) in the world. [mm]

    Returns:
        (n, 2) pixels.
    """
    e = (points - cam[:3]) @ cam[3:12].reshape(3, 3).T
    xy = e[:, :2] / e[:, 2:]
    r2 = (xy**2).sum(1, keepdims=True)
    return xy * (1 + cam[15] * r2 + cam[16] * r2 * r2) * cam[12] + cam[13:15]


def _middles(prims: Floats) -> Floats:
    """Middle of each primitive."""
    return np.where(prims[:, :1] == 0, prims[:, 4:7] + prims[:, 7:10] * prims[:, 10:11] / 2, prims[:, 4:7])


def _places(scene: Scene, rng: np.random.Generator) -> Floats:
    """Where to look: blocks, then debris, wires, chairs, conduits, bars and bare deck."""
    prims = np.asarray(scene.prims, float)
    cam = np.asarray(scene.cam, float)
    half_diagonal = math.hypot(scene.width, scene.height) / cam[12] / 2

    def inside(points: Floats) -> Floats:
        ahead = (points - cam[:3]) @ cam[9:12] > 100
        px = projected(cam, points)
        ok = ahead & ((px > 4) & (px < np.array([scene.width, scene.height]) - 5)).all(1)
        kept = points[ok]
        rng.shuffle(kept)
        return kept

    blocks = inside(np.asarray(scene.blocks, float).reshape(-1, 3))[:OF_EACH]
    visible = prims[:, 3] > 0
    others = []
    middles = _middles(prims)
    for cls, most in ((DEBRIS, 7), (NONE, 2), (CHAIR, 1), (BOARD, 1)):
        others.append(inside(middles[visible & (prims[:, 1] == cls)])[:most])
    cylinders = prims[visible & (prims[:, 1] >= 1) & (prims[:, 1] <= CONDUIT) & (prims[:, 0] == 0)]
    for lower_only, most in ((True, 3), (False, 3)):
        some = cylinders[cylinders[:, 1] % 2 == NEAR_LOWER % 2] if lower_only else cylinders
        along = rng.random((len(some), 1)) * some[:, 10:11]
        others.append(inside(some[:, 4:7] + some[:, 7:10] * along)[:most])
    foot = cam[:3] + cam[9:12] * (cam[2] / max(-cam[11], 0.2))
    wide = half_diagonal * cam[2]
    deck = np.c_[rng.uniform(-wide, wide, (12, 2)) + foot[:2], np.zeros(12)]
    others.append(inside(deck))
    rest = np.concatenate(others)[:OF_EACH]
    return np.concatenate([blocks, rest])


@dataclass(frozen=True)
class Chosen:
    """Windows of one scene.

    Attributes:
        seed: Seed of the scene.
        scene: The scene, without its primitives.
        windows: The windows with theirs.
        warps: (n, 3, 3) from mm along and across the lowest bars, about a window's middle, to its pixels.
        numbers: (n, 3) the blocks nearest to the middle of each window, -1 for none.
    """

    seed: int
    scene: Scene
    windows: Windows
    warps: NDArray[np.float32]
    numbers: NDArray[np.int16]


def windows_of(seed: int) -> Chosen | None:
    """Draw a scene and choose its windows.

    Args:
        seed: Seed of the scene.

    Returns:
        The windows; None where there is nothing to look at.
    """
    rng = np.random.default_rng(seed + 7_000_000)
    scene = draw_scene(seed, width=PHOTO_PX[0], height=PHOTO_PX[1])
    prims = np.asarray(scene.prims, np.float32)
    places = _places(scene, rng)
    if len(places) == 0:
        return None
    direction, axis_z = scene.lowest
    u = np.array([math.cos(direction), math.sin(direction)])
    across = np.array([-u[1], u[0]])
    cam = np.asarray(scene.cam, float)
    reach = _reach(scene, prims)
    chosen, cams, warps, numbers = [], [], [], []
    blocks = np.asarray(scene.blocks, float).reshape(-1, 3)
    for place in places:
        middle = place[:2] + rng.normal(0, 16, 2)
        z = max(place[2] * 0.6, axis_z) + rng.normal(0, 15)
        corners = np.array([[-80, -80], [80, -80], [80, 80], [-80, 80]], float)
        xy = middle + corners[:, :1] * u + corners[:, 1:] * across
        at = np.array([*middle, z])
        distance = float((at - cam[:3]) @ cam[9:12])
        smaller = max(1.0, rng.uniform(1.15, 1.6) / (distance / cam[12]))
        own = cam.copy()
        own[12] /= smaller
        own[13:15] = (own[13:15] + 0.5) / smaller - 0.5
        origin = np.round(projected(own, at[None])[0] - SIDE_PX / 2)
        own[13:15] -= origin
        warps.append(_homography(corners, projected(own, np.c_[xy, np.full(4, z)])))
        cams.append(own)
        nearest = np.argsort(np.hypot(*(blocks[:, :2] - middle).T))[:NEAREST] + 1
        numbers.append(np.r_[nearest, np.full(NEAREST - len(nearest), -1)])
        wide = SIDE_PX * 0.75 * distance / own[12]
        chosen.append(prims[_near(prims, middle, wide + reach)])
    counts = np.array([len(c) for c in chosen])
    spans = np.stack([np.r_[0, np.cumsum(counts)[:-1]], counts], axis=1).astype(np.int32)
    windows = Windows(np.concatenate(chosen), spans, np.asarray(cams, np.float32))
    scene.prims, scene.mats = [], np.asarray(scene.mats, np.float32)
    return Chosen(seed, scene, windows, np.asarray(warps, np.float32), np.asarray(numbers, np.int16))


def _reach(scene: Scene, prims: NDArray[np.float32]) -> Floats:
    """How far each primitive may matter beyond a window: by its shadow, or because it stands up in an oblique view."""
    low = scene.light[:3]
    slope = 1.7 if scene.light[3] <= 0 else max(1.7, math.hypot(low[0], low[1]) / max(float(low[2]), 0.15))
    tall = np.where(
        prims[:, 0] == 0,
        np.maximum(prims[:, 6], prims[:, 6] + prims[:, 9] * prims[:, 10]) + prims[:, 11],
        prims[:, 6] + prims[:, 9] + 0.05 * prims[:, 7:9].max(1),
    )
    return np.where(prims[:, 3] == 0, 1e9, slope * tall + 20.0)


def _near(prims: NDArray[np.float32], middle: Floats, within: Floats) -> NDArray[np.bool_]:
    a = prims[:, 4:6] - middle
    run = prims[:, 7:9] * prims[:, 10:11] * (prims[:, :1] == 0)
    t = np.clip(-(a * run).sum(1) / np.maximum((run**2).sum(1), 1e-6), 0, 1)
    own = np.where(prims[:, 0] == 0, prims[:, 11], np.hypot(prims[:, 7], prims[:, 8]))
    return np.hypot(*(a + run * t[:, None]).T) - own < within


def _homography(source: Floats, target: Floats) -> Floats:
    """The homography through four points."""
    rows = []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    return np.r_[np.linalg.solve(np.array(rows), target.ravel()), 1.0].reshape(3, 3)
