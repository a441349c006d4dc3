"""What is measured once the board gives a photo its metric model: bars, gaps, laps, what carries the bars, what lies about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.vision.bars.diameters import Series
from verifier.vision.bars.layer_axes import Plane
from verifier.vision.bars.layer_results import far_layer_result, layer_results
from verifier.vision.bars.mat_metric import MatMetric
from verifier.vision.bars.mat_plane import MatShape, bar_points, estimate_shape
from verifier.vision.bars.read_layers import ReadLayer
from verifier.vision.bars.read_mats import BarMaps, Card, Mats, SoughtMats, find_mats, read_mats, seek_mats
from verifier.vision.beside import beside
from verifier.vision.halves import Halves
from verifier.vision.labels import LabelMap
from verifier.vision.metric.geometry import PhotoGeometry
from verifier.vision.photo_measurement import (
    BoardSeen,
    Layer,
    Method,
    PhotoFacts,
    PhotoMeasurement,
    Region,
    Saying,
    Support,
)
from verifier.vision.supports.block_views import Hints, SeenBlock, see_blocks
from verifier.vision.supports.supports import Ground, along_bar, chairs, cover_blocks, regions

Pixels = NDArray[np.uint8]

CARD_MARGIN_MM = 16.0
"""White margin of a card around its checkered field, at least; bars can't be seen under it."""


@dataclass(frozen=True, slots=True)
class Scene:
    """A photo that can be measured, with all that is needed for it.

    Attributes:
        halves: The photo, upright, and its halves.
        geometry: Its metric model, by the boards in it.
        labels: What the labels say of it.
        reach_mm: Radius around the board within which gaps are measured.
        series: Series of nominal bar sizes.
    """

    halves: Halves
    geometry: PhotoGeometry
    labels: LabelMap
    reach_mm: float
    series: Series

    @property
    def photo(self) -> Pixels:
        """The photo in full size, (h, w, 3)."""
        return self.halves.pictures[0]

    @property
    def centre_mm(self) -> tuple[float, float]:
        """The middle of the board, in board coordinates."""
        x, y = self.geometry.centre_mm
        return float(x), float(y)


def measure_mat(scene: Scene, facts: PhotoFacts, seen: BoardSeen, method: Method) -> PhotoMeasurement:
    """Measure the mat around a board.

    Args:
        scene: The photo.
        facts: What the photo is.
        seen: The board as it was seen.
        method: By what is measured.

    Returns:
        The measurement; ``usable`` false, with what to do, where no bars are found.
    """
    metric = MatMetric(scene.geometry)
    card = _card(scene.geometry)
    reach = scene.reach_mm
    height, width = scene.photo.shape[:2]
    sought = seek_mats(_bar_maps(scene.labels), (width, height), metric, card, reach_mm=reach)
    with beside(lambda: (_blocks_seen(scene, sought), _regions(scene, metric, card))) as lying_about:
        found = find_mats(sought)
        mats = read_mats(scene.photo, metric, found, card)
        near, far = _layers(scene, metric, mats)
        ground = Ground(metric, mats.near, found.depth_mm(card), reach, scene.centre_mm)
        chairs_seen = chairs(scene.labels.of("chair"), scene.labels.px_per_cell, ground)
        blocks_seen, marked = lying_about()
        blocks = cover_blocks(blocks_seen, ground, width, height)
    near = tuple(_with_supports(result, i, mats.near, blocks + chairs_seen) for i, result in enumerate(near))
    refusals = () if any(layer.bars for layer in near) else (_no_bars(),)
    return PhotoMeasurement(
        photo=facts,
        usable=not refusals,
        refusals=refusals,
        board=seen,
        layers=near + far,
        cover_blocks=blocks,
        chairs=chairs_seen,
        regions=marked,
        cautions=_cautions(scene, near),
        reach_mm=reach,
        centre_mm=scene.centre_mm,
        mat_to_px=_mat_to_px(metric, scene.centre_mm, near),
        method=method,
    )


