"""A random scene: bar mats on a deck with everything that lies about, as plain arrays for the tracer.

Lengths in mm, world z up, deck at z = 0. Every choice is drawn from one seeded generator, so a scene is its seed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float32]

STRIDE, MATERIAL, BLOCK_NUMBER, BAR_NUMBER = 24, 20, 21, 22
NONE, NEAR_UPPER, NEAR_LOWER, FAR_UPPER, FAR_LOWER, BLOCK, CHAIR, CONDUIT, BOARD, DEBRIS, WATER = range(11)
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
OVER_RIBS = 1.04
"""Outer width of a bar over its nominal diameter."""

DIAMETERS = (6, 8, 10, 12, 14, 16, 20, 25)
BLOCK_SHAPES = ("cube", "grooved", "cylinder", "cone", "wheel", "legs", "fins", "bar", "taper", "vanes")
BLOCK_SHARES = (0.23, 0.06, 0.13, 0.05, 0.13, 0.07, 0.05, 0.05, 0.05, 0.18)
DEBRIS_KINDS = ("paper", "cup", "leaf", "offcut", "chip", "rod", "crumpled", "pebble", "loop")
DEBRIS_SHARES = (0.09, 0.04, 0.38, 0.12, 0.15, 0.05, 0.07, 0.06, 0.04)
SPACINGS = (75, 100, 110, 125, 140, 150, 160, 175, 200, 225, 250, 300)


@dataclass
class Bar:
    """One piece of a bar as drawn: straight between its points.

    Attributes:
        cls: Class of its layer.
        line: Number of its line in the layer.
        piece: 0, or 1 for the second piece of a lap.
        lapped: Whether its line has a lap.
        diameter: Its diameter.
        points: (n, 3) axis.
    """

    cls: int
    line: int
    piece: int
    lapped: bool
    diameter: float
    points: NDArray[np.float64]


@dataclass
class Layer:
    """What a drawing would ask of one layer of bars.

    Attributes:
        direction: Direction of its bars. [rad]
        spacing: Spacing.
        diameter: Diameter.
        defects: What is wrong in it.
    """

    direction: float
    spacing: float
    diameter: float
    defects: list[str] = field(default_factory=list)


@dataclass
class Scene:
    """Arrays that the tracer reads, and the size of the picture."""

    width: int
    height: int
    prims: list[list[float]] = field(default_factory=list)
    mats: list[list[float]] = field(default_factory=list)
    light: Array = field(default_factory=lambda: np.zeros(16, np.float32))
    deck: Array = field(default_factory=lambda: np.zeros(20, np.float32))
    cam: Array = field(default_factory=lambda: np.zeros(20, np.float32))
    page: Array = field(default_factory=lambda: np.ones((2, 2), np.float32))
    blocks: list[tuple[float, float, float]] = field(default_factory=list)
    """Middle of each cover block; its primitives carry its number, from 1, in column ``BLOCK_NUMBER``."""
    lowest: tuple[float, float] = (0.0, 0.0)
    """Direction and height of axis of the lowest layer of bars."""
    bars: list[Bar] = field(default_factory=list)
    """Bars; their primitives carry their number, from 1, in column ``BAR_NUMBER``."""
    layers: dict[int, Layer] = field(default_factory=dict)
    """Layers by class."""
    light_kind: str = ""
    hard: int = 0
    """How hard the picture is to read, 0 to 2."""

    def material(
        self,
        colour,
        *,
        second=(0.5, 0.5, 0.5),
        share=0.0,
        scale=40.0,
        gloss=0.1,
        power=20.0,
        kind=0,
        pitch=6.0,
        rib=0.0,
        turns=0.0,
        seed=0,
    ) -> int:
        """Add a material and return its number."""
        self.mats.append(
            [*colour, *second, share, scale, gloss, power, kind, pitch, rib, seed, turns]
            + [0.0] * (MATERIAL - 15)
        )
        return len(self.mats) - 1

    def cylinder(self, a, b, radius, cls, mat, *, visible=1, seed=0.0, along=0.0) -> None:
        """Add a cylinder with flat ends."""
        a, b = np.asarray(a, float), np.asarray(b, float)
        length = float(np.linalg.norm(b - a))
        if length < 1e-3:
            return
        u = (b - a) / length
        self.prims.append(
            [0, cls, mat, visible, *a, *u, length, radius, 0, 0, 0, 0, 0, 0, seed, 0, along, 0, 0, 0]
        )

    def box(
        self, centre, half, cls, mat, *, turn=0.0, tilt=(0.0, 0.0), visible=1, seed=0.0, page_side=0.0
    ) -> None:
        """Add a box turned about z, then tilted a little about its own axes."""
        c, s = math.cos(turn), math.sin(turn)
        ux, uy = np.array([c, s, tilt[0]]), np.array([-s, c, tilt[1]])
        ux /= np.linalg.norm(ux)
        uy -= ux * (uy @ ux)
        uy /= np.linalg.norm(uy)
        self.prims.append([1, cls, mat, visible, *centre, *half, 0, 0, *ux, *uy, seed, page_side, 0, 0, 0, 0])


def board_page(paper: str, rng: np.random.Generator) -> Array:
    """Draw a sheet with a chessboard of markers as a picture, 2 px a mm, values 0 to 1.

    What the markers say does not matter to the labels, so their bits are random.
    """
    w, h, square, marker = {"A5": (210, 148, 24, 17), "A4": (297, 210, 36, 27), "A3": (420, 297, 52, 42)}[
        paper
    ]
    page = np.ones((h * 2, w * 2), np.float32)
    x0, y0 = w - 7 * square, h - 5 * square
    for row in range(5):
        for column in range(7):
            x, y = x0 + column * square * 2, y0 + row * square * 2
            if (row + column) % 2 == 0:
                page[y : y + 2 * square, x : x + 2 * square] = 0
                continue
            cell = 2 * marker // 7
            bits = np.zeros((7, 7), np.float32)
            bits[1:6, 1:6] = rng.random((5, 5)) < 0.5
            edge = (2 * square - 7 * cell) // 2
            page[y + edge : y + edge + 7 * cell, x + edge : x + edge + 7 * cell] = np.kron(
                bits, np.ones((cell, cell))
            )
    return page


def draw_scene(seed: int, *, width: int = 1024, height: int = 768, with_board: bool = True) -> Scene:
    """Draw a scene from its seed, with a board of random bits in it or none."""
    rng = np.random.default_rng(seed)
    if rng.random() < 0.25:
        width, height = height, width
    scene = Scene(width, height)
    hard = rng.choice(3, p=(0.25, 0.4, 0.35))
    scene.hard = int(hard)
    reach = _camera(scene, rng, hard)
    _light(scene, rng, hard)
    _deck(scene, rng, hard)
    top = _mats(scene, rng, hard, reach)
    if with_board:
        _board(scene, rng, top)
    _conduits(scene, rng, hard, reach)
    _debris(scene, rng, hard, reach)
    _shadows(scene, rng)
    return scene


def _camera(scene: Scene, rng: np.random.Generator, hard: int) -> float:
    f35 = rng.uniform(22, 31)
    focal = f35 / 36.0 * max(scene.width, scene.height)
    height = rng.uniform(750, 2100)
    tilt = math.radians(rng.uniform(0, (15, 31, 34)[hard]))
    azimuth, roll = rng.uniform(0, 2 * math.pi, 2)
    forward = np.array(
        [math.sin(tilt) * math.cos(azimuth), math.sin(tilt) * math.sin(azimuth), -math.cos(tilt)]
    )
    right = np.cross(forward, [math.cos(roll), math.sin(roll), 0.1])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    aim = rng.uniform(-60, 60, 2)
    centre = np.array([*aim, 40.0]) - forward * (height / math.cos(tilt))
    k1, k2 = rng.normal(0, 0.025), rng.normal(0, 0.012)
    pp = rng.normal(0, 0.004, 2) * scene.width
    scene.cam[:17] = [
        *centre,
        *right,
        *down,
        *forward,
        focal,
        scene.width / 2 - 0.5 + pp[0],
        scene.height / 2 - 0.5 + pp[1],
        k1,
        k2,
    ]
    half = math.hypot(scene.width, scene.height) / 2 / focal
    return float(min(height / math.cos(tilt) * math.tan(min(math.atan(half) + tilt, 1.25)) + 200, 4200))


def _light(scene: Scene, rng: np.random.Generator, hard: int) -> None:
    kind = rng.choice(
        ("sun", "overcast", "flash"), p=((0.5, 0.5, 0), (0.76, 0.2, 0.04), (0.61, 0.19, 0.20))[hard]
    )
    scene.light_kind = str(kind)
    elevation = math.radians(rng.uniform((42, 24, 10)[hard], (75, 66, 45)[hard]))
    azimuth = rng.uniform(0, 2 * math.pi)
    towards = [
        math.cos(elevation) * math.cos(azimuth),
        math.cos(elevation) * math.sin(azimuth),
        math.sin(elevation),
    ]
    warm = rng.uniform(0, 0.25) + 0.3 * (1 - math.sin(elevation))
    haze = rng.uniform(0.10, 0.5)
    sun = (
        np.array([1, 1 - 0.35 * warm, 1 - 0.8 * warm])
        * rng.uniform(0.9, 1.3)
        / max(math.sin(elevation), 0.35)
    )
    sky = np.array([0.75, 0.9, 1.15]) * haze
    lamp = np.zeros(3)
    if kind == "overcast":
        sun, sky = sun * 0, np.array([0.95, 1.0, 1.06]) * 0.9
    if kind == "flash":
        sun, sky, lamp = (
            sun * 0,
            np.ones(3) * rng.uniform(0.01, 0.12),
            np.array([1, 0.97, 0.92]) * rng.uniform(1.0, 2.2),
        )
    scene.light[:14] = [*towards, *sun, *sky, *lamp, rng.uniform(0.004, 0.012), rng.uniform(0.02, 0.12)]


def _deck(scene: Scene, rng: np.random.Generator, hard: int) -> None:
    kind = int(rng.choice(4))
    if kind == 0:
        colour = np.array([0.52, 0.40, 0.25]) * rng.uniform(0.55, 1.25) * rng.uniform(0.9, 1.1, 3)
    elif kind == 1:
        colour = np.array([0.20, 0.115, 0.085]) * rng.uniform(0.5, 1.7) * rng.uniform(0.85, 1.15, 3)
        if rng.random() < 0.25:
            colour = np.array([0.05, 0.05, 0.055]) * rng.uniform(0.6, 2)
    elif kind == 2:
        colour = np.array([0.38, 0.40, 0.44]) * rng.uniform(0.35, 1.4) * rng.uniform(0.95, 1.05, 3)
    else:
        colour = np.array([0.36, 0.35, 0.32]) * rng.uniform(0.6, 1.7) * rng.uniform(0.92, 1.08, 3)
    dust = np.array([0.5, 0.46, 0.41]) * rng.uniform(0.4, 1.6) * rng.uniform(0.9, 1.1, 3)
    panel = ((600, 1500), (1250, 2500), (500, 1250), (900, 1800))[kind]
    puddle = rng.uniform(0.58, 0.72) if rng.random() < 0.12 else 2.0
    scene.deck[:19] = [
        kind,
        *colour,
        *dust,
        rng.uniform(0, (0.3, 0.8, 0.95)[hard]),
        rng.uniform(0, 0.5),
        (0.05, rng.uniform(0.05, 0.5), rng.uniform(0.1, 0.6), 0.05)[kind],
        panel[0] * rng.uniform(0.5, 1.3),
        panel[1] * rng.uniform(0.5, 1.3),
        rng.uniform(0.3, 3.0),
        rng.uniform(0, math.pi),
        rng.integers(1, 60000),
        rng.uniform(0.2, 1.2),
        puddle,
        rng.random(),
        rng.uniform(0.3, 1.0) * (rng.random() < 0.6),
    ]


def _steel(scene: Scene, rng: np.random.Generator) -> int:
    rust = rng.random()
    bare = np.array([0.16, 0.16, 0.17]) * rng.uniform(0.35, 2.1) * rng.uniform(0.95, 1.05, 3)
    brown = np.array([0.30, 0.155, 0.085]) * rng.uniform(0.5, 1.6) * rng.uniform(0.88, 1.12, 3)
    if rng.random() < 0.15:
        brown = np.array([0.45, 0.42, 0.37]) * rng.uniform(0.6, 1.2)
    return scene.material(
        bare,
        second=brown,
        share=rust,
        scale=rng.uniform(15, 160),
        gloss=rng.uniform(0.05, 0.7) * (1.5 if rng.random() < 0.15 else 1),
        power=rng.uniform(8, 60),
        kind=1,
        pitch=rng.uniform(4, 10),
        rib=rng.uniform(0.0, 0.5),
        turns=rng.choice((0.0, 0.5, 1.0)),
        seed=int(rng.integers(60000)),
    )


@dataclass
class _Family:
    direction: float
    axis_z: float
    diameter: float
    offsets: list[float]
    cls: int


def _mats(scene: Scene, rng: np.random.Generator, hard: int, reach: float) -> float:
    cover = rng.uniform(14, 55)
    turn = rng.uniform(0, math.pi)
    skew = rng.normal(0, (1.0, 3.5, 6.0)[hard])
    if hard and rng.random() < 0.25:
        skew = rng.uniform(-30, 30)
    double = rng.random() < (0.08, 0.3, 0.7)[hard]
    levels = [(cover, NEAR_UPPER, NEAR_LOWER)]
    if double:
        rise = rng.uniform(60, 170)
        levels = [(cover, FAR_UPPER, FAR_LOWER), (cover + rise, NEAR_UPPER, NEAR_LOWER)]
    top = cover
    for base, upper_cls, lower_cls in levels:
        d_low, d_up = (
            float(rng.choice(DIAMETERS, p=(0.08, 0.24, 0.24, 0.2, 0.06, 0.1, 0.05, 0.03))) for _ in range(2)
        )
        sag = rng.normal(0, 2.0)
        steel = _steel(scene, rng)
        other = steel if rng.random() < 0.7 else _steel(scene, rng)
        low = _family(scene, rng, turn, base + d_low / 2, d_low, lower_cls, steel, reach, hard, sag)
        up = _family(
            scene,
            rng,
            turn + math.pi / 2 + math.radians(skew),
            base + d_low + d_up / 2,
            d_up,
            upper_cls,
            other,
            reach,
            hard,
            sag,
        )
        if base == cover:
            scene.lowest = (turn, low.axis_z)
        _ties(scene, rng, low, up)
        _blocks(scene, rng, low if base == cover else up, base, double and base != cover, reach)
        turn += math.radians(rng.normal(0, 1.0)) + (math.pi / 2 if rng.random() < 0.5 else 0)
        top = base + d_low + d_up
    return top


def _family(scene, rng, direction, z, diameter, cls, steel, reach, hard, sag) -> _Family:
    asked = float(rng.choice(SPACINGS))
    layer = scene.layers[cls] = Layer(direction, asked, diameter)
    spacing = asked * rng.uniform(0.97, 1.03)
    scatter = rng.uniform(0.005, 0.06) * spacing
    count = int(2 * reach / spacing) + 2
    start = -reach + rng.uniform(0, spacing)
    offsets = [start + i * spacing + rng.normal(0, scatter) for i in range(count)]
    if rng.random() < 0.25:
        offsets.pop(rng.integers(len(offsets) // 3, 2 * len(offsets) // 3))
        layer.defects.append("missing bar")
    if rng.random() < 0.2:
        k = rng.integers(len(offsets) // 4, 3 * len(offsets) // 4)
        widen = rng.uniform(0.15, 0.5) * spacing
        offsets = [o + widen * min(max(i - k, 0), 4) for i, o in enumerate(offsets)]
        layer.defects.append("wide zone")
    lap_line = rng.integers(len(offsets)) if rng.random() < 0.3 else -1
    laps_all = rng.random() < 0.08
    lap_at, lap_length = rng.uniform(-500, 500), rng.uniform(250, 800)
    bow, wobble = abs(rng.normal(0, 3.5)), math.radians(0.5)
    c, s = math.cos(direction), math.sin(direction)
    cam = np.asarray(scene.cam[:2], float)
    for i, offset in enumerate(offsets):
        slope, bend = rng.normal(0, wobble), rng.normal(0, bow) / 1e6
        thickness = diameter if rng.random() > 0.02 else float(rng.choice(DIAMETERS))
        pieces = [(-reach * 1.1, reach * 1.1, 0.0)]
        if i == lap_line or laps_all:
            pieces = [
                (-reach * 1.1, lap_at + lap_length / 2, 0.0),
                (lap_at - lap_length / 2, reach * 1.1, thickness),
            ]
        for piece, (begin, end, aside) in enumerate(pieces):
            n = max(2, int((end - begin) / 900))
            t = np.linspace(begin, end, n + 1)
            across = offset + aside + slope * t + bend * t * t
            x, y = t * c - across * s, t * s + across * c
            # By place, so that the layers of a mat keep touching each other.
            zz = z + sag * np.sin(x / 700.0 + y / 400.0) + (thickness - diameter) / 2
            drawn = [
                k
                for k in range(n)
                if math.hypot((x[k] + x[k + 1]) / 2 - cam[0], (y[k] + y[k + 1]) / 2 - cam[1]) <= reach + 700
            ]
            if drawn:
                points = np.stack([x, y, zz], 1)[drawn[0] : drawn[-1] + 2]
                scene.bars.append(Bar(cls, i, piece, len(pieces) > 1, thickness, points))
            for k in drawn:
                scene.cylinder(
                    (x[k], y[k], zz[k]),
                    (x[k + 1], y[k + 1], zz[k + 1]),
                    thickness / 2 * OVER_RIBS,
                    cls,
                    steel,
                    seed=i + 31 * cls,
                    along=float(t[k] - begin),
                )
                scene.prims[-1][BAR_NUMBER] = len(scene.bars)
    return _Family(direction, z, diameter, offsets, cls)


def _crossings(a: _Family, b: _Family, within: float) -> list[tuple[float, float]]:
    """Where two families cross, near the middle of the picture."""
    na, nb = (np.array([-math.sin(f.direction), math.cos(f.direction)]) for f in (a, b))
    inverse = np.linalg.inv(np.array([na, nb]))
    points = [inverse @ np.array([o, q]) for o in a.offsets for q in b.offsets]
    return [(float(p[0]), float(p[1])) for p in points if np.hypot(*p) < within]


def _ties(scene, rng, low, up) -> None:
    share = rng.choice((0.0, 0.3, 0.6, 1.0), p=(0.25, 0.3, 0.25, 0.2))
    wire = scene.material(np.array([0.10, 0.09, 0.085]) * rng.uniform(0.5, 2), gloss=0.3)
    points = [p for p in _crossings(low, up, 1100) if rng.random() < share]
    rng.shuffle(points)
    for x, y in points[:90]:
        a = (low.direction + up.direction) / 2 + rng.choice((0, math.pi / 2))
        half = 0.8 * (low.diameter + up.diameter) / 2 + 3
        z = up.axis_z + up.diameter / 2 + 0.5
        end = (x + half * math.cos(a), y + half * math.sin(a), z - up.diameter * 0.5)
        scene.cylinder(
            (x - half * math.cos(a), y - half * math.sin(a), z - up.diameter * 0.5),
            (x, y, z),
            0.8,
            NONE,
            wire,
        )
        scene.cylinder((x, y, z), end, 0.8, NONE, wire)
        if rng.random() < 0.5:
            tail = rng.uniform(-1, 1, 2) * 25
            scene.cylinder(
                end, (end[0] + tail[0], end[1] + tail[1], end[2] + rng.uniform(0, 12)), 0.7, NONE, wire
            )


def _block_colour(scene: Scene, rng: np.random.Generator) -> Array:
    """Concrete, mortar as grey as the deck under it, or plastic of any colour."""
    kind = rng.choice(("concrete", "deck", "dark", "light", "plastic"), p=(0.38, 0.14, 0.10, 0.08, 0.30))
    if kind == "deck":
        return np.asarray(scene.deck[1:4] * rng.uniform(0.65, 1.4), np.float32)
    if kind == "plastic":
        tone = rng.uniform(0.02, 0.6, 3)
        if rng.random() < 0.5:
            tone[rng.permutation(3)[: rng.integers(1, 3)]] *= 0.15
        return np.asarray(tone, np.float32)
    grey = rng.uniform(*{"concrete": (0.2, 0.6), "dark": (0.02, 0.15), "light": (0.6, 0.85)}[str(kind)])
    return np.asarray(grey * np.array([1.0, 0.98, 0.93]) * rng.uniform(0.95, 1.05, 3), np.float32)


def _blocks(scene, rng, family, base, on_chairs, reach) -> None:
    pitch = rng.uniform(400, 1200) if on_chairs else rng.uniform(250, 1000)
    if rng.random() < 0.04:
        return
    colour = _block_colour(scene, rng)
    dirt = colour * 0.6 if rng.random() < 0.6 else np.asarray(scene.deck[4:7])
    share, gloss = rng.uniform(0, 0.8), rng.uniform(0.0, 0.3)
    tones = [
        scene.material(
            np.clip(colour * rng.uniform(0.8, 1.2), 0, 0.9),
            second=dirt,
            share=share,
            scale=rng.uniform(5, 20),
            gloss=gloss,
            seed=int(rng.integers(9999)),
        )
        for _ in range(3)
    ]
    shapes = rng.choice(BLOCK_SHAPES, p=BLOCK_SHARES, size=2 if rng.random() < 0.15 else 1)
    half = rng.uniform(12, 30)
    upright = rng.random() < 0.5
    wired = rng.random() < 0.3
    c, s = math.cos(family.direction), math.sin(family.direction)
    every = int(rng.integers(2, 6)) if on_chairs else int(rng.integers(1, 4))
    for i, offset in enumerate(family.offsets):
        if i % every:
            continue
        for t in np.arange(-reach + rng.uniform(0, pitch), reach, pitch):
            t = t + rng.normal(0, 25)
            across = offset + rng.normal(0, 6)
            x, y = t * c - across * s, t * s + across * c
            if math.hypot(x, y) > min(reach, 2300) or rng.random() < 0.05:
                continue
            mat = tones[rng.integers(3)]
            if on_chairs:
                _chair(scene, rng, x, y, base, family.direction, mat)
            else:
                turn = family.direction + (rng.normal(0, 0.25) if upright else rng.uniform(0, math.pi))
                _block(scene, rng, shapes[rng.integers(len(shapes))], x, y, base, family, mat, half, turn)
                if wired:
                    _block_wire(scene, rng, x, y, family)


def _block_wire(scene, rng, x, y, family) -> None:
    """Two ends of tie wire that come out of a block and round the bar on it."""
    wire = scene.material(np.array([0.12, 0.10, 0.09]) * rng.uniform(0.5, 2), gloss=0.3)
    z = family.axis_z
    for _ in range(2):
        out = rng.normal(0, 14, 2)
        end = (x + out[0], y + out[1], z + rng.uniform(0, 15))
        scene.cylinder((x, y, z - family.diameter), end, 0.8, NONE, wire)


def _block(scene, rng, shape, x, y, base, family, mat, half, turn) -> None:
    """Draw a block and number its primitives."""
    half = half * rng.uniform(0.92, 1.08)
    aside = rng.normal(0, 0.3) * half
    x, y = x - aside * math.sin(family.direction), y + aside * math.cos(family.direction)
    first = len(scene.prims)
    _block_body(scene, rng, shape, x, y, base, family, mat, half, turn)
    scene.blocks.append((x, y, base / 2))
    for prim in scene.prims[first:]:
        prim[BLOCK_NUMBER] = len(scene.blocks)


def _block_body(scene, rng, shape, x, y, base, family, mat, half, turn) -> None:
    c, s = math.cos(turn), math.sin(turn)
    if shape == "cube":
        tilt = rng.normal(0, 0.04, 2)
        scene.box(
            (x, y, base / 2), (half, half * rng.uniform(0.7, 1), base / 2), BLOCK, mat, turn=turn, tilt=tilt
        )
    elif shape == "grooved":
        scene.box((x, y, base * 0.45), (half, half, base * 0.45), BLOCK, mat, turn=turn)
        for side in (-1, 1):
            at = (x - side * half * 0.75 * s, y + side * half * 0.75 * c, base * 0.6)
            scene.box(at, (half, half * 0.25, base * 0.6), BLOCK, mat, turn=turn)
    elif shape == "cylinder":
        scene.cylinder((x, y, 0), (x, y, base), half, BLOCK, mat)
    elif shape == "cone":
        for k in range(4):
            wide = half * (1 - 0.12 * k)
            scene.cylinder((x, y, base * k / 4), (x, y, base * (k + 1) / 4), wide, BLOCK, mat)
    elif shape == "taper":
        for k in range(4):
            wide = half * (1 - 0.1 * k)
            scene.box((x, y, base * (k + 0.5) / 4), (wide, wide, base / 8), BLOCK, mat, turn=turn)
    elif shape == "wheel":
        _wheel(scene, rng, x, y, base + family.diameter / 2, turn, mat)
    elif shape == "bar":
        scene.box(
            (x, y, base / 2),
            (half * rng.uniform(1.5, 3), half * 0.5, base / 2),
            BLOCK,
            mat,
            turn=turn + math.pi / 2,
        )
    elif shape == "fins":
        for k in range(int(rng.integers(2, 5))):
            scene.box(
                (x, y, base / 2), (half, rng.uniform(2, 5), base / 2), BLOCK, mat, turn=turn + k * math.pi / 3
            )
        if rng.random() < 0.5:
            scene.cylinder((x, y, 0), (x, y, base * 0.3), half * 0.8, BLOCK, mat)
    elif shape == "vanes":
        _vanes(scene, rng, x, y, base, half, turn, mat)
    else:
        scene.cylinder((x, y, base * 0.55), (x, y, base), half * 0.45, BLOCK, mat)
        for k in range(4):
            a = turn + k * math.pi / 2 + math.pi / 4
            foot = (x + half * math.cos(a), y + half * math.sin(a), 0)
            scene.cylinder(foot, (x + 4 * math.cos(a), y + 4 * math.sin(a), base * 0.9), 3.2, BLOCK, mat)
        if rng.random() < 0.5:
            scene.cylinder((x, y, 0), (x, y, 3), half, BLOCK, mat)


def _vanes(scene, rng, x, y, base, half, turn, mat) -> None:
    """A dish or a ring on the deck with a few broad vanes on it that lean towards the bar's seat, or away from it."""
    if rng.random() < 0.75:
        scene.cylinder((x, y, 0), (x, y, base * rng.uniform(0.08, 0.3)), half, BLOCK, mat)
    count = int(rng.integers(2, 6))
    lean, thick, high = rng.uniform(-0.35, 0.75), rng.uniform(1.2, 3.0), base * rng.uniform(0.7, 1.1) / 2
    radial = rng.random() < 0.4
    wide, out = half * rng.uniform(0.3, 0.7), half * rng.uniform(0.35, 0.85)
    for k in range(count):
        a = turn + 2 * math.pi * k / count
        at = (x + out * math.cos(a), y + out * math.sin(a), high)
        tilt = (0.0, 0.0) if radial else (lean, 0.0)
        size = (wide, thick, high) if radial else (thick, wide, high)
        scene.box(at, size, BLOCK, mat, turn=a, tilt=tilt)
    if rng.random() < 0.4:
        scene.cylinder((x, y, base * 0.5), (x, y, base), half * rng.uniform(0.25, 0.5), BLOCK, mat)


