"""Depths of the planes that the axes of a mat lie in, and a layer as read moved to another one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from verifier.vision.bars.bar_lines import UNKNOWN_DIAMETER_MM
from verifier.vision.bars.layer_axes import Floats, Plane
from verifier.vision.bars.read_layers import ReadBar, ReadLayer

LIFT_MM, LIFT_U_MM = 1.5, 1.0
"""The card rests on ribs, ties and the highest of the bars, not on the axis plane plus half a diameter."""


def plane_depths_mm(
    thickness_mm: float, upper_diameter_mm: float | None, lower_diameter_mm: float | None
) -> tuple[float, float]:
    """Depth of the upper and lower axis planes below the printed face.

    The upper one lies card + d/2 below the face, the lower one card + d_upper + d_lower/2; both a little deeper,
    because the card rests on ribs, ties and the highest of the bars.

    Args:
        thickness_mm: Thickness of the card or plate with the printed face.
        upper_diameter_mm: Of the upper bars; ``UNKNOWN_DIAMETER_MM`` where None.
        lower_diameter_mm: Of the lower bars; ``UNKNOWN_DIAMETER_MM`` where None.

    Returns:
        Upper and lower depth in mm.
    """
    upper = UNKNOWN_DIAMETER_MM if upper_diameter_mm is None else upper_diameter_mm
    lower = UNKNOWN_DIAMETER_MM if lower_diameter_mm is None else lower_diameter_mm
    top = thickness_mm + LIFT_MM
    return top + upper / 2, top + upper + lower / 2


def moved_to(layer: ReadLayer, plane: Plane, height_mm: float) -> ReadLayer:
    """The same image lines on a plane of another depth.

    Args:
        layer: Layer as read.
        plane: Metric model with which it was read.
        height_mm: Depth of the new axis plane below the printed face.

    Returns:
        The layer with axes, lines, seen stretches and laps on that plane; widths, scatter and the layer's diameter stay as
        read.
    """
    axes = replace(layer.axes, height_mm=height_mm)
    if not layer.bars:
        return replace(layer, axes=axes)
    # All points of all bars at once: nine along each, and both ends of what lies beside it or, without that, of what is seen of it.
    stations = np.array(
        [[*np.linspace(*b.seen_s_mm, 9), *(b.beside_s_mm or b.seen_s_mm)] for b in layer.bars]
    )
    across = np.array([b.fit.across(s) for b, s in zip(layer.bars, stations, strict=True)])
    px = layer.axes.to_px(plane, stations.ravel(), across.ravel())
    moved = axes.from_board(plane.to_plane_mm(px, height_mm)).reshape(*stations.shape, 2)
    bars = tuple(_moved_bar(b, m[:9], m[9:]) for b, m in zip(layer.bars, moved, strict=True))
    return replace(layer, axes=axes, bars=bars)


def _moved_bar(bar: ReadBar, along: Floats, ends: Floats) -> ReadBar:
    """The bar through points (k, 2) along it on the new plane; ``ends`` (2, 2) are those of what lies beside it, if it has that."""
    c2, c1, c0 = np.polyfit(along[:, 0] / 1000.0, along[:, 1], 2)
    fit = replace(bar.fit, curve=(float(c0), float(c1), float(c2)))
    # The second bar carries on beyond the end of the piece that was read.
    beside = None if bar.beside_s_mm is None else (float(ends[0, 0]), float(ends[1, 0]))
    return replace(bar, fit=fit, seen_s_mm=(float(along[0, 0]), float(along[-1, 0])), beside_s_mm=beside)
