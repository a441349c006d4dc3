"""One item of a round on a card: what, why and how, what was said before, and the answer with its evidence."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import streamlit as st
from pydantic import ValidationError

from ui import words
from ui.parts import drafts, plain
from ui.parts.keypad import clear, keypad
from verifier.errors import VerifierError
from verifier.pipeline.folder.evidence import PHOTO_ENDINGS
from verifier.pipeline.inspection.round_entries import record_answers
from verifier.pipeline.inspection.rounds import Rounds, rounds_of
from verifier.pipeline.intake.arriving import file_name
from verifier.pipeline.people.acting import Act
from verifier.report.figures import Verdict
from verifier.rounds.answers import Answer, Value, Word, faults_in
from verifier.rounds.items import CheckItem, Evidence, Method, faults_of
from verifier.rounds.state import RoundState
from verifier.rounds.walk import WalkedItem

TOLD = "round-told"
WHOLE = "whole pour"
_WORDS: tuple[Word, ...] = (Word.CONFORMING, Word.NOT_CONFORMING, Word.CANNOT_TELL, Word.DOES_NOT_APPLY)
_SHAPE: dict[Word, Verdict] = {
    Word.CONFORMING: "conforming",
    Word.DECIDED: "conforming",
    Word.NOT_CONFORMING: "non_conforming",
    Word.NOT_LOOKED_AT: "missing",
}


@dataclass(frozen=True, slots=True)
class _Form:
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


def show(folder: Path, rounds: Rounds, state: RoundState, walked: WalkedItem, person: str) -> bool:
    """Show one item and take its answer.

    Args:
        folder: The pour folder.
        rounds: The rounds of the pour.
        state: How this round stands.
        walked: The item.
        person: Who answers.

    Returns:
        True if an answer went into the record just now.
    """
    form = _Form(folder, walked.item, state.number, person)
    with st.container(border=True, key="round-item"):
        _what(walked)
        _before(walked)
        place = _place(form, rounds, walked)
        value = _value(form)
        for kind, label, endings in _wanted(walked.item):
            _files(form, kind, label, endings)
        remark = _text(form)
        return _buttons(form, rounds, walked, place, value, remark)


def _what(walked: WalkedItem) -> None:
    item = walked.item
    st.html(
        f'<h2 style="overflow-wrap:anywhere">{plain.safe(item.id)} {plain.safe(words.said(item.item))}</h2>'
    )
    plain.labelled(words.ROUND_LIMIT, words.said(item.limit))
    if item.point != "none":
        plain.labelled(words.ROUND_POINT[item.point], words.said(item.closes))
    with st.expander(words.ROUND_WHY):
        plain.pairs(
            (
                (words.ROUND_WHY_SAYS, words.said(item.why)),
                (words.ROUND_HOW, words.said(item.how)),
                (words.ROUND_CLOSES, words.said(item.closes)),
                (words.FINDINGS_SOURCE, words.opening(f"{item.source} ({item.status})")),
                *(((words.ROUND_DISAGREEMENT, words.said(item.disagreement)),) if item.disagreement else ()),
            )
        )


def _before(walked: WalkedItem) -> None:
    """What is open and for whom, and what was said before, newest first."""
    for one in walked.open:
        if one.word is Word.NOT_LOOKED_AT and len(walked.open) == 1 and not walked.said:
            continue
        but = words.ROUND_NOT_BY.format(names=", ".join(one.not_by)) if one.not_by else ""
        verdict = _SHAPE.get(one.word, "inconclusive")
        plain.verdict_line(
            verdict,
            " · ".join(
                filter(None, (words.ROUND_BY.format(roles=" / ".join(map(words.said, one.who))), but))
            ),
            f"{_place_name(one.place)}: {'; '.join(map(words.said, one.why))}",
        )
    if walked.said:
        with st.expander(words.ROUND_SAID.format(count=len(walked.said))):
            plain.points(_said(a) for a in walked.said)


def _said(a: Answer) -> str:
    value = f", {a.value.value:g} {a.value.unit}" if a.value is not None else ""
    evidence = (
        words.ROUND_WITH.format(count=len(a.photos) + len(a.documents)) if a.photos or a.documents else ""
    )
    told = f"{words.ROUND_NUMBER.format(number=a.round)}, {_place_name(a.place)}: {words.ROUND_WORD[a.word]}{value}"
    return " · ".join(filter(None, (told, a.remark, evidence, f"{a.by}, {a.at:%Y-%m-%d %H:%M %z}")))


def _place_name(place: str) -> str:
    return words.ROUND_WHOLE if place == WHOLE else place


def _place(form: _Form, rounds: Rounds, walked: WalkedItem) -> str:
    open_ones = [o.place for o in walked.open]
    known = [a.place for a in walked.said]
    options = tuple(dict.fromkeys((*open_ones, *known, WHOLE, *rounds.pour.marks)))
    state = f"{form.key}-place"
    kept = form.note().get("place")
    if state not in st.session_state and kept:
        st.session_state[state] = kept
        options = tuple(dict.fromkeys((*options, kept)))
    place = st.selectbox(
        words.ROUND_PLACE,
        options,
        key=state,
        accept_new_options=True,
        format_func=_place_name,
        on_change=lambda: form.keep(place=str(st.session_state[state] or "")),
    )
    return str(place or WHOLE).strip() or WHOLE


def _value(form: _Form) -> Value | None:
    """The measured value with what it is held against; typed on large keys, kept until the answer is recorded."""
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
        source = _line(form, "limit_source", words.ROUND_LIMIT_SOURCE)
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


def _number(form: _Form, field: str, label: str) -> float | None:
    state = f"{form.key}-{field}"
    if state not in st.session_state:
        kept = form.note().get(field)
        st.session_state[state] = float(kept) if kept else None

    def keep() -> None:
        value = st.session_state[state]
        form.keep(**{field: "" if value is None else f"{value:g}"})

    found: float | None = st.number_input(label, value=None, format="%g", key=state, on_change=keep)
    return found


def _line(form: _Form, field: str, label: str) -> str:
    state = f"{form.key}-{field}"
    if state not in st.session_state:
        st.session_state[state] = form.note().get(field, "")
    return str(
        st.text_input(
            label, key=state, max_chars=300, on_change=lambda: form.keep(**{field: st.session_state[state]})
        )
    ).strip()


def _text(form: _Form) -> str:
    state = f"{form.key}-remark"
    if state not in st.session_state:
        st.session_state[state] = form.note().get("remark", "")
    return str(
        st.text_area(
            words.ROUND_REMARK,
            key=state,
            max_chars=600,
            height=80,
            on_change=lambda: form.keep(remark=st.session_state[state]),
        )
    ).strip()


def _wanted(item: CheckItem) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Which files are asked for; a photo may always be given."""
    photos = ("photos", words.ROUND_PHOTO, PHOTO_ENDINGS)
    documents = ("documents", words.ROUND_DOCUMENT, (".pdf", *PHOTO_ENDINGS))
    if Evidence.DOCUMENT in item.evidence or Method.DOCUMENT in item.methods:
        return (photos, documents)
    return (photos,)


