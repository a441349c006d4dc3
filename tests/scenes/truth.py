"""What is true about a rendered photo: camera, board, each bar's axis and where it is seen, gaps, blocks, defects.

Pixels are those of the stored picture, (0, 0) the middle of its top-left one; lengths in mm, world z up from the deck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tests.scenes.laid_board import LaidBoard, along
from tests.scenes.scene import FAR_LOWER, FAR_UPPER, NEAR_LOWER, NEAR_UPPER, Bar, Scene
from tests.scenes.windows import projected

Floats = NDArray[np.float64]

STEP_MM = 25.0
BESIDE_PX = 300
"""So far out of the picture axes are still told."""

NEAR_BOARD_MM = 800.0
STATIONS_MM = (-200.0, 0.0, 200.0)


@dataclass(frozen=True)
class Seen:
    """Whole pictures of numbers, all (h, w) but the last.

    Attributes:
        blocks: Number of the block seen, 0 for none.
        blocks_alone: Number of the block that would be seen if nothing else were there.
        bars: Number of the bar seen, from 1 in the order of the scene's.
        blocks_around: As ``blocks_alone``, a quarter of the size, of a square that reaches beyond the picture.
        frame_around: (x0, y0, x1, y1) of the picture in it.
    """

    blocks: NDArray[np.int16]
    blocks_alone: NDArray[np.int16]
    bars: NDArray[np.int16]
    blocks_around: NDArray[np.int16]
    frame_around: tuple[int, int, int, int]


def stored_to_upright(orientation: int, width: int, height: int) -> list[list[int]]:
    """The map that an Exif orientation asks for.

    Args:
        orientation: 1, 3, 6 or 8.
        width: Of the stored picture. [px]
        height: Of the stored picture. [px]

    Returns:
        2 x 3.
    """
    return {
        1: [[1, 0, 0], [0, 1, 0]],
        3: [[-1, 0, width - 1], [0, -1, height - 1]],
        6: [[0, -1, height - 1], [1, 0, 0]],
        8: [[0, 1, 0], [-1, 0, width - 1]],
    }[orientation]


def truth_of(scene: Scene, laid: LaidBoard, seen: Seen, orientation: int) -> dict[str, object]:
    """Gather the truth.

    Args:
        scene: The scene.
        laid: The board in it.
        seen: What each pixel shows.
        orientation: Exif orientation that the picture is stored with.

    Returns:
        What is written beside the photo.
    """
    names = family_names(scene)
    told = (_bar(scene, bar, k + 1, names[bar.cls], seen) for k, bar in enumerate(scene.bars))
    bars = [bar for bar in told if bar]
    return {
        "stored_to_upright": stored_to_upright(orientation, scene.width, scene.height),
        "exif_orientation": orientation,
        "camera": _camera(scene),
        "board": _board(scene, laid),
        "nominal": {"families": {names[c]: _family(scene, c, names[c], bars, laid) for c in scene.layers}},
        "bars": bars,
        "blocks": _blocks(scene, seen),
        "defects": [
            {"kind": kind, "family": names[c]} for c, layer in scene.layers.items() for kind in layer.defects
        ],
        "light": {"kind": scene.light_kind},
        "level": ("plain", "site", "hard")[scene.hard],
        "lowest": {"direction_rad": float(scene.lowest[0]), "axis_mm": float(scene.lowest[1])},
    }


def family_names(scene: Scene) -> dict[int, str]:
    """Name of each layer by its class; a mat above another one is called top.

    Args:
        scene: The scene.

    Returns:
        Names by class.
    """
    top = "top_" if FAR_UPPER in scene.layers else ""
    return {
        NEAR_LOWER: f"{top}lower",
        NEAR_UPPER: f"{top}upper",
        FAR_LOWER: "lower",
        FAR_UPPER: "upper",
    }


def _pixels(scene: Scene, points: Floats) -> Floats:
    return projected(np.asarray(scene.cam, float), points)


def _rounded(values: Floats, digits: int = 2) -> list[list[float]]:
    return [[round(float(v), digits) for v in row] for row in values]


def _camera(scene: Scene) -> dict[str, object]:
    cam = np.asarray(scene.cam, float)
    rotation = cam[3:12].reshape(3, 3)
    return {
        "width": scene.width,
        "height": scene.height,
        "model": "pinhole + radial (k1, k2), OpenCV convention",
        "K": [[cam[12], 0, cam[13]], [0, cam[12], cam[14]], [0, 0, 1]],
        "dist": [cam[15], cam[16], 0, 0, 0],
        "R_world_to_camera": rotation.tolist(),
        "t_world_to_camera": (-rotation @ cam[:3]).tolist(),
        "centre_mm": cam[:3].tolist(),
    }


def _board(scene: Scene, laid: LaidBoard) -> dict[str, object]:
    cam = np.asarray(scene.cam, float)
    rotation = cam[3:12].reshape(3, 3)
    right, down, up = laid.axes
    corners, points = laid.corners(), laid.at(laid.board.points)
    return {
        "number": laid.board.number,
        "width_mm": laid.board.size[0],
        "height_mm": laid.board.size[1],
        "corners_mm": _rounded(corners, 3),
        "corners_px": _rounded(_pixels(scene, corners), 3),
        "points_texture_mm": _rounded(laid.board.points),
        "points_world_mm": _rounded(points, 3),
        "points_px": _rounded(_pixels(scene, points), 3),
        "tilt_deg": math.degrees(math.acos(min(float(up[2]), 1.0))),
        "rests_on_three_points": laid.rests,
        "centre_mm": laid.centre.tolist(),
        "axes_world": [right.tolist(), down.tolist(), up.tolist()],
        "R_board_to_camera": (rotation @ np.stack([right, down, -up], 1)).tolist(),
        "t_board_to_camera": (rotation @ (laid.centre - cam[:3])).tolist(),
    }


def _bar(scene: Scene, bar: Bar, number: int, family: str, seen: Seen) -> dict[str, object] | None:
    """One piece of a bar; None where it comes nowhere near the picture."""
    cam = np.asarray(scene.cam, float)
    points = along(bar.points, STEP_MM)
    points = points[(points - cam[:3]) @ cam[9:12] > 100]
    px = _pixels(scene, points)
    size = np.array([scene.width, scene.height])
    near = np.flatnonzero(((px > -BESIDE_PX) & (px < size + BESIDE_PX)).all(1))
    if len(near) < 2:
        return None
    points, px = points[near[0] : near[-1] + 1], px[near[0] : near[-1] + 1]
    x, y = np.rint(px).astype(int).T
    inside = (x >= 0) & (y >= 0) & (x < scene.width) & (y < scene.height)
    visible = np.zeros(len(px), bool)
    visible[inside] = seen.bars[y[inside], x[inside]] == number
    if not inside.any():
        return None
    return {
        "family": family,
        "line": bar.line,
        "piece": bar.piece,
        "diameter_mm": bar.diameter,
        "lapped": bar.lapped,
        "id": number,
        "name": f"{family}_{bar.line}_{bar.piece}",
        "axis_mm": _rounded(points),
        "axis_px": _rounded(px),
        "axis_visible": visible.astype(int).tolist(),
        "in_frame_share": float(inside.mean()),
        "visible_fraction": float(visible.sum() / inside.sum()),
    }


def _family(
    scene: Scene, cls: int, name: str, bars: list[dict[str, object]], laid: LaidBoard
) -> dict[str, object]:
    """Drawing values and true gaps of a layer."""
    layer = scene.layers[cls]
    t = np.array([math.cos(layer.direction), math.sin(layer.direction)])
    own = [(bar, np.array(bar["axis_mm"], float)) for bar in bars if bar["family"] == name]
    heights = np.concatenate(
        [p[np.hypot(*(p[:, :2] - laid.centre[:2]).T) < NEAR_BOARD_MM, 2] for _, p in own] or [np.zeros(0)]
    )
    drawn = np.concatenate([bar.points[:, 2] for bar in scene.bars if bar.cls == cls])
    level = float(heights.mean() if len(heights) else drawn.mean())
    middle = float(laid.centre[:2] @ t)
    return {
        "nominal_diameter_mm": layer.diameter,
        "nominal_spacing_mm": layer.spacing,
        "direction_deg": math.degrees(layer.direction),
        "axis_level_mm": level,
        "board_plane_above_axis_mm": float(laid.centre[2]) - level,
        "at_stations": [_gaps(own, t, middle + station) for station in STATIONS_MM],
    }


def _gaps(own: list[tuple[dict[str, object], Floats]], t: Floats, station: float) -> dict[str, object]:
    """Gaps between neighbouring lines across the layer at one station along it."""
    n = np.array([-t[1], t[0]])
    at: dict[int, list[float]] = {}
    for bar, points in own:
        s = points[:, :2] @ t
        if s.min() <= station <= s.max():
            order = np.argsort(s)
            at.setdefault(int(str(bar["line"])), []).append(
                float(np.interp(station, s[order], (points[:, :2] @ n)[order]))
            )
    lines = sorted(at, key=lambda line: at[line][0])
    gaps = [
        {
            "lines": [a, b],
            "gap_mm": round(min(at[b]) - max(at[a]), 2),
            "lapped": len(at[a]) + len(at[b]) > 2,
        }
        for a, b in pairwise(lines)
        if abs(a - b) == 1
    ]
    return {"station_mm": station, "gaps": gaps}


def _blocks(scene: Scene, seen: Seen) -> list[dict[str, object]]:
    x0, y0, x1, y1 = seen.frame_around
    there, around = np.unique(seen.blocks_around, return_counts=True)
    whole = dict(zip(there.tolist(), around.tolist(), strict=True))
    there, within = np.unique(seen.blocks_around[y0:y1, x0:x1], return_counts=True)
    framed = dict(zip(there.tolist(), within.tolist(), strict=True))
    out = []
    for number in np.unique(seen.blocks_alone).tolist():
        if number == 0:
            continue
        y, x = np.nonzero(seen.blocks_alone == number)
        visible = int((seen.blocks == number).sum())
        out.append(
            {
                "kind": "block",
                "id": number,
                "centre_mm": list(scene.blocks[number - 1]),
                "box_px": [float(v) for v in (x.min(), y.min(), x.max() + 1, y.max() + 1)],
                "visible_px": visible,
                "visible_fraction": visible / len(x),
                "in_frame_share": framed.get(number, 0) / max(whole.get(number, 0), 1),
            }
        )
    return out
