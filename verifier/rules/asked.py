"""Everything that the drawing and the code ask of a pour, as requirements."""

from __future__ import annotations

from dataclasses import dataclass

from verifier.codes.code import Code
from verifier.codes.grades import concrete_strength_mpa, steel_grade
from verifier.codes.lap import lap_length
from verifier.codes.lap_case import LapCase
from verifier.codes.tolerance import bar_end_deviation, lap_shortfall, section_range
from verifier.drawing.bars import CountedBars
from verifier.drawing.pour import Beam, Layer, Pour, Slab, Tolerance
from verifier.metrology.measurement import Measurand
from verifier.rules.code_limits import cover_limits, limits_of_layer, limits_of_links
from verifier.rules.consequence import Section
from verifier.rules.lengths import cover_requirement, length_requirement, size_requirement
from verifier.rules.requirement import Requirement, Source
from verifier.rules.spacing import OpenPoint, agreed, by_code, drawn, spacing_requirements

LINKS = "links"
CHAIR_HEIGHT_BAND_MM = 5.0
"""How much a chair may differ in height. Common practice, no source."""
CHAIR_HEIGHT_SOURCE = Source(
    kind="project",
    document="common practice",
    clause=f"chairs within {CHAIR_HEIGHT_BAND_MM:g} mm",
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
        requirements += _supports(slab)
    for beam in pour.beams:
        asked, still_open = _beam(pour, beam, code)
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
    if layer.bent_up is not None and slab.span_m is not None:
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


def _bends(slab: Slab, layer: Layer, tolerance: Tolerance, code: Code) -> list[Requirement]:
    """Where bent-up bars leave the bottom, from the face of the support, and how high they rise."""
    if layer.bent_up is None or slab.span_m is None:
        return []
    band, source = tolerance.bar_end_mm, [drawn(f"bent up at {layer.bent_up.at_span_fraction:g} of the span")]
    if band is not None:
        source.append(agreed(tolerance, f"bar_end_mm = {band:g}"))
    else:
        limit = bar_end_deviation(code.tolerance.bar_end, discontinuous=False)
        if limit is None:
            return []
        band = limit.value
        source.append(by_code(limit))
    point = 1000 * slab.span_m * layer.bent_up.at_span_fraction
    return [
        length_requirement(
            slab.mark, layer.layer, "bend-point", Measurand.BEND_POINT, point, source, band_mm=(band, band)
        )
    ]


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


def _supports(element: Slab | Beam) -> list[Requirement]:
    """Pitch of blocks and chairs and height of chairs, where the drawing gives them: pitches are the largest allowed."""
    given = element.supports
    found = []
    for rule, measurand, value, band in (
        ("block-pitch", Measurand.BLOCK_PITCH, given.block_pitch_mm, (None, 0.0)),
        ("chair-pitch", Measurand.CHAIR_PITCH, given.chair_pitch_mm, (None, 0.0)),
        (
            "chair-height",
            Measurand.CHAIR_HEIGHT,
            given.chair_height_mm,
            (CHAIR_HEIGHT_BAND_MM, CHAIR_HEIGHT_BAND_MM),
        ),
    ):
        if value is None:
            continue
        sources = [drawn(f"{rule.replace('-', ' ')} {value:g} mm")]
        if rule == "chair-height":
            sources.append(CHAIR_HEIGHT_SOURCE)
        found.append(length_requirement(element.mark, None, rule, measurand, value, sources, band_mm=band))
    return found


def _beam(pour: Pour, beam: Beam, code: Code) -> tuple[list[Requirement], tuple[OpenPoint, ...]]:
    tolerance = pour.pour.tolerance
    found: list[Requirement] = [_count(beam.mark, "bottom", beam.bottom)]
    if beam.top is not None:
        found.append(_count(beam.mark, "top", beam.top))
    still_open: tuple[OpenPoint, ...] = ()
    if beam.stirrups is not None:
        asked, still_open = spacing_requirements(
            beam.mark, LINKS, beam.stirrups, tolerance, limits_of_links(beam, code)
        )
        found += [*asked, size_requirement(beam.mark, LINKS, beam.stirrups.bar, beam.stirrups.text)]
    faces = {"bottom": beam.cover_mm.bottom, "side": beam.side_cover_mm, "top": beam.cover_mm.top}
    found += [
        cover_requirement(beam.mark, face, mm, tolerance, cover_limits(beam, face, mm, code))
        for face, mm in faces.items()
        if mm > 0
    ]
    found += _section_size(beam, tolerance, code)
    return [*found, *_supports(beam)], still_open


def _count(element: str, layer: str, bars: CountedBars) -> Requirement:
    """At least the number of bars drawn."""
    return Requirement(
        key=f"{element}/{layer}/count",
        element=element,
        layer=layer,
        rule="count",
        measurand=Measurand.BAR_COUNT,
        asks=f"{bars.text} in the {layer}",
        lower=bars.count,
        nominal=bars.count,
        unit="count",
        sources=(drawn(bars.text),),
        by_tape=True,
    )


def _section_size(beam: Beam, tolerance: Tolerance, code: Code) -> list[Requirement]:
    found = []
    for rule, measurand, size in (
        ("width", Measurand.ELEMENT_WIDTH, beam.width_mm),
        ("depth", Measurand.ELEMENT_DEPTH, beam.depth_mm),
    ):
        source = [drawn(f"{rule} {size:g} mm")]
        if tolerance.section_mm is not None:
            less = more = tolerance.section_mm
            source.append(agreed(tolerance, f"section_mm = {less:g}"))
        else:
            by = section_range(code.tolerance.section, size_mm=size)
            if by is None or by.least is None or by.most is None:
                continue
            less, more = size - by.least.value, by.most.value - size
            source.append(by_code(by.least))
        found.append(length_requirement(beam.mark, None, rule, measurand, size, source, band_mm=(less, more)))
    return found
