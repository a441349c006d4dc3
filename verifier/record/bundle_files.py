"""What lies in a bundle: ledger, head, proofs, keys, originals, approvals, time stamps, and texts for reading."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator, Sequence
from importlib import resources
from pathlib import Path

import verifier
from verifier.record.derived import Derived, derived_files
from verifier.record.howto import process_statement
from verifier.record.ledger import Ledger
from verifier.record.part import Part, values_of
from verifier.record.people import allowed_signers
from verifier.record.public_keys import public_pem
from verifier.record.records import Record, named_objects
from verifier.record.stamps import brackets_in
from verifier.record.timeline import events, timeline_text
from verifier.store import PourFolder

_SHELVES = {
    "drawing": "drawings",
    "rules": "rules",
    "rounds.list": "rules",
    "rounds.people": "rules",
    "falsework.file": "drawings",
    "order.file": "drawings",
    "token": "tokens",
}
_RESULTS = ("result_sha256", "intake_sha256")
"""What a program read or measured, kept beside the original that it is about."""
_ENDINGS = {
    "jpg",
    "jpeg",
    "png",
    "heic",
    "heif",
    "tif",
    "tiff",
    "csv",
    "xlsx",
    "toml",
    "json",
    "pdf",
    "txt",
    "ifc",
}


def payload(
    ledger: Ledger,
    chosen: list[Record],
    note: str,
    derived: Sequence[Derived],
    head_token: tuple[bytes, bytes] | None,
    part: Part | None = None,
) -> Iterator[tuple[str, bytes | Path]]:
    """Yield name and content of every file in ``data/``, but for the program.

    Args:
        ledger: The record.
        chosen: Records to show.
        note: The checkpoint.
        derived: Pictures drawn from originals.
        head_token: Time stamp response over the checkpoint, and the authority's certificates (PEM).
        part: What is shown and held back; None for the whole record.

    Yields:
        Name inside the bag, and bytes or the file to copy.

    Raises:
        RecordDamaged: If an original is missing or changed.
    """
    yield "data/ledger.jsonl", b"".join(record.line + b"\n" for record in chosen)
    yield from _head_files(note)
    yield from _proof_files(ledger, chosen, note, whole=part is None)
    yield from _key_files(ledger)
    withheld = part.withheld if part is not None else frozenset()
    yield from _object_files(ledger.store, chosen, withheld)
    if withheld:
        yield "data/withheld.txt", "".join(f"{name}\n" for name in sorted(withheld)).encode()
    yield from _approval_files(chosen)
    if head_token is not None:
        yield "data/tokens/head.tsr", head_token[0]
        yield "data/tokens/head-chain.pem", head_token[1]
    for name, content in derived_files(derived):
        yield f"data/derived/{name}", content
    yield "data/timeline.txt", timeline_text(events(chosen, brackets_in(chosen))).encode()
    yield "data/process.txt", process_statement(ledger.pour, verifier.__version__).encode()


def program_files() -> Iterator[tuple[str, bytes]]:
    """Yield the audit as a program, name and content of each file.

    Yields:
        Name inside the bag, and bytes.
    """
    for source in sorted(resources.files("verifier.record.audit").iterdir(), key=lambda item: item.name):
        if source.name.endswith(".py"):
            yield f"data/check/audit/{source.name}", source.read_bytes()


def _head_files(note: str) -> Iterator[tuple[str, bytes]]:
    """The head, and its text and first signature apart, as openssl takes them."""
    text, stamps = note.split("\n\n", 1)
    stamp = base64.b64decode(stamps.split("\n")[0].rpartition(" ")[2])
    yield "data/checkpoint.txt", note.encode()
    yield "data/checkpoint.body", (text + "\n").encode()
    yield "data/checkpoint.sig", stamp[4:]


def inclusion_text(seq: int, proof: Sequence[bytes], note: str) -> str:
    """Write a proof that a record lies under a head.

    Args:
        seq: Number of the record, from 1.
        proof: Hashes of the proof (RFC 9162, 2.1.3).
        note: The signed head.

    Returns:
        Text.

    Source:
        C2SP tlog-proof, version 1.
    """
    hashes = "".join(f"{base64.b64encode(h).decode()}\n" for h in proof)
    return f"c2sp.org/tlog-proof@v1\nindex {seq - 1}\n{hashes}\n{note}"


def _proof_files(
    ledger: Ledger, chosen: list[Record], note: str, *, whole: bool
) -> Iterator[tuple[str, bytes]]:
    wanted = [r.seq for r in chosen if not whole or r.type in {"photo", "tape", "release"}]
    for seq, proof in zip(wanted, ledger.inclusions(wanted), strict=True):
        yield f"data/proofs/{seq}.tlog-proof", inclusion_text(seq, proof, note).encode()
    for size in sorted(size for size in set(_bound_sizes(chosen)) if 0 < size <= len(ledger.records())):
        proof = ledger.consistency(size)
        hashes = "".join(f"{base64.b64encode(h).decode()}\n" for h in proof)
        yield f"data/proofs/consistency-{size}.txt", hashes.encode()


def _bound_sizes(chosen: Iterable[Record]) -> Iterator[int]:
    """Sizes of the earlier heads that the records speak of; what is no size is for the audit to complain about."""
    for record in chosen:
        yield from (size for size in values_of(record.body, "size") if isinstance(size, int))
        first = str(record.body.get("checkpoint", "")).split("\n")
        if record.type == "token" and len(first) > 1 and first[1].isdecimal():
            yield int(first[1])


def _key_files(ledger: Ledger) -> Iterator[tuple[str, bytes]]:
    listing = []
    for ident, key in ledger.standing.keys.items():
        yield f"data/keys/{ident}.pem", public_pem(key.public).encode()
        kind = f"person, {', '.join(key.roles)}" if key.person else "device"
        revoked = f", revoked by record {key.revoked}" if key.revoked else ""
        name = " ".join(key.name.split())
        listing.append(f"{ident}  {name} ({kind}), enrolled by record {key.enrolled}{revoked}\n")
    yield "data/keys/people.txt", "".join(listing).encode()
    yield "data/keys/allowed_signers", allowed_signers(ledger).encode()
    for record in ledger.records("device.enrol"):
        if "pdf_certificate" in record.body:
            yield f"data/certificates/{record.by}.pem", str(record.body["pdf_certificate"]).encode()


def _object_files(
    store: PourFolder, chosen: list[Record], withheld: frozenset[str]
) -> Iterator[tuple[str, bytes | Path]]:
    placed: dict[str, str] = {}
    for record in chosen:
        ending = str(record.body.get("name", "")).rpartition(".")[2].lower()
        results = {str(record.body[key]) for key in _RESULTS if key in record.body}
        for name in named_objects(record.body):
            if name in results:
                placed.setdefault(name, f"data/results/{name}.json")
            shelf = _SHELVES.get(record.type, "originals")
            placed.setdefault(name, f"data/{shelf}/{name}.{ending if ending in _ENDINGS else 'bin'}")
    for record in chosen:
        if record.type == "seal" and "release_pdf_sha256" in record.body:
            placed[record.body["release_pdf_sha256"]] = f"data/release-{record.seq}.pdf"
    for name, place in placed.items():
        if name not in withheld:
            store.objects.read(name)
            yield place, store.objects.path_of(name)


def _approval_files(chosen: list[Record]) -> Iterator[tuple[str, bytes]]:
    for record in chosen:
        if record.type == "release" or (record.type == "seal" and "statement" in record.body):
            yield f"data/approvals/{record.seq}.txt", str(record.body["statement"]).encode()
            if "statement_signature" in record.body:
                yield f"data/approvals/{record.seq}.sig", str(record.body["statement_signature"]).encode()
        elif record.type == "token":
            yield f"data/tokens/{record.seq}.checkpoint", str(record.body["checkpoint"]).encode()
