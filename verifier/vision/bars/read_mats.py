"""All layers of a photo: the mat that the board lies on, and a mat below it seen through its meshes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import percentile
from verifier.vision.bars.crossings import as_they_cross
from verifier.vision.bars.find_bars import FoundLayer, find_layers
from verifier.vision.bars.label_raster import STEP_S_MM
from verifier.vision.bars.layer_axes import Floats, Map, MatMaps, Plane
from verifier.vision.bars.layer_directions import Directions, layer_directions
from verifier.vision.bars.layer_planes import moved_to, plane_depths_mm
from verifier.vision.bars.read_layers import ReadBar, ReadLayer, read_layer

FAR_DEPTHS_MM = (130.0, 140.0)
"""Depth at which the lower mat is sought. Lines stay lines at any depth; nothing is measured there."""

LEAST_STRENGTH = 0.3

LEAST_FAR_WHOLE = 0.5
"""Share of its line within reach that must show a bar of the mat below. What is seen along less of it is mostly a lapped bar of
the near mat, a shadow, or a line through places where bars cross; leaving one out costs nothing, for no gap of that mat is
stated."""


LEAST_MAT_SHARE = 0.5
"""A bar of which the labels say more of the mat below than of this one is not of this mat. Its lines are found again there."""


@dataclass(frozen=True, slots=True)
class Card:
    """The scale board as it lies there: centre and size in board coordinates, thickness, all in mm."""

    centre_mm: tuple[float, float]
    size_mm: tuple[float, float]
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class BarMaps:
    """Label maps that concern bars.

    Attributes:
        near_upper, near_lower, far_upper, far_lower: (h, w) probabilities.
        centre: (h, w) centre-line cue.
        px_per_cell: Full-size pixels per cell, x and y.
    """

    near_upper: Map
    near_lower: Map
    far_upper: Map
    far_lower: Map
    centre: Map
    px_per_cell: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Mats:
    """Layers of the near mat, upper first, and of a mat below."""

    near: tuple[ReadLayer, ...]
    far: tuple[ReadLayer, ...]


@dataclass(frozen=True, slots=True)
class SoughtMats:
    """Where the bars of a photo are sought: on which plane, around which board, in which label maps and directions.

    Attributes:
        plane: Metric model of the photo.
        card: The scale board.
        reach_mm: Radius around the board within which bars are sought.
        near, far: Label maps of the mat that the board lies on, and of a mat below.
        near_deg, far_deg: Directions of their upper and lower layers in board coordinates; None where hardly any is labelled.
    """

    plane: Plane
    card: Card
    reach_mm: float
    near: MatMaps
    far: MatMaps
    near_deg: Directions
    far_deg: Directions

    @property
    def depths_mm(self) -> tuple[float, float]:
        """Depths of the near mat's axes below the printed face, upper first, as long as no bar has been measured."""
        return plane_depths_mm(self.card.thickness_mm, None, None)

    @property
    def lowest_rad(self) -> float:
        """Direction of the lowest bars; a mat below lies as the one above it does, and the labels show that one better."""
        told = (self.near_deg[1], self.near_deg[0], self.far_deg[1], self.far_deg[0])
        return math.radians(next((d for d in told if d is not None), 0.0))

    @property
    def lowest_depth_mm(self) -> float:
        """Presumed depth of the near mat's lowest axes below the printed face."""
        return self.depths_mm[self.near_deg[1] is not None]

    def layers(
        self, maps: MatMaps, deg: Directions, heights_mm: tuple[float, float]
    ) -> tuple[FoundLayer, ...]:
        """Find the bars of one mat.

        Args:
            maps: Its label maps.
            deg: Directions of its layers.
            heights_mm: Depth of its upper and of its lower axes below the printed face.

        Returns:
            Upper layer first; layers without any bar are left out.
        """
        return find_layers(
            maps,
            self.plane,
            deg,
            heights_mm=heights_mm,
            centre_mm=self.card.centre_mm,
            reach_mm=self.reach_mm,
            board_mm=self.card.size_mm,
        )


