"""Choosing findings: by what became of them, where they are and what is asked; in which order; the URL keeps it all."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import streamlit as st

from ui import words
from ui.parts import linked, tables
from ui.parts.pour import Open
from ui.parts.review.findings import FINDING, open_finding
from verifier.pipeline.decision.check import Check
from verifier.rules.finding import Finding

SHOWN = "findings-shown"
STEP = 8
TO_SETTLE, ALL, WORST, PLACE = "open", "all", "worst", "place"


def choose(check: Check) -> list[Finding]:
    """Ask which findings to show and in which order; the URL keeps the choice.

    Args:
        check: The check.

    Returns:
        The findings chosen, worst first or in the order of the drawing.
    """
    counts = {name: sum(_is(f, name) for f in check.findings) for name in words.FINDINGS_FILTER}
    named = {name: f"{said} ({counts[name]})" for name, said in words.FINDINGS_FILTER.items()}
    show = linked.choice(words.FINDINGS_SHOW, named, key="show", default=TO_SETTLE)
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        element = _one_of("element", words.ELEMENT, check.pour.marks, str)
        layers = dict.fromkeys(f.requirement.layer for f in check.findings if f.requirement.layer)
        layer = _one_of("layer", words.LAYER, sorted(layers), str)
        rules = dict.fromkeys(f.requirement.rule for f in check.findings)
        rule = _one_of("rule", words.FINDINGS_ASKED, tuple(rules), lambda r: words.RULE.get(r, r))
        order = _order()
    chosen = [
        f
        for f in check.findings
        if _is(f, show)
        and element in (ALL, f.requirement.element)
        and layer in (ALL, f.requirement.layer)
        and rule in (ALL, f.requirement.rule)
    ]
    return chosen if order == WORST else sorted(chosen, key=_by_place)


def _one_of(key: str, label: str, names: Sequence[str], said: Callable[[str], str]) -> str:
    options = (ALL, *names)
    linked.start(key, options, ALL)
    st.selectbox(
        label, options, format_func=lambda n: words.FINDINGS_ALL if n == ALL else said(n), key=key, width=165
    )
    return linked.keep(key, st.session_state[key], ALL)


def _order() -> str:
    options = tuple(words.FINDINGS_ORDERS)
    linked.start("order", options, WORST)
    st.selectbox(
        words.FINDINGS_ORDER,
        options,
        format_func=lambda n: words.FINDINGS_ORDERS[n],
        key="order",
        width=165,
    )
    return linked.keep("order", st.session_state["order"], WORST)


def _by_place(finding: Finding) -> tuple[str, str, int, str, str]:
    spot = finding.spot or ""
    number = int(spot) if spot.isdigit() else -1
    asked = finding.requirement
    return asked.element, asked.layer or "", number, spot, asked.rule


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


def opened(check: Check) -> Finding | None:
    """The finding that the URL names.

    Args:
        check: The check.

    Returns:
        The finding, None if none is opened or there is none of that name.
    """
    asked = st.query_params.get(FINDING)
    return next((f for f in check.findings if f.key == asked), None)


def leaf(finding: Finding, chosen: Sequence[Finding]) -> None:
    """Go to the finding before or after, by button or key, or back to all of them.

    Args:
        finding: The one opened.
        chosen: Those chosen, in order.
    """
    keys = [f.key for f in chosen]
    now = keys.index(finding.key) if finding.key in keys else None
    before = keys[now - 1] if now else None
    after = keys[now + 1] if now is not None and now + 1 < len(keys) else None
    with st.container(horizontal=True, gap="small", vertical_alignment="center"):
        st.button(
            "‹",
            help=words.FINDINGS_BACK,
            key="finding-before",
            disabled=before is None,
            on_click=open_finding,
            args=(before,),
            width=56,
            shortcut="Alt+Left",
        )
        st.button(
            "›",
            help=words.FINDINGS_ON,
            key="finding-next",
            disabled=after is None,
            on_click=open_finding,
            args=(after,),
            width=56,
            shortcut="Alt+Right",
        )
        st.button(
            words.FINDINGS_TO_ALL, key="findings-all", on_click=open_finding, args=(None,), shortcut="Alt+Up"
        )


def take_away(at: Open) -> None:
    """Offer all findings as a spreadsheet.

    Args:
        at: The pour.
    """
    st.download_button(
        words.TABLES,
        data=lambda: tables.workbook(at.check),
        file_name=f"{tables.file_name(at.check.pour.pour.id)}.xlsx",
        mime="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        on_click="ignore",
    )
