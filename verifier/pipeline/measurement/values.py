"""From what a photo gives to measurements with a place: gaps, mean spacing, bar size and laps of each layer."""

from __future__ import annotations

import statistics
from collections.abc import Collection, Sequence

from verifier.metrology.measurement import COVERAGE_FACTOR_95, Measurand, Measurement, Trace
from verifier.pipeline.folder.evidence import Placement
from verifier.rules.placing import SeenLayer, trade_layers
from verifier.vision.photo_measurement import Bar, Layer, PhotoMeasurement


def measurements_of(
    seen: PhotoMeasurement, placement: Placement, drawn: Collection[str], *, taken_at: str | None
) -> tuple[tuple[Measurement, ...], tuple[str | None, ...], tuple[str, ...]]:
    """Turn the layers of one photo into measurements.

    Args:
        seen: What the photo gave.
        placement: Element, spot and mat it is said to show.
        drawn: Layers of that element on the drawing.
        taken_at: Time of the photo with its zone, ISO 8601, None where the file doesn't tell.

    Returns:
        Measurements of the layers that could be named; the name of each layer seen or None; remarks.
    """
    if not seen.usable or not seen.layers or not placement.complete:
        return (), tuple(None for _ in seen.layers), ()
    names, remarks = trade_layers(
        [SeenLayer(layer.mat, layer.position) for layer in seen.layers], drawn, mat=placement.mat
    )
    found: list[Measurement] = []
    for layer, name in zip(seen.layers, names, strict=True):
        if name is not None:
            found += _of_layer(seen, layer, name, placement, taken_at)
    return tuple(found), names, tuple(f"{seen.photo.name}: {remark}" for remark in remarks)


def _of_layer(
    seen: PhotoMeasurement, layer: Layer, name: str, placement: Placement, taken_at: str | None
) -> list[Measurement]:
    def measurement(
        measurand: Measurand, value: float, u: float, line: Sequence[tuple[float, float]], **more: object
    ) -> Measurement:
        fields: dict[str, object] = {
            "measurand": measurand,
            "value": value,
            "standard_uncertainty": u,
            "unit": "mm",
            "element": placement.element,
            "layer": name,
            "spot": placement.spot,
            "by": "photo",
            "method": seen.method.name,
            "method_version": seen.method.version,
            "taken_at": taken_at,
            "trace": Trace(
                original_sha256=seen.photo.sha256, original_name=seen.photo.name, line_px=tuple(line)
            ),
        }
        return Measurement.model_validate(fields | more)

    found = [
        measurement(
            Measurand.SINGLE_GAP,
            gap.value_mm,
            gap.expanded_uncertainty_mm / COVERAGE_FACTOR_95,
            gap.line_px,
            index=index,
            budget=gap.budget,
        )
        for index, gap in enumerate(layer.gaps, start=1)
    ]
    if layer.mean_spacing_mm is not None and layer.mean_spacing_expanded_uncertainty_mm is not None:
        stretch = [point for gap in layer.gaps for point in gap.line_px]
        found.append(
            measurement(
                Measurand.MEAN_SPACING,
                layer.mean_spacing_mm,
                layer.mean_spacing_expanded_uncertainty_mm / COVERAGE_FACTOR_95,
                (stretch[0], stretch[-1]) if stretch else (),
                stretch_gaps=len(layer.gaps),
            )
        )
    for bar, value, u in _sizes(layer.bars):
        found.append(measurement(Measurand.BAR_DIAMETER, value, u, bar.line_px))
    for lap in (bar.lap for bar in layer.bars if bar.lap is not None):
        # A lap with an end that is hidden has no length.
        if lap.length_mm is not None and lap.expanded_uncertainty_mm is not None:
            u = lap.expanded_uncertainty_mm / COVERAGE_FACTOR_95
            found.append(measurement(Measurand.LAP_LENGTH, lap.length_mm, u, (lap.from_px, lap.to_px)))
    return found


def _sizes(bars: Sequence[Bar]) -> list[tuple[Bar, float, float]]:
    """The layer's bar size, and each bar that seems to be of another size.

    What shifts the outline of one bar (ribs, shading, blur) shifts all of them alike, so the doubt of the middle value is
    not divided by the number of bars.
    """
    known = [
        (b, b.diameter_mm, b.diameter_u_mm)
        for b in bars
        if b.diameter_mm is not None and b.diameter_u_mm is not None
    ]
    if not known:
        return []
    middle = sorted(known, key=lambda k: k[1])[(len(known) - 1) // 2]
    u = statistics.median(k[2] for k in known)
    # A layer whose own size is open has no odd bar but one that is none of the sizes that it may be.
    open_sizes = (c.nominal_mm for c in middle[0].nominal_chances)
    usual = set(open_sizes) if middle[0].nominal_mm is None else {middle[0].nominal_mm}
    odd = [k for k in known if k[0].nominal_mm is not None and k[0].nominal_mm not in usual]
    return [(middle[0], middle[1], max(u, middle[2])), *odd]
