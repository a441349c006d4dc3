"""Do two measurements of one thing agree, and what do several readings of it say together?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

AGREES_UP_TO = 1.0
"""Greatest |E_n| of two measurements that agree (ISO 13528:2015, 9.7)."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """How two measurements of one thing compare.

    Attributes:
        e_n: Difference over the root sum of squares of both expanded uncertainties; signed as first minus second.
        agrees: Whether |e_n| is at most one.
    """

    e_n: float
    agrees: bool


def agreement(
    value: float, expanded_uncertainty: float, other: float, other_expanded_uncertainty: float
) -> Agreement:
    """Compare two independent measurements of the same thing.

    Args:
        value: First value. [any unit]
        expanded_uncertainty: Its expanded uncertainty for 95 %. [unit of value]
        other: Second value. [unit of value]
        other_expanded_uncertainty: Its expanded uncertainty for 95 %. [unit of value]

    Returns:
        E_n and whether the two agree. Two equal exact values agree with E_n = 0; two unequal ones don't, with an
        infinite E_n.

    Raises:
        ValueError: If a number is not finite or an uncertainty is negative.

    Source:
        ISO 13528:2015, 9.7; ISO/IEC 17043:2023, annex B.
    """
    uncertainties = (expanded_uncertainty, other_expanded_uncertainty)
    if not all(math.isfinite(x) for x in (value, other, *uncertainties)) or min(uncertainties) < 0:
        raise ValueError(
            f"can't compare {value} +- {expanded_uncertainty} with {other} +- {other_expanded_uncertainty}"
        )
    spread = math.hypot(*uncertainties)
    difference = value - other
    if spread == 0:
        e_n = 0.0 if difference == 0 else math.copysign(math.inf, difference)
    else:
        e_n = difference / spread
    return Agreement(e_n, abs(e_n) <= AGREES_UP_TO)


@dataclass(frozen=True, slots=True)
class Mean:
    """The mean of several readings of one thing.

    Attributes:
        value: Arithmetic mean. [unit of the readings]
        deviation: Experimental standard deviation of one reading; zero for a single one. [unit of the readings]
        standard_uncertainty: Type A standard uncertainty of the mean. [unit of the readings]
        degrees_of_freedom: Number of readings less one.
    """

    value: float
    deviation: float
    standard_uncertainty: float
    degrees_of_freedom: int


def mean_of(readings: Sequence[float]) -> Mean:
    """Return the mean of several readings with its type A uncertainty.

    Args:
        readings: One or more readings of the same thing. [any unit]

    Returns:
        Mean, scatter of one reading, uncertainty of the mean, degrees of freedom. One reading alone says nothing
        about scatter: its deviation is zero with zero degrees of freedom, so a budget must bring its own.

    Raises:
        ValueError: If there is no reading or one is not finite.

    Source:
        JCGM 100:2008, 4.2.1 to 4.2.3, equations (3), (4) and (5).
    """
    if not readings or not all(math.isfinite(r) for r in readings):
        raise ValueError(f"readings {list(readings)}: at least one is needed and each must be finite")
    count = len(readings)
    value = math.fsum(readings) / count
    if count == 1:
        return Mean(value, 0.0, 0.0, 0)
    deviation = math.sqrt(math.fsum((r - value) ** 2 for r in readings) / (count - 1))
    return Mean(value, deviation, deviation / math.sqrt(count), count - 1)
