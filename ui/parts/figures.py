"""From a check to its figures and states: a finding against its limits, a spot, a layer, a photo."""

from __future__ import annotations

from ui import words
from ui.parts import lengths, plain
from verifier.drawing.callout import Units
from verifier.pipeline.decision.check import Check
from verifier.pipeline.measurement.photos import PhotoEntry
from verifier.report.figures import Limits, Reading, Verdict, gap_chart, tolerance_bar
from verifier.rules.coverage import Coverage
from verifier.rules.finding import Finding, Judged

WORST_FIRST: tuple[Verdict, ...] = ("non_conforming", "missing", "inconclusive", "conforming")


def finding_figure(finding: Finding, units: Units) -> None:
    """Draw a finding: one value as a bar, several as a chart, value after value.

    Args:
        finding: The finding; without values nothing is drawn.
        units: Setting of the pour.
    """
    if not finding.judged:
        return
    limits = _limits(finding, units)
    readings = tuple(_reading(j, finding, i, units) for i, j in enumerate(finding.judged, start=1))
    told = "; ".join(
        f"{r.label}: {lengths.measured(j.measurement, units)}, {words.VERDICT[r.verdict]}"
        for r, j in zip(readings, finding.judged, strict=True)
    )
    alt = f"{words.said(finding.place)}: {told}. {lengths.limits(finding.requirement, units)}"
    if len(readings) == 1:
        plain.figure(tolerance_bar(readings[0], limits), alt, most_px=420)
    else:
        plain.figure(gap_chart(readings, limits), alt, most_px=520)


def _limits(finding: Finding, units: Units) -> Limits:
    asked = finding.requirement
    unit = "" if asked.unit == "count" else lengths.unit_name(asked.unit, units)
    lower, upper, nominal = (
        lengths.shown(v, asked.unit, units) for v in (asked.lower, asked.upper, asked.nominal)
    )
    return Limits(lower, upper, nominal, unit)


def _reading(judged: Judged, finding: Finding, number: int, units: Units) -> Reading:
    m = judged.measurement
    value = lengths.shown(m.value, m.unit, units) or 0.0
    doubt = lengths.shown(m.expanded_uncertainty, m.unit, units) or 0.0
    return Reading(value, doubt, _verdict(judged, finding), label_of(judged, number))


def label_of(judged: Judged, number: int) -> str:
    """Name of one value in its figure.

    Args:
        judged: The value.
        number: Its place among those of the finding, from 1.

    Returns:
        Number of the gap where it has one.
    """
    return str(judged.measurement.index or number)


def _verdict(judged: Judged, finding: Finding) -> Verdict:
    """One value among several, by the same percentages as the finding as a whole."""
    if finding.blocked_by or finding.indication:
        return "inconclusive"
    if judged.probability >= finding.rule.conforming_at:
        return "conforming"
    return "non_conforming" if judged.probability <= finding.rule.non_conforming_at else "inconclusive"


def spot_verdicts(check: Check, element: str) -> dict[str, Verdict]:
    """The state of each spot of an element: the worst that is known about it.

    Args:
        check: The check.
        element: Mark of the element.

    Returns:
        Verdict by spot, in the order of the spots. A spot with a layer still to be measured is missing, unless something
        measured there does not conform.
    """
    asked = [c for c in check.coverage if c.element == element and c.what == "spacing"]
    names = dict.fromkeys(name for c in asked for name in sorted((*c.there, *c.missing), key=spot_order))
    found: dict[str, Verdict] = {}
    for name in sorted(names, key=spot_order):
        states: set[Verdict] = {
            f.verdict for f in check.findings_at(element, name) if f.measured and not f.indication
        }
        if any(name in c.missing for c in asked):
            states.add("missing")
        found[name] = next((v for v in WORST_FIRST if v in states), "missing")
    return found


def photo_verdict(check: Check, entry: PhotoEntry) -> Verdict:
    """The worst that is known from one photo.

    Args:
        check: The check.
        entry: The photo.

    Returns:
        The worst verdict that rests on it; missing where nothing does.
    """
    states: set[Verdict] = {
        f.verdict
        for f in check.findings
        if not f.indication
        and any(j.measurement.trace.original_sha256 == entry.original.sha256 for j in f.judged)
    }
    return next((v for v in WORST_FIRST if v in states), "missing")


def layer_verdict(check: Check, c: Coverage, spot: str) -> Verdict:
    """The state of one layer at one spot: the worst that is known about it.

    Args:
        check: The check.
        c: Which layer or face, and for what.
        spot: Name of the spot.

    Returns:
        The verdict; missing where nothing was measured.
    """
    states: set[Verdict] = {
        f.verdict
        for f in check.findings_at(c.element, spot)
        if f.requirement.layer == c.layer and f.measured and not f.indication
    }
    if spot in c.missing:
        states.add("missing")
    return next((v for v in WORST_FIRST if v in states), "conforming")


def spot_order(name: str) -> tuple[int, str]:
    """Sort spots as people count: 2 before 10, names after numbers.

    Args:
        name: Name of a spot.

    Returns:
        Sort key.
    """
    return (int(name), "") if name.isdigit() else (10**9, name)
