"""People and devices of a record: enrolling, revoking, and releasing on an own machine with OpenSSH."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any
from urllib.parse import quote

import verifier
from verifier.errors import BadInput, NotAllowed
from verifier.record.approval import BOUND_LATER, Approval, HeldHead
from verifier.record.canonical import utc_instant, utc_text
from verifier.record.checkpoint import read_head
from verifier.record.keys import DeviceSigner, PersonSigner, Signer
from verifier.record.ledger import Ledger, Record
from verifier.record.public_keys import key_id, public_ssh
from verifier.record.sshsig import signed_by
from verifier.record.standing import ENROLMENT_NAMESPACE, RELEASE_NAMESPACE, SEAL_NAMESPACE, enrolment_text


def join_device(
    ledger: Ledger, device: DeviceSigner, at: datetime, *, pdf_certificate: Callable[[], str] | None = None
) -> None:
    """Make a device known to the record; does nothing if it is known already.

    Args:
        ledger: The record.
        device: The device's signer.
        at: Time by the device's clock.
        pdf_certificate: Gives the certificate (PEM) with which this device seals PDF files; asked only if the device is new.

    Raises:
        NotAllowed: If the record speaks against it, for instance since its clock is ahead of this device's.
    """
    ledger.records()
    if key_id(device.public) in ledger.standing.keys:
        return
    body = {"device": device.name, "public_key": _b64(device.public)}
    if pdf_certificate is not None:
        body["pdf_certificate"] = pdf_certificate()
    try:
        ledger.append("device.enrol", body, DeviceSigner(device.name, device.key), at)
    except NotAllowed:
        ledger.records()
        if key_id(device.public) not in ledger.standing.keys:
            raise  # else another writer on this device was a moment faster


def note_clock(ledger: Ledger, device: DeviceSigner, reads: datetime) -> Record:
    """Record that this device's clock is behind the record, so that work can go on; the audit points at it.

    A record never takes an earlier time than the one before it. If a clock ran ahead and was put right, this is the way on.

    Args:
        ledger: The record.
        device: This device.
        reads: What its clock reads now.

    Returns:
        The record; times are accepted again from ``reads`` on.

    Raises:
        NotAllowed: If the device is not enrolled.
    """
    ledger.records()
    floor = max(ledger.standing.clock_floor, utc_text(reads))
    return ledger.append("device.clock", {"clock_reads": utc_text(reads)}, device, utc_instant(floor))


def enrolment(pour: str, person: str, roles: Iterable[str], signer: PersonSigner) -> dict[str, Any]:
    """Write a request to be enrolled, signed by the new key; it may travel by mail.

    Args:
        pour: Pour id.
        person: Name as in the drawing file.
        roles: Roles as in the drawing file.
        signer: The new key, opened for this one signature.

    Returns:
        Body of the enrolment, to be recorded by :func:`enrol`.
    """
    listed = list(roles)
    proof = signer.sign(enrolment_text(pour, person, listed))
    return {"person": person, "roles": listed, "public_key": _b64(signer.public), "proof": _b64(proof)}


def enrolment_elsewhere(
    pour: str, person: str, roles: Iterable[str], public: bytes, armored: str
) -> dict[str, Any]:
    """Take a request to be enrolled that was signed on an own machine, whose private key never comes here.

    The person signed the file that holds :func:`verifier.record.standing.enrolment_text` with
    ``ssh-keygen -Y sign -f KEY -n pour-enrol FILE``.

    Args:
        pour: Pour id.
        person: Name as in the drawing file.
        roles: Roles as in the drawing file.
        public: The new public key, 32 bytes.
        armored: Content of ``FILE.sig``.

    Returns:
        Body of the enrolment, to be recorded by :func:`enrol`.

    Raises:
        NotAllowed: If the signature isn't that key's over this very text.
    """
    listed = list(roles)
    if signed_by(armored, enrolment_text(pour, person, listed), namespace=ENROLMENT_NAMESPACE) != public:
        raise NotAllowed(
            "The signature is not this key's over this text for the purpose pour-enrol.",
            where="enrol",
            todo="Sign the text unchanged, as it was given out.",
            command="ssh-keygen -Y sign -f KEY -n pour-enrol FILE, with the file of --text-out",
        )
    proof = armored.strip() + "\n"
    return {"person": person, "roles": listed, "public_key": _b64(public), "proof_signature": proof}


def enrol(ledger: Ledger, request: dict[str, Any], introducer: Signer, at: datetime) -> Record:
    """Record an enrolment. The first person introduces itself; everyone else is introduced by an enrolled person.

    Args:
        ledger: The record.
        request: What :func:`enrolment` wrote.
        introducer: Key of the introducing person (for the first person: the own key, opened again).
        at: Time by the introducer's clock.

    Returns:
        The record.

    Raises:
        NotAllowed: If the request is not signed by its key, or the introducer may not introduce.
    """
    return ledger.append("key.enrol", request, introducer, at)


def revoke(ledger: Ledger, person: str, reason: str, signer: Signer, at: datetime) -> Record:
    """Revoke a person's key. What it signed before this record stays valid; what comes after does not, whatever its time.

    Args:
        ledger: The record.
        person: Whose key.
        reason: Why, in words.
        signer: The own key, or that of a reviewer or the engineer of record.
        at: Time by the signer's clock.

    Returns:
        The record.

    Raises:
        BadInput: If the person has no valid key.
    """
    ledger.records()
    key = ledger.standing.person_key(person)
    if key is None:
        raise BadInput(
            f"{person} has no valid key in this record.",
            where="key.revoke",
            todo="Check the name in the timeline.",
        )
    return ledger.append(
        "key.revoke", {"key": key_id(key.public), "person": person, "reason": reason}, signer, at
    )


def bind_release(
    ledger: Ledger,
    held: HeldHead,
    *,
    person: str,
    decision: str,
    verdict: str,
    conditions: Iterable[str] = (),
    open_observations: Iterable[str] = (),
    valid_until: str | None = None,
) -> Approval:
    """Fill in what a release of the record as it stands now would bind.

    Args:
        ledger: The record, which must hold a drawing and a rules version.
        held: A head kept outside of it (:meth:`verifier.record.heads.KeptHeads.held`).
        person: Who is to release.
        decision: ``go`` or ``go_with_conditions``.
        verdict: In words.
        conditions: Conditions of the release.
        open_observations: Open observations that the person knows of.
        valid_until: UTC text, if the release lapses by time.

    Returns:
        The approval; sign it with :func:`release` or as text on an own machine.

    Raises:
        BadInput: If no drawing or rules version is recorded.
    """
    head = ledger.head()
    in_force = ledger.standing.in_force
    if not {"drawing", "rules"} <= set(in_force):
        raise BadInput(
            "The record holds no drawing or no rules version.",
            where="release",
            todo="Record the versions that the check used, then check and release.",
        )
    return Approval.model_validate(
        {
            "pour": ledger.pour,
            "person": person,
            "decision": decision,
            "verdict": verdict,
            "conditions": tuple(conditions),
            "open_observations": tuple(open_observations),
            "drawing_sha256": in_force["drawing"],
            "rules_sha256": in_force["rules"],
            **{name: in_force.get(kind) for name, (kind, _) in BOUND_LATER.items()},
            "size": head.size,
            "root": head.root_text,
            "held": held,
            "valid_until": valid_until,
            "software": f"verifier {verifier.__version__}",
        }
    )


def release(ledger: Ledger, approval: Approval, signer: PersonSigner, at: datetime) -> Record:
    """Record a release signed here with the person's key.

    Args:
        ledger: The record.
        approval: What :func:`bind_release` filled in and the person has read.
        signer: The person's key, opened for this one signature.
        at: Time by this device's clock.

    Returns:
        The record.

    Raises:
        NotAllowed: If roles, versions or the record have it otherwise.
    """
    return ledger.append("release", approval.body(), signer, at)


def import_release(
    ledger: Ledger, approval: Approval, armored: str, device: DeviceSigner, at: datetime
) -> Record:
    """Record a release that the person signed on an own machine; this device only hands it in and can't forge it.

    The person signed the file that holds ``approval.body()["statement"]`` with
    ``ssh-keygen -Y sign -f KEY -n pour-release FILE``.

    Args:
        ledger: The record.
        approval: The approval whose statement was given out.
        armored: Content of ``FILE.sig``.
        device: This device.
        at: Time by this device's clock.

    Returns:
        The record.

    Raises:
        NotAllowed: If the signature isn't sound for this very text, or the person may not release.
    """
    body = approval.body()
    if signed_by(armored, body["statement"].encode(), namespace=RELEASE_NAMESPACE) is None:
        raise NotAllowed(
            "The signature is not one over this text for the purpose pour-release.",
            where="release",
            todo="Sign the downloaded file unchanged: ssh-keygen -Y sign -f KEY -n pour-release FILE",
        )
    body["statement_signature"] = armored.strip() + "\n"
    return ledger.append("release", body, device, at)


def allowed_signers(ledger: Ledger) -> str:
    """Write the people of a record as OpenSSH's ``allowed_signers`` file.

    Args:
        ledger: The record.

    Returns:
        One line a person: name, namespaces, key. Revocation is by place in the ledger and so not told here.
    """
    people = [key for key in ledger.standing.keys.values() if key.person]
    return "".join(
        f'{principal_of(k.name)} namespaces="{RELEASE_NAMESPACE},{SEAL_NAMESPACE}" {public_ssh(k.public)}\n'
        for k in people
    )


def principal_of(name: str) -> str:
    """Write a name so that neither OpenSSH nor a shell finds anything in it but letters.

    Args:
        name: Name of a person, any text.

    Returns:
        ASCII letters, digits, ``. _ - ~ %``.
    """
    return quote(name, safe="")


def held_from_print(note: str, holder: str) -> HeldHead:
    """Make a held head of a checkpoint that was printed or scanned.

    Args:
        note: Text in the QR code.
        holder: Who has the print.

    Returns:
        The head as a release binds it.
    """
    head = read_head(note)
    return HeldHead(size=head.size, root=head.root_text, holder=holder, kept="on paper")


def _b64(data: bytes) -> str:
    return base64.b64encode(data).decode()
