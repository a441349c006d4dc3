"""What the drawing and the code ask of a beam."""

from __future__ import annotations

from verifier.codes.code import Code
from verifier.codes.tolerance import section_range
from verifier.drawing.bars import CountedBars
from verifier.drawing.pour import Beam, Pour, Tolerance
from verifier.metrology.measurement import Measurand
from verifier.rules.code_limits import cover_limits, limits_of_links
from verifier.rules.lengths import (
    cover_requirement,
    length_requirement,
    size_requirement,
    support_requirements,
)
from verifier.rules.requirement import Requirement
from verifier.rules.spacing import OpenPoint, agreed, by_code, count_requirement, drawn, spacing_requirements

LINKS = "links"


def beam_requirements(pour: Pour, beam: Beam, code: Code) -> tuple[list[Requirement], tuple[OpenPoint, ...]]:
    """Collect what is asked of a beam: bars counted, links, covers, section.

    Args:
        pour: Drawing values.
        beam: A beam of the pour.
        code: The pour's code.

    Returns:
        Requirements, and what stays open.
    """
    tolerance = pour.pour.tolerance
    found: list[Requirement] = [_count_of(beam.mark, "bottom", beam.bottom)]
    if beam.top is not None:
        found.append(_count_of(beam.mark, "top", beam.top))
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
    return [*found, *support_requirements(beam.mark, beam.supports)], still_open


def _count_of(element: str, layer: str, bars: CountedBars) -> Requirement:
    return count_requirement(element, layer, bars.count, f"{bars.text} in the {layer}", bars.text)


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