def _wheel(scene, rng, x, y, radius, turn, mat) -> None:
    """A wheel clipped onto a bar: full, in two discs, or a rim with spokes."""
    c, s = math.cos(turn), math.sin(turn)
    thick = rng.uniform(3, 9)
    if rng.random() < 0.5:
        for a in (-5, 5) if rng.random() < 0.4 else (0,):
            one = (x + (a - thick / 2) * c, y + (a - thick / 2) * s, radius)
            scene.cylinder(one, (one[0] + thick * c, one[1] + thick * s, radius), radius * 0.98, BLOCK, mat)
        return
    corners = 10
    rim = [
        (
            x - radius * 0.9 * math.cos(a) * s,
            y + radius * 0.9 * math.cos(a) * c,
            radius * (1 + 0.9 * math.sin(a)),
        )
        for a in np.arange(corners) * 2 * math.pi / corners
    ]
    for k in range(corners):
        scene.cylinder(rim[k], rim[(k + 1) % corners], thick / 2, BLOCK, mat)
        if k % 2 == 0:
            scene.cylinder(rim[k], (x, y, radius), thick / 3, BLOCK, mat)


def _chair(scene, rng, x, y, base, direction, mat) -> None:
    """A high chair under a top mat: bent wire, or a plastic tower on feet."""
    turn = direction + (0.0 if rng.random() < 0.7 else rng.uniform(0, math.pi))
    c, s = math.cos(turn), math.sin(turn)
    half, foot, r = rng.uniform(25, 110), rng.uniform(20, 60), rng.choice((1.8, 2.5, 3.0, 4.0, 5.0, 6.0))
    tone = (0.2, 0.13, 0.1) if rng.random() < 0.5 else (0.35, 0.35, 0.36)
    wire = scene.material(np.array(tone) * rng.uniform(0.4, 1.8), gloss=rng.uniform(0.1, 0.5))
    if rng.random() < 0.2:
        for k in range(4):
            a = turn + k * math.pi / 2
            end = (x + foot * math.cos(a), y + foot * math.sin(a), r)
            scene.cylinder((x, y, base - 3), end, max(r, 3.0), CHAIR, mat)
        scene.cylinder((x, y, base - 8), (x, y, base), 0.5 * foot, CHAIR, mat)
        return
    feet = rng.random() < 0.4
    for sign in (-1, 1):
        top = (x + sign * half * c, y + sign * half * s, base - r)
        scene.cylinder(top, (x, y, base - r), r, CHAIR, wire)
        for side in (-1, 1):
            end = (top[0] - side * foot * s, top[1] + side * foot * c, r)
            scene.cylinder(top, end, r, CHAIR, wire)
            if feet:
                out = (end[0] + sign * 0.5 * foot * c, end[1] + sign * 0.5 * foot * s, r)
                scene.cylinder(end, out, r, CHAIR, wire)


