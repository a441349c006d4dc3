"""What lies in a bundle: ledger, head, proofs, keys, originals, approvals, time stamps, and texts for reading."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator, Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import verifier
from verifier.record.howto import process_statement
from verifier.record.keys import public_pem
from verifier.record.ledger import Ledger
from verifier.record.people import allowed_signers
from verifier.record.records import Record, named_objects
from verifier.record.timeline import events, timeline_text
from verifier.store import PourFolder

_SHELVES = {
    "drawing": "drawings",
    "rules": "rules",
    "rounds.list": "rules",
    "rounds.people": "rules",
    "token": "tokens",
}
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


def values_of(body: Any, key: str) -> Iterator[Any]:
    """Yield every value that a body holds under a key, at any depth.

    Args:
        body: Body of a record, or any part of one.
        key: Name of the entries looked for.

    Yields:
        Their values in the order of the body; what lies inside such a value is not searched again.
    """
    if isinstance(body, Mapping):
        for name, value in body.items():
            if name == key:
                yield value
            else:
                yield from values_of(value, key)
    elif isinstance(body, list):
        for value in body:
            yield from values_of(value, key)


def payload(
    ledger: Ledger,
    chosen: list[Record],
    note: str,
    derived: Mapping[str, bytes],
    head_token: tuple[bytes, bytes] | None,
) -> Iterator[tuple[str, bytes | Path]]:
    """Yield name and content of every file in ``data/``, but for the program.

    Args:
        ledger: The record.
        chosen: Records to show.
        note: The checkpoint.
        derived: Pictures and tables made from originals, by file name.
        head_token: Time stamp response over the checkpoint, and the authority's certificates (PEM).

    Yields:
        Name inside the bag, and bytes or the file to copy.

    Raises:
        RecordDamaged: If an original is missing or changed.
    """
    yield "data/ledger.jsonl", b"".join(record.line + b"\n" for record in chosen)
    yield from _head_files(note)
    yield from _proof_files(ledger, chosen, note)
    yield from _key_files(ledger)
    yield from _object_files(ledger.store, chosen)
    yield from _approval_files(chosen)
    if head_token is not None:
        yield "data/tokens/head.tsr", head_token[0]
        yield "data/tokens/head-chain.pem", head_token[1]
    for name, content in derived.items():
        yield f"data/derived/{_safe(name)}", content
    yield "data/timeline.txt", timeline_text(events(chosen)).encode()
    yield "data/process.txt", process_statement(ledger.pour, verifier.__version__).encode()


def program_files() -> Iterator[tuple[str, bytes]]:
    """Yield the audit as a program, name and content of each file."""
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


def _proof_files(ledger: Ledger, chosen: list[Record], note: str) -> Iterator[tuple[str, bytes]]:
    whole = len(chosen) == len(ledger.records())
    wanted = [r.seq for r in chosen if not whole or r.type in {"photo", "tape", "release"}]
    for seq, proof in zip(wanted, ledger.inclusions(wanted), strict=True):
        hashes = "".join(f"{base64.b64encode(h).decode()}\n" for h in proof)
        yield (
            f"data/proofs/{seq}.tlog-proof",
            f"c2sp.org/tlog-proof@v1\nindex {seq - 1}\n{hashes}\n{note}".encode(),
        )
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


def _object_files(store: PourFolder, chosen: list[Record]) -> Iterator[tuple[str, bytes | Path]]:
    placed: dict[str, str] = {}
    for record in chosen:
        ending = str(record.body.get("name", "")).rpartition(".")[2].lower()
        for name in named_objects(record.body):
            shelf = _SHELVES.get(record.type, "originals")
            placed.setdefault(name, f"data/{shelf}/{name}.{ending if ending in _ENDINGS else 'bin'}")
    for record in chosen:
        if record.type == "seal" and "release_pdf_sha256" in record.body:
            placed[record.body["release_pdf_sha256"]] = f"data/release-{record.seq}.pdf"
    for name, place in placed.items():
        store.objects.read(name)
        yield place, store.objects.path_of(name)


def _approval_files(chosen: list[Record]) -> Iterator[tuple[str, bytes]]:
    for record in chosen:
        if record.type == "release":
            yield f"data/approvals/{record.seq}.txt", str(record.body["statement"]).encode()
            if "statement_signature" in record.body:
                yield f"data/approvals/{record.seq}.sig", str(record.body["statement_signature"]).encode()
        elif record.type == "token":
            yield f"data/tokens/{record.seq}.checkpoint", str(record.body["checkpoint"]).encode()


def _safe(name: str) -> str:
    """Keep a file name to plain characters, so that it means the same on every system."""
    return "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "_" for c in name).lstrip(".") or "_"
