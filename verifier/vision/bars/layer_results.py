"""From measured layers to the contract: bars with line and diameter, gaps with value and uncertainty, refused stretches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from verifier.metrology.measurement import COVERAGE_FACTOR_95, Component
from verifier.vision.bars.diameters import BarSize, Series, bar_sizes, diameter_of
from verifier.vision.bars.gaps import GapValue, LayerGaps, Shape, measure_gaps
from verifier.vision.bars.layer_axes import Floats, Plane
from verifier.vision.bars.layer_planes import LIFT_U_MM
from verifier.vision.bars.mat_metric import MatMetric
from verifier.vision.bars.read_layers import ReadBar, ReadLayer
from verifier.vision.photo_measurement import (
    Bar,
    Gap,
    Lap,
    Layer,
    Line,
    Point,
    RefusedStretch,
)

WIDEST_INTERVAL_MM = 12.0
"""A gap with a larger expanded uncertainty is refused: it could decide nothing that a tape would not do better."""

LEAST_SEEN_SHARE = 0.7
"""Share of a bar, between its first and last sighting, that must be seen for its gaps to be measured."""

LEAST_WHOLE = 0.5
"""Share of a bar's whole line within reach that must show it: shorter pieces end in view, or are no bars at all."""

SURE_MAT_SHARE = 0.72
"""Share of the labels along a bar that must give it to the mat that is measured: with less it may lie in the mat below, and its
gaps would be stated for a plane that it doesn't lie on. Of bars of the mat below taken for near ones in development pictures,
six of eight were below it, and of near ones four of a hundred."""

LAP_HERE = "Two bars lie side by side here: tape the gap beside the lap, or photograph that place."
LINES_HERE = "Two lines run side by side here, of two bars or of a bar and its shadow: tape the gap, or photograph that place."
LAP_END = {
    "covered": "This end of the lap is covered: clear what lies on it, or tape the lap from end to end.",
    "unclear": "This end of the lap can't be told from what lies beside it: tape the lap from end to end.",
}
"""Why the length of a lap isn't measured, by what is known of its end."""

END_MM = 30.0
"""So much of a lap is marked at an end that hides its length."""

LEAST_STRETCH_MM = 60.0
"""A gap that isn't measured is marked along this much at least."""

LAYER_STEP_U_MM = 1.0
"""Standard uncertainty of the step from upper to lower axis plane: ties, ribs, bars that don't touch."""


def layer_results(
    metric: MatMetric,
    layers: Sequence[ReadLayer],
    shape_of: Shape,
    *,
    mat: Literal["only", "near"],
    centre_mm: tuple[float, float],
    reach_mm: float,
    series: Series,
) -> tuple[Layer, ...]:
    """Everything measured about the layers of the mat that the board lies on.

    Args:
        metric: Metric model of the photo.
        layers: The layers as read.
        shape_of: Mat and lens under a given model.
        mat: Whether another mat is seen below.
        centre_mm: Centre of the board.
        reach_mm: Gaps further from the board are refused.
        series: Series of nominal sizes.

    Returns:
        One result a layer.
    """
    measured = measure_gaps(
        metric,
        layers,
        shape_of,
        u_depth_mm=[_u_depth_mm(layer) for layer in layers],
        centre_mm=centre_mm,
        keep=lambda layer, gap: _refusal(layer, gap, reach_mm) is None,
    )
    sizes = bar_sizes([[b.outline for b in layer.bars] for layer in layers], series)
    return tuple(
        _layer(metric, layer, gaps, found, mat=mat, reach_mm=reach_mm)
        for layer, gaps, found in zip(layers, measured, sizes, strict=True)
    )


def _u_depth_mm(layer: ReadLayer) -> float:
    """The card's lift off the bars; for the lower layer also the step between the layers."""
    return math.hypot(LIFT_U_MM, LAYER_STEP_U_MM if layer.position == "lower" else 0.0)


