"""Lay a real board on the uppermost bars of a drawn scene, as a card rests there: on what is under it, near its middle."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.scenes.scene import BLOCK, BOARD, CLASSES, NONE, OVER_RIBS, Scene, dirty_sheet
from tests.scenes.windows import projected

Floats = NDArray[np.float64]

TRIES = 600
MARGIN_PX = 40
STEEPEST = math.tan(math.radians(1.2))
"""Laid by hand, a card does not lean from an upper bar on a lower one."""

MIDDLE = (0.28, 0.72)
"""Share of the picture's width and height between which the board's middle lies."""


@dataclass(frozen=True)
class BoardPage:
    """A printed board.

    Attributes:
        number: Its standing number.
        page: Picture, 0 to 1.
        size: Width and height of the sheet. [mm]
        thickness: Of the card. [mm]
        points: (n, 2) inner corners from the sheet's top-left corner. [mm]
    """

    number: int
    page: NDArray[np.float32]
    size: tuple[float, float]
    thickness: float
    points: Floats


@dataclass(frozen=True)
class LaidBoard:
    """Where a board lies.

    Attributes:
        board: Which one.
        centre: (3,) middle of its printed face. [mm]
        axes: (3, 3) rows: along its width, down its height, up out of its face.
        rests: Whether it rests on three points; otherwise it was laid level on the highest one.
    """

    board: BoardPage
    centre: Floats
    axes: Floats
    rests: bool

    def at(self, sheet_mm: Floats) -> Floats:
        """World points of points on the sheet.

        Args:
            sheet_mm: (n, 2) from its top-left corner.

        Returns:
            (n, 3).
        """
        return self.centre + (sheet_mm - np.asarray(self.board.size) / 2) @ self.axes[:2]

    def corners(self) -> Floats:
        """(4, 3) corners of the sheet, clockwise from its top left."""
        w, h = self.board.size
        return self.at(np.array([[0, 0], [w, 0], [w, h], [0, h]], float))


def read_pages(path: Path) -> list[BoardPage]:
    """Read what ``board_pages`` wrote.

    Args:
        path: The file.

    Returns:
        The boards.
    """
    with np.load(path) as file:
        width, height = (float(v) for v in file["size_mm"])
        return [
            BoardPage(
                int(number),
                page.astype(np.float32) / 255,
                (width, height),
                float(file["thickness_mm"]),
                file["points_mm"].astype(float),
            )
            for number, page in zip(file["numbers"], file["pages"], strict=True)
        ]


def lay(scene: Scene, board: BoardPage, rng: np.random.Generator) -> LaidBoard:
    """Choose a place in the picture's middle where the board rests and nothing pierces it, and add it to the scene.

    Args:
        scene: A scene without a board; wires that would pierce the card are taken out of it, as if pressed down.
        board: The board.
        rng: For place, turn and dirt.

    Returns:
        Where it lies.

    Raises:
        ValueError: If there is no place for it.
    """
    tops, others = _bar_tops(scene), _samples(scene, range(BLOCK, len(CLASSES)))
    found: LaidBoard | None = None
    for k in range(TRIES):
        laid = _dropped(scene, board, tops, rng)
        if laid is None or not _in_view(scene, laid) or _pierced(laid, others).any():
            continue
        if laid.rests or k > TRIES // 2:
            found = laid
            break
        found = found or laid
    if found is None:
        raise ValueError("no place for the board")
    if rng.random() < 0.25:
        found = _propped(found, math.radians(rng.uniform(0.2, 1.2)), int(rng.integers(4)))
    _press_wires_down(scene, found)
    _draw(scene, found, rng)
    return found


def _bar_tops(scene: Scene) -> list[Floats]:
    """Points along the top of each bar, every few millimetres near the middle of the picture."""
    out = []
    for bar in scene.bars:
        points = along(bar.points, 5.0)
        near = np.hypot(*points[:, :2].T) < 1500
        out.append(points[near] + [0, 0, OVER_RIBS * bar.diameter / 2])
    return out


def along(points: Floats, step: float) -> Floats:
    """Points at equal steps along straight pieces.

    Args:
        points: (n, 3) ends of the pieces.
        step: Longest step. [mm]

    Returns:
        (m, 3).
    """
    lengths = np.r_[0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
    s = np.linspace(0, lengths[-1], max(2, math.ceil(lengths[-1] / step) + 1))
    return np.stack([np.interp(s, lengths, column) for column in points.T], axis=1)


def _samples(scene: Scene, wanted: range) -> Floats:
    """(n, 4) points on the upper side of primitives of some classes, and the number of the primitive."""
    out = [np.zeros((0, 4))]
    for i, p in enumerate(np.asarray(scene.prims, float)):
        if not p[3] or int(p[1]) not in wanted:
            continue
        if p[0] == 0:
            points = along(np.stack([p[4:7], p[4:7] + p[7:10] * p[10]]), 4.0)
            # The widest a cylinder reaches, whichever way it points.
            rise = p[11] * math.sqrt(max(1 - p[9] ** 2, 0.0))
            aside = p[11] * np.array([[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1]])
            points = np.concatenate([points + np.array([*a, rise]) for a in aside])
        else:
            ux, uy = p[12:15], p[15:18]
            grid = np.array(list(itertools.product(np.linspace(-1, 1, 9), np.linspace(-1, 1, 9), (-1, 1))))
            points = p[4:7] + grid * p[7:10] @ np.stack([ux, uy, np.cross(ux, uy)])
        out.append(np.c_[points, np.full(len(points), i)])
    return np.concatenate(out)


def _dropped(
    scene: Scene, board: BoardPage, tops: list[Floats], rng: np.random.Generator
) -> LaidBoard | None:
    """The board let down somewhere; None where no bar is under it or it would lean."""
    px = rng.uniform(*MIDDLE, 2) * (scene.width, scene.height)
    x, y = _on_plane(scene, px, max(float(t[:, 2].max()) for t in tops if len(t)))
    turn = rng.uniform(0, 2 * math.pi)
    c, s = math.cos(turn), math.sin(turn)
    right, down = np.array([c, s]), np.array([s, -c])
    half = np.asarray(board.size) / 2
    under = []
    for top in tops:
        own = np.stack([(top[:, :2] - (x, y)) @ right, (top[:, :2] - (x, y)) @ down, top[:, 2]], 1)
        own = own[(np.abs(own[:, :2]) < half).all(1)]
        if len(own):
            under.append(own[[0, len(own) // 2, -1]])
    if not under:
        return None
    points = np.concatenate(under)
    points = points[points[:, 2] > points[:, 2].max() - 12]
    plane = _resting_plane(points)
    a, b, height = (0.0, 0.0, float(points[:, 2].max())) if plane is None else plane
    if math.hypot(a, b) > STEEPEST:
        return None
    along_right, along_down = np.array([*right, a]), np.array([*down, b])
    along_right /= np.linalg.norm(along_right)
    along_down -= along_right * (along_down @ along_right)
    along_down /= np.linalg.norm(along_down)
    up = -np.cross(along_right, along_down)
    centre = np.array([x, y, height]) + up * board.thickness
    return LaidBoard(board, centre, np.stack([along_right, along_down, up]), plane is not None)


def _resting_plane(points: Floats) -> tuple[float, float, float] | None:
    """Plane z = a x + b y + c on which a card rests whose middle is at (0, 0): on three points about it, the rest below."""
    triples = np.array(list(itertools.combinations(range(len(points)), 3))).reshape(-1, 3)
    corners = points[triples]
    flat = np.concatenate([corners[:, :, :2], np.ones((len(triples), 3, 1))], 2)
    safe = np.abs(np.linalg.det(flat)) > 200.0
    flat, corners = flat[safe], corners[safe]
    planes = np.linalg.solve(flat, corners[:, :, 2:])[:, :, 0]
    weights = np.linalg.solve(
        flat.transpose(0, 2, 1), np.broadcast_to([[0.0], [0.0], [1.0]], (len(flat), 3, 1))
    )
    below = planes @ np.c_[points[:, :2], np.ones(len(points))].T - points[:, 2]
    good = (weights[:, :, 0] >= 0).all(1) & (below > -1e-6).all(1)
    if not good.any():
        return None
    a, b, c = planes[good][0]
    return float(a), float(b), float(c)


def _on_plane(scene: Scene, px: Floats, z: float) -> tuple[float, float]:
    """Where the pixel's ray meets a level plane; lens bend left out, the place is drawn by lot anyway."""
    cam = np.asarray(scene.cam, float)
    ray = np.array([*(px - cam[13:15]) / cam[12], 1.0]) @ cam[3:12].reshape(3, 3)
    at = cam[:3] + ray * (z - cam[2]) / ray[2]
    return float(at[0]), float(at[1])


