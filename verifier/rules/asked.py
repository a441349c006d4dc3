"""Everything that the drawing and the code ask of a pour, as requirements."""

from __future__ import annotations

from dataclasses import dataclass

from verifier.codes.code import Code
from verifier.codes.grades import concrete_strength_mpa, steel_grade
from verifier.codes.lap import lap_length
from verifier.codes.lap_case import LapCase
from verifier.codes.tolerance import (
    bar_end_deviation,
    effective_depth_deviation,
    lap_shortfall,
)
from verifier.drawing.pour import Layer, Pour, Slab, Tolerance
from verifier.metrology.measurement import Measurand
from verifier.rules.asked_beam import beam_requirements
from verifier.rules.code_limits import cover_limits, limits_of_layer
from verifier.rules.consequence import Section
from verifier.rules.lengths import (
    cover_requirement,
    length_requirement,
    size_requirement,
    support_requirements,
)
from verifier.rules.requirement import Requirement, Source
from verifier.rules.spacing import OpenPoint, agreed, by_code, count_requirement, drawn, spacing_requirements
from verifier.wording import counted

EDGE_SOURCE = Source(
    kind="project",
    document="common practice",
    clause="first bar within one spacing of the form",
    status="no source",
)


@dataclass(frozen=True, slots=True)
class Asked:
    """All requirements of a pour.

    Attributes:
        requirements: In the order of the drawing: element by element, layer by layer.
        sections: Cross-section as drawn, by element and layer, for what a deviation does.
        open_points: What nobody has settled, so that nothing can be judged by it.
    """

    requirements: tuple[Requirement, ...]
    sections: dict[tuple[str, str], Section]
    open_points: tuple[OpenPoint, ...]


def requirements_of(pour: Pour, code: Code) -> Asked:
    """Collect what the drawing and the code ask.

    Args:
        pour: Drawing values.
        code: The pour's code of practice.

    Returns:
        Requirements, sections and open points.
    """
    requirements: list[Requirement] = []
    sections: dict[tuple[str, str], Section] = {}
    open_points: list[OpenPoint] = []
    for slab in pour.slabs:
        for layer in _one_of_each(slab, open_points):
            asked, still_open = _layer(pour, slab, layer, code)
            requirements += asked
            open_points += still_open
            sections[slab.mark, layer.layer] = _section(pour, slab, layer, code)
        requirements += _covers_of_slab(pour, slab, code)
        requirements += support_requirements(slab.mark, slab.supports)
    for beam in pour.beams:
        asked, still_open = beam_requirements(pour, beam, code)
        requirements += asked
        open_points += still_open
    return Asked(tuple(requirements), sections, tuple(open_points))


def _one_of_each(slab: Slab, open_points: list[OpenPoint]) -> list[Layer]:
    """Layers of a slab; one that has different call-outs zone by zone can't be judged by a spot's layer alone."""
    found = []
    for name in dict.fromkeys(layer.layer for layer in slab.layers):
        entries = slab.layers_of(name)
        if len({entry.callout.text for entry in entries}) == 1:
            found.append(entries[0])
            continue
        zones = ", ".join(entry.zone or entry.callout.text for entry in entries)
        open_points.append(
            OpenPoint(
                slab.mark,
                name,
                f"{slab.mark} {name} has different bars zone by zone ({zones}), and a spot does not tell its zone: not judged.",
                "Give each zone its own [[slab]] with its own mark, or have the engineer of record judge the layer.",
            )
        )
    return found


def _layer(
    pour: Pour, slab: Slab, layer: Layer, code: Code
) -> tuple[list[Requirement], tuple[OpenPoint, ...]]:
    tolerance = pour.pour.tolerance
    spacing, still_open = spacing_requirements(
        slab.mark, layer.layer, layer.callout, tolerance, limits_of_layer(pour, slab, layer, code)
    )
    found = [*spacing, size_requirement(slab.mark, layer.layer, layer.callout.bar, layer.callout.text)]
    found.append(_lap(pour, slab, layer, code))
    found.append(_count_across(slab, layer))
    found.append(_first_bar(slab, layer))
    if layer.bent_up is not None:
        found += _bends(slab, layer, tolerance, code)
    return found, still_open


