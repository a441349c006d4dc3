"""A longer text that is kept while it is typed: a reload, a lost connection or a visit that ended loses nothing."""

from __future__ import annotations

import secrets
from pathlib import Path

import streamlit as st

from ui.parts.pour import DRAFTS
from verifier.record.people import principal_of

_SEEN = "-seen"


def area(label: str, place: Path, person: str, name: str) -> str:
    """Ask for a text, starting with what the person typed before.

    Args:
        label: One of the page's own words.
        place: The pour folder.
        person: Whose text it is.
        name: Which text, such as ``refusal``.

    Returns:
        The text.
    """
    file, key = _file(place, person, name), f"text-{name}"
    if key not in st.session_state:
        st.session_state[key] = st.session_state[f"{key}{_SEEN}"] = _text(file)

    def keep() -> None:
        there = _text(file)
        if there.strip() and there != st.session_state.get(
            f"{key}{_SEEN}"
        ):  # another tab has written meanwhile
            st.session_state[key] = joined(st.session_state[key], there)
        file.parent.mkdir(parents=True, exist_ok=True)
        fresh = file.with_suffix(f".{secrets.token_hex(4)}")
        fresh.write_text(st.session_state[key], encoding="utf-8")
        fresh.replace(file)
        st.session_state[f"{key}{_SEEN}"] = st.session_state[key]

    st.text_area(label, key=key, on_change=keep, max_chars=2000)
    return str(st.session_state[key]).strip()


def joined(mine: str, theirs: str) -> str:
    """Put together what was typed in two tabs: neither is lost, and the person sees both.

    Args:
        mine: What was typed here.
        theirs: What another tab has kept.

    Returns:
        Both, each once.
    """
    if theirs.strip() in mine:
        return mine
    return theirs if mine.strip() in theirs else f"{mine.rstrip()}\n\n{theirs.strip()}"


def forget(place: Path, person: str, name: str) -> None:
    """Forget a text that has gone into the record.

    Args:
        place: The pour folder.
        person: Whose text it is.
        name: Which text.
    """
    _file(place, person, name).unlink(missing_ok=True)
    st.session_state.pop(f"text-{name}", None)
    st.session_state.pop(f"text-{name}{_SEEN}", None)


def _file(place: Path, person: str, name: str) -> Path:
    return place / DRAFTS / principal_of(person) / f"{principal_of(name)}.txt"


def _text(file: Path) -> str:
    return file.read_text(encoding="utf-8") if file.is_file() else ""
