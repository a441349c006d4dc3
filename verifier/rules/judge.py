"""All findings of a pour: each requirement against the measurements that stand."""

from __future__ import annotations

from collections.abc import Sequence

from verifier.metrology.conformity import DecisionRule, Limits, conformance_probability
from verifier.metrology.measurement import Measurand, Measurement
from verifier.rules.agreement import Agreement
from verifier.rules.asked import Asked
from verifier.rules.consequence import consequences_of
from verifier.rules.coverage import spot_order
from verifier.rules.finding import Finding, find, is_blunt
from verifier.rules.requirement import Requirement

SPOT_BY_SPOT = (
    Measurand.SINGLE_GAP,
    Measurand.MEAN_SPACING,
    Measurand.BAR_DIAMETER,
    Measurand.BAR_COUNT,
)
OUTERMOST = {"bottom": "B1", "top": "T1"}
_VERDICT_ORDER = {"non_conforming": 0, "inconclusive": 1, "conforming": 2}


def findings_of(
    asked: Asked,
    measurements: Sequence[Measurement],
    agreements: Sequence[Agreement],
    *,
    rule: DecisionRule,
) -> tuple[tuple[Finding, ...], tuple[str, ...]]:
    """Judge everything that was asked.

    Spacing, bar size and count are judged spot by spot; cover and other lengths element by element, all readings together.

    Args:
        asked: All requirements of the pour.
        measurements: Measurements that stand.
        agreements: Photo against tape.
        rule: How sure is sure enough.

    Returns:
        Findings, worst first; and a remark for each reading that nothing asks for.
    """
    findings: list[Finding] = []
    used: set[int] = set()
    for requirement in asked.requirements:
        mine = [m for m in measurements if _meant(requirement, m)]
        used |= {id(m) for m in mine}
        section = asked.sections.get((requirement.element, _layer_of(requirement) or ""))
        groups = _by_spot(requirement, mine)
        if not groups and not requirement.when_measured:
            findings.append(find(requirement, [], spot=None, rule=rule))
        for spot, group in groups.items():
            deciding, aside = _sharp_enough(requirement, _deciding(group), rule)
            findings.append(
                find(
                    requirement,
                    deciding,
                    spot=spot,
                    rule=rule,
                    blocked_by=_blocked(requirement, spot, agreements),
                    consequences=consequences_of(requirement.measurand, deciding, section),
                    aside=aside,
                )
            )
    return tuple(sorted(findings, key=worst_first)), _unused(measurements, used)


def worst_first(finding: Finding) -> tuple[int, float, str]:
    """Sort key: not conforming, then not decided, then not measured, then conforming.

    Args:
        finding: A finding.

    Returns:
        A key to sort by; within a verdict the least likely to conform comes first.
    """
    order = _VERDICT_ORDER[finding.verdict]
    if not finding.measured:
        return 1, 3.0, finding.key
    if finding.indication:
        return 1, 1.0 + (finding.probability_low or 0.0), finding.key
    return order, finding.probability_low or 0.0, finding.key


def _layer_of(requirement: Requirement) -> str | None:
    """The layer whose section a requirement is about: cover is that of the outermost layer."""
    return OUTERMOST.get(requirement.layer or "", requirement.layer)


def _meant(requirement: Requirement, m: Measurement) -> bool:
    if m.element != requirement.element or m.measurand is not requirement.measurand:
        return False
    if requirement.measurand is Measurand.COVER:
        return m.layer in (requirement.layer, OUTERMOST.get(requirement.layer or ""))
    return requirement.layer is None or m.layer == requirement.layer


def _by_spot(
    requirement: Requirement, measurements: Sequence[Measurement]
) -> dict[str | None, list[Measurement]]:
    if requirement.measurand not in SPOT_BY_SPOT:
        return {None: list(measurements)} if measurements else {}
    groups: dict[str | None, list[Measurement]] = {}
    for m in sorted(measurements, key=lambda m: spot_order(m.spot or "")):
        groups.setdefault(m.spot, []).append(m)
    return groups


def _deciding(group: Sequence[Measurement]) -> list[Measurement]:
    """Where photo and tape gave the same quantity, the one with the smaller doubt decides; the other has been compared.

    A bar size is decided by a reading wherever there is one. A taped lap takes the place of those that photos of its own spot
    show, and of no others. Mean spacings of a spot are one quantity; gaps are the same if they carry the same number. Several photos
    of a spot, none of which can be told to be the newest, all count.
    """
    taped = [m for m in group if m.by == "tape"]
    if taped and group[0].measurand is Measurand.BAR_DIAMETER:
        return taped

    def better(m: Measurement) -> bool:
        return any(
            t.standard_uncertainty < m.standard_uncertainty
            for t in taped
            if t.spot == m.spot
            and (m.measurand is not Measurand.SINGLE_GAP or (t.index is not None and t.index == m.index))
        )

    def worse(t: Measurement) -> bool:
        if t.measurand not in (Measurand.MEAN_SPACING, Measurand.SINGLE_GAP):
            return False
        same = [
            m
            for m in group
            if m.by == "photo" and (m.measurand is not Measurand.SINGLE_GAP or m.index == t.index)
        ]
        return any(m.standard_uncertainty <= t.standard_uncertainty for m in same)

    kept = [m for m in group if not (better(m) if m.by == "photo" else worse(m))]
    return kept or list(group)


def _sharp_enough(
    requirement: Requirement, group: Sequence[Measurement], rule: DecisionRule
) -> tuple[list[Measurement], tuple[Measurement, ...]]:
    """Set blunt gaps aside that conform by themselves: they prove too little to be counted, but never hide a bad one."""
    if (
        requirement.measurand is not Measurand.SINGLE_GAP
        or requirement.lower is None
        or requirement.upper is None
    ):
        return list(group), ()
    limits = Limits(requirement.lower, requirement.upper)

    def counts(m: Measurement) -> bool:
        sure = conformance_probability(m.value, m.standard_uncertainty, limits) >= rule.conforming_at
        return not sure or not is_blunt(requirement, m)

    kept = [m for m in group if counts(m)]
    return (kept, tuple(m for m in group if not counts(m))) if kept else (list(group), ())


def _blocked(requirement: Requirement, spot: str | None, agreements: Sequence[Agreement]) -> str:
    """Why nothing may rest on these values: photo and tape of this spot contradict each other.

    A wrong scale moves every gap, so a contradiction in the mean also blocks the single gaps and the reverse.
    """
    spacing = (Measurand.SINGLE_GAP, Measurand.MEAN_SPACING)
    for a in agreements:
        here = (a.element, a.layer, a.spot) == (requirement.element, requirement.layer, spot)
        same = a.measurand is requirement.measurand or (
            a.measurand in spacing and requirement.measurand in spacing
        )
        if here and same and not a.agrees:
            return a.words
    return ""


def _unused(measurements: Sequence[Measurement], used: set[int]) -> tuple[str, ...]:
    return tuple(
        f"{_row_of(m)}: {m.measurand.value.replace('_', ' ')} of {m.element or 'no element'} {m.layer or ''} "
        "is not asked for by the drawing."
        for m in measurements
        if id(m) not in used
    )


def _row_of(m: Measurement) -> str:
    name = m.trace.original_name
    return name if m.trace.row is None else f"{name}, row {m.trace.row}"