def _in_view(scene: Scene, laid: LaidBoard) -> bool:
    px = projected(np.asarray(scene.cam, float), laid.corners())
    return bool(((px > MARGIN_PX) & (px < np.array([scene.width, scene.height]) - MARGIN_PX)).all())


def _pierced(laid: LaidBoard, samples: Floats) -> NDArray[np.bool_]:
    """Which points lie over the card's underside, within its outline."""
    own = (samples[:, :3] - laid.centre) @ laid.axes.T
    within = (np.abs(own[:, :2]) < np.asarray(laid.board.size) / 2 + 4).all(1)
    return np.asarray(within & (own[:, 2] > -laid.board.thickness))


def _propped(laid: LaidBoard, angle: float, side: int) -> LaidBoard:
    """The board with one side raised by something under it, about its opposite edge."""
    along_right, along_down, up = laid.axes
    axis, out, reach = (
        (along_down, along_right, laid.board.size[0] / 2)
        if side < 2
        else (along_right, along_down, laid.board.size[1] / 2)
    )
    out = out * (1 if side % 2 else -1)
    raised = math.cos(angle) * out + math.sin(angle) * up
    centre = laid.centre - out * reach + raised * reach
    first = raised * (1 if side % 2 else -1)
    axes = (first, axis) if side < 2 else (axis, first)
    return LaidBoard(laid.board, centre, np.stack([*axes, -np.cross(*axes)]), laid.rests)


def _press_wires_down(scene: Scene, laid: LaidBoard) -> None:
    samples = _samples(scene, range(NONE, NONE + 1))
    gone = set(samples[_pierced(laid, samples), 3].astype(int).tolist())
    scene.prims[:] = [p for i, p in enumerate(scene.prims) if i not in gone]


def _draw(scene: Scene, laid: LaidBoard, rng: np.random.Generator) -> None:
    dirt = dirty_sheet(scene, rng, 0.5)
    scene.page = laid.board.page
    (w, h), thick = laid.board.size, laid.board.thickness
    middle = laid.centre - laid.axes[2] * thick / 2
    right, down = laid.axes[:2]
    scene.prims.append(
        [1, BOARD, dirt, 1, *middle, w / 2, h / 2, thick / 2, 0, 0, *right, *down, 0, -1.0, 0, 0, 0, 0]
    )