def _lap(pour: Pour, slab: Slab, layer: Layer, code: Code) -> Requirement:
    """The lap of the drawing, or the code's where the drawing leaves it to the code; asked only where bars are lapped."""
    tolerance, bar = pour.pour.tolerance, layer.callout.diameter_mm
    if isinstance(slab.steel.lap, float):
        lap_mm, sources = slab.steel.lap, [drawn(f"lap {slab.steel.lap:g} mm")]
    else:
        grade = steel_grade(slab.steel.grade, code.steel)
        case = LapCase(
            bar_mm=bar,
            fy_mpa=grade.fy_mpa,
            strength_mpa=concrete_strength_mpa(pour.pour.concrete.grade, code.concrete).value,
            cover_mm=slab.cover_mm.bottom if layer.layer[0] == "B" else slab.cover_mm.top,
            clear_mm=layer.callout.spacing_mm - 2 * bar,
            plain=grade.plain or layer.callout.bar.plain,
        )
        by = lap_length(code.lap, case)
        lap_mm, sources = by.value, [by_code(by)]
    short = tolerance.lap_minus_mm
    if short is not None:
        sources.append(agreed(tolerance, f"lap_minus_mm = {short:g}"))
    elif (allowed := lap_shortfall(code.tolerance.lap, bar_mm=bar, lap_mm=lap_mm)) is not None:
        short = allowed.value
        sources.append(by_code(allowed))
    lap = length_requirement(
        slab.mark, layer.layer, "lap", Measurand.LAP_LENGTH, lap_mm, sources, band_mm=(short or 0.0, None)
    )
    return lap.model_copy(update={"when_measured": True})


def _count_across(slab: Slab, layer: Layer) -> Requirement:
    """Bars over the full width: as the call-out gives them, else as its spacing makes them, asked only where counted."""
    given = layer.callout.count is not None
    number = slab.bars_across(layer)
    asked = count_requirement(
        slab.mark,
        layer.layer,
        number,
        f"{counted(number, 'bar')} of {layer.layer} across",
        layer.callout.text,
    )
    return asked.model_copy(update={"when_measured": not given})


def _first_bar(slab: Slab, layer: Layer) -> Requirement:
    """From the form to the axis of the first bar: no more than a spacing, no less than the side cover."""
    side = slab.cover_mm.side if slab.cover_mm.side is not None else slab.cover_mm.bottom
    spacing, half = layer.callout.spacing_mm, layer.callout.diameter_mm / 2
    edge = length_requirement(
        slab.mark,
        layer.layer,
        "edge-distance",
        Measurand.EDGE_DISTANCE,
        spacing,
        [drawn(layer.callout.text), drawn(f"side cover {side:g} mm"), EDGE_SOURCE],
        band_mm=(spacing - side - half, 0.0),
    )
    return edge.model_copy(update={"when_measured": True})


def _bends(slab: Slab, layer: Layer, tolerance: Tolerance, code: Code) -> list[Requirement]:
    """Where bent-up bars leave the bottom, from the face of the support, and how high they rise (axis to axis)."""
    if layer.bent_up is None:
        return []
    found = []
    call = drawn(f"bent up at {layer.bent_up.at_span_fraction:g} of the span")
    along = bar_end_deviation(code.tolerance.bar_end, discontinuous=False)
    if slab.span_m is not None and (tolerance.bar_end_mm is not None or along is not None):
        point = 1000 * slab.span_m * layer.bent_up.at_span_fraction
        if tolerance.bar_end_mm is not None:
            band, source = tolerance.bar_end_mm, agreed(tolerance, f"bar_end_mm = {tolerance.bar_end_mm:g}")
        elif along is not None:
            band, source = along.value, by_code(along)
        found.append(
            length_requirement(
                slab.mark,
                layer.layer,
                "bend-point",
                Measurand.BEND_POINT,
                point,
                [call, source],
                band_mm=(band, band),
            )
        )
    depth = slab.effective_depth_mm(layer)
    across = effective_depth_deviation(code.tolerance.effective_depth, effective_depth_mm=depth)
    if across is not None:
        bar = layer.callout.diameter_mm
        rise = slab.thickness_mm - slab.cover_mm.top - slab.cover_mm.bottom - bar
        found.append(
            length_requirement(
                slab.mark,
                layer.layer,
                "bend-rise",
                Measurand.BEND_RISE,
                rise,
                [drawn("thickness less both covers less the bar"), by_code(across)],
                band_mm=(across.value, across.value),
            )
        )
    return found


def _section(pour: Pour, slab: Slab, layer: Layer, code: Code) -> Section:
    return Section(
        bar_area_mm2=layer.callout.bar.area_mm2,
        bar_diameter_mm=layer.callout.diameter_mm,
        spacing_mm=layer.callout.spacing_mm,
        effective_depth_mm=slab.effective_depth_mm(layer),
        cover_mm=slab.cover_mm.bottom if layer.layer[0] == "B" else slab.cover_mm.top,
        yield_mpa=steel_grade(slab.steel.grade, code.steel).fy_mpa,
        concrete_mpa=concrete_strength_mpa(pour.pour.concrete.grade, code.concrete).value,
    )


def _covers_of_slab(pour: Pour, slab: Slab, code: Code) -> list[Requirement]:
    """Cover of the faces that have steel."""
    faces = {"bottom": slab.cover_mm.bottom, "top": slab.cover_mm.top}
    has = {
        "bottom": any(x.layer[0] == "B" for x in slab.layers),
        "top": any(x.layer[0] == "T" for x in slab.layers),
    }
    return [
        cover_requirement(slab.mark, face, mm, pour.pour.tolerance, cover_limits(slab, face, mm, code))
        for face, mm in faces.items()
        if has[face] and mm > 0
    ]
