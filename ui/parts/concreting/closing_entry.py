"""Entries after the pour: one tap for the curing, short forms for the rest, signatures with the own key."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, Final, cast

import streamlit as st

from ui import words
from ui.parts import forms, kept_text, own_key, plain
from ui.parts.concreting.closing_forms import FORMS
from ui.parts.people import acting
from verifier.drawing.pour import Pour
from verifier.errors import VerifierError
from verifier.pipeline.concreting.after_pour import Post, signatures_of
from verifier.pipeline.concreting.closing import close_record, record_after, sign_closing
from verifier.pipeline.concreting.closing_state import ClosingState
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey, key_file_of
from verifier.pipeline.people.permissions import Action
from verifier.store import sha256_of

_DECISION: Final = "closing decision"
POSTS: Final = ("contractor's engineer", "independent inspector", "engineer of record")


def curing(folder: Path, drawing: Pour) -> None:
    """Show the buttons of one look at the curing.

    Args:
        folder: The pour folder.
        drawing: Drawing values and people.
    """
    st.subheader(words.LOOK_TITLE)
    who = acting(drawing, "closing", Action.WRITE_CLOSING)
    celsius = st.number_input(words.LOOK_CELSIUS, value=None, step=1.0, format="%g", key="look-celsius")
    for found in ("wet", "dry", "covering torn"):
        if st.button(words.LOOK[found], width="stretch", key=f"look-{found}"):
            fields: dict[str, Any] = {"kind": "curing", "found": found, "put_right": found != "wet"}
            if celsius is not None:
                fields["temperature_c"] = celsius
            _write(folder, fields, who)
    plain.paragraph(words.LOOK_SAYS, quiet=True)


def further(folder: Path, drawing: Pour, seen: ClosingState) -> None:
    """Show the short forms; what is typed stays on disk until it is in the record.

    Args:
        folder: The pour folder.
        drawing: Drawing values and people.
        seen: How far the closing is.
    """
    who = acting(drawing, "closing-further", Action.WRITE_CLOSING)
    st.subheader(words.CLOSE_WRITE)
    for name, form in FORMS.items():
        with st.expander(words.CLOSE_FORM[name], key=f"form-of-{name}", on_change="rerun"):
            fields, files = form(folder, seen)
            if forms.button(words.CLOSE_KEEP, whole=fields is not None, key=f"keep-{name}"):
                _write(folder, fields or {}, who, files, drop=name)


def signatures(folder: Path, drawing: Pour, seen: ClosingState) -> None:
    """Show who has signed, and sign with the own key kept on this machine.

    Args:
        folder: The pour folder.
        drawing: Drawing values and people.
        seen: How far the closing is.
    """
    st.subheader(words.SIGN_TITLE)
    signed = signatures_of(seen.after)
    for post in POSTS:
        newest = signed.get(post)
        stands = newest is not None and newest.overtaken_by is None
        says = words.SIGN_OPEN if newest is None else newest.by
        if newest is not None and not stands:
            says = words.SIGN_AGAIN.format(person=newest.by, record=newest.overtaken_by)
        plain.verdict_line("conforming" if stands else "missing", says, words.SIGN_POST[post])
    with st.expander(words.SIGN_SIGN, key="sign-form", on_change="rerun"):
        people = dict.fromkeys(
            (*drawing.people.site_engineer, *drawing.people.reviewer, *drawing.people.engineer_of_record)
        )
        who = st.selectbox(words.WHO, list(people), key="sign-who")
        post = st.selectbox(words.SIGN_AS, POSTS, format_func=lambda p: words.SIGN_POST[p], key="sign-post")
        choices = ["", "results", "levels", "striking", *(f"defect {d.defect.number}" for d in seen.defects)]
        decides = decision = ""
        if post == "engineer of record":
            decides = st.selectbox(words.SIGN_DECIDES, choices, format_func=_decides, key="sign-decides")
            decision = kept_text.line(words.SIGN_DECISION, folder, who, _DECISION) if decides else ""
        closes = () if seen.missing else (words.SIGN_CLOSE,)
        given = own_key.signing("sign", (words.SIGN_GIVE, *closes))
        if given is None:
            return
        touched, passphrase = given
        own = OwnKey(key_file_of(who), passphrase)
        act = Act(who, datetime.now().astimezone())

        def sign() -> None:
            if touched == words.SIGN_CLOSE:
                close_record(folder, seen.missing, act, own.opened())
                return
            sign_closing(folder, cast(Post, post), act, own.opened(), decides=decides, decision=decision)
            if decides:
                kept_text.forget(folder, who, _DECISION)

        _done(sign)


def _decides(key: str) -> str:
    if not key:
        return words.SIGN_ONLY
    return words.SIGN_OTHER.get(key) or words.SIGN_DEFECT.format(number=key.removeprefix("defect "))


def _write(
    folder: Path,
    fields: dict[str, Any],
    who: str,
    files: list[tuple[str, bytes]] | None = None,
    *,
    drop: str = "",
) -> None:
    with tempfile.TemporaryDirectory() as scratch:
        kept = []
        for number, (name, data) in enumerate(files or []):
            path = Path(scratch) / f"{number}-{Path(name).name}"
            path.write_bytes(data)
            kept.append(path)
        act = Act(who, datetime.now().astimezone())
        if fields.get("kind") == "defect":
            photos = [sha256_of(p) for p in kept]
            fields = fields | {"defect": fields["defect"] | {"by": who, "seen_at": act.at, "photos": photos}}

        def write() -> None:
            record_after(folder, fields, act, kept)
            if drop:
                forms.forget(folder, drop)

        _done(write)


def _done(act: Callable[[], None]) -> None:
    """Do it and draw the view again, or say why it was not done; what was typed stays."""
    try:
        act()
    except VerifierError as error:
        plain.fault(words.CLOSE_NOT_KEPT, error, where=False)
    else:
        st.rerun()
