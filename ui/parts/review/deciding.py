"""The decision of a person: accept a deviation in writing, release, or refuse, each under the own key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import kept_text, linked, own_key, plain
from ui.parts.people import acting
from ui.parts.pour import DRAFTS, Open, moment
from verifier.errors import BadInput, NotAllowed, VerifierError
from verifier.pipeline.approval import accepting, releasing, signed_elsewhere
from verifier.pipeline.approval.decided import decided
from verifier.pipeline.approval.held_heads import head_to_keep, held_from_file, held_from_short
from verifier.pipeline.decision.check import Check, check
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.papers.release_document import release_document
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.permissions import Action, may, who_may
from verifier.pipeline.release.released import acceptable
from verifier.record.approval import Approval, statement
from verifier.record.people import principal_of
from verifier.release.reason import Reason

SAID = "decision-said"
GROWN = "heads-grown"
_WIDE = 720
"""Fields as wide as a line of text is read easily. [px]"""
Done = tuple[str, Path | None]
"""What is told after signing, and the document if one was set."""


@dataclass(frozen=True, slots=True)
class Desk:
    """The pour, and who decides on it."""

    at: Open
    person: str

    @property
    def act(self) -> Act:
        """The person, now."""
        return Act(self.person, datetime.now().astimezone())

    @property
    def draft(self) -> Path:
        """Where the text that is being read is kept until it is signed."""
        return self.at.folder / DRAFTS / principal_of(self.person) / "release.json"


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
        _told()
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
        _release(desk, len(stops))


def _told() -> None:
    """What was signed just now stands here once, with the document to take along."""
    said = st.session_state.pop(SAID, None)
    if said is None:
        return
    text, document = said
    plain.notice(None, words.SIGNED, text)
    if document is not None:
        st.download_button(
            words.RELEASE_DOCUMENT, document.read_bytes(), document.name, "application/pdf", width="stretch"
        )


def _accept(desk: Desk, stops: list[Reason]) -> None:
    plain.paragraph(words.ACCEPT_SAYS)
    given = []
    for stop in stops:
        with st.container(border=True):
            plain.paragraph(words.said(stop.says))
            reason = kept_text.area(words.ACCEPT_WHY, desk.at.folder, desk.person, f"accept {stop.key}")
            if reason:
                given.append(accepting.ToAccept(stop.key, reason))
    typed = _sign_form("accept", words.ACCEPT_SIGN)
    if typed is None:
        return
    if not given:
        _not_signed(BadInput(words.REASON_NEEDED, where=words.DECIDE, todo=""))
        return

    def sign() -> Done:
        now = desk.act
        accepting.stands(
            desk.at.folder, _fresh(desk, now), now, accept=given, key=own_key.opened(desk.person, typed)
        )
        for one in given:
            kept_text.forget(desk.at.folder, desk.person, f"accept {one.finding}")
        return words.ACCEPTED, None

    _signed(sign)


def _refuse(desk: Desk) -> None:
    reason = kept_text.area(words.REFUSE_WHY, desk.at.folder, desk.person, "refusal")
    typed = _sign_form("refuse", words.REFUSE_SIGN)
    if typed is None:
        return
    if not reason:
        _not_signed(BadInput(words.REASON_NEEDED, where=words.DECIDE, todo=""))
        return

    def sign() -> Done:
        now = desk.act
        standing = accepting.stands(desk.at.folder, _fresh(desk, now), now)
        key = own_key.opened(desk.person, typed)
        releasing.refuse(desk.at.folder, standing, reason, now, key.opened())
        kept_text.forget(desk.at.folder, desk.person, "refusal")
        return words.REFUSED, None

    _signed(sign)


def _release(desk: Desk, stops: int) -> None:
    if stops:
        plain.paragraph(words.RELEASE_STOPPED.format(stops=stops))
        return
    try:
        releasing.may_release(desk.at.folder, desk.person)
    except NotAllowed as error:
        plain.fault(words.RELEASE_NOT, error, where=False)
        return
    if desk.draft.is_file():
        _sign_text(desk)
        return
    given = desk.at.check.release
    if given.state == "stands" and given.person == desk.person:
        plain.paragraph(words.said(given.words))
        with st.expander(words.RELEASE_AGAIN):
            _ask_for_head(desk)
        return
    _ask_for_head(desk)


def _ask_for_head(desk: Desk) -> None:
    plain.paragraph(words.HEAD_SAYS)
    _head(desk.at)
    with st.form("bind", border=False):
        kept = st.text_input(words.HEAD_KEPT, placeholder="41-ABCD-EFGH-IJKL-MNOP", autocomplete="off")
        file = st.file_uploader(words.HEADS_FILE, type=["jsonl", "txt"], key="heads-seen")
        sent = st.form_submit_button(words.RELEASE_READ, type="primary", width="stretch")
    if not sent:
        return
    try:
        _bind(desk, kept, file.getvalue() if file is not None else None)
    except VerifierError as error:
        _not_signed(error)
        return
    st.rerun()


def _bind(desk: Desk, kept: str, seen: bytes | None) -> None:
    """Check once more, and put down what a release would bind, for reading."""
    folder, now = desk.at.folder, desk.act
    by_file = None if seen is None else held_from_file(folder, seen, desk.person, now.at)
    held = held_from_short(folder, kept, desk.person) if by_file is None else by_file[0]
    size = releasing.record_size(folder)
    standing = accepting.stands(folder, _fresh(desk, now), now)
    approval, _ = releasing.bind(folder, standing, now, heads=held, looked_from=size)
    desk.draft.parent.mkdir(parents=True, exist_ok=True)
    desk.draft.write_text(approval.model_dump_json(), encoding="utf-8")
    if seen is not None:  # with the check that was just recorded, so that this head is kept outside, too
        st.session_state[GROWN] = held_from_file(folder, seen, desk.person, now.at)[1]


def _sign_text(desk: Desk) -> None:
    try:
        approval = Approval.model_validate_json(desk.draft.read_bytes())
    except ValueError:
        desk.draft.unlink()
        st.rerun()
    if GROWN in st.session_state:
        st.download_button(words.HEADS_GROWN, st.session_state[GROWN], "heads.jsonl", width="stretch")
    text = statement(approval.body())
    plain.paragraph(words.RELEASE_TEXT, strong=True)
    plain.lines(text)
    if st.button(words.RELEASE_ANEW, width="stretch"):
        desk.draft.unlink()
        st.rerun()
    where = linked.choice(words.SIGN_WHERE, words.SIGN_WHERES, key="sign-where", default="here")
    if where == "here":
        typed = _sign_form("release", words.RELEASE_SIGN)
        if typed is not None:
            _signed(lambda: _sign_here(desk, approval, typed))
        return
    plain.paragraph(words.SIGN_AWAY_SAYS)
    plain.lines("ssh-keygen -Y sign -f KEY -n pour-release release.txt")
    st.download_button(words.SIGN_AWAY_TEXT, text.encode(), "release.txt", "text/plain", width="stretch")
    file = st.file_uploader(words.SIGN_AWAY_FILE, type=["sig"], key="release-signature")
    if st.button(words.SIGN_AWAY_SEND, type="primary", width="stretch", disabled=file is None) and file:
        _signed(lambda: _hand_in(desk, approval, file.getvalue().decode("ascii", "replace")))


def _sign_here(desk: Desk, approval: Approval, typed: str) -> Done:
    folder, now = desk.at.folder, desk.act
    releasing.may_release(folder, desk.person)
    standing = accepting.stands_now(folder, _fresh(desk, now), desk.person)
    if standing.decision.reasons or [c.says for c in standing.decision.conditions] != list(
        approval.conditions
    ):
        raise NotAllowed(words.RELEASE_CHANGED, where=words.DECIDE, todo=words.RELEASE_ANEW)
    record = releasing.sign_here(folder, approval, own_key.opened(desk.person, typed).opened(), now.at)
    desk.draft.unlink()
    return words.RELEASED, release_document(folder, standing, record, now)


def _hand_in(desk: Desk, approval: Approval, armored: str) -> Done:
    folder, now = desk.at.folder, desk.act
    releasing.may_release(folder, desk.person)
    standing = accepting.stands_now(folder, _fresh(desk, now), desk.person)
    record = signed_elsewhere.hand_in(folder, standing, approval, armored, now)
    desk.draft.unlink()
    return words.RELEASED, release_document(folder, standing, record, now)


def _head(at: Open) -> None:
    short, note, drawn = head_to_keep(at.folder, datetime.now().astimezone())
    plain.labelled(words.HEAD_NOW, short)
    with st.expander(words.HEAD_CODE):
        plain.figure(drawn, words.HEAD_CODE_SAYS, most_px=320)
        st.download_button(words.HEAD_FILE, note.encode(), "head.txt", "text/plain")


def _sign_form(name: str, label: str) -> str | None:
    """Ask for the passphrase of the own key; the answer is None until it is sent."""
    with st.form(f"sign-{name}", border=False, clear_on_submit=True):
        typed = own_key.passphrase(name)
        title = label
        sent = st.form_submit_button(title, type="primary", width="stretch")
    return typed if sent else None


def _signed(sign: Callable[[], Done]) -> None:
    """Sign, tell what became of it, and show the pour anew."""
    try:
        st.session_state[SAID] = sign()
    except VerifierError as error:
        _not_signed(error)
        return
    st.rerun()


def _not_signed(error: VerifierError) -> None:
    plain.fault(words.NOT_SIGNED, error, where=False)


def _fresh(desk: Desk, now: Act) -> Check:
    return check(desk.at.folder, at=now.at)