def dirty_sheet(scene: Scene, rng: np.random.Generator, most: float) -> int:
    """Add the material of a printed sheet of which up to such a share is dirty, and return its number."""
    return scene.material(
        (0.8, 0.8, 0.8),
        second=np.array([0.35, 0.28, 0.2]) * rng.uniform(0.5, 1.5),
        share=rng.uniform(0, most),
        scale=rng.uniform(15, 70),
        gloss=rng.uniform(0.0, 0.15),
        kind=2,
        seed=int(rng.integers(9999)),
    )


def _board(scene: Scene, rng: np.random.Generator, top: float) -> None:
    if rng.random() < 0.06:
        return
    paper = str(rng.choice(("A4", "A3", "A5"), p=(0.75, 0.15, 0.10)))
    scene.page = board_page(paper, rng)
    h, w = scene.page.shape[0] / 2, scene.page.shape[1] / 2
    dirt = dirty_sheet(scene, rng, 0.6)
    x, y = rng.normal(0, 170, 2)
    tilt = np.tan(np.radians(rng.uniform(-1.6, 1.6, 2)))
    turn = rng.uniform(0, 2 * math.pi)
    thick = rng.uniform(1, 4)
    c, s = math.cos(turn), math.sin(turn)
    up_x, up_y = np.array([c, s, tilt[0]]), np.array([s, -c, tilt[1]])
    up_x /= np.linalg.norm(up_x)
    up_y -= up_x * (up_y @ up_x)
    up_y /= np.linalg.norm(up_y)
    z = top + thick / 2 + 0.25 * (abs(tilt[0]) * w + abs(tilt[1]) * h)
    scene.prims.append(
        [1, BOARD, dirt, 1, x, y, z, w / 2, h / 2, thick / 2, 0, 0, *up_x, *up_y, 0, -1.0, 0, 0, 0, 0]
    )


