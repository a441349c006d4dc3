"""Enrolling in two steps: a person makes the own key and asks, somebody who is enrolled introduces the person."""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.people.acting import Act, open_record
from verifier.pipeline.people.enrolling import OwnKey, roles_of
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.keys import make_person_key
from verifier.record.ledger import Ledger, Record
from verifier.record.people import enrol, enrolment, principal_of
from verifier.record.public_keys import key_id, public_from_ssh

REQUESTS = "requests"
"""Folder in the pour folder; a request is worth nothing before somebody enrolled has signed it into the record."""


@dataclass(frozen=True, slots=True)
class Keys:
    """Who has a key in the record of a pour.

    Attributes:
        valid: Person -> short id of the key that counts.
        asking: Requests to be enrolled that nobody has taken yet.
    """

    valid: dict[str, str]
    asking: tuple[Request, ...]


class Request(BaseModel, frozen=True, extra="forbid"):
    """A request to be enrolled. ``mark`` is the short id of the new key, to be compared by voice."""

    person: str
    roles: tuple[str, ...]
    mark: str
    body: dict[str, Any]


def keys_of(folder: Path) -> Keys:
    """Tell who has a key in the record, and who asks for one.

    Args:
        folder: The pour folder.

    Returns:
        Keys and requests.
    """
    valid: dict[str, str] = {}
    if has_record(folder):
        ledger = Ledger.open(folder)
        try:
            ledger.records()
            known = [k for k in ledger.standing.keys.values() if k.person and k.revoked is None]
            valid = {k.name: mark_of(k.public) for k in known}
        finally:
            ledger.close()
    asking = []
    for path in sorted((folder / REQUESTS).glob("*.json")):
        try:
            request = Request.model_validate_json(path.read_bytes())
        except (OSError, ValueError):
            continue  # no request of ours, or torn: the person still sees that no key is enrolled, and asks again
        if request.person not in valid and _says_what_it_shows(request):
            asking.append(request)
    return Keys(valid, tuple(asking))


def mark_of(public: bytes) -> str:
    """Write the id of a key so that two people can compare it by voice.

    Args:
        public: Public key, 32 bytes.

    Returns:
        16 hex digits in fours.
    """
    text = key_id(public)[:16]
    return " ".join(text[i : i + 4] for i in range(0, 16, 4))


def ask_to_be_enrolled(folder: Path, person: str, key: OwnKey, act: Act) -> Record | Request:
    """Make the own key if there is none yet, and enrol it, or ask for that if others are enrolled already.

    Args:
        folder: The pour folder.
        person: Name from ``[people]``.
        key: The person's key; made under its passphrase if the file is not there.
        act: Who acts on this device, and when.

    Returns:
        The record if the person is the first of it and so introduces itself, else the request.

    Raises:
        BadInput: If the drawing file does not name the person.
        NotAllowed: If the person may not, or the passphrase is wrong.
    """
    pour = read_pour(folder)
    listed = roles_of(pour, person, ())
    demand(pour, person, Action.ENROL_KEY)
    if not key.path.exists():
        key.path.parent.mkdir(parents=True, exist_ok=True)
        make_person_key(key.path, key.passphrase)
    body = enrolment(pour.pour.id, person, listed, key.opened())
    ledger = open_record(folder, pour, act)
    try:
        ledger.records()
        if not any(k.person for k in ledger.standing.keys.values()):
            return enrol(ledger, body, key.opened(), act.at)
    finally:
        ledger.close()
    public = public_from_ssh(
        key.path.with_name(key.path.name + ".pub").read_text(encoding="utf-8"), where=str(key.path)
    )
    request = Request(person=person, roles=listed, mark=mark_of(public), body=body)
    place = folder / REQUESTS / f"{principal_of(person)}.json"
    place.parent.mkdir(exist_ok=True)
    fresh = place.with_suffix(".new")
    fresh.write_text(json.dumps(request.model_dump(mode="json"), ensure_ascii=False), encoding="utf-8")
    fresh.replace(place)
    return request


def introduce(folder: Path, request: Request, by: OwnKey, act: Act) -> Record:
    """Sign a person into the record who asked for it.

    Args:
        folder: The pour folder.
        request: The request.
        by: Key of the introducing person, who is ``act.person``.
        act: Who introduces, and when.

    Returns:
        The record.

    Raises:
        BadInput: If the drawing file no longer names the person so.
        NotAllowed: If the introducer may not, or a passphrase is wrong.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.ENROL_KEY)
    demand(pour, request.person, Action.ENROL_KEY)
    if not _says_what_it_shows(request) or roles_of(pour, request.person, request.roles) != request.roles:
        raise BadInput(
            "The request is not what it was, or the roles have changed.",
            where="enrol",
            todo="Let the person ask again.",
        )
    ledger = open_record(folder, pour, act)
    try:
        record = enrol(ledger, request.body, by.opened(), act.at)
    finally:
        ledger.close()
    (folder / REQUESTS / f"{principal_of(request.person)}.json").unlink(missing_ok=True)
    return record


def _says_what_it_shows(request: Request) -> bool:
    """Whether name, roles and mark that the introducing person reads are those that would go into the record."""
    body = request.body
    try:
        public = base64.b64decode(str(body.get("public_key")), validate=True)
    except ValueError:
        return False
    return (body.get("person"), body.get("roles"), mark_of(public)) == (
        request.person,
        list(request.roles),
        request.mark,
    )