def _layer(
    plane: Plane,
    layer: ReadLayer,
    measured: LayerGaps,
    sizes: Sequence[BarSize],
    *,
    mat: Literal["only", "near"],
    reach_mm: float,
) -> Layer:
    kept: list[GapValue] = []
    refused: list[RefusedStretch] = []
    for gap in measured.gaps:
        why = _refusal(layer, gap, reach_mm)
        if why is None:
            kept.append(gap)
        else:
            refused.append(_stretch(plane, layer, gap.place.bars, *why))
    u_mean = measured.mean_u_mm
    return Layer(
        position="upper" if layer.position == "upper" else "lower",
        mat=mat,
        direction_deg=_direction_deg(plane, layer),
        bars=bar_results(plane, layer, sizes),
        gaps=tuple(_gap(gap) for gap in kept),
        mean_spacing_mm=None if measured.mean_mm is None else round(measured.mean_mm, 3),
        mean_spacing_expanded_uncertainty_mm=None
        if u_mean is None
        else round(COVERAGE_FACTOR_95 * u_mean, 3),
        plane_below_face_mm=round(layer.axes.height_mm, 2),
        refused=(*refused, *_hidden_ends(plane, layer)),
    )


def far_layer_result(plane: Plane, layer: ReadLayer) -> Layer:
    """Bars of a mat below: shown and counted, but not measured, for the depth of their plane isn't known.

    Args:
        plane: Metric model of the photo.
        layer: Layer of that mat, read on a presumed plane.

    Returns:
        The layer without gaps and sizes; every stretch between neighbouring bars is refused, with the reason.
    """
    say = (
        "This mat lies below the one that carries the board, at a depth that the photo does not tell. "
        "Lay the board on this mat, or tape the gap."
    )
    return Layer(
        position="upper" if layer.position == "upper" else "lower",
        mat="far",
        direction_deg=_direction_deg(plane, layer),
        bars=bar_results(plane, layer, None),
        refused=tuple(
            _stretch(plane, layer, (i, i + 1), "depth-unknown", say) for i in range(len(layer.bars) - 1)
        ),
    )


def bar_results(plane: Plane, layer: ReadLayer, sizes: Sequence[BarSize] | None) -> tuple[Bar, ...]:
    """Bars of a layer in the form of the contract.

    Args:
        plane: Metric model of the photo.
        layer: Layer with at least one bar; offsets count from its first.
        sizes: For each bar what it may be of; None where no size may be stated, because the depth of the plane isn't known.

    Returns:
        One entry for each bar, in order across.
    """
    zero = float(layer.bars[0].fit.across(0.0))
    out = []
    for i, bar in enumerate(layer.bars):
        size = None if sizes is None else sizes[i]
        diameter = None if size is None else diameter_of(bar.outline)
        out.append(
            Bar(
                line_px=_line(layer.points_px(plane, bar, np.array(bar.seen_s_mm))),
                offset_mm=round(float(bar.fit.across(0.0)) - zero, 2),
                diameter_mm=None if diameter is None else round(diameter[0], 2),
                diameter_u_mm=None if diameter is None else round(diameter[1], 2),
                nominal_mm=None if size is None else size.stated_mm,
                nominal_chances=() if size is None else size.chances,
                fitted="edges" if bar.fit.from_edges else "centre-line",
                seen_share=round(min(bar.seen_share, 1.0), 3),
                lap=_lap(plane, layer, bar),
            )
        )
    return tuple(out)


def _refusal(layer: ReadLayer, gap: GapValue, reach_mm: float) -> tuple[str, str] | None:
    expanded = COVERAGE_FACTOR_95 * gap.standard_uncertainty_mm
    for i in gap.place.bars:
        beside = layer.bars[i].beside_s_mm
        if beside is not None and beside[0] - 20.0 <= gap.place.station_mm <= beside[1] + 20.0:
            return ("lap-here", LAP_HERE if layer.bars[i].lap_ends is not None else LINES_HERE)
    for i in gap.place.bars:
        if layer.bars[i].mat_share < SURE_MAT_SHARE:
            return (
                "mat-unclear",
                "One of these bars may lie in the mat below, whose depth the photo does not tell. "
                "Look which mat it is in, and tape the gap.",
            )
        if not layer.bars[i].fit.from_edges:
            return (
                "edges-unclear",
                "The edges of this bar can't be told from shadow or deck. Tape the gap, or photograph it in even light.",
            )
        if layer.bars[i].seen_share < LEAST_SEEN_SHARE:
            return (
                "bar-partly-hidden",
                f"Only {100 * layer.bars[i].seen_share:.0f} % of this bar can be seen; {100 * LEAST_SEEN_SHARE:.0f} % is needed. "
                "Clear what lies on it, or tape the gap.",
            )
    for i in gap.place.bars:
        if layer.bars[i].whole < LEAST_WHOLE:
            return (
                "bar-ends-in-view",
                f"Only {100 * layer.bars[i].whole:.0f} % of this line shows a bar: it ends here, or is a conduit or an edge. "
                "Look at it, and tape the gap.",
            )
    if gap.from_board_mm > reach_mm:
        return (
            "bars-out-of-reach",
            f"This gap lies {gap.from_board_mm:.0f} mm from the board; it measures reliably to {reach_mm:.0f} mm. "
            "Lay the board nearer.",
        )
    if expanded > WIDEST_INTERVAL_MM:
        return (
            "bars-out-of-reach",
            f"The gap would be known to ± {expanded:.0f} mm only; ± {WIDEST_INTERVAL_MM:.0f} mm is the limit. "
            "Lay the board nearer, or hold the phone steeper.",
        )
    return None


