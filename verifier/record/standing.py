"""Who may do what, folded from the records so far: keys, roles, who documented the steel, which versions are in force.

The audit judges the same rules again with its own code; a test holds the two together.
"""

from __future__ import annotations

import base64
import binascii
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from verifier.record.approval import release_faults
from verifier.record.canonical import canonical
from verifier.record.kinds import KINDS, ROLES, VERSIONS
from verifier.record.public_keys import key_id, signature_sound
from verifier.record.records import Record
from verifier.record.sshsig import signed_by

RELEASE_NAMESPACE = "pour-release"
SEAL_NAMESPACE = "pour-seal"
_OWN_MACHINE = {"release": RELEASE_NAMESPACE, "seal": SEAL_NAMESPACE}
"""What a signature of ``ssh-keygen -Y sign`` over a release must be for."""
ENROLMENT_NAMESPACE = "pour-enrol"
"""The same for the request to be enrolled, so that neither can be passed off as the other."""


@dataclass(slots=True)
class KnownKey:
    """A key that the record knows.

    Attributes:
        public: 32 bytes.
        name: Person or device.
        person: True for a person's key.
        roles: The person's roles; empty for a device.
        enrolled: Number of the record that enrolled it.
        introduced_by: Name of the key's introducer; its own name if it introduced itself.
        revoked: Number of the record that revoked it, or None.
    """

    public: bytes
    name: str
    person: bool
    roles: tuple[str, ...]
    enrolled: int
    introduced_by: str
    revoked: int | None = None


