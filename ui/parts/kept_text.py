"""A longer text that is kept while it is typed: a reload, a lost connection or a visit that ended loses nothing."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from pathlib import Path

import streamlit as st

from ui.parts.pour import DRAFTS
from verifier.record.people import principal_of

_SEEN = "-seen"


def area(
    label: str, place: Path, person: str, name: str, *, most: int = 2000, height: int | None = None
) -> str:
    """Ask for a text, starting with what the person typed before.

    Args:
        label: One of the page's own words.
        place: The pour folder.
        person: Whose text it is.
        name: Which text, such as ``refusal``.
        most: Letters that are taken.
        height: Of the field, where not the usual one. [px]

    Returns:
        The text.
    """
    key, keep = _begun(place, person, name, "\n\n")
    st.text_area(label, key=key, on_change=keep, max_chars=most, height=height)
    return str(st.session_state[key]).strip()


def line(label: str, place: Path, person: str, name: str, *, most: int = 300) -> str:
    """Ask for a text of one line, starting with what the person typed before.

    Args:
        label: One of the page's own words.
        place: The pour folder.
        person: Whose text it is.
        name: Which text.
        most: Letters that are taken.

    Returns:
        The text.
    """
    key, keep = _begun(place, person, name, "; ")
    st.text_input(label, key=key, on_change=keep, max_chars=most)
    return str(st.session_state[key]).strip()


def _begun(place: Path, person: str, name: str, between: str) -> tuple[str, Callable[[], None]]:
    """The key of the field, which holds what was kept, and what keeps it from now on."""
    file, key = _file(place, person, name), _key(person, name)
    if key not in st.session_state:
        st.session_state[key] = st.session_state[f"{key}{_SEEN}"] = _text(file)

    def keep() -> None:
        there = _text(file)
        if there.strip() and there != st.session_state.get(
            f"{key}{_SEEN}"
        ):  # another tab has written meanwhile
            st.session_state[key] = joined(st.session_state[key], there, between)
        file.parent.mkdir(parents=True, exist_ok=True)
        fresh = file.with_suffix(f".{secrets.token_hex(4)}")
        fresh.write_text(st.session_state[key], encoding="utf-8")
        fresh.replace(file)
        st.session_state[f"{key}{_SEEN}"] = st.session_state[key]

    return key, keep


def joined(mine: str, theirs: str, between: str = "\n\n") -> str:
    """Put together what was typed in two tabs: neither is lost, and the person sees both.

    Args:
        mine: What was typed here.
        theirs: What another tab has kept.
        between: What parts them.

    Returns:
        Both, each once.
    """
    if theirs.strip() in mine:
        return mine
    return theirs if mine.strip() in theirs else f"{mine.rstrip()}{between}{theirs.strip()}"


def forget(place: Path, person: str, *names: str) -> None:
    """Forget texts that have gone into the record.

    Args:
        place: The pour folder.
        person: Whose texts they are.
        names: Which texts.
    """
    for name in names:
        _file(place, person, name).unlink(missing_ok=True)
        st.session_state.pop(_key(person, name), None)
        st.session_state.pop(f"{_key(person, name)}{_SEEN}", None)


def _key(person: str, name: str) -> str:
    return f"text-{person}-{name}"


def _file(place: Path, person: str, name: str) -> Path:
    return place / DRAFTS / principal_of(person) / f"{principal_of(name)}.txt"


def _text(file: Path) -> str:
    return file.read_text(encoding="utf-8") if file.is_file() else ""