def _conduits(scene: Scene, rng: np.random.Generator, hard: int, reach: float) -> None:
    for _ in range(
        int(rng.choice(4, p=((0.4, 0.4, 0.15, 0.05), (0.25, 0.4, 0.2, 0.15), (0.25, 0.4, 0.2, 0.15))[hard]))
    ):
        colour = np.array(
            (
                (0.8, 0.8, 0.8),
                (0.75, 0.28, 0.04),
                (0.02, 0.02, 0.02),
                (0.05, 0.1, 0.4),
                (0.3, 0.3, 0.3),
                (0.4, 0.02, 0.02),
            )
        )[rng.choice(6, p=(0.2, 0.16, 0.26, 0.1, 0.18, 0.1))] * rng.uniform(0.6, 1.1)
        mat = scene.material(
            colour,
            second=colour * 0.6,
            share=rng.uniform(0, 0.4),
            scale=40,
            gloss=rng.uniform(0.05, 0.4),
            kind=3 if rng.random() < 0.5 else 1,
            pitch=rng.uniform(3, 7),
            rib=rng.uniform(0, 0.6),
            seed=int(rng.integers(9999)),
        )
        radius = rng.uniform(7, 20)
        z = rng.uniform(radius, 75)
        heading = rng.uniform(0, 2 * math.pi)
        p = rng.normal(0, 500, 2) - reach * 0.9 * np.array([math.cos(heading), math.sin(heading)])
        curl = rng.normal(0, 0.07) if rng.random() < 0.7 else 0.0
        for k in range(int(2 * reach / 130)):
            q = p + 130 * np.array([math.cos(heading), math.sin(heading)])
            scene.cylinder((*p, z), (*q, z), radius, CONDUIT, mat, seed=3, along=130.0 * k)
            p, heading = q, heading + curl + rng.normal(0, 0.02)
            curl *= 0.97
    if rng.random() < 0.3:
        mat = scene.material(rng.uniform(0.05, 0.6, 3), gloss=0.15)
        x, y = rng.normal(0, 450, 2)
        scene.box(
            (x, y, 25), (rng.uniform(35, 60), rng.uniform(35, 60), 25), CONDUIT, mat, turn=rng.uniform(0, 3)
        )


