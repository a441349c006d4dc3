"""How far the closing is: what lacks, days of curing, results against their limits, striking dates, defects."""

from __future__ import annotations

from datetime import timedelta
from itertools import count, takewhile

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.concreting import falsework
from ui.parts.pour import moment
from verifier.concrete.after import CuringLook
from verifier.drawing.pour import Pour
from verifier.errors import Refusal
from verifier.pipeline.concreting.after_pour import decisions_of
from verifier.pipeline.concreting.closing_state import ClosingState
from verifier.pipeline.concreting.falsework import bounds_text
from verifier.report.figures import Verdict

_LEVEL: dict[str, Verdict] = {
    "conforming": "conforming",
    "inconclusive": "inconclusive",
    "non-conforming": "non_conforming",
}
_RESULT: dict[str, Verdict] = {
    "met": "conforming",
    "not met": "non_conforming",
    "not yet judged": "inconclusive",
}

_PROPPED: dict[str, Verdict] = {
    "not written": "missing",
    "stand": "conforming",
    "do not hold": "non_conforming",
    "taken away": "conforming",
    "taken too early": "non_conforming",
}


def state(seen: ClosingState) -> None:
    """Show whether the record is closed, may close, or what lacks.

    Args:
        seen: How far the closing is.
    """
    after = seen.after
    if after.closed_by and after.closed_at is not None:
        plain.notice(
            "conforming",
            words.CLOSE_CLOSED,
            f"{after.closed_by}, {after.closed_at.astimezone():%Y-%m-%d %H:%M %z}",
        )
        return
    if not seen.missing:
        plain.notice("conforming", words.CLOSE_READY, words.CLOSE_READY_SAYS)
        return
    plain.notice("missing", words.CLOSE_LACKS.format(count=len(seen.missing)), words.CLOSE_LACKS_SAYS)
    with st.expander(words.CLOSE_LIST, key="close-list", on_change="rerun"):
        for lack in seen.missing:
            plain.verdict_line("missing", words.opening(lack.who), words.opening(lack.says))


def curing(seen: ClosingState, drawing: Pour) -> None:
    """Show the days of curing, each by shape, and until when it goes on.

    Args:
        seen: How far the closing is.
        drawing: Drawing values, for the zone of the site.
    """
    st.subheader(words.CURING_TITLE)
    need = seen.curing_need
    if isinstance(need, Refusal):
        plain.notice("inconclusive", words.CURING_NO_DAYS, words.said(need.say))
        return
    plain.paragraph(
        f"{words.CURING_DAYS.format(days=f'{need.days:g}')} {words.said(need.source)}. {words.said(need.note)}".rstrip()
    )
    if seen.curing is None or seen.ended_at is None:
        plain.notice("missing", words.CURING_NOT_BEGUN, words.CURING_NOT_BEGUN_SAYS)
        return
    looks = [e for e in seen.after.entries if isinstance(e, CuringLook)]
    start, ends = seen.ended_at, seen.curing.ends_at
    days = list(takewhile(lambda n: start + timedelta(days=n) < ends, count()))
    marks: list[tuple[str, Verdict, str]] = []
    for number in days:
        first = start + timedelta(days=number)
        here = [e for e in looks if first <= e.at < first + timedelta(days=1)]
        bad = any(e.found != "wet" for e in here)
        verdict: Verdict = "non_conforming" if bad else "conforming" if here else "missing"
        marks.append((str(number + 1), verdict, words.CURING_STATE[verdict]))
    plain.marks(marks)
    word = words.CURING_DONE if seen.curing.done else words.CURING_UNTIL.format(when=moment(ends, drawing))
    plain.verdict_line("conforming" if seen.curing.done else "inconclusive", "", word)
    bad_days, empty = len(seen.curing.bad_days), len(seen.curing.days_without_entry)
    if bad_days or empty:
        plain.paragraph(words.CURING_LONGER.format(bad=bad_days, empty=empty), quiet=True)


