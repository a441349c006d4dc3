"""Values and limits as the people of a pour read them: lengths in millimetres or inches, the unit always beside them."""

from __future__ import annotations

from ui import words
from verifier.drawing.callout import Units
from verifier.metrology.budget import result_text
from verifier.metrology.measurement import Measurement
from verifier.rules.requirement import Requirement

MM_PER_INCH = 25.4
"""Exact. Source: NIST Special Publication 811 (2008), appendix B.8."""


def length(value_mm: float, expanded_uncertainty_mm: float, units: Units) -> str:
    """A measured length with its doubt.

    Args:
        value_mm: The length.
        expanded_uncertainty_mm: Its expanded uncertainty, 0 for an exact one.
        units: Setting of the pour.

    Returns:
        Such as ``150.4 ± 1.1 mm``; value and doubt are converted first and rounded once.
    """
    return result(value_mm, expanded_uncertainty_mm, "mm", units)


def result(value: float, expanded_uncertainty: float, unit: str, units: Units) -> str:
    """A measured value with its doubt, in the unit that the pour is read in.

    Args:
        value: The value. [unit]
        expanded_uncertainty: Its expanded uncertainty. [unit]
        unit: Unit that it was measured in; only millimetres are ever converted.
        units: Setting of the pour.

    Returns:
        Value, doubt and unit by the one rule for all results; a count has neither doubt nor unit.
    """
    per = MM_PER_INCH if converts(unit, units) else 1.0
    return result_text(value / per, expanded_uncertainty / per, unit_name(unit, units))


def measured(m: Measurement, units: Units) -> str:
    """A measurement as people read it.

    Args:
        m: The measurement.
        units: Setting of the pour.

    Returns:
        Value, doubt and unit.
    """
    return result(m.value, m.expanded_uncertainty, m.unit, units)


def exact(value: float, unit: str, units: Units) -> str:
    """A value that is drawn or agreed, not measured: it has no doubt.

    Args:
        value: The value. [unit]
        unit: Its unit.
        units: Setting of the pour.

    Returns:
        Such as ``150 mm`` or ``5.906 in``, with four digits at most.
    """
    name = "" if unit == "count" else f" {unit_name(unit, units)}"
    return f"{shown(value, unit, units):.4g}{name}"


def limits(asked: Requirement, units: Units) -> str:
    """The limits of a requirement.

    Args:
        asked: The requirement.
        units: Setting of the pour.

    Returns:
        Such as ``130 to 170 mm`` or ``at most 17.2 in``.
    """
    unit = "" if asked.unit == "count" else f" {unit_name(asked.unit, units)}"
    low, high = shown(asked.lower, asked.unit, units), shown(asked.upper, asked.unit, units)
    if low is not None and high is not None:
        return words.LIMITS_BETWEEN.format(low=f"{low:.4g}", high=f"{high:.4g}") + unit
    if high is not None:
        return words.LIMITS_MOST.format(high=f"{high:.4g}") + unit
    if low is not None:
        return words.LIMITS_LEAST.format(low=f"{low:.4g}") + unit
    return words.LIMITS_NONE


def shown(value: float | None, unit: str, units: Units) -> float | None:
    """A number in the unit that is shown, for figures that draw it to scale.

    Args:
        value: The number, None where there is none. [unit]
        unit: Its unit.
        units: Setting of the pour.

    Returns:
        The number in `unit_name`.
    """
    return value / MM_PER_INCH if value is not None and converts(unit, units) else value


def unit_name(unit: str, units: Units) -> str:
    """Name of the unit that is shown.

    Args:
        unit: Unit of the value.
        units: Setting of the pour.

    Returns:
        ``in`` for a length of a pour in inches, else the unit itself.
    """
    return "in" if converts(unit, units) else unit


def converts(unit: str, units: Units) -> bool:
    """Whether a value is shown in another unit than its own.

    Args:
        unit: Unit of the value.
        units: Setting of the pour.

    Returns:
        True for millimetres of a pour in inches.
    """
    return unit == "mm" and units == "inch"