@dataclass(slots=True)
class Standing:
    """What the records so far amount to.

    Attributes:
        keys: Every key ever enrolled, by key id.
        documented: Person, by :func:`folded` name -> number of the first record in which that person documented or corrected
            steel.
        in_force: Kind of version, as ``drawing`` -> SHA-256 of the newest one.
        clock_floor: No record may claim an earlier time than this text.
        judged_size: Number of the newest record that adds something to judge.
    """

    keys: dict[str, KnownKey] = field(default_factory=dict)
    documented: dict[str, int] = field(default_factory=dict)
    in_force: dict[str, str] = field(default_factory=dict)
    clock_floor: str = ""
    judged_size: int = 0

    def person_key(self, person: str) -> KnownKey | None:
        """Return the valid key of a person.

        Args:
            person: Name, exactly as the key was enrolled under it.

        Returns:
            A key of that person that is not revoked, or None.
        """
        valid = (
            key for key in self.keys.values() if key.person and key.name == person and key.revoked is None
        )
        return next(valid, None)

    def documented_by(self, person: str) -> int | None:
        """Return where a person first documented or corrected steel.

        Args:
            person: Name, however it is spelled.

        Returns:
            Number of the record; None if the person never did.
        """
        return self.documented.get(folded(person))

    def actor(self, record: Record) -> KnownKey | None:
        """Return the key that answers for a record: its signer, or the person whose own-machine signature it carries.

        Args:
            record: A record, added already or not; the keys known so far are what counts.

        Returns:
            The key, valid or revoked; None where the signature on a release is no good or its key was never enrolled.
        """
        own = record.body.get("statement_signature")
        if record.type in _OWN_MACHINE and isinstance(own, str):
            text = str(record.body.get("statement")).encode()
            public = signed_by(own, text, namespace=_OWN_MACHINE[record.type])
            return None if public is None else self.keys.get(key_id(public))
        return self.keys.get(record.by)

    def faults(self, record: Record) -> list[str]:
        """Say what speaks against adding a record.

        Args:
            record: The next record, not yet added.

        Returns:
            One sentence for each fault; empty if it may be added.
        """
        kind = KINDS.get(record.type)
        if kind is None:
            return [f"{record.type!r} is no kind of event"]
        if record.type == "device.enrol":
            return self._device_faults(record)
        if record.type == "key.enrol":
            return self._enrolment_faults(record)
        found = _key_faults(self.keys.get(record.by), "the signing key")
        actor = self.actor(record)
        if actor is not None and actor is not self.keys.get(record.by):
            found += _key_faults(actor, "the key that signed the statement")
        if kind.person and (actor is None or not actor.person):
            found.append("this act needs the person's own key; a device can't do it on somebody's behalf")
        elif kind.roles and actor is not None and not kind.roles & set(actor.roles):
            found.append(f"{actor.name} has not the role for this act ({' or '.join(sorted(kind.roles))})")
        if (
            record.at < self.clock_floor
        ):  # also for device.clock, which stands at the old time and names the new one
            found.append(f"the time goes back, from {self.clock_floor} to {record.at}")
        if record.type == "key.revoke":
            found += self._revocation_faults(record, actor)
        if record.type == "release" and actor is not None:
            found += self._release_faults(record, actor)
        if record.type == "inspection" and not _of_last_round(record.body):
            found.append(
                "only what the last round looked at is an inspection; an earlier answer or a repair is an item"
            )
        return found

    def add(self, record: Record) -> None:
        """Take a record into account, whether or not anything speaks against it.

        Args:
            record: The next record.
        """
        body, kind = record.body, KINDS.get(record.type)
        if record.type in {"key.enrol", "device.enrol"}:
            self._enrol(record)
        elif record.type == "key.revoke" and body.get("key") in self.keys:
            self.keys[body["key"]].revoked = record.seq
        elif record.type in VERSIONS and isinstance(body.get("sha256"), str):
            self.in_force[record.type] = body["sha256"]
        elif record.type in VERSIONS:
            self.in_force.pop(record.type, None)
        self.clock_floor = (
            str(body.get("clock_reads", record.at)) if record.type == "device.clock" else record.at
        )
        if kind is None or not kind.neutral:
            self.judged_size = record.seq
        if kind is not None and kind.documents:
            for name in self._behind(record):
                self.documented.setdefault(folded(name), record.seq)

    def _behind(self, record: Record) -> set[str]:
        signer = self.keys.get(record.by)
        names = {record.body.get("claimed_by"), record.body.get("person")}
        if signer is not None and signer.person:
            names.add(signer.name)
        return {name for name in names if isinstance(name, str) and name}

    def _enrol(self, record: Record) -> None:
        public = _public(record.body)
        introducer = self.keys.get(record.by)
        if public is None:
            return
        name = str(record.body.get("person" if record.type == "key.enrol" else "device", ""))
        self.keys[key_id(public)] = KnownKey(
            public=public,
            name=name,
            person=record.type == "key.enrol",
            roles=tuple(record.body.get("roles", ())) if record.type == "key.enrol" else (),
            enrolled=record.seq,
            introduced_by=introducer.name if introducer else name,
        )

    def _device_faults(self, record: Record) -> list[str]:
        public = _public(record.body)
        if public is None or key_id(public) != record.by:
            return ["a device enrols its own key and signs for it"]
        return ["this key is already enrolled"] if record.by in self.keys else []

    def _enrolment_faults(self, record: Record) -> list[str]:
        public, person, roles = _public(record.body), record.body.get("person"), record.body.get("roles")
        if public is None or not isinstance(person, str) or not isinstance(roles, list):
            return ["an enrolment names person, roles and key"]
        found = (
            [] if plain_name(person) else [f"{person!r} is no plain name (no line breaks, no double blanks)"]
        )
        found += [f"{role!r} is no role ({', '.join(ROLES)})" for role in roles if role not in ROLES]
        if not _proven(record.body, public, enrolment_text(record.pour, person, roles)):
            found.append("the new key did not sign its own enrolment")
        if key_id(public) in self.keys:
            found.append("this key is already enrolled")
        if any(
            k.person and k.revoked is None and folded(k.name) == folded(person) for k in self.keys.values()
        ):
            found.append(f"{person} already has a valid key; revoke it first")
        if any(key.person for key in self.keys.values()):
            introducer = self.keys.get(record.by)
            found += _key_faults(introducer, "the introducing key")
            if introducer is not None and not introducer.person:
                found.append("a person is introduced by an enrolled person, not by a device")
        elif record.by != key_id(public):
            found.append("the first person signs the own enrolment")
        return found

    def _revocation_faults(self, record: Record, actor: KnownKey | None) -> list[str]:
        target = self.keys.get(str(record.body.get("key")))
        if target is None or target.revoked is not None:
            return ["the key to revoke is not a valid key of this record"]
        if (
            actor is None
            or actor.name == target.name
            or {"reviewer", "engineer_of_record"} & set(actor.roles)
        ):
            return []
        return [
            f"{actor.name} may revoke only the own key; a reviewer or the engineer of record may revoke others"
        ]

    def _release_faults(self, record: Record, actor: KnownKey) -> list[str]:
        found = release_faults(
            record.body,
            pour=record.pour,
            person=actor.name,
            in_force=self.in_force,
            judged_size=self.judged_size,
        )
        documented = self.documented_by(actor.name)
        if documented is not None:
            found.append(
                f"{actor.name} documented or corrected steel of this pour (record {documented}) and so can't release it"
            )
        return found


