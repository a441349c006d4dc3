"""Around the items of a round: hold points and their release, witnesses, the signature, and what happened to the work."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, time, timedelta
from pathlib import Path

import streamlit as st
from pydantic import ValidationError

from ui import words
from ui.parts import kept_text, own_key, plain
from verifier.errors import VerifierError, faults_of
from verifier.pipeline.inspection.round_entries import record_round_event, release_hold, sign_round
from verifier.pipeline.inspection.rounds import Rounds
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey, key_file_of
from verifier.rounds.answers import Happened, Happening, WitnessTold
from verifier.rounds.state import HoldOpen, RoundState, WitnessState

OPENED = "round-opened"


def holds(folder: Path, state: RoundState, rounds: Rounds, person: str) -> None:
    """Show the hold points of a round that are not released, and let their post release them under its passphrase.

    Args:
        folder: The pour folder.
        state: How the round stands.
        rounds: The rounds of the pour.
        person: Who acts.
    """
    if not state.holds_not_released:
        return
    st.subheader(words.HOLDS)
    mine = next((p.roles for p in rounds.people if p.name == person), ())
    for hold in state.holds_not_released:
        title = rounds.checklist.find(hold.item).item
        plain.verdict_line(
            "missing",
            words.HOLD_BY.format(role=words.said(hold.who), why=words.said(hold.why)),
            f"{hold.item} {words.said(title)}",
        )
        if hold.who in mine:
            _release(folder, hold, person)


def _release(folder: Path, hold: HoldOpen, person: str) -> None:
    said = f"hold {hold.item}"
    with st.expander(words.HOLD_RELEASE):
        remark = kept_text.line(words.ROUND_REMARK, folder, person, said)
        given = own_key.signing(f"hold-{hold.item}", (words.HOLD_RELEASE,))
        if given is None:
            return
        key = key_file_of(person)
        if not key.is_file():
            plain.notice("inconclusive", words.ROUND_NOT_YET, words.REVIEW_NO_KEY.format(person=person))
            return
        act = Act(person, datetime.now().astimezone())
        _recorded(
            lambda: release_hold(folder, hold.item, act, OwnKey(key, given[1]).opened(), remark=remark),
            lambda: kept_text.forget(folder, person, said),
        )


def witnesses(folder: Path, state: RoundState, rounds: Rounds, person: str) -> None:
    """Show the witness points of a round, and let somebody write who was told of which time, and whether they came.

    Args:
        folder: The pour folder.
        state: How the round stands.
        rounds: The rounds of the pour.
        person: Who acts.
    """
    open_ones = [w for w in state.witness if w.says not in ("attended", "invited, did not attend")]
    if not open_ones:
        return
    with st.expander(words.WITNESSES.format(count=len(open_ones))):
        titles = {w.item: f"{w.item} {words.said(rounds.checklist.find(w.item).item)}" for w in state.witness}
        by_item = {w.item: w for w in open_ones}
        item = st.selectbox(
            words.ROUND_ITEM,
            tuple(by_item),
            format_func=lambda i: plain.shown(f"{titles[i]} - {words.WITNESS_SAYS[by_item[i].says]}"),
            key="witness-item",
        )
        if by_item[item].says == "attendance not written":
            _attendance(folder, by_item[item], person)
        else:
            _told(folder, item, person)


def _told(folder: Path, item: str, person: str) -> None:
    now = datetime.now().astimezone()
    told = kept_text.line(words.WITNESS_WHO, folder, person, f"witness {item}", most=200)
    left, right = st.columns(2, gap="small", wrap=False)
    day = left.date_input(
        words.WITNESS_DAY, value=(now + timedelta(days=1)).date(), key=f"witness-{item}-day"
    )
    hour = right.time_input(words.WITNESS_TIME, value=time(7, 0), key=f"witness-{item}-time")
    if st.button(words.WITNESS_KEEP, key=f"witness-{item}-keep"):
        when = datetime.combine(day, hour).astimezone()
        _recorded(
            lambda: record_round_event(
                folder, WitnessTold(item=item, told=told, by=person, at=now, for_time=when), Act(person, now)
            ),
            lambda: kept_text.forget(folder, person, f"witness {item}"),
        )


def _attendance(folder: Path, witness: WitnessState, person: str) -> None:
    came = None
    with st.container(horizontal=True, gap="small"):
        if st.button(words.WITNESS_CAME, key=f"came-{witness.item}"):
            came = True
        if st.button(words.WITNESS_ABSENT, key=f"absent-{witness.item}"):
            came = False
    if came is None or witness.for_time is None:
        return
    now, when = datetime.now().astimezone(), witness.for_time
    _recorded(
        lambda: record_round_event(
            folder,
            WitnessTold(
                item=witness.item, told=witness.told, by=person, at=now, for_time=when, attended=came
            ),
            Act(person, now),
        )
    )


def sign(folder: Path, state: RoundState, rounds: Rounds, person: str) -> None:
    """Say whether the round is signed, and let it be signed once nothing in it is open.

    Args:
        folder: The pour folder.
        state: How the round stands.
        rounds: The rounds of the pour.
        person: Who acts.
    """
    st.subheader(words.SIGN_ROUND)
    rule = rounds.setting.rule(state.number)
    if state.signed_by is not None:
        plain.verdict_line(
            "conforming", words.opening(rule.signs), words.SIGNED_BY.format(person=state.signed_by)
        )
        return
    plain.verdict_line(
        "missing",
        words.ROUND_SIGN_SAYS.format(says=words.said(rule.signs)),
        words.opening(state.not_signed_because),
    )
    if state.open:
        plain.paragraph(words.ROUND_SIGN_OPEN.format(count=len(state.open)), quiet=True)
    if st.button(words.SIGN_ROUND, key=f"sign-{state.number}", width="stretch", disabled=bool(state.open)):
        _recorded(lambda: sign_round(folder, state.number, Act(person, datetime.now().astimezone())))


def happened(folder: Path, person: str) -> None:
    """Let somebody write what happened to the work between the rounds, and say what that opens again.

    Args:
        folder: The pour folder.
        person: Who acts.
    """
    opened = st.session_state.pop(OPENED, None)
    if opened is not None:
        said = words.HAPPENED_OPENED.format(count=len(opened)) if opened else words.REVIEW_DONE
        plain.notice(None, words.ROUND_RECORDED, said)
        plain.points(map(words.said, opened))
    with st.expander(words.HAPPENED):
        what = st.selectbox(
            words.HAPPENED_WHAT,
            tuple(h for h in Happening if h is not Happening.PUT_RIGHT),
            format_func=lambda h: words.HAPPENING[h.value],
        )
        trade = kept_text.line(words.HAPPENED_TRADE, folder, person, "happened trade", most=200)
        remark = kept_text.line(words.ROUND_REMARK, folder, person, "happened remark")
        if st.button(words.HAPPENED_KEEP, key="happened-keep"):
            now = datetime.now().astimezone()
            _recorded(
                lambda: record_round_event(
                    folder,
                    Happened(what=what, at=now, by=person, trade=trade, remark=remark),
                    Act(person, now),
                ),
                lambda: kept_text.forget(folder, person, "happened trade", "happened remark"),
            )


def _recorded(act: Callable[[], tuple[str, ...]], done: Callable[[], None] = lambda: None) -> None:
    """Record something and forget its words; where that is refused, say why and leave what was typed where it is."""
    try:
        opened = act()
    except ValidationError as error:
        plain.notice("inconclusive", words.ROUND_NOT_YET, words.said(faults_of(error)))
        return
    except VerifierError as error:
        plain.fault(words.ROUND_NOT_YET, error)
        return
    done()
    st.session_state[OPENED] = opened
    st.rerun(scope="fragment")
