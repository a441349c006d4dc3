"""What a code of practice says about the layers of a slab and the links of a beam."""

from __future__ import annotations

from verifier.codes.code import Code
from verifier.codes.grades import concrete_strength_mpa, steel_grade
from verifier.codes.minimum_steel import least_slab_steel
from verifier.codes.spacing import largest_spacing, least_clear_distance
from verifier.codes.tolerance import Range, cover_range, link_spacing_deviation, spacing_deviation
from verifier.drawing.pour import Beam, Layer, Pour, Slab
from verifier.rules.spacing import SpacingLimits

UNKNOWN_AGGREGATE_MM = 20.0
"""Taken where the drawing file gives no aggregate size. Common practice, no source."""


def limits_of_layer(pour: Pour, slab: Slab, layer: Layer, code: Code) -> SpacingLimits:
    """Collect the code's limits for one slab layer.

    Every layer is held to the rule for main steel, the stricter one: the drawing file does not say which layer only
    distributes. Rules for places of peak moment are not applied, because the file does not say where they are.

    Args:
        pour: The pour.
        slab: A slab of it.
        layer: A layer of the slab.
        code: The pour's code.

    Returns:
        Limits with clause and status.
    """
    depth, bars = slab.effective_depth_mm(layer), layer.callout
    grade = steel_grade(slab.steel.grade, code.steel)
    deviation = spacing_deviation(code.tolerance.spacing, spacing_mm=bars.spacing_mm)
    return SpacingLimits(
        gap_minus=deviation,
        gap_plus=deviation,
        largest=largest_spacing(code.spacing.main, effective_depth_mm=depth, depth_mm=slab.thickness_mm),
        least_clear=least_clear_distance(
            code.spacing.clear_horizontal, bar_mm=bars.diameter_mm, aggregate_mm=aggregate_mm(pour)
        ),
        least_steel=least_slab_steel(
            code.minimum.slab,
            depth_mm=slab.thickness_mm,
            effective_depth_mm=depth,
            strength_mpa=concrete_strength_mpa(pour.pour.concrete.grade, code.concrete).value,
            fy_mpa=grade.fy_mpa,
            plain=grade.plain or bars.bar.plain,
        ),
    )


def limits_of_links(beam: Beam, code: Code) -> SpacingLimits:
    """Collect the code's limits for the links of a beam.

    Args:
        beam: A beam with links.
        code: The pour's code.

    Returns:
        The deviation of spacing, where the code gives one; largest spacing and least shear steel depend on the shear and
        stay with the designer.
    """
    if beam.stirrups is None:
        return SpacingLimits()
    deviation = link_spacing_deviation(
        code.tolerance.link_spacing, spacing_mm=beam.stirrups.spacing_mm, depth_mm=beam.depth_mm
    )
    return SpacingLimits(gap_minus=deviation, gap_plus=deviation)


def cover_limits(element: Slab | Beam, face: str, nominal_mm: float, code: Code) -> Range:
    """Give the least and largest cover of one face in place.

    Args:
        element: A slab or beam.
        face: ``bottom``, ``top`` or ``side``.
        nominal_mm: Nominal cover on the drawing, above zero. [mm]
        code: The pour's code.

    Returns:
        Limits with clause and status; a side may be open.
    """
    if isinstance(element, Beam):
        depth, effective = element.depth_mm, element.effective_depth_mm
    else:
        depth = element.thickness_mm
        effective = max(element.effective_depth_mm(layer) for layer in element.layers)
    return cover_range(
        code.tolerance.cover,
        nominal_mm=nominal_mm,
        depth_mm=depth,
        effective_depth_mm=effective,
        formed_soffit=face == "bottom",
    )


def aggregate_mm(pour: Pour) -> float:
    """Largest aggregate of the pour.

    Args:
        pour: The pour.

    Returns:
        As given, else 20 mm. [mm]
    """
    return pour.pour.concrete.max_aggregate_mm or UNKNOWN_AGGREGATE_MM