def _proven(body: Mapping[str, Any], public: bytes, text: bytes) -> bool:
    """Whether the new key signed the enrolment, by itself or with ssh-keygen on an own machine."""
    armored = body.get("proof_signature")
    if isinstance(armored, str):
        return signed_by(armored, text, namespace=ENROLMENT_NAMESPACE) == public
    proof = _bytes(body.get("proof"))
    return proof is not None and signature_sound(public, proof, text)


def _of_last_round(body: Mapping[str, Any]) -> bool:
    """Whether a body answers or signs the last round: whoever only looks there has neither built nor documented."""
    said = body.get("answer") or body.get("event") or {}
    if not isinstance(said, dict) or said.get("word") == "put right":
        return False
    return isinstance(said.get("round"), int) and said["round"] == body.get("rounds")


_JOINERS = "\u200c\u200d"
"""Without them names in some scripts can't be written; they count for nothing when names are compared."""


def plain_name(name: str) -> bool:
    """Say whether a name reads the same on one line of a printed statement as in the record.

    Args:
        name: Name of a person or device.

    Returns:
        False for an empty one and for one with line breaks, tabs, doubled blanks or blanks at its ends, with characters
        that nobody sees, or with accents written apart from their letters, which look the same and are others.
    """
    seen = all(unicodedata.category(c)[0] != "C" or c in _JOINERS for c in name)
    return bool(name) and seen and name == " ".join(unicodedata.normalize("NFC", name).split())


def folded(name: str) -> str:
    """Fold a name, so that nobody passes the own work under a second spelling that reads alike.

    Args:
        name: Name as somebody wrote it.

    Returns:
        Its compatibility form without case, blanks and characters that nobody sees. Letters of two scripts that merely look
        alike stay apart.

    Source:
        Unicode Standard Annex 15 (normalisation form KC) and chapter 3.13 (caseless matching).
    """
    plain = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    return "".join(c for c in plain if unicodedata.category(c)[0] not in "CZ")


def enrolment_text(pour: str, person: str, roles: list[str]) -> bytes:
    """Return what a new key signs to prove that its holder wants this enrolment.

    Args:
        pour: Pour id.
        person: Name.
        roles: Roles.

    Returns:
        Canonical bytes.
    """
    return canonical({"enrol": person, "pour": pour, "roles": roles})


def _key_faults(key: KnownKey | None, what: str) -> list[str]:
    if key is None:
        return [f"{what} is not enrolled"]
    if key.revoked is not None:
        return [f"{what}, of {key.name}, was revoked by record {key.revoked}"]
    return []


def _bytes(text: Any) -> bytes | None:
    try:
        return base64.b64decode(text, validate=True)
    except (TypeError, ValueError, binascii.Error):
        return None


def _public(body: Mapping[str, Any]) -> bytes | None:
    public = _bytes(body.get("public_key"))
    return public if public is not None and len(public) == 32 else None
