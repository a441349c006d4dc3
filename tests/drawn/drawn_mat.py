"""A drawn mat: bars, shadows and a lap under a pinhole camera, with exact axes, and the label maps they would give."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import cv2
import numpy as np

WIDTH, HEIGHT = 1600, 1200
CELL_PX = 1600 / 512


@dataclass(frozen=True)
class Pinhole:
    """Camera above the board: x right, y down, depth away from the camera; tilt turns it about the board's x axis."""

    focal_px: float = 1250.0
    height_mm: float = 1300.0
    tilt_deg: float = 8.0

    def rotation(self):
        a = math.radians(self.tilt_deg)
        return np.array([[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]])

    def to_px(self, mm, height_below_face_mm):
        mm = np.asarray(mm, float).reshape(-1, 2)
        points = np.c_[mm, np.full(len(mm), height_below_face_mm)] @ self.rotation().T
        points = points + np.array([0.0, 0.0, self.height_mm])
        return points[:, :2] / points[:, 2:] * self.focal_px + [(WIDTH - 1) / 2, (HEIGHT - 1) / 2]

    def to_plane_mm(self, px, height_below_face_mm):
        rays = np.c_[
            (np.asarray(px, float).reshape(-1, 2) - [(WIDTH - 1) / 2, (HEIGHT - 1) / 2]) / self.focal_px,
            np.ones(len(np.asarray(px).reshape(-1, 2))),
        ]
        rays = rays @ self.rotation()
        eye = -self.rotation().T @ [0, 0, self.height_mm]
        return (eye + rays * ((height_below_face_mm - eye[2]) / rays[:, 2])[:, None])[:, :2]


@dataclass(frozen=True)
class DrawnBar:
    """One straight or bowed bar: offset across at s = 0, turn, bow over a metre, and from where to where it runs."""

    offset_mm: float
    turn_mm_per_m: float = 0.0
    bow_mm: float = 0.0
    from_mm: float = -3000.0
    to_mm: float = 3000.0

    def across(self, s):
        z = np.asarray(s) / 1000.0
        return self.offset_mm + self.turn_mm_per_m * z + self.bow_mm * z * z


@dataclass(frozen=True)
class DrawnLayer:
    direction_deg: float
    depth_mm: float
    diameter_mm: float
    bars: tuple[DrawnBar, ...]


@dataclass(frozen=True)
class Drawing:
    """What is drawn. ``shadow_mm`` is how far beside each bar its shadow falls (None: overcast)."""

    upper: DrawnLayer
    lower: DrawnLayer
    camera: Pinhole = field(default_factory=Pinhole)
    shadow_mm: float | None = None
    lit_side: float = 0.0
    blur_px: float = 0.8
    noise: float = 3.0
    seed: int = 0


def layer(
    direction_deg,
    depth_mm,
    diameter_mm,
    spacing_mm,
    rng,
    *,
    scatter_mm=5.0,
    turn_mm=4.0,
    bow_mm=2.0,
    count=12,
):
    """A layer of bars with scatter, around the board."""
    bars = tuple(
        DrawnBar(
            offset_mm=(k - count / 2 + 0.3) * spacing_mm + rng.normal(0, scatter_mm),
            turn_mm_per_m=rng.normal(0, turn_mm),
            bow_mm=rng.normal(0, bow_mm),
        )
        for k in range(count)
    )
    return DrawnLayer(direction_deg, depth_mm, diameter_mm, bars)


def draw(drawing):
    """The picture (h, w, 3) and the label maps (upper, lower, centre), cells of ``CELL_PX``."""
    rng = np.random.default_rng(drawing.seed)
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    px = np.c_[x.ravel(), y.ravel()].astype(float)
    deck = 120 + 10 * cv2.resize(rng.normal(size=(60, 80)), (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
    picture = deck.astype(np.float32)
    for one in (drawing.lower, drawing.upper):
        if drawing.shadow_mm is not None:
            _paint(picture, px, drawing, one, shadow=True)
    for one in (drawing.lower, drawing.upper):
        _paint(picture, px, drawing, one, shadow=False)
    picture = cv2.GaussianBlur(picture, (0, 0), drawing.blur_px)
    picture = picture + rng.normal(0, drawing.noise, picture.shape)
    grey = np.clip(np.rint(picture), 0, 255).astype(np.uint8)
    return cv2.merge([grey, grey, grey]), _maps(drawing)


def _paint(picture, px, drawing, one, *, shadow):
    mm_px = drawing.camera.height_mm / drawing.camera.focal_px
    s, n = _station(drawing.camera, px, one)
    for bar in one.bars:
        beside = n - bar.across(s) - (drawing.shadow_mm if shadow else 0.0)
        inside = np.clip((one.diameter_mm / 2 - np.abs(beside)) / mm_px + 0.5, 0, 1)
        inside = inside * ((s >= bar.from_mm) & (s <= bar.to_mm))
        across = np.clip(beside / (one.diameter_mm / 2), -1, 1)
        tone = 55.0 if shadow else 60.0 + 25.0 * np.sqrt(1 - across**2) + 45.0 * drawing.lit_side * across
        flat = picture.ravel()
        picture[...] = (flat * (1 - inside) + tone * inside).reshape(picture.shape)


def _station(camera, px, one):
    mm = camera.to_plane_mm(px, one.depth_mm)
    a = math.radians(one.direction_deg)
    return mm @ [math.cos(a), math.sin(a)], mm @ [-math.sin(a), math.cos(a)]


def _maps(drawing):
    """Label maps as a good network would give them: soft, a few pixels a cell, upper bars hiding lower ones."""
    h, w = round(HEIGHT / CELL_PX), round(WIDTH / CELL_PX)
    y, x = np.mgrid[0:h, 0:w]
    px = np.c_[(x.ravel() + 0.5) * CELL_PX - 0.5, (y.ravel() + 0.5) * CELL_PX - 0.5]
    cell_mm = CELL_PX * drawing.camera.height_mm / drawing.camera.focal_px
    out = []
    centre = np.zeros(h * w)
    for one in (drawing.upper, drawing.lower):
        s, n = _station(drawing.camera, px, one)
        covered = np.zeros(h * w)
        for bar in one.bars:
            beside = np.abs(n - bar.across(s))
            there = (s >= bar.from_mm) & (s <= bar.to_mm)
            covered = np.maximum(
                covered, there * np.clip((one.diameter_mm / 2 - beside) / cell_mm + 0.5, 0, 1)
            )
            centre = np.maximum(centre, there * np.exp(-0.5 * (beside / (0.8 * cell_mm)) ** 2))
        out.append(cv2.GaussianBlur(covered.reshape(h, w).astype(np.float32), (0, 0), 0.7))
    upper = out[0]
    lower = out[1] * (1 - upper)
    return upper, lower.astype(np.float32), centre.reshape(h, w).astype(np.float32)
