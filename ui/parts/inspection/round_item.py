"""One item of a round on a card: what, why and how, what was said before, and the answer with its evidence."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import streamlit as st
from pydantic import ValidationError

from ui import words
from ui.parts import plain
from ui.parts.inspection import round_form
from ui.parts.inspection.round_form import Form
from verifier.errors import VerifierError, faults_of
from verifier.pipeline.inspection.round_entries import record_answers
from verifier.pipeline.inspection.rounds import Rounds, rounds_of
from verifier.pipeline.people.acting import Act
from verifier.report.figures import Verdict
from verifier.rounds.answers import Answer, Value, Word, faults_in
from verifier.rounds.state import RoundState
from verifier.rounds.walk import WalkedItem

TOLD = "round-told"
_WORDS: tuple[Word, ...] = (Word.CONFORMING, Word.NOT_CONFORMING, Word.CANNOT_TELL, Word.DOES_NOT_APPLY)
_SHAPE: dict[Word, Verdict] = {
    Word.CONFORMING: "conforming",
    Word.DECIDED: "conforming",
    Word.NOT_CONFORMING: "non_conforming",
    Word.NOT_LOOKED_AT: "missing",
}


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
    form = Form(folder, walked.item, state.number, person)
    with st.container(border=True, key="round-item"):
        _what(walked)
        _before(walked)
        place = round_form.place(form, rounds, walked)
        value = round_form.value(form)
        round_form.files(form)
        remark = form.remark()
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
            f"{round_form.place_name(one.place)}: {'; '.join(map(words.said, one.why))}",
        )
    if walked.said:
        with st.expander(words.ROUND_SAID.format(count=len(walked.said))):
            plain.points(_said(a) for a in walked.said)


def _said(a: Answer) -> str:
    value = f", {a.value.value:g} {a.value.unit}" if a.value is not None else ""
    evidence = (
        words.ROUND_WITH.format(count=len(a.photos) + len(a.documents)) if a.photos or a.documents else ""
    )
    told = f"{words.ROUND_NUMBER.format(number=a.round)}, {round_form.place_name(a.place)}: {words.ROUND_WORD[a.word]}{value}"
    return " · ".join(filter(None, (told, a.remark, evidence, f"{a.by}, {a.at:%Y-%m-%d %H:%M %z}")))


def _buttons(
    form: Form, rounds: Rounds, walked: WalkedItem, place: str, value: Value | None, remark: str
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
            photos=tuple(p.parent.name for p in form.kept("photos")),
            documents=tuple(p.parent.name for p in form.kept("documents")),
            remark=remark,
        )

    return _record(form, rounds, made)


def _word(where: Any, form: Form, word: Word, *, first: bool) -> bool:
    touched: bool = where.button(
        words.ROUND_SAY[word],
        key=f"{form.key}-{word}",
        type="primary" if first else "secondary",
        width="stretch",
    )
    return touched


def _record(form: Form, rounds: Rounds, made: Callable[[datetime], Answer]) -> bool:
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
        files = (*form.kept("photos"), *form.kept("documents"))
        record_answers(form.folder, [answer], Act(form.person, now), files)
    except ValidationError as error:
        plain.notice("inconclusive", words.ROUND_NOT_YET, words.said(faults_of(error)))
        return False
    except VerifierError as error:
        plain.fault(words.ROUND_NOT_YET, error)
        return False
    _done(form, rounds, answer, now)
    return True


def _done(form: Form, rounds: Rounds, answer: Answer, now: datetime) -> None:
    """Empty the form, and say what is still open of the item."""
    form.forget((*answer.photos, *answer.documents))
    said = f"{answer.item} {words.said(form.item.item)}, {round_form.place_name(answer.place)}: {words.ROUND_WORD[answer.word]}."
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
