"""A finding: what was asked, what was measured, and whether the one meets the other (JCGM 106).

Several values under one requirement, the gaps of a layer at a spot or the cover readings of a face, make one finding:
it conforms only if every one of them does. How the gaps' errors hang together is not known (a wrong board scale moves all
of them alike, a badly seen bar moves two), so the chance that all conform is bracketed without any assumption about it:

    1 - sum(1 - p_i)  <=  P(all conform)  <=  min(p_i)        (Boole, Fréchet)

The lower end decides for conforming and the upper end for non-conforming. Ten gaps are ten chances to be wrong; the lower
end counts each of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from pydantic import BaseModel

from verifier.metrology.conformity import DecisionRule, Limits, conformance_probability
from verifier.metrology.measurement import Measurand, Measurement
from verifier.rules.consequence import Consequence
from verifier.rules.requirement import Requirement

LEAST_RATIO = 4.0
Verdict = Literal["conforming", "non_conforming", "inconclusive"]

TAPE_EXPANDED_MM = 1.5
"""What a taped gap is usually good for, expanded; only used to say whether a tape would settle it. Common practice, no source."""


HOW_TO_SIZE = "Read the size rolled on a bar and enter it with the instrument rolled-mark, or put a caliper on a bar and enter the reading."
"""How a bar's size is settled; a photo or a tape over several gaps can't settle it."""


class Judged(BaseModel, frozen=True, extra="forbid"):
    """One measurement and the probability that the true value meets the requirement."""

    measurement: Measurement
    probability: float


class Finding(BaseModel, frozen=True, extra="forbid"):
    """One requirement at one place, with the chain back to the pixels or the tape reading.

    ``judged`` is in the order of the gaps; ``aside`` holds gaps seen too bluntly to count. ``probability_low`` and ``probability_high`` bracket the chance that all of
    them conform; they are None where nothing was measured. ``blocked_by`` tells why a finding can't stand although it has
    values: photo and tape contradict each other.
    """

    requirement: Requirement
    spot: str | None
    judged: tuple[Judged, ...]
    verdict: Verdict
    probability_low: float | None
    probability_high: float | None
    rule: DecisionRule
    next_step: str = ""
    blocked_by: str = ""
    consequences: tuple[Consequence, ...] = ()
    aside: tuple[Measurement, ...] = ()

    @property
    def key(self) -> str:
        """Stable name of this finding: requirement and spot."""
        return self.requirement.key + (f"/{self.spot}" if self.spot is not None else "")

    @property
    def measured(self) -> bool:
        """Whether anything was measured for it."""
        return bool(self.judged)

    @property
    def indication(self) -> bool:
        """Whether it is a bar size that photos indicate and do not decide."""
        size = self.requirement.measurand is Measurand.BAR_DIAMETER
        return (
            size
            and self.measured
            and not self.blocked_by
            and _by_photo_alone([j.measurement for j in self.judged])
        )

    @property
    def worst(self) -> Judged | None:
        """The value least likely to conform."""
        return min(self.judged, key=lambda j: (j.probability, -_beyond(self.requirement, j)), default=None)

    @property
    def place(self) -> str:
        """Where, as people say it: S1 B1, spot 3."""
        where = " ".join(filter(None, (self.requirement.element, self.requirement.layer)))
        return where + (f", spot {self.spot}" if self.spot is not None else "")


def _beyond(requirement: Requirement, judged: Judged) -> float:
    """How far a value lies beyond the nearer limit; negative inside."""
    value = judged.measurement.value
    over = value - requirement.upper if requirement.upper is not None else -math.inf
    under = requirement.lower - value if requirement.lower is not None else -math.inf
    return max(over, under)


def find(
    requirement: Requirement,
    measurements: Sequence[Measurement],
    *,
    spot: str | None,
    rule: DecisionRule,
    blocked_by: str = "",
    consequences: tuple[Consequence, ...] = (),
    aside: tuple[Measurement, ...] = (),
) -> Finding:
    """Judge measurements against one requirement.

    Args:
        requirement: What is asked.
        measurements: Values of its measurand at this spot; empty where nothing was measured.
        spot: Where on the element, or None for the element as a whole.
        rule: How sure is sure enough.
        blocked_by: Why the values can't be relied on, empty if they can.
        consequences: What a deviation does to the structure, as information.
        aside: Values set aside because they are too blunt to be evidence.

    Returns:
        The finding. A bar size that only photos show stays inconclusive, whatever its probability.

    Source:
        JCGM 106:2012, 7 (conformance probability); Boole's and Fréchet's inequalities for several values.
    """
    if any(_without_doubt(m) for m in measurements):
        blocked_by = blocked_by or "A length without any uncertainty was given: no length is exact."
    judged = tuple(Judged(measurement=m, probability=_probability(requirement, m)) for m in measurements)
    if not judged:
        return Finding(
            requirement=requirement,
            spot=spot,
            judged=(),
            verdict="inconclusive",
            probability_low=None,
            probability_high=None,
            rule=rule,
            next_step=_how_to_measure(requirement),
        )
    indication = (
        not blocked_by and requirement.measurand is Measurand.BAR_DIAMETER and _by_photo_alone(measurements)
    )
    low = max(0.0, 1.0 - math.fsum(1.0 - j.probability for j in judged))
    high = min(j.probability for j in judged)
    verdict: Verdict = "inconclusive"
    decides = not blocked_by and not indication
    if decides and low >= rule.conforming_at:
        verdict = "conforming"
    elif decides and high <= rule.non_conforming_at:
        verdict = "non_conforming"
    finding = Finding(
        requirement=requirement,
        spot=spot,
        judged=judged,
        verdict=verdict,
        probability_low=min(low, high),
        probability_high=high,
        rule=rule,
        blocked_by=blocked_by,
        consequences=() if verdict == "conforming" else consequences,
        aside=aside,
    )
    return finding.model_copy(update={"next_step": _next_step(finding)})


def is_blunt(requirement: Requirement, m: Measurement) -> bool:
    """Tell whether a value was measured too bluntly for a two-sided tolerance, as gaps at the rim of a photo are.

    Args:
        requirement: What is asked.
        m: The value.

    Returns:
        True if half the tolerance is less than four times the expanded uncertainty; False where a side is open.

    Source:
        ANSI/NCSL Z540.3-2006, 5.3 (test uncertainty ratio of 4:1; from memory).
    """
    if requirement.lower is None or requirement.upper is None:
        return False
    return m.expanded_uncertainty * LEAST_RATIO > (requirement.upper - requirement.lower) / 2


def _by_photo_alone(measurements: Sequence[Measurement]) -> bool:
    """A bar's outline in a photo is an indication of its size, not a decision: ribs, shade and blur shift it."""
    return all(m.by == "photo" for m in measurements)


