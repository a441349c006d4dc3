"""Uncertainty budgets: from limits to standard uncertainties, combining, expanding, and the one way to print a result."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Context, Decimal
from statistics import NormalDist

from scipy.special import stdtrit

PRINTED_DIGITS = 2
"""Significant digits of a printed uncertainty (JCGM 100:2008, 7.2.6)."""

_ALL_DIGITS = Context(prec=700, rounding=ROUND_HALF_EVEN)  # any two floats fit: no rounding but the asked one


def rectangular(half_width: float) -> float:
    """Standard uncertainty of something known only to lie between two limits.

    Args:
        half_width: Half the distance between the limits, zero or more. [any unit]

    Returns:
        Standard uncertainty. [unit of half_width]

    Raises:
        ValueError: If half_width is negative or not finite.

    Source:
        JCGM 100:2008, 4.3.7, equation (7).
    """
    return _checked(half_width) / math.sqrt(3.0)


def triangular(half_width: float) -> float:
    """Standard uncertainty of something between two limits and more likely in the middle.

    Args:
        half_width: Half the distance between the limits, zero or more. [any unit]

    Returns:
        Standard uncertainty. [unit of half_width]

    Raises:
        ValueError: If half_width is negative or not finite.

    Source:
        JCGM 100:2008, 4.3.9, equation (9b).
    """
    return _checked(half_width) / math.sqrt(6.0)


def combine(standard_uncertainties: Sequence[float]) -> float:
    """Combine independent contributions.

    Args:
        standard_uncertainties: Contributions, each already multiplied by its sensitivity. [one unit]

    Returns:
        Combined standard uncertainty. [that unit]

    Raises:
        ValueError: If one is negative or not finite.

    Source:
        JCGM 100:2008, 5.1.2, equation (10).
    """
    return math.hypot(*(_checked(u) for u in standard_uncertainties))


def effective_degrees_of_freedom(contributions: Sequence[tuple[float, float]]) -> float:
    """Return the effective degrees of freedom of a combined uncertainty (Welch-Satterthwaite).

    Args:
        contributions: Pairs of standard uncertainty and degrees of freedom; infinite where exactly known.

    Returns:
        Effective degrees of freedom, not rounded; infinite when every contribution is exactly known.

    Raises:
        ValueError: If an uncertainty is negative or not finite, or degrees of freedom are not above zero.

    Source:
        JCGM 100:2008, G.4.1, equation (G.2b).
    """
    if any(not degrees > 0 for _, degrees in contributions):
        raise ValueError(f"degrees of freedom must be above zero: {[d for _, d in contributions]}")
    share = sum(_checked(u) ** 4 / degrees for u, degrees in contributions)
    return combine([u for u, _ in contributions]) ** 4 / share if share > 0 else math.inf


def coverage_factor(probability: float = 0.95, degrees_of_freedom: float = math.inf) -> float:
    """Return the factor from a standard to an expanded uncertainty.

    Args:
        probability: Coverage probability, between 0 and 1.
        degrees_of_freedom: Effective degrees of freedom; cut down to a whole number as the source asks.

    Returns:
        Two-sided quantile of the t distribution; of the normal distribution for infinite degrees of freedom.

    Raises:
        ValueError: If the probability lies outside (0, 1) or the degrees of freedom are below one.

    Source:
        JCGM 100:2008, G.3.2, G.4.1 and table G.2.
    """
    if not 0.0 < probability < 1.0:
        raise ValueError(f"coverage probability is {probability}; it must lie between 0 and 1")
    if not degrees_of_freedom >= 1:
        raise ValueError(f"degrees of freedom are {degrees_of_freedom}; one or more are needed")
    quantile = (1.0 + probability) / 2.0
    if math.isinf(degrees_of_freedom):
        return NormalDist().inv_cdf(quantile)
    return float(stdtrit(math.floor(degrees_of_freedom), quantile))


def expand(
    standard_uncertainty: float, probability: float = 0.95, degrees_of_freedom: float = math.inf
) -> float:
    """Return the expanded uncertainty.

    Args:
        standard_uncertainty: Combined standard uncertainty. [any unit]
        probability: Coverage probability.
        degrees_of_freedom: Effective degrees of freedom.

    Returns:
        Half width of the interval that covers the true value with that probability. [unit of input]

    Raises:
        ValueError: If the uncertainty is negative or not finite, or as `coverage_factor`.

    Source:
        JCGM 100:2008, 6.2.1 and G.4.1.
    """
    return coverage_factor(probability, degrees_of_freedom) * _checked(standard_uncertainty)


def rounded(value: float, expanded_uncertainty: float) -> tuple[str, str]:
    """Round a value and its expanded uncertainty for print; every printed result goes through here.

    The uncertainty keeps two significant digits, the value ends at the same decimal place, halves go to the even
    digit. With two digits the printed uncertainty is never more than 5 % below the computed one, so the rounding-up
    clause of EA-4/02 never applies. An exact value (zero uncertainty) is printed as it is.

    Args:
        value: Measured value. [any unit]
        expanded_uncertainty: Its expanded uncertainty, zero or more. [unit of value]

    Returns:
        Both as text, with the same number of decimals.

    Raises:
        ValueError: If a number is not finite or the uncertainty is negative.

    Source:
        JCGM 100:2008, 7.2.6; EA-4/02 M:2022, 6.3 (from memory); ISO 80000-1:2009, annex B, rule A.
    """
    if not math.isfinite(value):
        raise ValueError(f"value is {value}; a finite number is needed")
    if _checked(expanded_uncertainty) == 0:
        return format(Decimal(repr(float(value))).normalize() + 0, "f"), "0"
    exact = Decimal(repr(float(expanded_uncertainty)))
    place = exact.adjusted() - PRINTED_DIGITS + 1
    step = Decimal(1).scaleb(place)
    uncertainty = exact.quantize(step, context=_ALL_DIGITS)
    if uncertainty.adjusted() > exact.adjusted():  # 9.96 became 10.0: keep two digits, not three
        step = Decimal(1).scaleb(place + 1)
        uncertainty = uncertainty.quantize(step, context=_ALL_DIGITS)
    rounded_value = Decimal(repr(float(value))).quantize(step, context=_ALL_DIGITS)
    if rounded_value == 0:
        rounded_value = abs(rounded_value)  # "-0" reads as a slip
    return format(rounded_value, "f"), format(uncertainty, "f")


def result_text(value: float, expanded_uncertainty: float, unit: str = "mm") -> str:
    """Print a result as ``150.4 ± 1.1 mm``; an exact one as ``12``, without a doubt beside it.

    Args:
        value: Measured value. [unit]
        expanded_uncertainty: Its expanded uncertainty. [unit]
        unit: Name of the unit; ``count`` prints as nothing.

    Returns:
        The text.

    Raises:
        ValueError: As `rounded`.

    Source:
        JCGM 100:2008, 7.2.4 and 7.2.6.
    """
    shown, doubt = rounded(value, expanded_uncertainty)
    text = shown if expanded_uncertainty == 0 else f"{shown} ± {doubt}"
    return text if unit == "count" else f"{text} {unit}"


def _checked(uncertainty: float) -> float:
    if not math.isfinite(uncertainty) or uncertainty < 0:
        raise ValueError(f"uncertainty is {uncertainty}; zero or a finite positive number is needed")
    return uncertainty