@dataclass(frozen=True, slots=True)
class FoundMats:
    """Layers of the near mat and of a mat below as the labels show them, with the maps that show them.

    Attributes:
        near, far: Layers of each, upper first.
        near_maps, far_maps: Label maps of each.
    """

    near: tuple[FoundLayer, ...]
    far: tuple[FoundLayer, ...]
    near_maps: MatMaps
    far_maps: MatMaps

    def depth_mm(self, card: Card) -> float:
        """Depth of the lowest axes of the near mat below the printed face, by the widths that the labels give.

        Args:
            card: The board, with its thickness.

        Returns:
            Depth. [mm]
        """
        width = [t.width_mm for layer in self.near for t in layer.tracks if math.isfinite(t.width_mm)]
        # A shadow beside a bar can only widen the labelled band.
        diameter = float(percentile(np.array(width), 25.0)) if width else None
        return plane_depths_mm(card.thickness_mm, diameter, diameter)[len(self.near) > 1]


def seek_mats(
    maps: BarMaps, photo_px: tuple[int, int], plane: Plane, card: Card, *, reach_mm: float
) -> SoughtMats:
    """Look which way the bars of all layers run.

    Args:
        maps: Label maps.
        photo_px: Width and height of the photo.
        plane: Metric model of the photo.
        card: The scale board.
        reach_mm: Radius around the board within which bars are sought.

    Returns:
        Where to seek the bars themselves.
    """
    near = MatMaps(maps.near_upper, maps.near_lower, maps.centre, maps.px_per_cell, photo_px)
    far = MatMaps(maps.far_upper, maps.far_lower, maps.centre, maps.px_per_cell, photo_px)
    first = plane_depths_mm(card.thickness_mm, None, None)
    near_deg, far_deg = (
        layer_directions(m, plane, depths, card.centre_mm, reach_mm)
        for m, depths in ((near, first), (far, FAR_DEPTHS_MM))
    )
    return SoughtMats(plane, card, reach_mm, near, far, near_deg, far_deg)


def find_mats(sought: SoughtMats) -> FoundMats:
    """Find the bars of all layers in the labels.

    Args:
        sought: Where to seek them.

    Returns:
        The layers, on planes whose depths are only assumed.
    """
    near = sought.layers(sought.near, sought.near_deg, sought.depths_mm)
    far = sought.layers(sought.far, sought.far_deg, FAR_DEPTHS_MM)
    if _seen(far) <= 3.0 * _seen(near):
        return FoundMats(near, far, sought.near, sought.far)
    # The board lies on the uppermost steel: a lone mat is the near one, whatever the labels say.
    lone = sought.layers(sought.far, sought.far_deg, sought.depths_mm)
    return FoundMats(lone, (), sought.far, sought.far)


def read_mats(image: NDArray[np.uint8], plane: Plane, found: FoundMats, card: Card) -> Mats:
    """Fit the bars of all layers on the full-size pixels.

    Args:
        image: Upright full-size photo.
        plane: Metric model of the photo.
        found: The layers from the labels.
        card: The scale board.

    Returns:
        The layers, each on its own plane; the far mat on a plane whose depth is only assumed.
    """
    near = [r for f in found.near if (r := read_layer(image, found.near_maps, plane, f)) is not None]
    near = [replace(layer, bars=_sound(layer)) for layer in near]
    if found.far:
        near = [_of_this_mat(layer, plane, found.near_maps, found.far_maps) for layer in near]
        near = [layer for layer in near if layer.bars]
    near = as_they_cross(image, plane, near, found.near)
    # Of the mat below nothing is measured, nor are laps told: seen through the meshes a bar ends everywhere.
    far = [r for f in found.far if (r := read_layer(image, found.far_maps, plane, f, laps=False)) is not None]
    far = [
        replace(layer, bars=tuple(b for b in _sound(layer) if b.whole >= LEAST_FAR_WHOLE)) for layer in far
    ]
    far = [layer for layer in _without_doubles(plane, near, far) if len(layer.bars) > 1]
    far = as_they_cross(image, plane, far, found.far)
    return Mats(_on_their_planes(plane, near, card), tuple(far))