def results(seen: ClosingState) -> None:
    """Show results and what the code says of them.

    Args:
        seen: How far the closing is.
    """
    st.subheader(words.RESULTS_TITLE)
    if not seen.results:
        plain.paragraph(words.RESULTS_NONE, quiet=True)
    for r in seen.results:
        value = f"{r.mpa:.1f} MPa" if r.mpa is not None else words.said(r.invalid_because)
        said = f"{', '.join(f'{s:g}' for s in r.specimens)} MPa"
        if r.age_days < 28:
            said += f" · {words.RESULTS_GAIN.format(share=f'{100 * r.usual_share:.0f}')}"
        plain.verdict_line(
            "missing" if r.mpa is not None else "non_conforming",
            said,
            words.RESULTS_LINE.format(sample=r.sample, days=r.age_days, value=value),
        )
    told = seen.acceptance
    if told is None:
        plain.notice("inconclusive", words.RESULTS_NO_RULE, words.RESULTS_NO_RULE_SAYS)
        return
    why = "; ".join(map(words.said, told.why))
    limits = words.RESULTS_LIMITS.format(mean=f"{told.mean_limit_mpa:g}", each=f"{told.each_limit_mpa:g}")
    plain.notice(
        _RESULT[told.verdict],
        words.RESULTS_VERDICT[told.verdict],
        f"{limits} {why[:1].upper()}{why[1:]}".rstrip(),
        words.said(told.source),
    )


def striking(seen: ClosingState, drawing: Pour) -> None:
    """Show the earliest dates, what was shown for them, and the order of taking away.

    Args:
        seen: How far the closing is.
        drawing: Drawing values, for the zone of the site.
    """
    st.subheader(words.STRIKING_TITLE)
    if isinstance(seen.dates, Refusal):
        plain.notice("inconclusive", words.STRIKING_NO_DATES, words.said(seen.dates.say))
    else:
        for dated in seen.dates:
            done = (
                words.STRIKING_EARLY.format(when=moment(dated.struck.at, drawing))
                if dated.struck and dated.too_early
                else words.STRIKING_DONE.format(when=moment(dated.struck.at, drawing))
                if dated.struck
                else words.STRIKING_MAY
                if dated.passed
                else words.STRIKING_STANDS
            )
            shape: Verdict = "conforming" if dated.struck else "inconclusive" if dated.passed else "missing"
            if dated.too_early:
                shape = "non_conforming"
            part = words.STRIKING_PART[dated.date.part]
            plain.verdict_line(
                shape,
                f"{done} {words.said(dated.date.source)}",
                words.STRIKING_FROM.format(part=part, when=moment(dated.date.earliest, drawing)),
            )
    for proof in seen.proofs:
        plain.verdict_line(
            "conforming" if proof.reached else "non_conforming",
            f"{words.said(proof.because)}; {words.said(proof.source)}",
            words.STRIKING_PROOF.format(shown=f"{proof.shown_mpa:g}", needed=f"{proof.needed_mpa:g}"),
        )
    if isinstance(seen.plans, Refusal):
        plain.notice("missing", words.REMOVAL_NONE, words.said(seen.plans.say))
    else:
        for plan in seen.plans:
            falsework.removal(plan)
    for floor in seen.floors:
        plain.verdict_line(_PROPPED[floor.state], words.PROPPING_STATE[floor.state], words.said(floor.says))
    with st.expander(words.STRIKING_ORDER, key="striking-order", on_change="rerun"):
        plain.points(map(words.said, seen.removal))
    plain.paragraph(words.STRIKING_CAUTION, quiet=True)


def defects(seen: ClosingState) -> None:
    """Show defects and levels.

    Args:
        seen: How far the closing is.
    """
    decided = decisions_of(seen.after)
    if seen.defects:
        st.subheader(words.DEFECTS_TITLE)
    for entry in seen.defects:
        d = entry.defect
        said = decided.get(f"defect {d.number}")
        plain.verdict_line(
            "conforming" if said else "inconclusive",
            words.DEFECTS_DECIDED.format(by=said.by, decision=said.decision) if said else words.DEFECTS_OPEN,
            f"{d.number}. {words.DEFECT_KINDS[d.kind]}, {d.place}: {d.describes}",
        )
    if seen.levels:
        st.subheader(words.LEVELS_TITLE)
    for level in seen.levels:
        e = level.entry
        plain.verdict_line(
            _LEVEL[level.verdict],
            words.said(bounds_text(level.bounds)),
            f"{words.LEVEL_WHAT[e.what]}, {e.place}: {e.off_mm:+g} ± {e.uncertainty_mm:g} mm",
        )
