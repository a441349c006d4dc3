"""Gaps that are not decided, and when somebody can still settle them before concrete: a condition in place of a stop."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.metrology.budget import result_text
from verifier.release.reason import Reason
from verifier.rules.finding import Finding, Judged, find, is_blunt

LIKELY = 0.5


def conditions_of_gaps(finding: Finding, *, clear_distance_kept: bool) -> tuple[Reason, ...]:
    """Say what would settle a gap finding that is open for harmless causes only.

    Two causes are harmless enough: a gap at the rim of a photo, seen too bluntly to be judged and more likely right than
    wrong, which one tape reading settles; and gaps that are surely not too wide and only perhaps narrower than agreed,
    while the clear distance of the code is kept.

    Args:
        finding: An inconclusive finding on single gaps.
        clear_distance_kept: Whether the clear distance at the same place conforms.

    Returns:
        One condition for each cause, or nothing if any gap is open for another cause.
    """
    requirement = finding.requirement
    if requirement.rule != "single-gap" or requirement.upper is None or finding.blocked_by:
        return ()
    open_ones = [j for j in finding.judged if j.probability < finding.rule.conforming_at]
    blunt = [j for j in open_ones if is_blunt(requirement, j.measurement) and j.probability >= LIKELY]
    rest = [j for j in finding.judged if j not in blunt]
    if all(is_blunt(requirement, j.measurement) for j in rest):
        return ()
    verdict = find(requirement, [j.measurement for j in rest], spot=finding.spot, rule=finding.rule).verdict
    narrow = verdict != "conforming"
    if narrow and not (clear_distance_kept and _surely_not_too_wide(finding, rest)):
        return ()
    conditions = [_to_tape(finding, blunt)] if blunt else []
    return (*conditions, _perhaps_narrow(finding, rest)) if narrow else tuple(conditions)


def _surely_not_too_wide(finding: Finding, judged: Sequence[Judged]) -> bool:
    upper_only = finding.requirement.model_copy(update={"lower": None})
    values = [j.measurement for j in judged]
    return find(upper_only, values, spot=finding.spot, rule=finding.rule).verdict == "conforming"


def _to_tape(finding: Finding, blunt: Sequence[Judged]) -> Reason:
    told = "; ".join(
        f"gap {j.measurement.index} {j.measurement.value:.0f} ± {j.measurement.expanded_uncertainty:.0f} mm"
        for j in blunt
    )
    return Reason(
        key=f"{finding.key}/blunt",
        room="findings",
        weight="condition",
        kind="not-decided",
        says=f"{finding.place}: seen too bluntly to be judged, asked {finding.requirement.limits_words}: {told}.",
        clears="Tape it and enter the reading with its gap number, or photograph with the board beside it.",
        about=(finding.key,),
    )


def _perhaps_narrow(finding: Finding, rest: Sequence[Judged]) -> Reason:
    worst = min(rest, key=lambda j: j.probability).measurement
    return Reason(
        key=f"{finding.key}/narrow",
        room="findings",
        weight="condition",
        kind="not-decided",
        says=f"{finding.place}: gap {worst.index} {result_text(worst.value, worst.expanded_uncertainty)} may be narrower than "
        f"agreed ({finding.requirement.limits_words}). No gap is too wide, and the clear distance is kept.",
        clears="The engineer of record accepts it in writing, or the bar is moved.",
        owner="engineer of record",
        about=(finding.key,),
    )