def _gap(gap: GapValue) -> Gap:
    first, second = gap.place.px[:2].mean(axis=0), gap.place.px[2:].mean(axis=0)
    return Gap(
        bars=gap.place.bars,
        value_mm=round(gap.value_mm, 3),
        expanded_uncertainty_mm=round(COVERAGE_FACTOR_95 * gap.standard_uncertainty_mm, 3),
        line_px=_line(np.stack([first, second])),
        from_board_mm=round(gap.from_board_mm, 1),
        budget=tuple(
            Component(name=name, standard_uncertainty=round(u, 4))
            for name, u in gap.budget.items()
            if u >= 5e-5
        ),
    )


def _stretch(plane: Plane, layer: ReadLayer, bars: tuple[int, int], reason: str, say: str) -> RefusedStretch:
    """What lies between two bars along all of it where both are seen, or from where one ends to where the other begins."""
    first, second = (layer.bars[i] for i in bars)
    (low_a, high_a), (low_b, high_b) = first.seen_s_mm, second.seen_s_mm
    both = np.sort([max(low_a, low_b), min(high_a, high_b)])
    both += np.array([-0.5, 0.5]) * max(0.0, LEAST_STRETCH_MM - float(np.ptp(both)))
    a, b = (layer.points_px(plane, bar, both) for bar in (first, second))
    outline = tuple(_point(p) for p in (a[0], a[1], b[1], b[0]))
    return RefusedStretch(outline_px=outline, bars=bars, reason=reason, say=say)


def _lap(plane: Plane, layer: ReadLayer, bar: ReadBar) -> Lap | None:
    if bar.beside_s_mm is None or bar.lap_ends is None:
        return None
    ends = layer.points_px(plane, bar, np.array(bar.beside_s_mm))
    if bar.lap_u_mm is None:
        return Lap(from_px=_point(ends[0]), to_px=_point(ends[1]))
    return Lap(
        from_px=_point(ends[0]),
        to_px=_point(ends[1]),
        length_mm=round(bar.beside_s_mm[1] - bar.beside_s_mm[0], 1),
        expanded_uncertainty_mm=round(COVERAGE_FACTOR_95 * bar.lap_u_mm, 1),
    )


def _hidden_ends(plane: Plane, layer: ReadLayer) -> list[RefusedStretch]:
    """The ends of laps that give no length, each with the reason."""
    out = []
    for i, bar in enumerate(layer.bars):
        if bar.beside_s_mm is None or bar.lap_ends is None:
            continue
        for s, why in zip(bar.beside_s_mm, bar.lap_ends, strict=True):
            if why != "clear":
                stations = np.array([s - END_MM, s + END_MM, s + END_MM, s - END_MM])
                beside = np.array([-1.0, -1.0, 1.0, 1.0]) * layer.diameter_mm * 1.5
                corners = layer.axes.to_px(plane, stations, bar.fit.across(stations) + beside)
                outline = tuple(_point(p) for p in corners)
                out.append(
                    RefusedStretch(outline_px=outline, bars=(i,), reason=f"lap-end-{why}", say=LAP_END[why])
                )
    return out


def _direction_deg(plane: Plane, layer: ReadLayer) -> float:
    ends = layer.axes.to_px(plane, np.array([-100.0, 100.0]), np.zeros(2))
    run = ends[1] - ends[0]
    return round(float(np.degrees(np.arctan2(run[1], run[0])) % 180.0), 2)


def _line(px: Floats) -> Line:
    return _point(px[0]), _point(px[-1])


def _point(px: Sequence[float] | Floats) -> Point:
    return round(float(px[0]), 3), round(float(px[1]), 3)
