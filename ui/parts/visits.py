"""Who is logged in on this page, and for how long; the page asks again after a while and keeps what was typed."""

from __future__ import annotations

import os
from datetime import date, datetime, time, timedelta
from typing import Final

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.where import home
from verifier.accounts.book import Book, Limits, Tried, Visit
from verifier.errors import NotAllowed
from verifier.pipeline.people.pours import accounts_of

COOKIE: Final = "verifier-visit"
IDLE_VARIABLE: Final = "VERIFIER_IDLE_MINUTES"
"""Set by ``verifier page --idle``: after so many minutes without use the page asks for the passphrase again."""

SECRET: Final = "-passphrase"
"""Keys of fields end so where a passphrase is typed: it is never put aside, whatever else is."""

_KEPT: Final = "_typed-before"
_TYPED: Final = (str, int, float, date, time)


def book() -> Book | None:
    """Open the accounts beside the pours of this page.

    Returns:
        The book, begun or not; None if the page was started without a folder.
    """
    place = home()
    minutes = os.environ.get(IDLE_VARIABLE)
    limits = Limits() if minutes is None else Limits(idle=timedelta(minutes=float(minutes)))
    return None if place is None else accounts_of(place, limits)


def provider_is_set() -> bool:
    """Whether people log in through an identity provider: ``[auth]`` stands in the page's secrets.

    Returns:
        True if so; local passphrases then count for nothing.
    """
    try:
        return "auth" in st.secrets
    except FileNotFoundError:
        return False


def asked_here() -> bool:
    """Whether anybody is asked who they are.

    Returns:
        False on a page without accounts and without a provider.
    """
    kept = book()
    return provider_is_set() or (kept is not None and kept.begun)


def person() -> str | None:
    """Name the person who is logged in; asking is a use of the visit.

    Returns:
        A name as in ``[people]``; None where the page runs without log-in.

    Raises:
        NotAllowed: If the visit has ended or was idle for too long.
    """
    if not asked_here():
        return None
    visit = _visit(used=True)
    if visit is None or visit.state == "idle":
        raise NotAllowed(words.VISIT_OVER, where=words.LOG_IN, todo=words.VISIT_OVER_TODO)
    return visit.name


def let_in() -> str | None:
    """Find out who is there, or ask for it and end the run.

    Returns:
        A name as in ``[people]``; None where the page runs without log-in.
    """
    if not asked_here():
        return None
    if provider_is_set() and not st.user.is_logged_in:
        _at_the_provider(words.LOG_IN_SAYS)
    visit = _visit(used=True)
    if visit is None:
        _nobody()
        st.stop()
    if visit.state == "idle":
        _keep_typed()
        _ask_again(visit)
        st.stop()
    _give_back_typed()
    return visit.name


def leave() -> None:
    """End the visit of the person who is there."""
    kept = book()
    if kept is not None:
        kept.end(_token())
    st.session_state.clear()
    if provider_is_set():
        st.logout()


def local_passphrase() -> bool:
    """Whether the person logged in with a passphrase that is kept here.

    Returns:
        False with a provider or without log-in.
    """
    return asked_here() and not provider_is_set()


def confirmed(passphrase: str) -> str:
    """Hold the passphrase of the person logged in against the book once more, before an act that must be theirs.

    Args:
        passphrase: As typed just now.

    Returns:
        What is wrong, empty if nothing is; always empty where no local passphrase is kept.
    """
    kept, name = book(), person()
    if kept is None or name is None or provider_is_set():
        return ""
    tried = kept.try_passphrase(name, passphrase, _now())
    return "" if tried.name is not None else _told(tried)


def _visit(*, used: bool) -> Visit | None:
    kept = book()
    if kept is None:
        return None
    visit = kept.visit(_token(), _now(), used=used)
    if visit is None and provider_is_set():
        return _begun_at_the_provider(kept)
    return visit


def _begun_at_the_provider(kept: Book) -> Visit | None:
    """A log-in at the provider begins one visit; when that is over, a new log-in must be made there."""
    name = kept.person_of(_identity()) if st.user.is_logged_in else None
    at_provider = datetime.fromtimestamp(float(str(st.user.get("iat", 0))), _now().tzinfo)
    if name is None or _now() - at_provider > kept.limits.whole:
        return None
    kept.begin(name, _now(), token=_token())
    return Visit(name, "open")


def _token() -> str:
    if provider_is_set():
        return f"{_identity()} {st.user.get('iat', '')}" if st.user.is_logged_in else ""
    return st.context.cookies.get(COOKIE, "")


def _identity() -> str:
    """The mail address if the provider says that it is proven, else the provider's own name for the person."""
    claims = st.user.to_dict()
    if claims.get("email") and claims.get("email_verified") is True:
        return str(claims["email"])
    return f"{claims.get('iss', '')} {claims.get('sub', '')}".strip()


def _at_the_provider(says: str) -> None:
    plain.title(words.TITLE)
    plain.notice("missing", words.LOG_IN, says)
    st.button(words.LOG_IN, type="primary", on_click=st.login)
    st.stop()


def _nobody() -> None:
    plain.title(words.TITLE)
    if provider_is_set() and st.user.is_logged_in:
        plain.notice("inconclusive", words.NOT_LINKED, words.NOT_LINKED_SAYS, _identity())
        st.button(words.LOG_OUT, on_click=st.logout)
        return
    plain.notice("missing", words.VISIT_OVER, words.VISIT_OVER_TODO)
    st.html(f'<a class="way-on" href="/log-in" target="_self">{plain.safe(words.LOG_IN)}</a>')


def _ask_again(visit: Visit) -> None:
    if provider_is_set():
        _at_the_provider(words.VISIT_IDLE_SAYS)
    plain.title(words.VISIT_IDLE)
    plain.paragraph(words.VISIT_IDLE_SAYS)
    plain.labelled(words.LOG_IN_NAME, visit.name)
    with st.form("go-on", border=False, width=420):
        typed = st.text_input(words.LOG_IN_PASSPHRASE, type="password", autocomplete="current-password")
        sent = st.form_submit_button(words.GO_ON, type="primary", width="stretch")
    kept = book()
    if sent and kept is not None:
        tried = kept.go_on(_token(), typed, _now())
        if tried.name is not None:
            st.rerun()
        plain.notice("inconclusive", words.NOT_YOU, _told(tried))


def _told(tried: Tried) -> str:
    if tried.again is None:
        return words.LOG_IN_WRONG
    return words.LOG_IN_WAIT.format(when=f"{tried.again:%H:%M:%S}")


def _keep_typed() -> None:
    """What stands in the fields is put aside: fields that are not shown lose it otherwise.

    Buttons hold True and False and must not be set; a passphrase must not outlive the visit that typed it.
    """
    kept = st.session_state.setdefault(_KEPT, {})
    for key, value in st.session_state.items():
        if key == _KEPT or str(key).endswith(SECRET):
            continue
        if isinstance(value, _TYPED) and not isinstance(value, bool):
            kept.setdefault(key, value)


def _give_back_typed() -> None:
    for key, value in st.session_state.pop(_KEPT, {}).items():
        st.session_state[key] = value


def _now() -> datetime:
    return datetime.now().astimezone()