def _regions(scene: Scene, metric: MatMetric, card: Card) -> tuple[Region, ...]:
    """What lies about on the mat, for a person to look at."""
    kinds: tuple[Literal["conduit", "debris", "water"], ...] = ("conduit", "debris", "water")
    maps = [(kind, scene.labels.of(kind)) for kind in kinds]
    return regions(maps, scene.labels.px_per_cell, metric, card.thickness_mm + 40.0)


def _card(geometry: PhotoGeometry) -> Card:
    board = geometry.boards[0]
    outline = board.outline_mm()
    x, y = geometry.centre_mm
    width, height = np.ptp(outline, axis=0) * geometry.print_scale.factor
    margin = 2.0 * CARD_MARGIN_MM
    return Card(
        (float(x), float(y)), (float(width) + margin, float(height) + margin), board.definition.thickness_mm
    )


def _bar_maps(labels: LabelMap) -> BarMaps:
    return BarMaps(
        labels.of("near_upper"),
        labels.of("near_lower"),
        labels.of("far_upper"),
        labels.of("far_lower"),
        labels.centre,
        labels.px_per_cell,
    )


def _blocks_seen(scene: Scene, sought: SoughtMats) -> tuple[SeenBlock, ...]:
    """What looks like a cover block: they stand on the deck, under the lowest bars."""
    labels = scene.labels
    return see_blocks(
        scene.halves,
        Hints(labels.of("block"), labels.px_per_cell),
        sought.plane,
        direction_rad=sought.lowest_rad,
        depth_mm=sought.lowest_depth_mm,
    )


def _layers(scene: Scene, metric: MatMetric, mats: Mats) -> tuple[tuple[Layer, ...], tuple[Layer, ...]]:
    """Results of the layers of the near mat, and of those of a mat below."""
    points = bar_points(metric, mats.near)

    def shape_of(model: MatMetric) -> MatShape:
        return estimate_shape(model, points, model)

    near = layer_results(
        metric,
        mats.near,
        shape_of,
        mat="near" if mats.far else "only",
        centre_mm=scene.centre_mm,
        reach_mm=scene.reach_mm,
        series=scene.series,
    )
    return near, tuple(far_layer_result(metric, layer) for layer in mats.far)


def _with_supports(
    result: Layer, index: int, layers: Sequence[ReadLayer], carried: Sequence[Support]
) -> Layer:
    """Pitches and unsupported lengths of the bars of a layer that carries supports."""
    mine = [s for s in carried if s.layer == index and s.position_mm is not None and s.confidence >= 0.5]
    if not mine:
        return result
    bars = list(result.bars)
    for i in range(len(bars)):
        at = [s.position_mm for s in mine if s.bar == i and s.position_mm is not None]
        along = along_bar(layers[index], i, at)
        bars[i] = bars[i].model_copy(
            update={"support_pitches_mm": along.pitches_mm, "unsupported_mm": along.unsupported_mm}
        )
    return result.model_copy(update={"bars": tuple(bars)})


def _no_bars() -> Saying:
    return Saying(
        reason="no-bars",
        say="No bars were found around the board. Lay the board on the bars to be measured, with a metre of the mat around it in the picture.",
    )


def _cautions(scene: Scene, near: Sequence[Layer]) -> tuple[str, ...]:
    out = []
    if scene.geometry.print_scale.caution:
        out.append(scene.geometry.print_scale.caution)
    if len(near) == 1:
        out.append("Only one layer was found; a mat has two. Check that the other is there.")
    if any(layer.mat == "near" for layer in near):
        out.append("A second mat is seen below; its gaps are not measured. Lay the board on it, or tape it.")
    return tuple(out)


def _mat_to_px(plane: Plane, centre_mm: tuple[float, float], near: Sequence[Layer]) -> tuple[float, ...]:
    """Homography from the plane of the uppermost bars to pixels, through four places around the board."""
    depth = next((layer.plane_below_face_mm for layer in near if layer.plane_below_face_mm), 8.0)
    around = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * 350.0 + centre_mm
    px = plane.to_px(around, float(depth or 8.0))
    warp = cv2.getPerspectiveTransform(around.astype(np.float32), px.astype(np.float32))
    return tuple(float(v) for v in np.asarray(warp).ravel())