def _debris(scene: Scene, rng: np.random.Generator, hard: int, reach: float) -> None:
    """Things that lie about; four in ten of them at a bar, where the wind or a boot has pushed them."""
    bars = [p for p in scene.prims if p[0] == 0 and 1 <= p[1] <= 4]
    for _ in range(int(rng.integers(0, (8, 24, 36)[hard]))):
        x, y = rng.uniform(-1, 1, 2) * min(reach, 1500)
        if bars and rng.random() < 0.4:
            bar = bars[rng.integers(len(bars))]
            x, y = np.array(bar[4:6]) + rng.random() * bar[10] * np.array(bar[7:9]) + rng.normal(0, 14, 2)
        colour = (
            rng.uniform(0.05, 0.8, 3)
            if rng.random() < 0.4
            else np.array([0.5, 0.38, 0.22]) * rng.uniform(0.4, 1.6)
        )
        mat = scene.material(colour, second=colour * 0.5, share=0.3, scale=15, seed=int(rng.integers(9999)))
        turn = rng.uniform(0, math.pi)
        what = rng.choice(DEBRIS_KINDS, p=DEBRIS_SHARES)
        if what == "crumpled":
            _crumpled(scene, rng, x, y)
        elif what == "pebble":
            wide, high = rng.uniform(5, 18), rng.uniform(4, 18)
            for k in range(3):
                top = high * (k + 1) / 3
                scene.cylinder(
                    (x, y, top - high / 3), (x + rng.normal(0, 1), y, top), wide * (1 - 0.22 * k), DEBRIS, mat
                )
        elif what == "loop":
            _loop(scene, rng, x, y)
        elif what == "paper":
            _sheet(scene, rng, x, y, turn, mat)
        elif what == "cup":
            a = (x + 70 * math.cos(turn), y + 70 * math.sin(turn), 35)
            scene.cylinder((x, y, 35), a, 35, DEBRIS, mat)
        elif what == "leaf":
            _leaf(scene, rng, x, y, turn)
        elif what == "offcut":
            scene.box((x, y, 12), (rng.uniform(25, 160), rng.uniform(9, 40), 12), DEBRIS, mat, turn=turn)
        elif what == "chip":
            scene.box((x, y, 5), (rng.uniform(6, 22), rng.uniform(4, 15), 5), DEBRIS, mat, turn=turn)
        else:
            r, half = rng.uniform(1, 6), rng.uniform(30, 180)
            steel = scene.material(np.array([0.25, 0.17, 0.12]) * rng.uniform(0.4, 1.8), gloss=0.2)
            c, s = half * math.cos(turn), half * math.sin(turn)
            scene.cylinder((x - c, y - s, r), (x + c, y + s, r), r, DEBRIS, steel)


