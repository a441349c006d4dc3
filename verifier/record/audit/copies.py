"""What lies in a bundle beside the evidence: copies for other tools, which the records must bear out, and texts for reading."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from urllib.parse import quote

from .canonical_form import named_objects, unbase64
from .facts import OPEN, Fact, fact
from .persons import Key, Persons
from .shown import Shown
from .signatures import public_pem, public_ssh

_COPIED = (
    ("release", "statement", "data/approvals/{}.txt"),
    ("release", "statement_signature", "data/approvals/{}.sig"),
    ("seal", "statement", "data/approvals/{}.txt"),
    ("seal", "statement_signature", "data/approvals/{}.sig"),
    ("token", "checkpoint", "data/tokens/{}.checkpoint"),
)
_NAMED = re.compile(r"data/(originals|results|drawings|rules|tokens)/([0-9a-f]{64})\.[a-z]{2,4}", re.ASCII)
_FIXED = {"data/ledger.jsonl", "data/checkpoint.txt", "data/tokens/head.tsr", "data/tokens/head-chain.pem"}
_PROOF = re.compile(r"data/proofs/(\d{1,9}\.tlog-proof|consistency-\d{1,9}\.txt)", re.ASCII)
_READING = re.compile(r"data/(derived/[^/]+|check/audit/[a-z_]+\.py|timeline\.txt|process\.txt)", re.ASCII)
_TEXTS = ("HOW-TO-CHECK.txt", "data/timeline.txt", "data/process.txt")
_PROGRAM = "data/check/audit/"


def copies_fact(shown: Shown, persons: Persons) -> Fact:
    """Say whether the files laid out for openssl, ssh-keygen and pdfsig say what the records say.

    Args:
        shown: The records.
        persons: The acts in them, judged.

    Returns:
        The fact; it also fails for a file in ``data/`` that no record and no purpose accounts for.
    """
    expected = _expected(shown, persons)
    faults = [
        f"{name} is not what the records say"
        for name, digest in expected.items()
        if shown.bag.sha256.get(name) != digest
    ]
    named = {name for record in shown.records for name in named_objects(record["body"])}
    documents = {
        f"data/release-{record['seq']}.pdf": record["body"].get("release_pdf_sha256")
        for record in shown.records
        if record["type"] == "seal"
    }
    fixed = _FIXED if shown.whole else _FIXED | {"data/withheld.txt"}
    for name in shown.bag.names("data/"):
        match = _NAMED.fullmatch(name)
        known = name in expected or name in fixed or _PROOF.fullmatch(name) or _READING.fullmatch(name)
        if name in documents and documents[name] != shown.bag.sha256[name]:
            faults.append(f"{name} is not the document that was sealed")
        elif not known and name not in documents and not (match and match[2] in named):
            faults.append(f"{name} belongs to no record")
    say = "The copies for other tools (keys, texts, signatures, documents) say what the records say."
    return fact("copies", faults, say, "A copy for other tools differs from the records.")


def reading_fact(shown: Shown) -> Fact:
    """Name what is laid out for reading only: no record vouches for it, whatever it says.

    Args:
        shown: The records.

    Returns:
        A fact that is never more than not proven; it tells whether the program in the bundle is this very one.
    """
    names = [name for name in _TEXTS if name in shown.bag.sha256]
    own = {
        _PROGRAM + file.name: hashlib.sha256(file.read_bytes()).hexdigest()
        for file in Path(__file__).parent.glob("*.py")
    }
    there = {name: shown.bag.sha256[name] for name in shown.bag.names(_PROGRAM)}
    program = "No program came with it."
    if there:
        program = "The program in it is the one that says this."
        if there != own:
            program = "The program in it is NOT the one that says this: another version, or altered. Don't run it unread."
    say = f"{' and '.join(names)} are for reading; no record vouches for what they say. {program}"
    return Fact("texts and program", OPEN, say)


def _expected(shown: Shown, persons: Persons) -> dict[str, str]:
    """Name -> SHA-256 of every file that follows from the records."""
    keys = persons.keys
    texts: dict[str, bytes] = {
        f"data/keys/{ident}.pem": public_pem(key.public) for ident, key in keys.items()
    }
    texts["data/keys/people.txt"] = "".join(_listed(ident, key) for ident, key in keys.items()).encode()
    texts["data/keys/allowed_signers"] = "".join(
        f'{quote(key.name, safe="")} namespaces="pour-release,pour-seal" {public_ssh(key.public)}\n'
        for key in keys.values()
        if key.person
    ).encode()
    if shown.head is not None and shown.head.stamps:
        texts["data/checkpoint.body"] = shown.head.signed
        texts["data/checkpoint.sig"] = unbase64(shown.head.stamps[0].rpartition(" ")[2])[4:]
    for record in shown.records:
        body = record["body"]
        for kind, field, name in _COPIED:
            if record["type"] == kind and field in body:
                texts[name.format(record["seq"])] = str(body[field]).encode()
        if record["type"] == "device.enrol" and "pdf_certificate" in body:
            texts[f"data/certificates/{record['by']}.pem"] = str(body["pdf_certificate"]).encode()
    return {name: hashlib.sha256(text).hexdigest() for name, text in texts.items()}


def _listed(ident: str, key: Key) -> str:
    kind = f"person, {', '.join(key.roles)}" if key.person else "device"
    revoked = f", revoked by record {key.revoked}" if key.revoked else ""
    return f"{ident}  {' '.join(key.name.split())} ({kind}), enrolled by record {key.enrolled}{revoked}\n"
