"""Where the drawing itself asks less than the code: for the engineer of record to know, never for us to decide."""

from __future__ import annotations

from verifier.codes.code import Code
from verifier.codes.cover import Member, nominal_cover
from verifier.codes.grades import concrete_strength_mpa
from verifier.drawing.pour import Beam, Layer, Pour, Slab
from verifier.errors import BadInput
from verifier.rules.code_limits import aggregate_mm, limits_of_layer
from verifier.rules.spacing import OpenPoint

TELL = "Ask the engineer of record whether the drawing means this."


def drawing_notes(pour: Pour, code: Code) -> tuple[OpenPoint, ...]:
    """Compare the drawing with the code.

    Args:
        pour: Drawing values.
        code: The pour's code.

    Returns:
        One note for each value that asks less than the code as we know it.
    """
    notes: list[OpenPoint] = []
    for slab in pour.slabs:
        for layer in slab.layers:
            notes += _layer_notes(pour, slab, layer, code)
        for face, mm, bar in _faces(slab):
            notes += _cover_notes(pour, slab, face, mm, bar, code)
    for beam in pour.beams:
        thinnest = beam.link_mm or beam.bottom.largest_mm
        for face, mm in (
            ("bottom", beam.cover_mm.bottom),
            ("side", beam.side_cover_mm),
            ("top", beam.cover_mm.top),
        ):
            notes += _cover_notes(pour, beam, face, mm, thinnest, code)
    return tuple(notes)


def _layer_notes(pour: Pour, slab: Slab, layer: Layer, code: Code) -> list[OpenPoint]:
    limits, bars = limits_of_layer(pour, slab, layer, code), layer.callout
    place, found = f"{slab.mark} {layer.layer} as drawn ({bars.text})", []
    if limits.largest is not None and bars.spacing_mm > limits.largest.value:
        found.append(
            f"{place}: spacing above the largest of {limits.largest.source}, {limits.largest.value:.0f} mm."
        )
    if limits.least_steel is not None and bars.area_mm2_per_m < limits.least_steel.value:
        found.append(
            f"{place}: {bars.area_mm2_per_m:.0f} mm²/m, less than {limits.least_steel.value:.0f} mm²/m of "
            f"{limits.least_steel.source}."
        )
    return [OpenPoint(slab.mark, layer.layer, words, TELL) for words in found]


def _faces(slab: Slab) -> list[tuple[str, float, float]]:
    """Face, nominal cover and the bar nearest to it, for faces that have steel."""
    found = []
    for face, letter, mm in (("bottom", "B", slab.cover_mm.bottom), ("top", "T", slab.cover_mm.top)):
        outermost = [x for x in slab.layers if x.layer == f"{letter}1"] or [
            x for x in slab.layers if x.layer[0] == letter
        ]
        if outermost:
            found.append((face, mm, max(x.callout.diameter_mm for x in outermost)))
    return found


def _cover_notes(
    pour: Pour, element: Slab | Beam, face: str, drawn_mm: float, bar_mm: float, code: Code
) -> list[OpenPoint]:
    member: Member = "beam" if isinstance(element, Beam) else "slab"
    place = f"{element.mark} {face} cover as drawn ({drawn_mm:g} mm)"
    try:
        nominal = nominal_cover(
            code.cover,
            exposure=pour.exposure_of(element),
            member=member,
            bar_mm=bar_mm,
            strength_mpa=concrete_strength_mpa(pour.pour.concrete.grade, code.concrete).value,
            aggregate_mm=aggregate_mm(pour),
            structural_class=pour.pour.structural_class,
        )
    except BadInput as error:
        return [
            OpenPoint(element.mark, face, f"{place} can't be compared with the code: {error.wrong}", TELL)
        ]
    if drawn_mm >= nominal.value:
        return []
    return [
        OpenPoint(element.mark, face, f"{place}: less than {nominal.value:g} mm of {nominal.source}.", TELL)
    ]
