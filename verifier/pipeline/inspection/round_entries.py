"""What people write during the rounds: answers, repairs, events, signatures, hold points; each goes into the record."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from verifier.errors import BadInput
from verifier.pipeline.inspection.rounds import POSTS_FILE, rounds_of
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.keys import PersonSigner
from verifier.record.ledger import Ledger
from verifier.rounds.answer_file import read_answers
from verifier.rounds.answers import Answer, Event, HoldReleased, PutRight, RoundSigned, Word
from verifier.store import sha256_of
from verifier.store.table import table_text

_KINDS = {"happened": "remark", "witness_told": "remark", "put_right": "correction"}
_ACTION = {
    "put_right": Action.CLOSE_DEFECT,
    "hold_released": Action.RELEASE_HOLD,
    "round_signed": Action.SIGN_ROUND,
}
"""Any other event - rain, a repair nearby, a witness told - is a remark."""


def record_answers(folder: Path, answers: Sequence[Answer], act: Act, files: Sequence[Path] = ()) -> None:
    """Put answers into the record, all by one person at one moment, with the list that they answer.

    Args:
        folder: The pour folder.
        answers: Answers; writer and time must be those of the act.
        act: Who answers, and when.
        files: Photos and documents named by the answers, to be kept.

    Raises:
        BadInput: If writer or time are others, an item or round is unknown, or the record can't be written.
        NotAllowed: If the person may not answer items.
    """
    rounds = rounds_of(folder)
    rounds.person(act.person)
    demand(rounds.pour, act.person, Action.ANSWER_ITEM, named=rounds.named)
    for one in answers:
        item = rounds.checklist.find(one.item)
        if (one.by, one.at) != (act.person, act.at):
            raise BadInput(
                "An answer is signed by its writer, at its time.", where=one.item, todo="Sign it so."
            )
        if one.round not in item.rounds:
            raise BadInput(
                f"{one.item} is looked at in round {' and '.join(map(str, item.rounds))}, not {one.round}.",
                where="round",
                todo="Give one of its rounds.",
            )
    text = json.dumps(
        rounds.checklist.model_dump(mode="json"), sort_keys=True, separators=(",", ":"), ensure_ascii=False
    )
    ledger = open_record(folder, rounds.pour, act)
    try:
        digest = ledger.store.objects.put(text.encode())
        for path in files:
            ledger.store.objects.put_file(path)
        _in_force(ledger, "rounds.list", "items.json", digest, act)
        posts, named = folder / POSTS_FILE, {}
        if posts.is_file():
            named = {"posts": {"sha256": ledger.store.objects.put_file(posts)}}
            _in_force(ledger, "rounds.people", POSTS_FILE, named["posts"]["sha256"], act)
        for one in answers:
            body: dict[str, object] = named | {
                "item": one.item,
                "text": f"round {one.round}, {one.place}: {one.word}",
                "answer": one.model_dump(mode="json", exclude={"by", "at"}),
                "list": {"sha256": digest},
                "originals": [{"sha256": h} for h in (*one.photos, *one.documents)],
                "rounds": len(rounds.setting.round),
            }
            looked = one.round == len(rounds.setting.round) and one.word is not Word.PUT_RIGHT
            record_event(ledger, "inspection" if looked else "item", body, act)
    finally:
        ledger.close()


def _in_force(ledger: Ledger, kind: str, name: str, sha256: str, act: Act) -> None:
    """Tell once that another list, or other people, rule the rounds from here on."""
    if ledger.standing.in_force.get(kind) != sha256:
        record_event(ledger, kind, {"name": name, "sha256": sha256}, act)


def record_answer_file(folder: Path, file: Path, act: Act) -> tuple[Answer, ...]:
    """Put a whole file of answers into the record: a round walked on paper or with a spreadsheet.

    Args:
        folder: The pour folder.
        file: CSV as `verifier.rounds.answer_file` reads it; photos and documents lie beside it.
        act: Who answered, and when.

    Returns:
        The answers.

    Raises:
        BadInput: If a line can't be used; nothing is recorded then.
    """
    used: dict[str, Path] = {}

    def hash_of(name: str) -> str:
        path = file.parent / name
        if not path.is_file() or not path.stat().st_size:
            raise BadInput(f"There is no file {name} beside it.", where=str(file), todo="Correct the name.")
        used[name] = path
        return sha256_of(path)

    try:
        data = file.read_bytes()
    except OSError as error:
        raise BadInput(
            f"It can't be read: {error.strerror}.", where=str(file), todo="Name a CSV file in UTF-8."
        ) from error
    text = table_text(data, where=str(file))
    answers = read_answers(text, rounds_of(folder).checklist, act.person, act.at, hash_of, where=str(file))
    record_answers(folder, answers, act, list(used.values()))
    return answers


def record_round_event(
    folder: Path, event: Event, act: Act, *, own_key: PersonSigner | None = None
) -> tuple[str, ...]:
    """Put an event of the rounds into the record.

    Args:
        folder: The pour folder.
        event: What happened; writer and time must be those of the act.
        act: Who says so, and when.
        own_key: The person's own key; a hold point is released with nothing less.

    Returns:
        What is open after it and was not before, as sentences.

    Raises:
        BadInput: If the person is not named, a hold point is to be released without the own key, or the record refuses it.
        NotAllowed: If the person may not.
    """
    rounds = rounds_of(folder)
    rounds.person(act.person)
    demand(rounds.pour, act.person, _ACTION.get(event.kind, Action.REMARK), named=rounds.named)
    if (event.by, event.at) != (act.person, act.at):
        raise BadInput("An event is signed by its writer, at its time.", where=event.kind, todo="Sign it so.")
    if isinstance(event, PutRight | HoldReleased):
        rounds.checklist.find(event.item)
    before = {s.says for s in rounds.against(act.at)}
    body: dict[str, object] = {
        "text": event.kind.replace("_", " ")
        + (f": {event.what.replace('_', ' ')}" if event.kind == "happened" else ""),
        "event": event.model_dump(mode="json", exclude={"by", "at"}),
    }
    if isinstance(event, PutRight | HoldReleased):
        body["item"] = event.item
    ledger = open_record(folder, rounds.pour, act)
    try:
        if isinstance(event, RoundSigned):
            body["rounds"] = len(rounds.setting.round)
            last = event.round == len(rounds.setting.round)
            record_event(ledger, "inspection" if last else "item", body, act)
        elif not isinstance(event, HoldReleased):
            record_event(ledger, _KINDS[event.kind], body, act)
        elif own_key is None:
            raise BadInput(
                "A hold point is released with the person's own key.",
                where=event.item,
                todo="Give it; the key must be enrolled for this pour.",
                command="--key FILE",
            )
        else:
            ledger.append("hold.release", body, own_key, act.at)
    finally:
        ledger.close()
    return tuple(s.says for s in rounds_of(folder).against(act.at) if s.says not in before)


def sign_round(folder: Path, number: int, act: Act) -> tuple[str, ...]:
    """Record that a person signs a round for the list and the drawing revision now in force.

    Args:
        folder: The pour folder.
        number: Number of the round.
        act: Who signs, and when.

    Returns:
        What is open after it and was not before, as sentences.

    Raises:
        BadInput: If the person is not named, or the project holds no such round.
    """
    found = rounds_of(folder)
    found.setting.rule(number)
    signed = RoundSigned(
        round=number,
        by=act.person,
        at=act.at,
        list_version=found.checklist.version,
        revision=found.revision,
    )
    return record_round_event(folder, signed, act)


def release_hold(
    folder: Path, item: str, act: Act, own_key: PersonSigner, *, remark: str = ""
) -> tuple[str, ...]:
    """Record that the named person releases a hold point.

    Args:
        folder: The pour folder.
        item: Item of the list.
        act: Who releases it, and when.
        own_key: The person's own key, opened for this one signature.
        remark: What belongs to it.

    Returns:
        What is open after it and was not before, as sentences.

    Raises:
        BadInput: If the person is not named, or there is no such item.
    """
    event = HoldReleased(item=item, by=act.person, at=act.at, remark=remark)
    return record_round_event(folder, event, act, own_key=own_key)
