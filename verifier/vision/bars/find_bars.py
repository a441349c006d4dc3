"""From label maps to the layers of a mat: their directions, and every bar of each as a slightly bowed line on its plane."""

from __future__ import annotations

import math
from dataclasses import dataclass

from verifier.vision.bars.label_raster import lay
from verifier.vision.bars.layer_axes import LayerAxes, MatMaps, Plane
from verifier.vision.bars.layer_directions import Directions
from verifier.vision.bars.trace_bars import BarTrack, trace


@dataclass(frozen=True, slots=True)
class FoundLayer:
    """A layer's axes and its bar lines, in order across."""

    position: str
    axes: LayerAxes
    tracks: tuple[BarTrack, ...]

    @property
    def lean(self) -> float:
        """What the labels along its bars say, from 1 (an upper layer) to -1 (a lower one)."""
        up, low = sum(t.upper_mm for t in self.tracks), sum(t.lower_mm for t in self.tracks)
        return (up - low) / max(up + low, 1e-9)


def find_layers(
    maps: MatMaps,
    plane: Plane,
    directions_deg: Directions,
    *,
    heights_mm: tuple[float, float],
    centre_mm: tuple[float, float],
    reach_mm: float,
    board_mm: tuple[float, float],
) -> tuple[FoundLayer, ...]:
    """Find the layers of one mat and their bars.

    Args:
        maps: Label maps of this mat.
        plane: Metric model of the photo.
        directions_deg: Directions of the upper and lower layer in board coordinates; None where there is none.
        heights_mm: Depth of the upper and of the lower axis plane below the printed face.
        centre_mm: The board's centre in board coordinates.
        reach_mm: Radius around the board within which bars are sought.
        board_mm: Width and height of the card, which hides what lies under it.

    Returns:
        Upper layer first; layers without any bar are left out.
    """
    found: list[FoundLayer] = []
    for position, direction, height in zip(("upper", "lower"), directions_deg, heights_mm, strict=True):
        if direction is None:
            continue
        axes = LayerAxes(math.radians(direction), height, centre_mm)
        tracks = trace(lay(maps, plane, axes, reach_mm, board_mm))
        if tracks:
            found.append(FoundLayer(position, axes, tracks))
    return _positions(found)


def _positions(found: list[FoundLayer]) -> tuple[FoundLayer, ...]:
    """Let the labels along the bars, not single cells, say which family of bars is the upper one."""
    if len(found) < 2:
        return tuple(found)
    first, second = found
    if first.lean < second.lean:
        first, second = second, first
    return (
        FoundLayer("upper", first.axes, first.tracks),
        FoundLayer("lower", second.axes, second.tracks),
    )
