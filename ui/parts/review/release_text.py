"""Releasing: the head that the person keeps elsewhere, the text that binds it for reading, and the signature under it."""

from __future__ import annotations

from datetime import datetime

import streamlit as st

from ui import words
from ui.parts import linked, own_key, plain
from ui.parts.pour import Open
from ui.parts.review.desk import Desk, Done, not_signed, signed
from verifier.errors import NotAllowed, VerifierError
from verifier.pipeline.approval import accepting, releasing, signed_elsewhere
from verifier.pipeline.approval.held_heads import head_to_keep, held_from_file, held_from_short
from verifier.pipeline.papers.release_document import release_document
from verifier.record.approval import Approval, statement

GROWN = "heads-grown"


def show(desk: Desk, stops: int) -> None:
    """Lead from the head that is kept outside to the text that is read and signed.

    Args:
        desk: Pour and person.
        stops: How many reasons stand against a release.
    """
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
        not_signed(error)
        return
    st.rerun()


def _bind(desk: Desk, kept: str, seen: bytes | None) -> None:
    """Check once more, and put down what a release would bind, for reading."""
    folder, now = desk.at.folder, desk.act
    by_file = None if seen is None else held_from_file(folder, seen, desk.person, now.at)
    held = held_from_short(folder, kept, desk.person) if by_file is None else by_file[0]
    size = releasing.record_size(folder)
    standing = accepting.stands(folder, desk.fresh(now), now)
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
        given = own_key.signing("release", (words.RELEASE_SIGN,))
        if given is not None:
            signed(lambda: _sign_here(desk, approval, given[1]))
        return
    plain.paragraph(words.SIGN_AWAY_SAYS)
    plain.lines("ssh-keygen -Y sign -f KEY -n pour-release release.txt")
    st.download_button(words.SIGN_AWAY_TEXT, text.encode(), "release.txt", "text/plain", width="stretch")
    file = st.file_uploader(words.SIGN_AWAY_FILE, type=["sig"], key="release-signature")
    if st.button(words.SIGN_AWAY_SEND, type="primary", width="stretch", disabled=file is None) and file:
        signed(lambda: _hand_in(desk, approval, file.getvalue().decode("ascii", "replace")))


def _sign_here(desk: Desk, approval: Approval, typed: str) -> Done:
    folder, now = desk.at.folder, desk.act
    releasing.may_release(folder, desk.person)
    standing = accepting.stands_now(folder, desk.fresh(now), desk.person)
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
    standing = accepting.stands_now(folder, desk.fresh(now), desk.person)
    record = signed_elsewhere.hand_in(folder, standing, approval, armored, now)
    desk.draft.unlink()
    return words.RELEASED, release_document(folder, standing, record, now)


def _head(at: Open) -> None:
    short, note, drawn = head_to_keep(at.folder, datetime.now().astimezone())
    plain.labelled(words.HEAD_NOW, short)
    with st.expander(words.HEAD_CODE):
        plain.figure(drawn, words.HEAD_CODE_SAYS, most_px=320)
        st.download_button(words.HEAD_FILE, note.encode(), "head.txt", "text/plain")
