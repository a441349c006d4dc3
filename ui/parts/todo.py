"""What is still to be done on the deck: spots, photos, readings, open questions."""

from __future__ import annotations

from html import escape

import streamlit as st

from ui import words
from ui.parts import plain, sending
from ui.parts.figures import layer_verdict, spot_order, value_words
from ui.parts.people import acting
from ui.parts.pour import Open
from verifier.pipeline.check import Check
from verifier.report.figures import QUIET, Verdict
from verifier.rules.coverage import Coverage
from verifier.rules.finding import Finding

SPOT_STATES: tuple[tuple[Verdict, str], ...] = (
    ("conforming", words.SPOT_STATE["conforming"]),
    ("non_conforming", words.SPOT_STATE["non_conforming"]),
    ("inconclusive", words.SPOT_STATE["inconclusive"]),
    ("missing", words.SPOT_STATE["missing"]),
)


def jump() -> None:
    """Offer the way down to the two things that are done most; on a desk they stand beside it anyway."""
    links = "".join(
        f'<a href="{target}" target="_self" style="flex:1;text-align:center;padding:.8rem .4rem;border:1px solid #00507d;'
        f'border-radius:.3rem;color:#00507d;text-decoration:none;font-weight:600">{escape(said)}</a>'
        for target, said in words.JUMP
    )
    st.html(f'<nav class="jump" style="display:flex;gap:.6rem">{links}</nav>')


def spots(check: Check) -> None:
    """Show the spots of each element and layer: there, or still to be taken.

    Args:
        check: The check.
    """
    st.subheader(words.MISSING_SPOTS)
    missing = sum(len(c.missing) for c in check.coverage)
    if not missing:
        plain.verdict_line("conforming", "", words.MISSING_NOTHING)
    st.html(
        f'<div style="display:flex;flex-wrap:wrap;gap:.2rem 1rem;color:{QUIET};font-size:.9rem">'
        + "".join(
            f'<span style="display:inline-flex;gap:.3rem;align-items:center">{plain.mark(v, 1)}{escape(said)}</span>'
            for v, said in SPOT_STATES
        )
        + "</div>"
    )
    for element in check.pour.marks:
        rows = "".join(_layer_row(check, c) for c in check.coverage if c.element == element)
        if rows:
            title = f'<caption style="text-align:left;font-weight:650;padding:.2rem 0">{plain.safe(element)}</caption>'
            st.html(f'<table style="border-collapse:collapse;border:0;width:100%">{title}{rows}</table>')


def _layer_row(check: Check, c: Coverage) -> str:
    names = sorted({*c.there, *c.missing}, key=spot_order)
    states = {name: layer_verdict(check, c, name) for name in names}
    marks = "".join(
        f'<span style="display:inline-flex;align-items:center;gap:.25rem;margin:0 .8rem .1rem 0;white-space:nowrap">'
        f"{plain.mark(states[name], 1.05)}{plain.safe(name)}"
        f'<span class="sr" style="position:absolute;left:-9999px"> {escape(words.SPOT_STATE[states[name]])}</span></span>'
        for name in names
    )
    what = words.COVERAGE_WHAT[c.what].format(layer=plain.safe(c.layer))
    count = words.OF.format(there=c.asked - len(c.missing), asked=c.asked)
    cell = "padding:.3rem .9rem .3rem 0;border:0;border-top:1px solid #e3e6ea;vertical-align:top"
    return (
        f'<tr><th scope="row" style="{cell};text-align:left;font-weight:400;white-space:nowrap">{what}</th>'
        f'<td style="{cell};color:{QUIET};white-space:nowrap">{count}</td><td style="{cell};width:60%">{marks}</td></tr>'
    )


def put_right(check: Check) -> None:
    """Show what was measured and does not conform, worst first.

    Args:
        check: The check.
    """
    wrong = [f for f in check.findings if f.verdict == "non_conforming"]
    if not wrong:
        return
    st.subheader(words.PUT_RIGHT)
    for place in dict.fromkeys(f.place for f in wrong):
        here = [f for f in wrong if f.place == place]
        said = "; ".join(_against_limits(f) for f in here)
        plain.verdict_line("non_conforming", here[0].next_step, f"{place}: {said}")


def _against_limits(f: Finding) -> str:
    rule = words.RULE.get(f.requirement.rule, f.requirement.rule).lower()
    worst = f" {value_words(f.worst.measurement)}" if f.worst is not None else ""
    return f"{rule}{worst}, {words.FINDINGS_ASKED.lower()} {f.requirement.limits_words}"


def photos_again(check: Check) -> None:
    """Show refused photos of spots that have no other, with what to do.

    Args:
        check: The check.
    """
    there = {p.original.placement.model_dump_json() for p in check.photos if p.state == "counted"}
    again = [
        p
        for p in check.photos
        if p.state == "damaged"
        or (p.state == "refused" and p.original.placement.model_dump_json() not in there)
    ]
    if again:
        st.subheader(words.MISSING_AGAIN)
    for p in again:
        plain.verdict_line("inconclusive", words.PHOTO_STATE[p.state], p.original.name)
        plain.points(r.say for r in p.seen.refusals)


def readings(check: Check) -> None:
    """Show what only a tape, a caliper or an answer can settle.

    Args:
        check: The check.
    """
    open_findings = [
        f for f in check.findings if f.verdict == "inconclusive" and f.measured and not f.indication
    ]
    if open_findings:
        st.subheader(words.MISSING_READINGS)
    for f in open_findings:
        rule = words.RULE.get(f.requirement.rule, f.requirement.rule)
        plain.verdict_line("inconclusive", f.next_step, f"{f.place}: {rule.lower()}")
    shown_by_photo = sum(f.indication for f in check.findings)
    if shown_by_photo:
        plain.paragraph(words.INDICATIONS.format(count=shown_by_photo), quiet=True)
    asked = [r for t in check.tapes for r in t.reasons if r.weight == "stops"]
    if asked:
        st.subheader(words.MISSING_QUESTIONS)
    for reason in asked:
        plain.verdict_line("inconclusive", reason.clears, reason.says)


def unplaced(at: Open) -> None:
    """Show photos that nobody has placed, and let somebody say where each was taken.

    Args:
        at: The pour.
    """
    found = [p for p in at.check.photos if p.state == "unplaced" and p.original.path.is_file()]
    if not found:
        return
    st.subheader(words.MISSING_UNPLACED)
    plain.paragraph(words.MISSING_UNPLACED_SAYS, quiet=True)
    names = {p.original.sha256: p.original.name for p in found}
    chosen = st.selectbox(
        words.PHOTOS_PICK, list(names), format_func=lambda k: plain.shown(names[k]), key="unplaced"
    )
    placement = sending.place_chooser(at, "unplaced")
    who = acting(at.check.pour, "unplaced")
    if st.button(words.PLACE, width="stretch", disabled=placement is None):
        entry = next(p for p in found if p.original.sha256 == chosen)
        data = entry.original.path.read_bytes()
        st.session_state[sending.SENT] = sending.send(at, [(entry.original.name, data)], placement, who)
        st.rerun()