def _leaf(scene: Scene, rng: np.random.Generator, x: float, y: float, turn: float) -> None:
    """A leaf: overlapping discs along its rib, round or pointed at the ends; many are folded along the rib or bent."""
    green = np.array([rng.uniform(0.02, 0.2), rng.uniform(0.12, 0.5), rng.uniform(0.02, 0.12)])
    if rng.random() < 0.4:
        green *= rng.uniform(0.25, 0.6)
    colour = green if rng.random() < 0.65 else np.array([0.45, 0.25, 0.10]) * rng.uniform(0.3, 1.7)
    folded = rng.random() < 0.6
    half, wide, point = rng.uniform(12, 60), rng.uniform(6, 22), rng.uniform(0.5, 1.1)
    bend, lift = rng.normal(0, 0.25), rng.uniform(0, 5) if rng.random() < 0.4 else 0.0
    gloss = rng.uniform(0.05, 0.5)
    c, s = math.cos(turn), math.sin(turn)
    for side in (-0.45, 0.45) if folded else (0.0,):
        tone = np.clip(colour * (rng.uniform(0.5, 1.5) if folded else 1.0), 0, 0.9)
        mat = scene.material(
            tone, second=tone * 0.4, share=0.4, scale=8, gloss=gloss, seed=int(rng.integers(9999))
        )
        slope = rng.uniform(-6, 10) if folded else 0.0
        for t in np.linspace(-0.95, 0.95, 21):
            r = wide * (1.02 - t * t) ** point * (0.6 if folded else 1.0)
            aside = side * r * 1.5 + bend * half * (t * t - 0.3)
            px, py = x + t * half * c - aside * s, y + t * half * s + aside * c
            z = 3 + lift * t * t + 0.03 * rng.random()
            scene.cylinder((px, py, z - 1), (px - slope * s * 0.2, py + slope * c * 0.2, z), r, DEBRIS, mat)


