"""The inspection rounds on a phone: one item at a time, what is open in front, every answer in the record at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import linked, plain, table_sheets, tables, visits
from ui.parts.apart import apart
from ui.parts.inspection import round_item
from ui.parts.inspection.round_events import happened, holds, sign, witnesses
from ui.parts.people import CHOSEN
from verifier.pipeline.inspection.rounds import Rounds, rounds_of
from verifier.report.figures import Verdict
from verifier.rounds.items import Group
from verifier.rounds.state import RoundState, open_at_start
from verifier.rounds.walk import Stands, WalkedItem, next_open, of_group, walk_of

ROUND, PART, ITEM, WHO = "round", "part", "item", "who"
NEXT = "next-item"
DEFECTS = "defects"
_WIDE = 820
"""As wide as a card is read easily on a desk. [px]"""
SHAPE: dict[Stands, Verdict] = {
    "stands": "conforming",
    "not looked at": "missing",
    "defect": "non_conforming",
    "waits": "inconclusive",
}


@dataclass(frozen=True, slots=True)
class _Walk:
    """A round at this moment."""

    rounds: Rounds
    state: RoundState
    items: tuple[WalkedItem, ...]


def show(folder: Path) -> None:
    """Show the rounds of a pour.

    Args:
        folder: The pour folder.

    Raises:
        BadInput: If drawing values, people or list can't be used.
    """
    pour = rounds_of(folder).pour.pour
    st.html(f'<h1 style="overflow-wrap:anywhere">{plain.safe(pour.title or pour.id)}</h1>')
    with st.container(width=_WIDE):
        # An answer draws this part again; nothing else of the pour is checked for it.
        apart(lambda: _walk(folder))


def _walk(folder: Path) -> None:
    rounds, now = rounds_of(folder), datetime.now().astimezone()
    if not rounds.walked:
        plain.notice("missing", words.ROUNDS_NONE, rounds.pour.pour.rounds.because or "")
        return
    states = {str(s.number): s for s in rounds.states(now) if s.number in rounds.walked}
    options = {n: words.ROUND_NUMBER.format(number=n) for n in states}
    first = _own_round(rounds, states)
    number = linked.choice(words.ROUND, options, key=ROUND, default=first)
    walk = _Walk(rounds, states[number], _items(rounds, states[number], now))
    _progress(walk)
    person = _who(rounds)
    part = _part(walk)
    items = of_group(walk.items, None if part == DEFECTS else Group(part))
    chosen = _chosen(items)
    if chosen is None:
        plain.verdict_line("conforming", "", words.ROUND_PART_EMPTY)
    else:
        told = st.session_state.get(round_item.TOLD)
        if told is not None:
            plain.notice(None, words.ROUND_RECORDED, told)
        taken = round_item.show(folder, rounds, walk.state, chosen, person)
        if taken:
            after = next_open(items, chosen.item.id)
            st.session_state[NEXT] = (
                after or chosen.item.id
            )  # a widget's own choice can't be set once it is drawn
            st.rerun(scope="fragment")
        _list(items, chosen)
    holds(folder, walk.state, rounds, person)
    witnesses(folder, walk.state, rounds, person)
    sign(folder, walk.state, rounds, person)
    happened(folder, person)
    if rounds.begun:
        zoned = now.astimezone(rounds.pour.pour.planned_start.tzinfo)
        tables.offer(
            lambda: table_sheets.rounds(rounds, zoned), f"{rounds.pour.pour.id}-rounds", key="rounds"
        )


def _own_round(rounds: Rounds, states: Mapping[str, RoundState]) -> str:
    """The first round that the person at work walks and that is not complete; else the first not complete, else the last."""
    name = _remembered(rounds)
    roles = next((set(p.roles) for p in rounds.people if p.name == name), set())
    left = [n for n, s in states.items() if not s.complete]
    own = [n for n in left if roles & set(rounds.setting.rule(int(n)).roles)]
    return next(iter((*own, *left)), list(states)[-1])


def _items(rounds: Rounds, state: RoundState, now: datetime) -> tuple[WalkedItem, ...]:
    at_start = open_at_start(
        rounds.checklist, rounds.answers, rounds.events, now, people=rounds.people, setting=rounds.setting
    )
    return walk_of(rounds.checklist, state, at_start, rounds.answers)


def _progress(walk: _Walk) -> None:
    rule = walk.rounds.setting.rule(walk.state.number)
    there = sum(w.stands == "stands" for w in walk.items)
    defects = sum(w.stands == "defect" for w in walk.items)
    plain.paragraph(words.opening(rule.title), strong=True)
    plain.paragraph(words.ROUND_WALKED_BY.format(roles=" / ".join(map(words.said, rule.roles))), quiet=True)
    plain.paragraph(words.ROUND_PROGRESS.format(there=there, total=len(walk.items), defects=defects))
    st.progress(there / max(len(walk.items), 1))


def _who(rounds: Rounds) -> str:
    """The person logged in; else anybody who is named for the rounds, foremen and surveyors among them."""
    person = visits.person()
    if person is not None:
        return person
    names = rounds.named
    linked.start(WHO, names, _remembered(rounds))
    chosen: str = st.selectbox(words.WHO, names, key=WHO)
    st.session_state[CHOSEN] = chosen
    return linked.keep(WHO, chosen, "")


def _remembered(rounds: Rounds) -> str:
    """Who is at work: as the address says, as chosen elsewhere on the page, or the first who is named."""
    for name in (visits.person(), st.query_params.get(WHO), st.session_state.get(CHOSEN)):
        if name in rounds.named:
            return str(name)
    return rounds.named[0]


def _part(walk: _Walk) -> str:
    """The part of the work that is walked through, each with its count of open items; defects of all parts come first."""
    options = {}
    defects = len(of_group(walk.items, None))
    if defects:
        options[DEFECTS] = words.ROUND_DEFECTS.format(count=defects)
    for group in Group:
        mine = of_group(walk.items, group)
        if mine:
            still_open = sum(w.stands != "stands" for w in mine)
            options[group.value] = words.ROUND_PART.format(
                part=words.ROUND_GROUP[group.value], count=still_open
            )
    first = next((g for g in options if g != DEFECTS), next(iter(options)))
    asked = st.query_params.get(ITEM)  # a link to an item leads to its part
    first = next((w.item.group.value for w in walk.items if w.item.id == asked), first)
    return linked.choice(words.ROUND_PARTS, options, key=PART, default=first)


def _chosen(items: Sequence[WalkedItem]) -> WalkedItem | None:
    """The item on the card: as chosen, else the first that is open."""
    if not items:
        return None
    by_id = {w.item.id: w for w in items}
    if NEXT in st.session_state:
        st.session_state[ITEM] = st.session_state.pop(NEXT)
    if st.session_state.get(ITEM) not in by_id:
        asked = st.query_params.get(ITEM)
        st.session_state[ITEM] = asked if asked in by_id else next_open(items, None) or items[0].item.id
    st.query_params[ITEM] = st.session_state[ITEM]
    ids = tuple(by_id)
    now = ids.index(st.session_state[ITEM])
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small", wrap=False):
        st.button("‹", help=words.ROUND_BACK, disabled=now == 0, on_click=_go, args=(ids, now - 1), width=56)
        st.selectbox(
            words.ROUND_ITEM,
            ids,
            format_func=lambda i: _title(by_id[i]),
            key=ITEM,
            label_visibility="collapsed",
        )
        st.button(
            "›",
            help=words.ROUND_ON,
            disabled=now == len(ids) - 1,
            on_click=_go,
            args=(ids, now + 1),
            width=56,
        )
    return by_id[st.session_state[ITEM]]


def _go(ids: tuple[str, ...], number: int) -> None:
    if 0 <= number < len(ids):
        st.session_state[ITEM] = ids[number]


def _title(walked: WalkedItem) -> str:
    return plain.shown(
        f"{walked.item.id} {words.said(walked.item.item)} - {words.ROUND_STANDS[walked.stands]}"
    )


def _list(items: Sequence[WalkedItem], chosen: WalkedItem) -> None:
    """All items of this part with their shapes, to see at a glance what is left."""
    rows = "".join(
        f'<li style="display:flex;gap:.5rem;align-items:flex-start;padding:.3rem 0;border-top:1px solid #e3e6ea;'
        f'font-weight:{650 if w is chosen else 400}">{plain.mark(SHAPE[w.stands], 1.05)}'
        f'<span style="overflow-wrap:anywhere">{plain.safe(w.item.id)} {plain.safe(words.said(w.item.item))}'
        f'<span style="position:absolute;left:-9999px"> {plain.safe(words.ROUND_STANDS[w.stands])}</span></span></li>'
        for w in items
    )
    with st.expander(words.ROUND_ALL.format(count=len(items))):
        st.html(f'<ul style="list-style:none;margin:0;padding:0">{rows}</ul>')