def _probability(requirement: Requirement, m: Measurement) -> float:
    limits = Limits(requirement.lower, requirement.upper)
    return conformance_probability(m.value, m.standard_uncertainty, limits)


def _without_doubt(m: Measurement) -> bool:
    """A length that claims to be exact; only a count can be."""
    return m.unit == "mm" and m.standard_uncertainty == 0


def _how_to_measure(requirement: Requirement) -> str:
    if requirement.by_tape:
        what = requirement.rule.replace("-", " ")
        return f"Tape or gauge the {what} and enter the reading."
    if requirement.measurand is Measurand.BAR_DIAMETER:
        return HOW_TO_SIZE
    return (
        "Photograph it with the scale board on the bars, or tape it over several gaps and enter the reading."
    )


def _next_step(finding: Finding) -> str:
    """The cheapest step that can settle it, or that it needs correcting."""
    if finding.blocked_by:
        return "Tape it again with a second person, then take a new photo of the spot."
    worst = finding.worst
    if finding.verdict == "conforming" or worst is None:
        return ""
    if finding.requirement.measurand is Measurand.LAP_LENGTH and worst.measurement.by == "photo":
        return (
            f"Tape this lap from end to end ({worst.measurement.value:.0f} mm by photo) and enter the reading with its spot; if it "
            "is short, lengthen it or have the engineer of record decide in writing."
        )
    if finding.verdict == "non_conforming":
        return (
            "Correct it and photograph the same spot again, or have the engineer of record decide in writing."
        )
    m, requirement = worst.measurement, finding.requirement
    if requirement.measurand is Measurand.BAR_DIAMETER:
        return HOW_TO_SIZE
    name = f"gap {m.index}" if m.index is not None else "it"
    margin = abs(_beyond(requirement, worst))
    if m.by == "photo" and (margin > TAPE_EXPANDED_MM or m.expanded_uncertainty > 2 * TAPE_EXPANDED_MM):
        return f"Tape {name} ({m.value:.0f} mm by photo) and enter the reading with its gap number."
    if m.by == "photo":
        return f"Photograph nearer, the board beside {name}; so close to the limit that a tape may not settle it either."
    return "So close to the limit that another reading may not settle it: correct it, or ask the engineer of record."