def _sheet(scene: Scene, rng: np.random.Generator, x: float, y: float, turn: float, mat: int) -> None:
    """A sheet of paper or film, flat or folded once."""
    half = (rng.uniform(15, 110), rng.uniform(15, 80), 0.8)
    if rng.random() < 0.5:
        scene.box((x, y, 2), half, DEBRIS, mat, turn=turn, tilt=rng.normal(0, 0.02, 2))
        return
    lean = rng.uniform(0.05, 0.6)
    for side in (-1, 1):
        at = (x + side * half[0] * math.cos(turn), y + side * half[0] * math.sin(turn), 2 + lean * half[0])
        tilt = (-side * lean if rng.random() < 0.8 else 0.0, 0.0)
        scene.box(at, half, DEBRIS, mat, turn=turn, tilt=tilt)


def _crumpled(scene: Scene, rng: np.random.Generator, x: float, y: float) -> None:
    """A crumpled sheet: facets that lean against each other."""
    tone = np.array([0.75, 0.73, 0.68]) if rng.random() < 0.6 else rng.uniform(0.1, 0.7, 3)
    mat = scene.material(tone * rng.uniform(0.6, 1.1), second=tone * 0.7, share=0.3, scale=20)
    size = rng.uniform(14, 50)
    for _ in range(int(rng.integers(2, 6))):
        at = (x + rng.normal(0, 0.5) * size, y + rng.normal(0, 0.5) * size, rng.uniform(3, 14))
        half = (size * rng.uniform(0.4, 1), size * rng.uniform(0.4, 1), 0.6)
        scene.box(at, half, DEBRIS, mat, turn=rng.uniform(0, math.pi), tilt=rng.normal(0, 0.2, 2))


