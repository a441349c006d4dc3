"""The decision of a person: accept a deviation in writing, release, or refuse, each under the own key."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import kept_text, linked, own_key, plain
from ui.parts.people import acting
from ui.parts.pour import Open, moment
from ui.parts.review import release_text
from ui.parts.review.desk import Desk, Done, not_signed, signed, told
from verifier.errors import BadInput
from verifier.pipeline.approval import accepting, releasing
from verifier.pipeline.approval.decided import decided
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.people.permissions import Action, may, who_may
from verifier.pipeline.release.released import acceptable
from verifier.release.reason import Reason

_WIDE = 720
"""Fields as wide as a line of text is read easily. [px]"""


def show(at: Open) -> None:
    """Show what the person may decide, or who may.

    Args:
        at: The pour.
    """
    with st.container():
        _so_far(at)
    st.subheader(words.DECIDE, anchor="decide")
    with st.container(width=_WIDE):
        _desk(at)


def _so_far(at: Open) -> None:
    """What people have decided before, newest first."""
    known = decided(at.folder)
    if not known:
        return
    st.subheader(words.DECIDED)
    for one in known:
        with st.container(border=True):
            plain.labelled(words.DECIDED_KIND[one.kind], f"{one.person}, {moment(one.at, at.check.pour)}")
            if one.reason:
                plain.paragraph(one.reason)
            plain.paragraph(words.DECIDED_RECORD.format(seq=one.seq, later=one.later), quiet=True)


def _desk(at: Open) -> None:
    with st.container():
        told()
    person = acting(at.check.pour, "decide", Action.RELEASE)
    if not may(at.check.pour, person, Action.RELEASE):
        plain.labelled(words.DECIDE_WHO, ", ".join(who_may(at.check.pour, Action.RELEASE)))
        return
    desk = Desk(at, person)
    with st.container():
        can_sign = own_key.show(at, person)
    if not can_sign:
        return
    if not has_record(at.folder):
        plain.notice("missing", words.TIMELINE_NONE, words.TIMELINE_NONE_SAYS)
        return
    stops = accepting.stands_now(at.folder, at.check, person).decision.reasons
    open_to_it = [r for r in stops if acceptable(r)]
    ways = dict(words.DECIDE_WAYS)
    if not open_to_it or not may(at.check.pour, person, Action.ACCEPT):
        ways.pop("accept")
    way = linked.choice(words.DECIDE, ways, key="way-to-decide", default="release")
    if way == "accept":
        _accept(desk, open_to_it)
    elif way == "refuse":
        _refuse(desk)
    else:
        release_text.show(desk, len(stops))


def _accept(desk: Desk, stops: list[Reason]) -> None:
    plain.paragraph(words.ACCEPT_SAYS)
    given = []
    for stop in stops:
        with st.container(border=True):
            plain.paragraph(words.said(stop.says))
            reason = kept_text.area(words.ACCEPT_WHY, desk.at.folder, desk.person, f"accept {stop.key}")
            if reason:
                given.append(accepting.ToAccept(stop.key, reason))
    signature = own_key.signing("accept", (words.ACCEPT_SIGN,))
    if signature is None:
        return
    if not given:
        not_signed(BadInput(words.REASON_NEEDED, where=words.DECIDE, todo=""))
        return

    def sign() -> Done:
        now = desk.act
        accepting.stands(
            desk.at.folder, desk.fresh(now), now, accept=given, key=own_key.opened(desk.person, signature[1])
        )
        for one in given:
            kept_text.forget(desk.at.folder, desk.person, f"accept {one.finding}")
        return words.ACCEPTED, None

    signed(sign)


def _refuse(desk: Desk) -> None:
    reason = kept_text.area(words.REFUSE_WHY, desk.at.folder, desk.person, "refusal")
    signature = own_key.signing("refuse", (words.REFUSE_SIGN,))
    if signature is None:
        return
    if not reason:
        not_signed(BadInput(words.REASON_NEEDED, where=words.DECIDE, todo=""))
        return

    def sign() -> Done:
        now = desk.act
        standing = accepting.stands(desk.at.folder, desk.fresh(now), now)
        key = own_key.opened(desk.person, signature[1])
        releasing.refuse(desk.at.folder, standing, reason, now, key.opened())
        kept_text.forget(desk.at.folder, desk.person, "refusal")
        return words.REFUSED, None

    signed(sign)
