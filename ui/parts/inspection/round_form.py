"""The answer to one item of a round while it is being written: place, value, files and words, each kept as it is given."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import streamlit as st
from pydantic import ValidationError

from ui import words
from ui.parts import drafts, kept_text, plain
from ui.parts.keypad import clear, keypad
from verifier.errors import faults_of
from verifier.pipeline.folder.evidence import PHOTO_ENDINGS
from verifier.pipeline.inspection.rounds import Rounds
from verifier.pipeline.intake.arriving import file_name
from verifier.rounds.answers import Value
from verifier.rounds.items import CheckItem, Evidence, Method
from verifier.rounds.walk import WalkedItem

WHOLE = "whole pour"


@dataclass(frozen=True, slots=True)
class Form:
    """An answer that is being written: what was typed and chosen is kept on disk under its key."""

    folder: Path
    item: CheckItem
    number: int
    person: str

    @property
    def key(self) -> str:
        """One for each item, round and person."""
        return f"{self.person}/{self.number}/{self.item.id}"

    def note(self) -> dict[str, str]:
        """What stands in it."""
        return drafts.note(self.folder, self.key)

    def keep(self, **fields: str) -> None:
        """Keep some fields of it."""
        drafts.keep_note(self.folder, self.key, self.note() | fields)

    def kept(self, kind: str) -> tuple[Path, ...]:
        """Files of one kind that were chosen for it."""
        found = (drafts.file_of(self.folder, sha256) for sha256 in self.note().get(kind, "").split())
        return tuple(path for path in found if path is not None)

    def forget(self, files: Iterable[str]) -> None:
        """Empty it: the answer is in the record, with these files by their hashes."""
        for sha256 in files:
            drafts.drop_file(self.folder, sha256)
        drafts.keep_note(self.folder, self.key, {})
        kept_text.forget(self.folder, self.person, self._name("remark"), self._name("limit source"))
        for field in ("place", "low", "high"):
            st.session_state.pop(f"{self.key}-{field}", None)

    def remark(self) -> str:
        """Ask for a remark."""
        return kept_text.area(
            words.ROUND_REMARK, self.folder, self.person, self._name("remark"), most=600, height=80
        )

    def limit_source(self) -> str:
        """Ask where a limit comes from that the list doesn't give."""
        return kept_text.line(words.ROUND_LIMIT_SOURCE, self.folder, self.person, self._name("limit source"))

    def _name(self, field: str) -> str:
        return f"round {self.number} {self.item.id} {field}"


def place_name(place: str) -> str:
    """A place as the page names it.

    Args:
        place: As the answer says.

    Returns:
        The page's own words for the whole pour, any other place as it was typed.
    """
    return words.ROUND_WHOLE if place == WHOLE else place


def place(form: Form, rounds: Rounds, walked: WalkedItem) -> str:
    """Ask for the place: those still open first, or any other.

    Args:
        form: The answer that is being written.
        rounds: The rounds of the pour.
        walked: The item.

    Returns:
        The place; the whole pour if none is named.
    """
    open_ones = [o.place for o in walked.open]
    known = [a.place for a in walked.said]
    options = tuple(dict.fromkeys((*open_ones, *known, WHOLE, *rounds.pour.marks)))
    state = f"{form.key}-place"
    kept = form.note().get("place")
    if state not in st.session_state and kept:
        st.session_state[state] = kept
        options = tuple(dict.fromkeys((*options, kept)))
    chosen = st.selectbox(
        words.ROUND_PLACE,
        options,
        key=state,
        accept_new_options=True,
        format_func=place_name,
        on_change=lambda: form.keep(place=str(st.session_state[state] or "")),
    )
    return str(chosen or WHOLE).strip() or WHOLE


def value(form: Form) -> Value | None:
    """Ask for the measured value with what it is held against; typed on large keys, kept until the answer is recorded.

    Args:
        form: The answer that is being written.

    Returns:
        The value; None where the item asks for none, or none that can be used is typed yet.
    """
    item = form.item
    if Evidence.VALUE not in item.evidence:
        return None
    note = form.note()
    with_drawing = item.basis == "deviation"
    labels = [words.ROUND_VALUE.format(unit=item.unit)]
    labels += [words.ROUND_PLANNED.format(unit=item.unit)] if with_drawing else []
    pad = f"round-{form.key}"
    sent = keypad(labels, words.ROUND_TAKE, key=pad, sign=True)
    if sent is not None:
        form.keep(value=f"{sent[0]:g}", planned="" if len(sent) < 2 or sent[1] is None else f"{sent[1]:g}")
        clear(pad)
        st.rerun(scope="fragment")
    low = high = None
    source = ""
    if not item.has_limit:
        low = _number(form, "low", words.ROUND_LOW.format(unit=item.unit))
        high = _number(form, "high", words.ROUND_HIGH.format(unit=item.unit))
        source = form.limit_source()
    if not note.get("value"):
        return None
    planned = f", {words.ROUND_ON_DRAWING.format(value=note['planned'])}" if note.get("planned") else ""
    plain.paragraph(f"{note['value']} {item.unit}{planned}", strong=True)
    try:
        return Value(
            value=float(note["value"]),
            unit=item.unit,
            planned=float(note["planned"]) if note.get("planned") else None,
            low=low,
            high=high,
            limit_source=source,
        )
    except ValidationError as error:
        plain.notice("inconclusive", words.ROUND_NOT_YET, words.said(faults_of(error)))
        return None


def _number(form: Form, field: str, label: str) -> float | None:
    state = f"{form.key}-{field}"
    if state not in st.session_state:
        kept = form.note().get(field)
        st.session_state[state] = float(kept) if kept else None

    def keep() -> None:
        value = st.session_state[state]
        form.keep(**{field: "" if value is None else f"{value:g}"})

    found: float | None = st.number_input(label, value=None, format="%g", key=state, on_change=keep)
    return found


def files(form: Form) -> None:
    """Ask for what the item wants to see; each file is kept on disk as soon as it has arrived, so that a reload loses none.

    Args:
        form: The answer that is being written.
    """
    for kind, label, endings in _wanted(form.item):
        _files(form, kind, label, endings)


def _files(form: Form, kind: str, label: str, endings: tuple[str, ...]) -> None:
    state = f"{form.key}-{kind}-count"
    count = st.session_state.setdefault(state, 0)
    chosen = st.file_uploader(
        label,
        type=[ending.lstrip(".") for ending in endings],
        accept_multiple_files=True,
        key=f"{form.key}-{kind}-{count}",
    )
    if chosen:
        kept = [drafts.keep_file(form.folder, file_name(f.name, 1), f.getvalue()) for f in chosen]
        there = form.note().get(kind, "").split()
        form.keep(**{kind: " ".join(dict.fromkeys((*there, *(p.parent.name for p in kept))))})
        st.session_state[state] = count + 1
        st.rerun(scope="fragment")
    kept_files = form.kept(kind)
    for path in kept_files:
        plain.verdict_line("conforming", words.ROUND_FILE_KEPT, path.name)
    if kept_files and st.button(words.ROUND_FILES_DROP, key=f"{form.key}-{kind}-drop"):
        form.keep(**{kind: ""})
        st.rerun(scope="fragment")


def _wanted(item: CheckItem) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Which files are asked for; a photo may always be given."""
    photos = ("photos", words.ROUND_PHOTO, PHOTO_ENDINGS)
    documents = ("documents", words.ROUND_DOCUMENT, (".pdf", *PHOTO_ENDINGS))
    if Evidence.DOCUMENT in item.evidence or Method.DOCUMENT in item.methods:
        return (photos, documents)
    return (photos,)