def _loop(scene: Scene, rng: np.random.Generator, x: float, y: float) -> None:
    """A loose loop of tie wire."""
    wire = scene.material(np.array([0.12, 0.10, 0.09]) * rng.uniform(0.4, 2.5), gloss=0.3)
    bends = int(rng.integers(4, 9))
    angles = np.linspace(0, rng.uniform(3, 7), bends)
    radius = rng.uniform(10, 45) * rng.uniform(0.7, 1.3, bends)
    points = np.stack(
        [x + radius * np.cos(angles), y + radius * np.sin(angles), rng.uniform(1, 25, bends)], axis=1
    )
    for a, b in pairwise(points):
        scene.cylinder(a, b, 1.0, DEBRIS, wire)


def _shadows(scene: Scene, rng: np.random.Generator) -> None:
    """People and columns out of view that throw shadows."""
    if scene.light[3] <= 0:
        return
    mat = scene.material((0.1, 0.1, 0.1))
    sun = np.asarray(scene.light[:3], float)
    if rng.random() < 0.45:
        spot = np.array([*rng.normal(0, 600, 2), 0]) + sun * rng.uniform(900, 2200) / max(sun[2], 0.2)
        x, y = spot[0], spot[1]
        z = max(spot[2], 2300.0)
        scene.cylinder((x, y, z), (x, y, z + 700), 220, NONE, mat, visible=0)
        scene.cylinder((x, y, z + 750), (x, y, z + 1000), 110, NONE, mat, visible=0)
        for side in (-1, 1):
            scene.cylinder((x + side * 120, y, z - 800), (x + side * 120, y, z), 80, NONE, mat, visible=0)
            hand = (x + side * 500 * rng.random(), y + 400 * rng.random(), z + rng.uniform(100, 600))
            scene.cylinder((x + side * 250, y, z + 600), hand, 55, NONE, mat, visible=0)
    if rng.random() < 0.25:
        spot = np.array([*rng.normal(0, 700, 2), 0]) + sun * 2500 / max(sun[2], 0.15)
        turn = rng.uniform(0, math.pi)
        scene.box(
            (spot[0], spot[1], max(spot[2], 2600.0)),
            (rng.uniform(60, 350), 4000, 150),
            NONE,
            mat,
            turn=turn,
            visible=0,
        )
