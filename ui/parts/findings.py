"""Findings: choosing some of them, and one of them on a card."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from ui import words
from ui.parts import linked, plain, review
from ui.parts.figures import finding_figure, value_words
from ui.parts.pour import Open
from verifier.pipeline.check import Check
from verifier.pipeline.reviewing import About, AskedSpot, Entry, OwnMeasurement, WaivedSpot
from verifier.report.figures import Verdict
from verifier.rules.agreement import Agreement
from verifier.rules.finding import Finding

SHOWN = "findings-shown"
STEP = 8
TO_SETTLE, ALL = "open", "all"


def choose(check: Check) -> list[Finding]:
    """Ask which findings to show; the URL keeps the choice.

    Args:
        check: The check.

    Returns:
        The findings chosen, worst first.
    """
    counts = {name: sum(_is(f, name) for f in check.findings) for name in words.FINDINGS_FILTER}
    named = {name: f"{said} ({counts[name]})" for name, said in words.FINDINGS_FILTER.items()}
    left, right = st.columns([4, 1], vertical_alignment="bottom")
    with left:
        show = linked.choice(words.FINDINGS_SHOW, named, key="show", default=TO_SETTLE)
    marks = (ALL, *check.pour.marks)
    linked.start("element", marks, ALL)
    right.selectbox(
        words.ELEMENT, marks, format_func=lambda m: words.FINDINGS_ALL if m == ALL else m, key="element"
    )
    element = linked.keep("element", st.session_state["element"], ALL)
    chosen = [f for f in check.findings if _is(f, show)]
    return [f for f in chosen if element in (ALL, f.requirement.element)]


def _is(finding: Finding, name: str) -> bool:
    """``open`` is everything that asks somebody to do something; sizes that photos only indicate come apart."""
    if name == TO_SETTLE:
        return finding.verdict != "conforming" and finding.measured and not finding.indication
    if name == "indicated":
        return finding.indication
    if name == "unmeasured":
        return not finding.measured
    return name in (ALL, finding.verdict)


def page_of(chosen: Sequence[Finding]) -> Sequence[Finding]:
    """The first findings of a long list; more come when asked for.

    Args:
        chosen: Findings chosen.

    Returns:
        Those to be shown now.
    """
    return chosen[: st.session_state.get(SHOWN, STEP)]


def more(total: int) -> None:
    """Offer the next findings of a long list.

    Args:
        total: How many there are.
    """
    shown = st.session_state.get(SHOWN, STEP)
    if total > shown and st.button(words.FINDINGS_MORE.format(count=total - shown), width="stretch"):
        st.session_state[SHOWN] = shown + 3 * STEP
        st.rerun()


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
    return a if a == b else f"{a.removesuffix(' %')} to {b}"


def _percent(p: float) -> str:
    if p < 0.001:
        return "under 0.1 %"
    if p > 0.999:
        return "over 99.9 %"
    return f"{100 * p:.1f} %" if p < 0.01 or p > 0.99 else f"{100 * p:.0f} %"


def card(at: Open, finding: Finding) -> None:
    """Show one finding: verdict, figure, what is asked, what next, and behind folds where it comes from and what to say to it.

    Args:
        at: The pour.
        finding: The finding.
    """
    check = at.check
    verdict, said = verdict_of(finding)
    asked = finding.requirement
    with st.container(border=True, key=f"finding-{_slug(finding.key)}"):
        left, right = st.columns([1, 1], gap="medium")
        with left:
            plain.verdict_line(
                verdict, said, f"{finding.place}: {words.RULE.get(asked.rule, asked.rule).lower()}"
            )
            rows = [(words.FINDINGS_ASKED, f"{asked.asks} ({asked.limits_words})")]
            worst = finding.worst
            if worst is not None:
                name = (
                    words.WORST_OF.format(count=len(finding.judged))
                    if len(finding.judged) > 1
                    else words.MEASURED
                )
                rows.append((name, value_words(worst.measurement)))
            if finding.blocked_by:
                rows.append((words.BLOCKED, finding.blocked_by))
            if finding.next_step:
                rows.append((words.FINDINGS_NEXT, finding.next_step))
            plain.pairs(rows)
        with right:
            finding_figure(finding)
        about = [e for e in check.review.entries if _on(e, finding)]
        if about:
            review.told(at, about, key=f"said-{_slug(finding.key)}")
        with st.expander(words.FINDINGS_BEHIND):
            _behind(check, finding)
        with st.expander(words.REVIEW_SAY):
            said_about = About(
                element=asked.element if asked.element in check.pour.marks else None,
                spot=finding.spot,
                requirement=finding.key,
            )
            review.form(at, said_about, key=f"finding-{_slug(finding.key)}")


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
    plain.paragraph(words.FINDINGS_SOURCE, strong=True)
    plain.points(source.words for source in finding.requirement.sources)
    beside = [a for a in check.agreements if _about(a, finding)]
    if beside:
        plain.paragraph(words.FINDINGS_TAPE, strong=True)
        plain.points(a.words for a in beside)
    if finding.consequences:
        plain.paragraph(words.FINDINGS_CONSEQUENCE, strong=True)
        plain.points(c.words for c in finding.consequences)
    if finding.aside:
        plain.paragraph(words.FINDINGS_ASIDE, strong=True)
        plain.points(f"{m.trace.original_name}: {value_words(m)}" for m in finding.aside)
    _chain(finding)


def _about(agreement: Agreement, finding: Finding) -> bool:
    asked = finding.requirement
    place = (agreement.element, agreement.layer, agreement.spot) == (asked.element, asked.layer, finding.spot)
    return place and agreement.measurand is asked.measurand


def _chain(finding: Finding) -> None:
    worst = finding.worst
    if worst is None:
        return
    plain.paragraph(words.FINDINGS_CHAIN, strong=True)
    m = worst.measurement
    rows = [(words.CHAIN_FILE, m.trace.original_name), (words.PHOTOS_FINGERPRINT, m.trace.original_sha256)]
    if m.trace.line_px:
        rows.append((words.CHAIN_PIXELS, " - ".join(f"({x:.0f}, {y:.0f})" for x, y in m.trace.line_px)))
    if m.trace.row is not None:
        rows.append((words.CHAIN_ROW, str(m.trace.row)))
    rows.append((words.CHAIN_METHOD, " ".join(filter(None, (m.method, m.method_version, m.person or "")))))
    plain.pairs(rows)
    photos = dict.fromkeys(
        j.measurement.trace.original_sha256 for j in finding.judged if j.measurement.by == "photo"
    )
    if photos:
        st.page_link(
            "views/photos.py", label=words.SEE_PHOTO, query_params={"photo": next(iter(photos))[:16]}
        )


def _slug(key: str) -> str:
    return "".join(c if c.isalnum() else "-" for c in key)