def _seen(found: tuple[FoundLayer, ...]) -> float:
    return sum(t.seen_mm for layer in found for t in layer.tracks)


def _sound(layer: ReadLayer) -> tuple[ReadBar, ...]:
    """Bars that labels and edges both show well enough."""
    return tuple(b for b in layer.bars if b.strength >= LEAST_STRENGTH)


def _of_this_mat(layer: ReadLayer, plane: Plane, own: MatMaps, other: MatMaps) -> ReadLayer:
    """The layer without bars that the labels give to the other mat, each bar with its own mat's share."""
    told = (_along(layer, b, plane, own, other) for b in layer.bars)
    bars = (replace(b, mat_share=share) for b, share in zip(layer.bars, told, strict=True))
    return replace(layer, bars=tuple(b for b in bars if b.mat_share >= LEAST_MAT_SHARE))


def _along(layer: ReadLayer, bar: ReadBar, plane: Plane, own: MatMaps, other: MatMaps) -> float:
    # Beyond the part that is measured alone, a bar goes on in its lap.
    runs = (bar.seen_s_mm,) if bar.lap_ends is None else (bar.seen_s_mm, bar.beside_s_mm or bar.seen_s_mm)
    stations = np.arange(min(low for low, _ in runs), max(high for _, high in runs), STEP_S_MM)
    cell = (layer.points_px(plane, bar, stations) + 0.5) / np.asarray(own.px_per_cell) - 0.5
    x, y = cell.astype(np.float32).T[:, None, :]
    mine, theirs = (
        sum(float(cv2.remap(m, x, y, cv2.INTER_LINEAR).sum()) for m in (maps.upper, maps.lower))
        for maps in (own, other)
    )
    return mine / max(mine + theirs, 1e-9)


def _on_their_planes(plane: Plane, near: list[ReadLayer], card: Card) -> tuple[ReadLayer, ...]:
    """Move the layers to the depths that their measured diameters give."""
    by_position = {layer.position: layer.diameter_mm for layer in near}
    depths = plane_depths_mm(card.thickness_mm, by_position.get("upper"), by_position.get("lower"))
    return tuple(moved_to(layer, plane, depths[layer.position == "lower"]) for layer in near)


def _without_doubles(plane: Plane, near: list[ReadLayer], far: list[ReadLayer]) -> list[ReadLayer]:
    """Leave out far bars that lie on a near bar in the picture: one bar, labelled as two."""
    lines = [
        (layer.points_px(plane, b, np.linspace(*b.seen_s_mm, 25)), b) for layer in near for b in layer.bars
    ]
    out = []
    for layer in far:
        keep = tuple(
            b
            for b in layer.bars
            if not any(
                _overlaid(layer.points_px(plane, b, np.linspace(*b.seen_s_mm, 15)), line, 8.0 / other.px_mm)
                for line, other in lines
            )
        )
        out.append(replace(layer, bars=keep))
    return out


def _overlaid(points: Floats, line: Floats, within_px: float) -> bool:
    """Whether more than half of the points lie on the polyline."""
    start, step = line[:-1], np.diff(line, axis=0)
    length2 = np.maximum((step**2).sum(axis=1), 1e-9)
    t = np.clip(((points[:, None] - start) * step).sum(axis=2) / length2, 0.0, 1.0)
    apart = np.linalg.norm(start + t[..., None] * step - points[:, None], axis=2).min(axis=1)
    return bool(np.mean(apart < within_px) > 0.5)
