"""The person's own key: made here under a passphrase, enrolled, and used to introduce others."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import streamlit as st

from ui import words
from ui.parts import plain, visits
from ui.parts.pour import Open
from verifier.errors import VerifierError
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey, key_file_of
from verifier.pipeline.people.introducing import Keys, Request, ask_to_be_enrolled, introduce, keys_of

SAID = "key-said"


def show(at: Open, person: str) -> bool:
    """Show whether a person has a key in the record, and let the person make one or introduce others.

    Args:
        at: The pour.
        person: Who acts.

    Returns:
        True if the person can sign.
    """
    keys = keys_of(at.folder)
    if told := st.session_state.pop(SAID, None):
        plain.notice(None, words.KEY_DONE, told)
    if person not in keys.valid:
        _make(at, person, keys)
        return False
    plain.labelled(words.KEY_YOURS, keys.valid[person])
    for request in keys.asking:
        _introduce(at, person, request)
    return True


def passphrase(key: str) -> str:
    """Ask for the passphrase of the own key.

    Args:
        key: Which form it stands in.

    Returns:
        As typed.
    """
    return st.text_input(
        words.KEY_PASSPHRASE, type="password", key=f"{key}{visits.SECRET}", autocomplete="off"
    )


def signing(key: str, labels: Sequence[str]) -> tuple[str, str] | None:
    """Ask for the passphrase of the own key above the buttons that sign with it.

    It stands in no form: a text above it is kept as soon as it is left, and Streamlit loses a form's touch that comes in that very
    moment (7 of 30 tried), while a plain button's comes together with the text. The field is empty again after every touch.

    Args:
        key: Where it stands.
        labels: Words of the page on the buttons; the last is what is usually wanted.

    Returns:
        The button touched just now and the passphrase as typed; None as long as none is touched.
    """
    field, given = f"{key}{visits.SECRET}", f"{key}-given{visits.SECRET}"

    def take() -> None:
        st.session_state[given] = st.session_state[field]
        st.session_state[field] = ""

    st.text_input(
        words.KEY_PASSPHRASE,
        type="password",
        key=field,
        autocomplete="off",
        help=words.REVIEW_PASSPHRASE_SAYS,
    )
    touched = [
        label
        for number, label in enumerate(labels, start=1)
        if st.button(
            label,
            key=f"{key}-sign-{number}",
            type="primary" if number == len(labels) else "secondary",
            width="stretch",
            on_click=take,
        )
    ]
    # Taken out of the visit's memory in every run: it counts only for the touch that it was given with.
    typed = str(st.session_state.pop(given, ""))
    return (touched[0], typed) if touched else None


def opened(person: str, typed: str) -> OwnKey:
    """The own key of a person with its passphrase.

    Args:
        person: Who acts.
        typed: The passphrase.

    Returns:
        The key; it is opened for each signature anew.
    """
    return OwnKey(key_file_of(person), typed)


def _make(at: Open, person: str, keys: Keys) -> None:
    if any(request.person == person for request in keys.asking):
        mark = next(r.mark for r in keys.asking if r.person == person)
        plain.notice(
            "inconclusive", words.KEY_ASKED, words.KEY_ASKED_SAYS, f"{mark} · {', '.join(keys.valid)}"
        )
        return
    there = key_file_of(person).exists()
    plain.notice("missing", words.KEY_NONE, words.KEY_THERE_SAYS if there else words.KEY_NONE_SAYS)
    with st.form("make-key", border=False):
        typed = passphrase("make")
        again = typed if there else st.text_input(words.KEY_AGAIN, type="password", autocomplete="off")
        own = (
            st.text_input(words.KEY_ACCOUNT, type="password", autocomplete="current-password")
            if visits.local_passphrase()
            else ""
        )
        sent = st.form_submit_button(words.KEY_USE if there else words.KEY_MAKE, width="stretch")
    if not sent:
        return
    if typed != again:
        plain.notice("inconclusive", words.KEY_NOT_MADE, words.KEY_DIFFER)
        return
    # Somebody who finds an open page must not be able to enrol a key in the name of the person who left it.
    wrong = visits.confirmed(own)
    if wrong:
        plain.notice("inconclusive", words.KEY_NOT_MADE, wrong)
        return
    try:
        made = ask_to_be_enrolled(at.folder, person, opened(person, typed), _act(person))
    except VerifierError as error:
        plain.fault(words.KEY_NOT_MADE, error, where=False)
        return
    if not isinstance(made, Request):
        st.session_state[SAID] = words.KEY_ENROLLED
    st.rerun()


def _introduce(at: Open, person: str, request: Request) -> None:
    with st.container(border=True), st.form(f"introduce-{request.mark}", border=False):
        plain.paragraph(request.person, strong=True)
        plain.pairs(
            [
                (words.KEY_ROLES, ", ".join(words.ROLE[r] for r in request.roles)),
                (words.KEY_MARK, request.mark),
            ]
        )
        plain.paragraph(words.KEY_COMPARE, quiet=True)
        typed = passphrase(request.mark)
        if st.form_submit_button(words.KEY_INTRODUCE, width="stretch"):
            try:
                introduce(at.folder, request, opened(person, typed), _act(person))
            except VerifierError as error:
                plain.fault(words.NOT_SIGNED, error, where=False)
                return
            st.session_state[SAID] = words.KEY_INTRODUCED
            st.rerun()


def _act(person: str) -> Act:
    return Act(person, datetime.now().astimezone())
