"""Reasons that follow from findings and coverage."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from verifier.metrology.budget import result_text
from verifier.metrology.measurement import Measurand
from verifier.release.open_gaps import conditions_of_gaps
from verifier.release.reason import Reason
from verifier.rules.coverage import BEAM_BARS, Coverage
from verifier.rules.finding import HOW_TO_SIZE, Finding, Judged
from verifier.rules.requirement import Requirement

MORE_IS_WORSE = (
    Measurand.SINGLE_GAP,
    Measurand.MEAN_SPACING,
    Measurand.BLOCK_PITCH,
    Measurand.CHAIR_PITCH,
)
OTHER_SIDE = 1000.0
Place = tuple[str, str | None, str | None]


def reasons_of_findings(findings: Sequence[Finding]) -> tuple[Reason, ...]:
    """Turn findings into reasons.

    A finding that is measured and not conforming stops the pour, also where it is only not decided. Some doubts are
    conditions in place of stops: a bar size that only photos indicate, and those of ``conditions_of_gaps``. What nobody
    has measured yet and a tape can settle is a condition with an owner; spacing that nobody has measured is coverage.

    Args:
        findings: All findings.

    Returns:
        One reason for each finding that is not conforming; open tape readings of one element are put together.
    """
    clear = {(f.requirement.element, f.requirement.layer, f.spot) for f in findings if _is_clear(f)}
    sizes = [f for f in findings if f.indication]
    reasons = [r for f in findings for r in _of_measured(f, clear)]
    return (*reasons, *_of_sizes(sizes, findings), *_of_open(findings))


def _is_clear(finding: Finding) -> bool:
    return finding.requirement.rule == "clear-distance" and finding.verdict == "conforming"


def _of_measured(finding: Finding, clear: Collection[Place]) -> tuple[Reason, ...]:
    if finding.verdict == "conforming" or finding.worst is None or finding.indication:
        return ()
    if finding.verdict == "inconclusive":
        place = (finding.requirement.element, finding.requirement.layer, finding.spot)
        conditions = conditions_of_gaps(finding, clear_distance_kept=place in clear)
        if conditions:
            return conditions
    return (_stop(finding, finding.worst),)


def _stop(finding: Finding, worst: Judged) -> Reason:
    requirement = finding.requirement
    m = worst.measurement
    value = result_text(m.value, m.expanded_uncertainty, m.unit)
    what = requirement.rule_words
    says = f"{finding.place}: {what} {value}, asked {requirement.limits_words}"
    if finding.blocked_by:
        kind, says = "contradiction", f"{says}. Not usable: {finding.blocked_by}"
    elif finding.verdict == "non_conforming":
        kind, says = "non-conforming", f"{says}. Does not conform."
    else:
        kind, says = "not-decided", f"{says}. Not decided."
    return Reason(
        key=finding.key,
        room="findings",
        weight="stops",
        kind=kind,
        says=says,
        clears=finding.next_step,
        about=(finding.key,),
        finer=_finer(finding),
    )


def _of_sizes(indicated: Sequence[Finding], findings: Sequence[Finding]) -> tuple[Reason, ...]:
    """One condition for each layer of an element whose bar size nobody has read, or where a photo looks otherwise."""
    read = {
        (f.requirement.element, f.requirement.layer)
        for f in findings
        if f.requirement.measurand is Measurand.BAR_DIAMETER and f.verdict == "conforming"
    }
    groups: dict[tuple[str, str | None], list[Finding]] = {}
    for f in indicated:
        groups.setdefault((f.requirement.element, f.requirement.layer), []).append(f)
    reasons = []
    for layer, group in groups.items():
        other = [f for f in group if (f.probability_high or 0.0) <= f.rule.non_conforming_at]
        if layer not in read or other:
            reasons.append(_size_to_read(group, other))
    return tuple(reasons)


def _size_to_read(group: Sequence[Finding], other: Sequence[Finding]) -> Reason:
    requirement = group[0].requirement
    says = f"{requirement.element} {requirement.layer}: {requirement.asks}; a photo only indicates it."
    if other:
        sizes = [f"{f.worst.measurement.value:.0f} mm at spot {f.spot}" for f in other if f.worst is not None]
        says = f"{requirement.element} {requirement.layer}: {requirement.asks}; by photo bars look like {', '.join(sizes)}."
    return Reason(
        key=f"{requirement.element}/{requirement.layer}/diameter/open",
        room="findings",
        weight="condition",
        kind="not-done",
        says=says,
        clears=HOW_TO_SIZE,
        about=tuple(f.key for f in (other or group)),
        finer=-float(len(other)),
    )


def _finer(finding: Finding) -> float:
    """Smaller is worse: how far the worst value lies beyond its limit on the side that lacks steel or cover, as a share.

    A deviation to the other side (bars too thick, gaps too narrow) comes after all of those.
    """
    worst, r = finding.worst, finding.requirement
    if worst is None:
        return 0.0
    value = worst.measurement.value
    over = value - r.upper if r.upper is not None else -math.inf
    under = r.lower - value if r.lower is not None else -math.inf
    lacking, other = (over, under) if r.measurand in MORE_IS_WORSE else (under, over)
    scale = abs(r.nominal or r.upper or r.lower or 1.0)
    return -lacking / scale if lacking >= other else OTHER_SIDE - other / scale


def _of_open(findings: Sequence[Finding]) -> tuple[Reason, ...]:
    """One condition for each element and kind of reading that is still open; open spacings and covers are a matter of coverage."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for f in findings:
        if not f.measured and not _is_coverage(f.requirement):
            groups.setdefault((f.requirement.element, f.requirement.rule), []).append(f)
    reasons = []
    for (element, rule), group in groups.items():
        where = ", ".join(dict.fromkeys(filter(None, (f.requirement.layer for f in group))))
        what = rule.replace("-", " ")
        reasons.append(
            Reason(
                key=f"{element}/{rule}/open",
                room="findings",
                weight="condition",
                kind="not-done",
                says=f"{element}{' ' + where if where else ''}: {what} not measured yet.",
                clears=group[0].next_step,
                about=tuple(f.key for f in group),
            )
        )
    return tuple(reasons)


