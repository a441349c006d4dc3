"""One finding: on a card of the list, and opened beside its photo."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import lengths, plain
from ui.parts.figures import finding_figure
from ui.parts.pour import Open
from ui.parts.review import photo_of, review
from ui.parts.review.photo_of import GAP
from verifier.drawing.callout import Units
from verifier.pipeline.decision.check import Check
from verifier.pipeline.review.said import About, AskedSpot, Entry, OwnMeasurement, WaivedSpot
from verifier.report.figures import Verdict
from verifier.rules.agreement import Agreement
from verifier.rules.finding import Finding

FINDING = "finding"
"""Name in the URL of the finding that is opened."""


def verdict_of(finding: Finding) -> tuple[Verdict, str]:
    """Shape and words of a finding.

    Args:
        finding: The finding.

    Returns:
        Verdict and its words.
    """
    if not finding.measured:
        return "missing", words.FINDINGS_UNMEASURED
    said = words.INDICATED if finding.indication else words.VERDICT[finding.verdict]
    if finding.probability_low is not None and finding.probability_high is not None:
        said += f" · {words.PROBABILITY} {bracket(finding.probability_low, finding.probability_high)}"
    return finding.verdict, said


def bracket(low: float, high: float) -> str:
    """A bracketed probability in percent.

    Args:
        low: Lower end, 0 to 1.
        high: Upper end, 0 to 1.

    Returns:
        One figure where both ends read the same; never 0 or 100 %, which nobody can know.
    """
    a, b = _percent(low), _percent(high)
    return a if a == b else str(words.PROBABILITY_BETWEEN.format(low=a.removesuffix(" %"), high=b))


def _percent(p: float) -> str:
    if p < 0.001:
        return str(words.PROBABILITY_UNDER)
    if p > 0.999:
        return str(words.PROBABILITY_OVER)
    return f"{100 * p:.1f} %" if p < 0.01 or p > 0.99 else f"{100 * p:.0f} %"


def card(at: Open, finding: Finding) -> None:
    """Show one finding in the list: verdict, what is asked, what next, its figure, and the way to open it.

    Args:
        at: The pour.
        finding: The finding.
    """
    with st.container(border=True, key=f"finding-{_slug(finding.key)}"):
        left, right = st.columns([1, 1], gap="medium")
        with left:
            told(at, finding)
            label = words.FINDINGS_OPEN
            st.button(label, key=f"open-{_slug(finding.key)}", on_click=open_finding, args=(finding.key,))
        with right:
            finding_figure(finding, at.check.pour.pour.units)


def open_finding(key: str | None) -> None:
    """Open one finding, or go back to all of them; the URL keeps it.

    Args:
        key: Name of the finding, None for all.
    """
    st.query_params.pop(GAP, None)
    st.session_state.pop(GAP, None)
    if key is None:
        st.query_params.pop(FINDING, None)
    else:
        st.query_params[FINDING] = key


def told(at: Open, finding: Finding) -> None:
    """Say verdict, place, what is asked, the worst value, and what next.

    Args:
        at: The pour.
        finding: The finding.
    """
    units = at.check.pour.pour.units
    verdict, said = verdict_of(finding)
    asked = finding.requirement
    plain.verdict_line(
        verdict, said, f"{words.said(finding.place)}: {words.within(words.RULE.get(asked.rule, asked.rule))}"
    )
    asks, limits = words.said(asked.asks), lengths.limits(asked, units)
    numbers = {word.strip(",;()") for word in asked.asks.split()}
    told = all(f"{value:g}" in numbers for value in (asked.lower, asked.upper) if value is not None)
    rows = [(words.FINDINGS_ASKED, asks if told and units == "mm" else f"{asks} ({limits})")]
    if asked.nominal is not None:
        rows.append((words.FINDINGS_DRAWN, lengths.exact(asked.nominal, asked.unit, units)))
    worst = finding.worst
    if worst is not None:
        count = len(finding.judged)
        name = words.WORST_OF.format(count=count) if count > 1 else words.MEASURED
        rows.append((name, lengths.measured(worst.measurement, units)))
    if finding.blocked_by:
        rows.append((words.BLOCKED, words.said(finding.blocked_by)))
    if finding.next_step:
        rows.append((words.FINDINGS_NEXT, words.said(finding.next_step)))
    plain.pairs(rows)


def opened(at: Open, finding: Finding) -> None:
    """Show one finding with everything that bears on it: beside the photo, its figure, sources, tape, and what was said.

    Args:
        at: The pour.
        finding: The finding.
    """
    left, right = st.columns([3, 2], gap="large")
    with right:
        told(at, finding)
        finding_figure(finding, at.check.pour.pour.units)
    with left:
        photo_of.show(at, finding)
    with right:
        _behind(at.check, finding)
        about = [e for e in at.check.review.entries if _on(e, finding)]
        if about:
            review.told(at, about, key=f"said-{_slug(finding.key)}")
        with st.expander(words.REVIEW_SAY):
            asked = finding.requirement
            place = About(
                element=asked.element if asked.element in at.check.pour.marks else None,
                spot=finding.spot,
                requirement=finding.key,
            )
            review.form(at, place, key=f"finding-{_slug(finding.key)}")


def _on(entry: Entry, finding: Finding) -> bool:
    """Whether a word of the review is about this very finding, or an own measurement in a photo that it rests on."""
    word = entry.word
    if isinstance(word, AskedSpot | WaivedSpot):
        return False
    photos = {j.measurement.trace.original_sha256 for j in finding.judged}
    own = isinstance(word, OwnMeasurement) and word.about.original_sha256 in photos
    return word.about.requirement == finding.key or own


def _behind(check: Check, finding: Finding) -> None:
    """Sources, tape beside photo, consequence, and the chain back to the pixels."""
    units = check.pour.pour.units
    plain.paragraph(words.FINDINGS_SOURCE, strong=True)
    plain.points(plain.source(source) for source in finding.requirement.sources)
    beside = [a for a in check.agreements if _about(a, finding)]
    if beside:
        plain.paragraph(words.FINDINGS_TAPE, strong=True)
        plain.points(_beside(a, units) for a in beside)
    if finding.consequences:
        plain.paragraph(words.FINDINGS_CONSEQUENCE, strong=True)
        plain.points(words.said(c.words) for c in finding.consequences)
    if finding.aside:
        plain.paragraph(words.FINDINGS_ASIDE, strong=True)
        plain.points(f"{m.trace.original_name}: {lengths.measured(m, units)}" for m in finding.aside)
    with st.expander(words.FINDINGS_CHAIN):
        _chain(finding)


def _beside(agreement: Agreement, units: Units) -> str:
    return words.TAPE_BESIDE.format(
        tape=lengths.measured(agreement.tape, units),
        photo=lengths.measured(agreement.photo, units),
        e_n=f"{agreement.e_n:.2f}",
        agrees=words.TAPE_AGREES if agreement.agrees else words.TAPE_CONTRADICTS,
    )


def _about(agreement: Agreement, finding: Finding) -> bool:
    asked = finding.requirement
    place = (agreement.element, agreement.layer, agreement.spot) == (asked.element, asked.layer, finding.spot)
    return place and agreement.measurand is asked.measurand


def _chain(finding: Finding) -> None:
    worst = finding.worst
    if worst is None:
        plain.paragraph(words.FINDINGS_UNMEASURED)
        return
    m = worst.measurement
    rows = [(words.CHAIN_FILE, m.trace.original_name), (words.PHOTOS_FINGERPRINT, m.trace.original_sha256)]
    if m.trace.line_px:
        rows.append((words.CHAIN_PIXELS, " - ".join(f"({x:.0f}, {y:.0f})" for x, y in m.trace.line_px)))
    if m.trace.row is not None:
        rows.append((words.CHAIN_ROW, str(m.trace.row)))
    rows.append((words.CHAIN_METHOD, " ".join(filter(None, (m.method, m.method_version, m.person or "")))))
    plain.pairs(rows)


def _slug(key: str) -> str:
    return "".join(c if c.isalnum() else "-" for c in key)
