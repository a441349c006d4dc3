"""People of a pour and their own keys: enrolling, revoking, and the key that a person opens for each signature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.people.acting import Act, open_record
from verifier.pipeline.people.permissions import Action, demand, signer_in
from verifier.record.keys import PersonSigner, make_person_key, settings_folder
from verifier.record.kinds import ROLES
from verifier.record.ledger import Ledger, Record
from verifier.record.people import enrol, enrolment, enrolment_elsewhere, principal_of, revoke
from verifier.record.standing import enrolment_text


@dataclass(frozen=True, slots=True)
class OwnKey:
    """A person's key file with its passphrase, for one command; each signature opens it anew.

    Attributes:
        path: Private key in OpenSSH form, its ``.pub`` beside it.
        passphrase: Never shown and never written.
    """

    path: Path
    passphrase: str = field(repr=False)

    def opened(self) -> PersonSigner:
        """Open the key for one signature."""
        return PersonSigner(self.path, self.passphrase)


def key_file_of(person: str) -> Path:
    """Say where this installation keeps a person's key if no other file is named.

    Args:
        person: Name from ``[people]``.

    Returns:
        Path in the user's settings folder, never in a pour folder.
    """
    return settings_folder() / "keys" / principal_of(person)


def roles_of(pour: Pour, person: str, asked: Sequence[str]) -> tuple[str, ...]:
    """Hold the roles asked for against the drawing file.

    Args:
        pour: The pour.
        person: Name of the person.
        asked: Roles asked for; none takes all that the drawing file gives.

    Returns:
        Roles for the enrolment.

    Raises:
        BadInput: If the drawing file does not name this person in such a role.
    """
    given = tuple(role for role in ROLES if person in getattr(pour.people, role))
    missing = [role for role in asked if role not in given]
    if not given or missing:
        wrong = f"pour.toml does not name {person} under [people]."
        raise BadInput(
            f"pour.toml does not name {person} as {', '.join(missing)} under [people]." if given else wrong,
            where="enrol",
            todo="Write name and role under [people] first; the drawing values say who is who on this pour.",
        )
    return tuple(asked) or given


def enrol_person(
    folder: Path, person: str, roles: Sequence[str], key: OwnKey, act: Act, *, by: OwnKey | None = None
) -> Record:
    """Make a person's key if there is none yet, and record the enrolment.

    Args:
        folder: The pour folder.
        person: Name from ``[people]``.
        roles: Roles; none takes those of the drawing file.
        key: The person's key; made under its passphrase if the file is not there.
        act: Who acts on this device, and when.
        by: Key of the person who introduces; the first person of a record introduces itself.

    Returns:
        The record.

    Raises:
        BadInput: If the drawing file does not name the person so, or nobody introduces.
        NotAllowed: If the record has it otherwise, or a passphrase is wrong.
    """
    pour = read_pour(folder)
    listed = roles_of(pour, person, roles)
    demand(pour, person, Action.ENROL_KEY)
    ledger = open_record(folder, pour, act)
    try:
        _introduced(ledger, person, by)
        if not key.path.exists():
            key.path.parent.mkdir(parents=True, exist_ok=True)
            make_person_key(key.path, key.passphrase)
        request = enrolment(pour.pour.id, person, listed, key.opened())
        return enrol(ledger, request, (by or key).opened(), act.at)
    finally:
        ledger.close()


def request_text(folder: Path, person: str, roles: Sequence[str]) -> bytes:
    """Write what a person signs on an own machine to be enrolled with a key that never comes here.

    Args:
        folder: The pour folder.
        person: Name from ``[people]``.
        roles: Roles; none takes those of the drawing file.

    Returns:
        Bytes to sign with ``ssh-keygen -Y sign -f KEY -n pour-enrol FILE``.

    Raises:
        BadInput: If the drawing file does not name the person so.
    """
    pour = read_pour(folder)
    return enrolment_text(pour.pour.id, person, list(roles_of(pour, person, roles)))


def enrol_elsewhere(
    folder: Path,
    person: str,
    roles: Sequence[str],
    public: bytes,
    armored: str,
    act: Act,
    *,
    by: OwnKey | None,
) -> Record:
    """Record the enrolment of a key that was made on an own machine.

    Args:
        folder: The pour folder.
        person: Name from ``[people]``.
        roles: Roles, as in the text that was signed.
        public: Public key, 32 bytes.
        armored: Signature over :func:`request_text`.
        act: Who acts on this device, and when.
        by: Key of the person who introduces.

    Returns:
        The record.

    Raises:
        BadInput: If the drawing file does not name the person so, or nobody introduces.
        NotAllowed: If the signature is not that key's, or the record has it otherwise.
    """
    pour = read_pour(folder)
    listed = roles_of(pour, person, roles)
    demand(pour, person, Action.ENROL_KEY)
    if by is None:
        raise BadInput(
            "A key made elsewhere is introduced by a person who is enrolled already.",
            where="enrol",
            todo="Enrol the first person with a key on this device; that person introduces the others.",
            command="--by NAME",
        )
    request = enrolment_elsewhere(pour.pour.id, person, listed, public, armored)
    ledger = open_record(folder, pour, act)
    try:
        return enrol(ledger, request, by.opened(), act.at)
    finally:
        ledger.close()


def revoke_key(folder: Path, person: str, reason: str, key: OwnKey, at: datetime) -> Record:
    """Record that a person's key no longer counts.

    Args:
        folder: The pour folder.
        person: Whose key.
        reason: Why, in words.
        key: The own key, or that of a reviewer or the engineer of record.
        at: Moment of the act.

    Returns:
        The record.

    Raises:
        BadInput: If the person has no valid key.
        NotAllowed: If the signer may not revoke it.
    """
    ledger = Ledger.open(folder)
    try:
        signer = key.opened()
        demand(read_pour(folder), signer_in(ledger, signer.public), Action.REVOKE_KEY)
        return revoke(ledger, person, reason, signer, at)
    finally:
        ledger.close()


def _introduced(ledger: Ledger, person: str, by: OwnKey | None) -> None:
    ledger.records()
    keys = [key for key in ledger.standing.keys.values() if key.person]
    if by is None and keys:
        names = (
            ", ".join(key.name for key in keys if key.revoked is None) or "nobody with a valid key is left"
        )
        raise BadInput(
            f"{person} must be introduced by a person who is enrolled already: {names}.",
            where="enrol",
            todo="Say who introduces; that person opens the own key.",
            command="--by NAME",
        )
