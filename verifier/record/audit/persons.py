"""Who acted, with which right, in which order, and what a release binds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from .bindings import release_faults, seal_faults
from .canonical_form import canonical_bytes, unbase64
from .facts import FAILS, HOLDS, OPEN, Fact, fact
from .policy import DECIDERS, DOCUMENTS, KINDS, NEUTRAL, PERSON, ROLES, VERSIONS
from .release_text import same_name
from .shown import Shown
from .signatures import key_id, sound, ssh_signer


@dataclass(slots=True)
class Key:
    """A key as the records introduce it; ``enrolled`` and ``revoked`` are the numbers of the records that did."""

    public: bytes
    name: str
    person: bool
    roles: tuple[str, ...]
    introducer: str
    enrolled: int
    revoked: int | None = None


class Persons:
    """The acts in a record, judged one after the other.

    Args:
        shown: The records.

    Attributes:
        keys: Key id -> key.
        unfit: Numbers of the records that were written around the rules.
    """

    def __init__(self, shown: Shown) -> None:
        self._shown = shown
        self.keys: dict[str, Key] = {}
        self.unfit: set[int] = set()
        self._faults: list[str] = []
        self._release_faults: list[str] = []
        self._seals: list[tuple[str, int, Any]] = []
        self._faults_of_seals: list[str] = []
        self._cautions: list[str] = []
        self._documented: dict[str, int] = {}
        self._in_force: dict[str, str] = {}
        self._judged = 0
        self._rounds = max((_rounds_named(record) for record in shown.records), default=0)
        for record in shown.records:
            faults = self._judge(record)
            self._faults += [f"record {record['seq']}: {fault}" for fault in faults]
            self.unfit |= {record["seq"]} if faults else set()
            self._take(record)

    @property
    def public_keys(self) -> dict[str, bytes]:
        """Key id -> public key, 32 bytes."""
        return {ident: key.public for ident, key in self.keys.items()}

    @property
    def valid_keys(self) -> dict[str, bytes]:
        """The same without keys that were revoked: only these may sign the head and the seal."""
        return {ident: key.public for ident, key in self.keys.items() if key.revoked is None}

    def person_fact(self) -> Fact:
        """Say whether everybody had the right to act.

        Returns:
            The fact: faults if there are any, else the keys and what to be careful about; open for a part of a record.
        """
        keys = [
            f"{key.name} ({', '.join(key.roles)}), key {ident[:16]}, introduced by {key.introducer}"
            if key.person
            else f"{key.name}, a device that joined by itself (record {key.enrolled}), key {ident[:16]}"
            for ident, key in self.keys.items()
        ]
        if self._faults:
            return Fact("persons", FAILS, "Somebody acted without the right to.", tuple(self._faults))
        say = "Every act was signed by a key with the right to it, as enrolled here. Compare the keys with the people."
        if not self._shown.whole:
            # Whether whoever released had documented steel can stand in a record that is left out.
            say = f"This goes for the records shown only. {say}"
            return Fact("persons", OPEN, say, (*keys, *self._cautions))
        return Fact("persons", HOLDS, say, (*keys, *self._cautions))

    def claimed_fact(self) -> Fact:
        """Say which records rest on a device and a merely claimed person.

        Returns:
            The fact; open as soon as one record rests on a name that a device wrote.
        """
        claimed: dict[tuple[str, str], int] = {}
        for record in self._shown.records:
            if "claimed_by" in record["body"]:
                key = self.keys.get(record["by"])
                pair = str(record["body"]["claimed_by"]), key.name if key else "an unknown key"
                claimed[pair] = claimed.get(pair, 0) + 1
        if not claimed:
            return Fact("claimed persons", HOLDS, "No record rests on a merely claimed person.")
        details = tuple(
            f"{name}, person only claimed; records signed by {signer}: {count}"
            for (name, signer), count in claimed.items()
        )
        return Fact(
            "claimed persons", OPEN, "A device signed some records; who held it is only claimed.", details
        )

    def order_fact(self) -> Fact:
        """Say whether the times in the record go back.

        Returns:
            The fact; open where a clock was set back and the record says so.
        """
        faults, steps, floor = [], [], ""
        for record in self._shown.records:
            reads = record["body"].get("clock_reads")
            if record["at"] < floor:
                faults.append(f"record {record['seq']}: the time goes back from {floor} to {record['at']}")
            elif record["type"] == "device.clock":
                steps.append(f"record {record['seq']}: a clock went back from {record['at']} to {reads}")
            floor = str(reads) if record["type"] == "device.clock" else max(floor, record["at"])
        if steps and not faults:
            say = "A clock was set back, and the record says so; look at what stands around it."
            return Fact("order", OPEN, say, tuple(steps))
        return fact("order", faults, "The times in the record never go back.", "Times go back.")

    def release_fact(self) -> Fact:
        """Say whether every release binds what it claims.

        Returns:
            The fact; open without a release, and for a part of a record.
        """
        count = sum(record["type"] == "release" for record in self._shown.records)
        if not count:
            return Fact("approvals", OPEN, "The records shown hold no release.")
        say = f"Releases: {count}, each bound to pour, drawing, rules and the records looked at."
        if not self._shown.whole and not self._release_faults:
            more = "Whether something that was not looked at came before it, and whether the one who released had documented steel, takes the whole record."
            return Fact("approvals", OPEN, f"{say} {more}")
        return fact("approvals", self._release_faults, say, "A release does not bind what it claims.")

    def seals_fact(self) -> Fact:
        """Say who sealed the record in person, and up to where.

        Returns:
            The fact; open where only a device sealed.
        """
        if not self._seals:
            return Fact(
                "sealed in person",
                OPEN,
                "The records shown hold no seal of a person; a device sealed the bundle.",
            )
        told = tuple(f"record {seq}: {name} sealed records 1 to {size}" for name, seq, size in self._seals)
        if self._faults_of_seals:
            return Fact(
                "sealed in person",
                FAILS,
                "A person's seal does not fit the record.",
                tuple(self._faults_of_seals),
            )
        return Fact("sealed in person", HOLDS, "Persons sealed the record with their own keys.", told)

    def _judge(self, record: dict[str, Any]) -> list[str]:
        kind, key = record["type"], self.keys.get(record["by"])
        if kind == "device.enrol":
            return self._device_faults(record)
        if kind == "key.enrol":
            return self._enrolment_faults(record, key)
        faults = [] if kind in KINDS else [f"{kind!r} is no kind of event"]
        actor = self._actor(record)
        for one in {id(k): k for k in (key, actor) if k is not None}.values():
            if one.revoked is not None:
                faults.append(f"the key of {one.name} was revoked by record {one.revoked}")
        if key is None or actor is None:
            return [*faults, f"{kind} by a key that is not enrolled"]
        if kind in PERSON and not actor.person:
            faults.append(f"{kind} needs a person's own key, a device signed")
        elif kind in ROLES and not ROLES[kind] & set(actor.roles):
            faults.append(f"{actor.name} has not the role for {kind}")
        if kind == "inspection":
            faults += _inspection_faults(record["body"])
            if _rounds_named(record) < self._rounds:
                faults.append(
                    f"an inspection of the last of {_rounds_named(record)} rounds, though the record knows {self._rounds}"
                )
        if kind == "key.revoke":
            target = self.keys.get(str(record["body"].get("key")))
            if target is None or not (actor.name == target.name or DECIDERS & set(actor.roles)):
                faults.append(f"{actor.name} may not revoke this key")
        if kind == "seal":
            found = seal_faults(record, actor.name, self._shown)
            self._seals.append((actor.name, record["seq"], record["body"].get("records")))
            self._faults_of_seals += [f"record {record['seq']}: {fault}" for fault in found]
        if kind == "release":
            found = release_faults(record, actor.name, self._shown, self._in_force, self._judged)
            self._release_faults += [f"record {record['seq']}: {fault}" for fault in found]
            self.unfit |= {record["seq"]} if found else set()
            if same_name(actor.name) in self._documented:
                number = self._documented[same_name(actor.name)]
                faults.append(f"{actor.name} documented or corrected steel (record {number}) and released it")
            if same_name(actor.introducer) in self._documented:
                caution = (
                    f"the key of {actor.name} was introduced by {actor.introducer}, who documented the steel"
                )
                self._cautions.append(f"caution: {caution}")
        return faults

    def _device_faults(self, record: dict[str, Any]) -> list[str]:
        ident = key_id(unbase64(record["body"].get("public_key")))
        return (
            [] if ident == record["by"] and ident not in self.keys else ["a device did not enrol its own key"]
        )

    def _enrolment_faults(self, record: dict[str, Any], key: Key | None) -> list[str]:
        body, public = record["body"], unbase64(record["body"].get("public_key"))
        name, people = body.get("person"), [k for k in self.keys.values() if k.person]
        text = canonical_bytes({"enrol": name, "pour": record["pour"], "roles": body.get("roles")})
        faults = []
        armored = body.get("proof_signature")
        elsewhere = isinstance(armored, str) and ssh_signer(armored, text, b"pour-enrol") == public
        if not (elsewhere or sound(public, unbase64(body.get("proof")), text)):
            faults.append(f"the key of {name} did not sign its own enrolment")
        alike = same_name(str(name))
        if (
            any(same_name(k.name) == alike and k.revoked is None for k in people)
            or key_id(public) in self.keys
        ):
            faults.append(f"{name} was enrolled twice")
        if people and (key is None or not key.person or key.revoked is not None):
            faults.append(f"{name} was not introduced by an enrolled person")
        if not people and key_id(public) != record["by"]:
            faults.append("the first person did not sign the own enrolment")
        return faults

    def _actor(self, record: dict[str, Any]) -> Key | None:
        """The key that answers for a record: its signer, or whoever signed the release on an own machine."""
        armored = record["body"].get("statement_signature")
        purpose = {"release": b"pour-release", "seal": b"pour-seal"}.get(record["type"])
        if purpose is not None and isinstance(armored, str):
            public = ssh_signer(armored, str(record["body"].get("statement")).encode(), purpose)
            return self.keys.get(key_id(public)) if public else None
        return self.keys.get(record["by"])

    def _take(self, record: dict[str, Any]) -> None:
        kind, body, seq = record["type"], record["body"], record["seq"]
        key, public = self.keys.get(record["by"]), unbase64(body.get("public_key"))
        if kind in {"key.enrol", "device.enrol"} and len(public) == 32:
            person = kind == "key.enrol"
            name = str(body.get("person" if person else "device"))
            roles = tuple(str(role) for role in body.get("roles") or ()) if person else ()
            self.keys[key_id(public)] = Key(public, name, person, roles, key.name if key else name, seq)
        elif kind == "key.revoke" and body.get("key") in self.keys:
            self.keys[body["key"]].revoked = seq
        elif kind in VERSIONS and "sha256" in body:
            self._in_force[kind] = str(body["sha256"])
        elif kind in VERSIONS:
            self._in_force.pop(kind, None)
        if kind not in NEUTRAL:
            self._judged = seq
        if kind in DOCUMENTS:
            for who in (
                body.get("claimed_by"),
                body.get("person"),
                key.name if key and key.person else None,
            ):
                if who:
                    self._documented.setdefault(same_name(str(who)), seq)
            if not (body.get("claimed_by") or body.get("person") or (key and key.person)):
                self._cautions.append(f"caution: record {seq} documents steel and names nobody who did")


def _inspection_faults(body: dict[str, Any]) -> list[str]:
    """Looking in the last round bars nobody from releasing, so nothing else may pass under that name."""
    looked = body.get("answer", body.get("event"))
    if not isinstance(looked, dict) or looked.get("word") == "put right":
        return ["an inspection that answers nothing, or that repairs"]
    if looked.get("round") is None or looked["round"] != body.get("rounds"):
        return ["an inspection that is not of the last round"]
    return []


def _rounds_named(record: dict[str, Any]) -> int:
    """How many rounds a record says that there are."""
    named = record["body"].get("rounds")
    return named if isinstance(named, int) and record["type"] in {"item", "inspection", "correction"} else 0