def _files(form: _Form, kind: str, label: str, endings: tuple[str, ...]) -> None:
    """Choose files; they are kept on disk as soon as they have arrived, so that a reload does not lose them."""
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
    kept_files = _kept(form, kind)
    for path in kept_files:
        plain.verdict_line("conforming", words.ROUND_FILE_KEPT, path.name)
    if kept_files and st.button(words.ROUND_FILES_DROP, key=f"{form.key}-{kind}-drop"):
        form.keep(**{kind: ""})
        st.rerun(scope="fragment")


def _kept(form: _Form, kind: str) -> tuple[Path, ...]:
    found = (drafts.file_of(form.folder, sha256) for sha256 in form.note().get(kind, "").split())
    return tuple(path for path in found if path is not None)


def _buttons(
    form: _Form, rounds: Rounds, walked: WalkedItem, place: str, value: Value | None, remark: str
) -> bool:
    """One large button a word; a defect at this place is first of all put right."""
    bad = any(o.place == place and o.word is Word.NOT_CONFORMING for o in walked.open)
    touched = None
    if bad and _word(st, form, Word.PUT_RIGHT, first=True):
        touched = Word.PUT_RIGHT
    for two in (_WORDS[:2], _WORDS[2:]):
        for column, word in zip(st.columns(2, gap="small", wrap=False), two, strict=True):
            if _word(column, form, word, first=not bad and word is Word.CONFORMING):
                touched = word
    if touched is None:
        return False

    def made(at: datetime) -> Answer:
        return Answer(
            item=form.item.id,
            round=form.number,
            place=place,
            word=touched,
            by=form.person,
            at=at,
            value=value,
            photos=tuple(p.parent.name for p in _kept(form, "photos")),
            documents=tuple(p.parent.name for p in _kept(form, "documents")),
            remark=remark,
        )

    return _record(form, rounds, made)


def _word(where: Any, form: _Form, word: Word, *, first: bool) -> bool:
    touched: bool = where.button(
        words.ROUND_SAY[word],
        key=f"{form.key}-{word}",
        type="primary" if first else "secondary",
        width="stretch",
    )
    return touched


def _record(form: _Form, rounds: Rounds, made: Callable[[datetime], Answer]) -> bool:
    """Put the answer into the record, or say what it still lacks and leave everything where it is."""
    now = datetime.now().astimezone()
    try:
        answer = made(now)
        faults = faults_in(form.item, answer)
        if answer.word is Word.PUT_RIGHT and not answer.photos:
            faults = (words.ROUND_NEEDS_PHOTO,)
        if faults:
            plain.notice("inconclusive", words.ROUND_NOT_YET, f"{'; '.join(map(words.said, faults))}.")
            return False
        files = (*_kept(form, "photos"), *_kept(form, "documents"))
        record_answers(form.folder, [answer], Act(form.person, now), files)
    except ValidationError as error:
        plain.notice("inconclusive", words.ROUND_NOT_YET, words.said(faults_of(error)))
        return False
    except VerifierError as error:
        plain.fault(words.ROUND_NOT_YET, error)
        return False
    _done(form, rounds, answer, now)
    return True


def _done(form: _Form, rounds: Rounds, answer: Answer, now: datetime) -> None:
    """Empty the form, and say what is still open of the item."""
    for sha256 in (*answer.photos, *answer.documents):
        drafts.drop_file(form.folder, sha256)
    drafts.keep_note(form.folder, form.key, {})
    for field in ("place", "remark", "low", "high", "limit_source"):
        st.session_state.pop(f"{form.key}-{field}", None)
    said = f"{answer.item} {words.said(form.item.item)}, {_place_name(answer.place)}: {words.ROUND_WORD[answer.word]}."
    left = [
        o
        for s in rounds_of(form.folder).states(now)
        if s.number == form.number
        for o in s.open
        if o.item == answer.item and o.place == answer.place
    ]
    still = " ".join(
        words.ROUND_STILL.format(
            why="; ".join(map(words.said, o.why)), roles=" / ".join(map(words.said, o.who))
        )
        for o in left
    )
    st.session_state[TOLD] = f"{said} {still}".strip()
