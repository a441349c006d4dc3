"""Handing a pour over for review: the site engineer says that it can be looked at, and takes it back where it can't.

A hand-over holds for what stood when it was given. Evidence, drawing values or lists that come later end it, and so does the
reviewer's answer; taking it back in words stops the pour until it is handed over again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Final, Literal

from pydantic import BaseModel

from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.kinds import KINDS, VERSIONS
from verifier.record.ledger import Ledger, Record
from verifier.release.reason import Reason

HANDED: Final = "review.ask"
TAKEN_BACK: Final = "review.back"
CHANGES: Final = VERSIONS | {name for name, kind in KINDS.items() if kind.documents}
"""Kinds of event that change what was handed over."""

State = Literal["none", "waits", "changed", "answered", "taken back"]


class HandOver(BaseModel, frozen=True, extra="forbid"):
    """Whether a pour lies with the reviewer.

    ``waits``: handed over, and nothing has changed since. ``changed``: something that is judged came later. ``answered``: the
    reviewer has sent something back, asked for a spot, refused or released. ``person``, ``at``, ``record`` and ``text`` are those of
    the newest hand-over or taking back; ``since`` says in words what ended it.
    """

    state: State = "none"
    person: str = ""
    at: datetime | None = None
    record: int | None = None
    text: str = ""
    since: tuple[str, ...] = ()


def hand_over(folder: Path, act: Act, text: str = "") -> int:
    """Hand a pour over for review.

    Args:
        folder: The pour folder.
        act: Who hands it over, and when; the device signs on this person's behalf.
        text: What the reviewer should know, if anything.

    Returns:
        Number of the record.

    Raises:
        BadInput: If there is no record yet, or it lies with the reviewer already.
        NotAllowed: If the person may not.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.HAND_OVER)
    ledger = _opened(folder, pour, act)
    try:
        now = handed_in(ledger)
        if now.state == "waits":
            raise BadInput(
                f"It was handed over by {now.person} (record {now.record}) and nothing has changed since.",
                where="review",
                todo="Wait for the reviewer, or take it back.",
            )
        return record_event(ledger, HANDED, {"text": text, "size": len(ledger.records())}, act).seq
    finally:
        ledger.close()


def take_back(folder: Path, act: Act, text: str = "") -> int:
    """Take a pour back from review: it is not what it was said to be.

    Args:
        folder: The pour folder.
        act: Who takes it back, and when; the device signs on this person's behalf.
        text: Why, if there is time to say it.

    Returns:
        Number of the record.

    Raises:
        BadInput: If it was not handed over, or was taken back already.
        NotAllowed: If the person may not.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.HAND_OVER)
    ledger = _opened(folder, pour, act)
    try:
        if handed_in(ledger).state in ("none", "taken back"):
            raise BadInput(
                "It does not lie with the reviewer.", where="review", todo="There is nothing to take back."
            )
        return record_event(ledger, TAKEN_BACK, {"text": text}, act).seq
    finally:
        ledger.close()


def handed_in(ledger: Ledger) -> HandOver:
    """Tell whether a pour lies with the reviewer.

    Args:
        ledger: Its record.

    Returns:
        The state, with who and when.
    """
    records = ledger.records()
    last = next((r for r in reversed(records) if r.type in (HANDED, TAKEN_BACK)), None)
    if last is None:
        return HandOver()
    told = HandOver(
        state="taken back" if last.type == TAKEN_BACK else "waits",
        person=str(last.body.get("claimed_by", "?")),
        at=last.instant,
        record=last.seq,
        text=str(last.body.get("text", "")),
    )
    if last.type == TAKEN_BACK:
        return told
    later = records[last.seq :]
    ended = next((r for r in later if r.type in CHANGES or _answers(r)), None)
    if ended is None:
        return told
    state = "answered" if _answers(ended) else "changed"
    return told.model_copy(update={"state": state, "since": _in_words(later)})


def reasons_of_hand_over(handed: HandOver) -> tuple[Reason, ...]:
    """What a hand-over brings to the decision.

    Args:
        handed: The state.

    Returns:
        A reason that stops the pour while the site engineer has taken it back; none else.
    """
    if handed.state != "taken back":
        return ()
    return (
        Reason(
            key="review/taken-back",
            room="evidence",
            weight="stops",
            kind="contradiction",
            says=f"{handed.person} took the pour back from review (record {handed.record}). {handed.text}".strip(),
            clears="Put right what is meant, and hand it over again.",
            owner=handed.person,
        ),
    )


def _opened(folder: Path, pour: Pour, act: Act) -> Ledger:
    """The record; a pour without evidence has nothing to be reviewed."""
    if not has_record(folder):
        raise BadInput(
            "There is no record yet.",
            where=str(folder),
            todo="Add photos or tape readings first, then hand it over.",
        )
    return open_record(folder, pour, act)


def _answers(record: Record) -> bool:
    """Whether the reviewer has given the pour an answer that is for the site to act on."""
    if record.type == "return":
        said = record.body.get("review")
        return not (isinstance(said, dict) and said.get("lifts") is not None)
    return record.type in ("spot.ask", "refusal", "release")


def _in_words(later: Sequence[Record]) -> tuple[str, ...]:
    counts = Counter(KINDS[r.type].say for r in later if r.type in CHANGES or _answers(r))
    return tuple(say if n == 1 else f"{say} ({n} times)" for say, n in counts.items())