def _is_coverage(requirement: Requirement) -> bool:
    """Whether a missing reading shows as a missing spot already."""
    counted_there = requirement.measurand is Measurand.BAR_COUNT and requirement.layer == BEAM_BARS
    spacing = requirement.measurand in (Measurand.SINGLE_GAP, Measurand.MEAN_SPACING)
    return spacing or counted_there or requirement.measurand is Measurand.COVER


def reasons_of_coverage(coverage: Sequence[Coverage]) -> tuple[Reason, ...]:
    """Turn missing spots into reasons, one for each element; each stops the pour.

    Cover stops it as spacing does: no photo shows it, nobody can gauge it afterwards, and a reading takes a minute.

    Args:
        coverage: Spots of every layer and face.

    Returns:
        The reasons.
    """
    reasons = []
    for element in dict.fromkeys(c.element for c in coverage):
        for what in ("spacing", "cover"):
            short = [c for c in coverage if c.element == element and c.what == what and not c.complete]
            if short:
                reasons.append(_too_few(element, what, short))
    return tuple(reasons)


def _too_few(element: str, what: str, short: Sequence[Coverage]) -> Reason:
    parts = "; ".join(
        f"{c.layer} {len(c.there)} of {c.asked} (missing: {', '.join(c.missing)})" for c in short
    )
    missing = ", ".join(dict.fromkeys(s for c in short for s in c.missing))
    spacing = what == "spacing"
    return Reason(
        key=f"{element}/coverage/{what}",
        room="coverage",
        weight="stops",
        kind="not-covered",
        says=f"{element}: {what} measured at too few spots: {parts}.",
        clears=f"Photograph {element} at spot {missing} with the scale board, or tape it there."
        if spacing
        else f"Gauge or tape the cover of {element} at spot {missing} and enter the readings.",
        finer=-float(sum(len(c.missing) for c in short)),
    )
