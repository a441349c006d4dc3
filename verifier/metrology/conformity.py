"""Does a measured value, with its doubt, keep its limits? A probability first, then a decision."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist

DEFAULT_CONFORMING_AT = 0.95
DEFAULT_NON_CONFORMING_AT = 0.05


class Decision(StrEnum):
    """What the value and its doubt allow one to say (words of JCGM 106:2012 and ISO 10576)."""

    CONFORMING = "conforming"
    NON_CONFORMING = "non_conforming"
    INCONCLUSIVE = "inconclusive"


@dataclass(frozen=True, slots=True)
class Limits:
    """A tolerance interval, closed at both ends; ``None`` leaves a side open.

    Attributes:
        lower: Least value allowed, or ``None``.
        upper: Greatest value allowed, or ``None``.
    """

    lower: float | None = None
    upper: float | None = None

    def __post_init__(self) -> None:
        if self.lower is None and self.upper is None:
            raise ValueError("at least one limit is needed: with none, everything would conform")
        for name, limit in (("lower", self.lower), ("upper", self.upper)):
            if limit is not None and not math.isfinite(limit):
                raise ValueError(f"{name} limit is {limit}; leave a side open with None")
        if self.lower is not None and self.upper is not None and self.lower > self.upper:
            raise ValueError(f"lower limit {self.lower} lies above upper limit {self.upper}")


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """From which conformance probability on a value counts as conforming, and down to which as not.

    Attributes:
        conforming_at: Least probability for ``conforming``, above one half and below one.
        non_conforming_at: Greatest probability for ``non_conforming``, above zero and below one half.
    """

    conforming_at: float = DEFAULT_CONFORMING_AT
    non_conforming_at: float = DEFAULT_NON_CONFORMING_AT

    def __post_init__(self) -> None:
        # Above one half and below it: a value on its limit is then never decided by the toss of a rounding.
        if not 0.5 < self.conforming_at < 1.0:
            raise ValueError(f"conforming_at is {self.conforming_at}; it must lie between 0.5 and 1")
        if not 0.0 < self.non_conforming_at < 0.5:
            raise ValueError(f"non_conforming_at is {self.non_conforming_at}; it must lie between 0 and 0.5")


@dataclass(frozen=True, slots=True)
class Conformity:
    """A decision together with what it was made from.

    Attributes:
        probability: Conformance probability, 0 to 1.
        decision: The decision under ``rule``.
        rule: The rule applied, kept with the finding.
    """

    probability: float
    decision: Decision
    rule: DecisionRule


def conformance_probability(value: float, standard_uncertainty: float, limits: Limits) -> float:
    """Return the probability that the true value keeps the limits.

    The doubt about the true value is taken as normal around the measured one. With no doubt at all (a count) the
    answer is 1 or 0, and a value on its limit keeps it.

    Args:
        value: Measured value. [any unit]
        standard_uncertainty: Its standard uncertainty, zero or more. [unit of value]
        limits: One or two limits. [unit of value]

    Returns:
        Probability between 0 and 1.

    Raises:
        ValueError: If the value or its uncertainty is not finite, or the uncertainty is negative.

    Source:
        JCGM 106:2012, 7.3 (one limit) and 7.4 (two limits).
    """
    if not math.isfinite(value):
        raise ValueError(f"value is {value}; a finite number is needed")
    if not math.isfinite(standard_uncertainty) or standard_uncertainty < 0:
        raise ValueError(
            f"standard uncertainty is {standard_uncertainty}; zero or a finite positive number is needed"
        )
    low = -math.inf if limits.lower is None else limits.lower
    high = math.inf if limits.upper is None else limits.upper
    if standard_uncertainty == 0:
        return 1.0 if low <= value <= high else 0.0
    below, above = (low - value) / standard_uncertainty, (high - value) / standard_uncertainty
    if below > 0:
        # Both limits on one side: subtract the small tails, not two numbers close to one.
        return _tail(below) - _tail(above)
    return max(0.0, 1.0 - _tail(-below) - _tail(above))


def _tail(z: float) -> float:
    """Share of the standard normal distribution beyond z."""
    return 0.5 * math.erfc(z / math.sqrt(2.0))


def assess(
    value: float, standard_uncertainty: float, limits: Limits, rule: DecisionRule | None = None
) -> Conformity:
    """Decide whether a value conforms, does not conform, or can't be decided with this doubt.

    Args:
        value: Measured value. [any unit]
        standard_uncertainty: Its standard uncertainty. [unit of value]
        limits: One or two limits. [unit of value]
        rule: Probabilities of the decision; without it 95 % and 5 %.

    Returns:
        Probability, decision and the rule it was made under.

    Raises:
        ValueError: As `conformance_probability`.

    Source:
        JCGM 106:2012, 8.2 and 8.3 (decision rules, guard bands); ISO 10576 for the third outcome.
    """
    rule = rule or DecisionRule()
    probability = conformance_probability(value, standard_uncertainty, limits)
    if probability >= rule.conforming_at:
        decision = Decision.CONFORMING
    elif probability <= rule.non_conforming_at:
        decision = Decision.NON_CONFORMING
    else:
        decision = Decision.INCONCLUSIVE
    return Conformity(probability, decision, rule)


def guard_band(standard_uncertainty: float, rule: DecisionRule | None = None) -> float:
    """Return how far inside a single limit a value must lie to count as conforming.

    Args:
        standard_uncertainty: Standard uncertainty of the value. [unit of value]
        rule: Probabilities of the decision; without it 95 % and 5 %.

    Returns:
        Width of the guard band, zero or more. [unit of value]

    Raises:
        ValueError: If the uncertainty is negative or not finite.

    Source:
        JCGM 106:2012, 8.3.2; ILAC-G8:09/2019, table 1 (w as a multiple of U; here it is z times u).
    """
    if not math.isfinite(standard_uncertainty) or standard_uncertainty < 0:
        raise ValueError(
            f"standard uncertainty is {standard_uncertainty}; zero or a finite positive number is needed"
        )
    return NormalDist().inv_cdf((rule or DecisionRule()).conforming_at) * standard_uncertainty
