"""A person's seal under a record as it stands: signed here with the own key, or on an own machine by ``ssh-keygen``."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from verifier.errors import BadInput, NotAllowed
from verifier.record.keys import DeviceSigner, Signer
from verifier.record.ledger import Ledger
from verifier.record.records import Record
from verifier.record.sshsig import signed_by
from verifier.record.standing import SEAL_NAMESPACE

_PERSON = re.compile(r"^sealed by: (.+)$", re.MULTILINE)
_RECORDS = re.compile(r"^records sealed: 1 to (\d{1,9})$", re.MULTILINE)
_DOCUMENT = re.compile(r"^release document sha256: ([0-9a-f]{64})$", re.MULTILINE)


def seal(ledger: Ledger, release_pdf: bytes | None, signer: Signer, at: datetime) -> Record:
    """Record that a person seals the record as it stands, with the release document if there is one.

    Args:
        ledger: The record.
        release_pdf: The signed release document.
        signer: The person's key, opened for this one signature.
        at: Time by this device's clock.

    Returns:
        The record of the seal.

    Raises:
        NotAllowed: If a person's key doesn't sign.
    """
    body: dict[str, Any] = {"records": len(ledger.records())}
    if release_pdf is not None:
        body["release_pdf_sha256"] = ledger.store.objects.put(release_pdf)
    return ledger.append("seal", body, signer, at)


def seal_text(ledger: Ledger, person: str, release_pdf_sha256: str | None, size: int | None = None) -> str:
    """Write the text that a person signs on an own machine.

    Args:
        ledger: The record.
        person: Who seals.
        release_pdf_sha256: Hash of the release document, None where there is none.
        size: Number of records sealed; all of them if not given.

    Returns:
        Plain text; its bytes in UTF-8 are what is signed.

    Raises:
        BadInput: If there are not so many records.
    """
    head = ledger.head(size if size is not None else len(ledger.records()))
    return (
        "SEAL UNDER THE RECORD OF A POUR\n"
        f"pour: {ledger.pour}\n"
        f"sealed by: {person}\n"
        f"records sealed: 1 to {head.size}\n"
        f"root over them: {head.root_text}\n"
        f"release document sha256: {release_pdf_sha256 or 'none'}\n"
        "By this the person says that the record as it stood is the one to keep. It approves nothing.\n"
    )


def person_in(text: str) -> str:
    """Read who is to sign a text that was given out.

    Args:
        text: The text.

    Returns:
        The name; empty if it says none.
    """
    found = _PERSON.search(text)
    return found[1] if found else ""


def import_seal(
    ledger: Ledger,
    text: str,
    armored: str,
    release_pdf: bytes | None,
    device: DeviceSigner,
    at: datetime,
) -> Record:
    """Record a seal that the person signed on an own machine with ``ssh-keygen -Y sign -f KEY -n pour-seal FILE``.

    Args:
        ledger: The record.
        text: The text that was given out, unchanged.
        armored: Content of ``FILE.sig``.
        release_pdf: The release document that the text names; None where it names none.
        device: This device, which only hands it in and can't forge it.
        at: Time by this device's clock.

    Returns:
        The record of the seal.

    Raises:
        BadInput: If the text is not one that this record gave out.
        NotAllowed: If the signature isn't sound for this very text, or the person may not seal.
    """
    person = person_in(text)
    count, document = _RECORDS.search(text), _DOCUMENT.search(text)
    size = int(count[1]) if count else 0
    digest = ledger.store.objects.put(release_pdf) if release_pdf is not None else None
    named = document[1] if document else None
    if (
        not person
        or not 0 < size <= len(ledger.records())
        or digest != named
        or text != seal_text(ledger, person, named, size)
    ):
        raise BadInput(
            "The text is not one that was given out for this record, or the record or its release document was changed since.",
            where="seal",
            todo="Have it given out anew, sign that file unchanged, and hand both in.",
            command="--text-out FILE",
        )
    if signed_by(armored, text.encode(), namespace=SEAL_NAMESPACE) is None:
        raise NotAllowed(
            "The signature is not one over this text for the purpose pour-seal.",
            where="seal",
            todo="Sign the file unchanged: ssh-keygen -Y sign -f KEY -n pour-seal FILE",
        )
    body: dict[str, Any] = {"records": size, "person": person, "statement": text}
    if digest is not None:
        body["release_pdf_sha256"] = digest
    return ledger.append("seal", {**body, "statement_signature": armored.strip() + "\n"}, device, at)
