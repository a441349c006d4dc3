"""After the pour: entries in the record, what curing, results and dates say, and the record closed when everything is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from verifier.concrete.after import (
    AfterEntry,
    DefectSeen,
    Propping,
    Result,
    StrengthShown,
    Struck,
)
from verifier.concrete.close import ToClose
from verifier.concrete.log_doubts import CLOCKS_APART
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, NotAllowed, faults_of
from verifier.pipeline.concreting.after_pour import ENTRY, Post, after_of, signatures_of, still_open
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.keys import PersonSigner
from verifier.wording import counted

ROLE_OF_POST: dict[Post, tuple[str, ...]] = {
    "contractor's engineer": ("site_engineer", "quality_engineer"),
    "independent inspector": ("reviewer",),
    "engineer of record": ("engineer_of_record",),
}


def record_after(
    folder: Path, fields: Mapping[str, Any], act: Act, files: Sequence[Path] = (), *, once: str = ""
) -> AfterEntry:
    """Put one entry after the pour into the record.

    Args:
        folder: The pour folder.
        fields: Fields of the entry, with its ``kind``; writer and time may be left to the act.
        act: Who writes, and when.
        files: Photos named by the entry, to be kept.
        once: A name that the entry got when it was typed: sent twice it counts once.

    Returns:
        The entry.

    Raises:
        BadInput: If a field is missing or wrong, its time is still to come, or the record is closed; nothing is recorded then.
        NotAllowed: If the person may not write it.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.WRITE_CLOSING)
    told = {"by": act.person} | ({} if fields.get("kind") == "terms" else {"at": act.at})
    if fields.get("kind") == "defect":
        told = {}
    try:
        entry = ENTRY.validate_python(told | dict(fields))
    except ValidationError as error:
        faults = faults_of(error)
        raise BadInput(f"{faults}.", where="closing", todo="Correct it; nothing was recorded.") from error
    when = getattr(entry, "at", None)
    if when is not None and when > act.at + CLOCKS_APART:
        raise BadInput(
            f"{when:%Y-%m-%d %H:%M %z} lies after the time of writing, {act.at.astimezone(when.tzinfo):%Y-%m-%d %H:%M %z}.",
            where="closing",
            todo="Correct day and hour; nothing was recorded.",
        )
    still_open(folder)
    ledger = open_record(folder, pour, act)
    try:
        for path in files:
            ledger.store.objects.put_file(path)
        photos = getattr(entry, "photos", ()) or (
            entry.defect.photos if isinstance(entry, DefectSeen) else ()
        )
        body: dict[str, object] = {
            "text": _about(entry),
            "entry": entry.model_dump(mode="json"),
            "originals": [{"sha256": h} for h in photos],
        }
        if not once or once not in {
            r.body.get("once") for r in ledger.records() if r.type in {"closing", "propping"}
        }:
            record_event(
                ledger,
                "propping" if isinstance(entry, Propping) else "closing",
                ({"once": once} if once else {}) | body,
                act,
            )
    finally:
        ledger.close()
    return entry


def sign_closing(
    folder: Path, post: Post, act: Act, own_key: PersonSigner, *, decides: str = "", decision: str = ""
) -> None:
    """Sign the closing in a post, or let the engineer of record decide on a defect or on results, with the own key.

    Args:
        folder: The pour folder.
        post: In which post.
        act: Who signs, and when.
        own_key: The person's own key, opened for this one signature.
        decides: ``defect N``, ``results``, ``levels`` or ``striking``, where the engineer of record decides on it.
        decision: The decision in words.

    Raises:
        BadInput: If there is nothing of that name to decide, the decision has no words, or the record is closed.
        NotAllowed: If the person does not hold the post.
    """
    pour = read_pour(folder)
    roles = pour.people.roles_of(act.person)
    if not set(roles) & set(ROLE_OF_POST[post]):
        raise NotAllowed(
            f"{act.person} is not {post} of this pour.",
            where="closing",
            todo=f"One of {', '.join(ROLE_OF_POST[post])} under [people] in pour.toml signs this.",
        )
    known = ("", "results", "levels", "striking", *(f"defect {n}" for n in sorted(_defects_in(folder))))
    if decides not in known:
        raise BadInput(
            f'There is no "{decides}" to decide on.',
            where="closing",
            todo=f"Decide on one of: {', '.join(known[1:])}.",
        )
    if bool(decides) != bool(decision.strip()) or (decides and post != "engineer of record"):
        raise BadInput(
            "A decision names what it decides and says it in words, by the engineer of record.",
            where="closing",
            todo="Give both.",
            command='--decides "defect 1" --decision "..."',
        )
    still_open(folder)
    ledger = open_record(folder, pour, act)
    try:
        signed = {"post": post, "decides": decides, "decision": decision.strip()}
        ledger.append(
            "closing.sign", {"text": decides or f"signed as {post}", "signed": signed}, own_key, act.at
        )
    finally:
        ledger.close()


def _defects_in(folder: Path) -> set[int]:
    return {e.defect.number for e in after_of(folder).entries if isinstance(e, DefectSeen)}


def close_record(folder: Path, missing: Sequence[ToClose], act: Act, own_key: PersonSigner) -> None:
    """Close the record; nothing of the pour or after it is written from then on.

    Args:
        folder: The pour folder.
        missing: What lacks, see `verifier.pipeline.concreting.closing_state`.
        act: Who closes it, and when.
        own_key: The person's own key.

    Raises:
        BadInput: If something lacks; says all of it.
        NotAllowed: If the person may not close it.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.CLOSE)
    lacks = [f"{m.says} ({m.who})" for m in missing]
    stale = [p for p, s in signatures_of(after_of(folder)).items() if s.overtaken_by is not None]
    lacks += [f"the {post} signed before later entries: sign again" for post in stale if not missing]
    if lacks:
        raise BadInput(
            f"The record can't close yet: {'; '.join(lacks)}.", where="closing", todo="Bring what lacks."
        )
    still_open(folder)
    ledger = open_record(folder, pour, act)
    try:
        ledger.append("close", {"text": "everything of the pour is there"}, own_key, act.at)
    finally:
        ledger.close()


def _about(entry: AfterEntry) -> str:
    match entry:
        case Result():
            return f"result of sample {entry.sample} at {counted(entry.age_days, 'day')}"
        case Struck():
            return f"struck: {entry.part}"
        case StrengthShown():
            return f"strength shown for a {entry.part}"
        case Propping():
            return f"back-props under {entry.floor} {entry.step}"
        case DefectSeen():
            return f"defect {entry.defect.number}: {entry.defect.kind}, {entry.defect.place}"
        case _:
            return entry.kind.replace("-", " ")
