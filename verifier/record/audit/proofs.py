"""Pure checks on bytes: canonical records, signatures, heads, Merkle proofs, approvals made with OpenSSH."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import struct
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

_FIELDS = ["at", "body", "by", "pour", "prev", "seq", "sig", "type", "v"]
_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)
_SPKI_ED25519 = bytes.fromhex("302a300506032b6570032100")
_SMALL_ORDER = frozenset(
    bytes.fromhex(text)
    for text in (
        "00" * 32,
        "01" + "00" * 31,
        "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
        "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
        *(first + "ff" * 30 + "7f" for first in ("ec", "ed", "ee")),
    )
)
"""Encodings, sign bit left out, of the points whose order divides 8: under such a key anybody can sign anything."""


def canonical_bytes(value: Any) -> bytes:
    """Write a value without floats in its canonical form (RFC 8785: keys in the order of their UTF-16 code units).

    Args:
        value: Objects, lists, texts, whole numbers, booleans and null, nested at will.

    Returns:
        UTF-8 without blanks between its parts; a lone surrogate is passed through, not refused here.
    """
    text = json.dumps(_ordered(value), ensure_ascii=False, separators=(",", ":"))
    return text.encode("utf-8", "surrogatepass")


def parsed_record(line: bytes) -> dict[str, Any] | None:
    """Read a line of the ledger.

    Args:
        line: Bytes of the line, without its line feed.

    Returns:
        The record; None if it is no canonical record, to the last byte.
    """
    try:
        text = line.decode("utf-8")  # strictly: json's own reading of bytes lets lone surrogates pass
        record = json.loads(text, parse_float=_no_float, parse_constant=_no_float, parse_int=_exact)
        if sorted(record) != _FIELDS or record["v"] != 1 or not _INSTANT.fullmatch(record["at"]):
            return None
        texts = all(isinstance(record[name], str) for name in ("by", "pour", "prev", "sig", "type"))
        right = texts and isinstance(record["body"], dict)
        right = right and type(record["seq"]) is int and type(record["v"]) is int  # true equals 1 in Python
        datetime.fromisoformat(record["at"])
        written = _ascii_bytes(record) if line.isascii() else canonical_bytes(record)
        return record if right and written == line else None
    except (ValueError, TypeError, AttributeError, RecursionError):
        return None


def signed_part(line: bytes) -> bytes:
    """Return the bytes that a record's signature covers: its canonical line without the entry ``sig``.

    ``sig`` stands behind ``body``, and a quote inside a text is escaped, so the last occurrence is the record's own.

    Args:
        line: Bytes of a line that ``parsed_record`` takes.

    Returns:
        The line with ``,"sig":"..."`` cut out.

    Raises:
        ValueError: If no closing quote is found, which can't happen to such a line.
    """
    start, _, rest = line.rpartition(b',"sig":"')
    return start + rest[rest.index(b'"') + 1 :]


def named_objects(body: Any) -> Iterator[str]:
    """Yield the hash of every original that a body names, under ``sha256`` or a key that ends with ``_sha256``.

    Args:
        body: Body of a record, or any part of one.

    Yields:
        Texts under such keys, at any depth, in the order of the body; repeated if named twice.
    """
    if isinstance(body, dict):
        for key, value in body.items():
            if isinstance(value, str) and (key == "sha256" or key.endswith("_sha256")):
                yield value
            else:
                yield from named_objects(value)
    elif isinstance(body, list):
        for value in body:
            yield from named_objects(value)


def unbase64(text: Any) -> bytes:
    """Decode base64 strictly; what is not exactly canonical base64 is no bytes at all.

    Args:
        text: Base64, of any type.

    Returns:
        Bytes; empty if the text is not canonical base64.
    """
    try:
        raw = base64.b64decode(text, validate=True)
    except (ValueError, TypeError):
        return b""
    return raw if base64.b64encode(raw).decode() == text else b""


def key_id(public: bytes) -> str:
    """Name a public key by SHA-256 of its SubjectPublicKeyInfo (RFC 8410, section 4).

    Args:
        public: Ed25519 public key, 32 bytes.

    Returns:
        64 hexadecimal digits.
    """
    return hashlib.sha256(_SPKI_ED25519 + public).hexdigest()


def public_pem(public: bytes) -> bytes:
    """Write a public key as the PEM file that openssl reads (RFC 7468, section 13).

    Args:
        public: Ed25519 public key, 32 bytes.

    Returns:
        Text of the file, with its last line feed.
    """
    text = base64.b64encode(_SPKI_ED25519 + public)
    return b"-----BEGIN PUBLIC KEY-----\n" + text + b"\n-----END PUBLIC KEY-----\n"


def public_ssh(public: bytes) -> str:
    """Write a public key as OpenSSH reads it (RFC 4253, 6.6; RFC 8709, 4).

    Args:
        public: Ed25519 public key, 32 bytes.

    Returns:
        ``ssh-ed25519 AAAA...``, without a comment.
    """
    blob = b"".join(struct.pack(">I", len(part)) + part for part in (b"ssh-ed25519", public))
    return f"ssh-ed25519 {base64.b64encode(blob).decode()}"


def sound(public: bytes, signature: bytes, data: bytes) -> bool:
    """Say whether an Ed25519 signature is sound (RFC 8032, 5.1.7).

    Args:
        public: Public key, 32 bytes.
        signature: 64 bytes.
        data: What was signed.

    Returns:
        True if it is; never under a key of small order, for which a signature proves nothing.
    """
    if len(public) != 32 or public[:31] + bytes([public[31] & 0x7F]) in _SMALL_ORDER:
        return False
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, data)
    except (InvalidSignature, ValueError):
        return False
    return True


@dataclass(frozen=True, slots=True)
class Head:
    """A checkpoint taken apart: ``signed`` is the text under the signatures, ``stamps`` the signature lines."""

    origin: str
    size: int
    root: bytes
    chain: str
    signed: bytes
    stamps: tuple[str, ...]


def read_head(note: str) -> Head | None:
    """Take a checkpoint apart; None if it is none (C2SP tlog-checkpoint, with one extension line for the chain).

    Args:
        note: Text of the signed note.

    Returns:
        The head, or None.
    """
    text, _, stamps = note.partition("\n\n")
    match = re.fullmatch(r"([!-~]+)\n([1-9]\d*)\n([A-Za-z0-9+/]{43}=)\nchain ([0-9a-f]{64})", text)
    root = unbase64(match[3]) if match else b""
    if match is None or len(root) != 32 or not stamps.endswith("\n"):
        return None
    return Head(
        match[1], int(match[2]), root, match[4], (text + "\n").encode(), tuple(stamps.split("\n")[:-1])
    )


def head_signers(head: Head, keys: Mapping[str, bytes]) -> tuple[list[str], bool]:
    """Say which keys signed a head.

    Args:
        head: The checkpoint.
        keys: Key id -> public key.

    Returns:
        Ids of the keys whose signature is sound, and whether every signature line is a sound one of a known key.
    """
    found, clean = [], True
    for line in head.stamps:
        name, _, stamp = line.removeprefix("\u2014 ").rpartition(" ")
        raw = unbase64(stamp)
        mine = [
            ident
            for ident, public in keys.items()
            if raw[:4] == hashlib.sha256(name.encode() + b"\n\1" + public).digest()[:4]
            and sound(public, raw[4:], head.signed)
        ]
        clean = clean and bool(mine) and line == f"\u2014 {name} {stamp}"
        found += mine
    return found, clean


def leaf(line: bytes) -> bytes:
    """Hash a line as a leaf (RFC 9162, 2.1.1).

    Args:
        line: Bytes of the line, without its line feed.

    Returns:
        32 bytes.
    """
    return hashlib.sha256(b"\0" + line).digest()


def root_over(leaves: Sequence[bytes]) -> bytes:
    """Compute the Merkle root over leaf hashes (RFC 9162, 2.1.1); an odd one moves up a level unpaired.

    Args:
        leaves: Leaf hashes in order.

    Returns:
        32 bytes.
    """
    level = list(leaves)
    while len(level) > 1:
        pairs = [_node(level[i], level[i + 1]) for i in range(0, len(level) - 1, 2)]
        level = pairs + level[len(level) - len(level) % 2 :]
    return level[0] if level else hashlib.sha256(b"").digest()


def read_proof(text: str, checkpoint: str) -> tuple[int, list[bytes]] | None:
    """Take an inclusion proof apart (C2SP tlog-proof): index and path, if it is under this very checkpoint.

    Args:
        text: Content of the proof file.
        checkpoint: The checkpoint that it must end with.

    Returns:
        Index and path, or None.
    """
    match = re.fullmatch(
        r"c2sp\.org/tlog-proof@v1\nindex (\d+)\n((?:[A-Za-z0-9+/]{43}=\n)*)\n(.*)", text, re.DOTALL
    )
    if match is None or match[3] != checkpoint:
        return None
    return int(match[1]), [unbase64(line) for line in match[2].split()]


def root_through(start: bytes, place: int, size: int, path: Sequence[bytes]) -> bytes | None:
    """Compute the root that an inclusion path leads to (RFC 9162, 2.1.3.2).

    Args:
        start: Leaf hash.
        place: Its place, from 0.
        size: Number of leaves.
        path: Neighbour hashes, upwards.

    Returns:
        The root, or None if the path has a wrong length.
    """
    last, result = size - 1, start
    for neighbour in path:
        if last == 0:
            return None
        if place % 2 or place == last:
            result = _node(neighbour, result)
            while place % 2 == 0 and place:
                place, last = place >> 1, last >> 1
        else:
            result = _node(result, neighbour)
        place, last = place >> 1, last >> 1
    return result if last == 0 else None


def grown(old: int, old_root: bytes, size: int, root: bytes, proof: Sequence[bytes]) -> bool:
    """Say whether the tree of ``size`` leaves grew from that of ``old`` leaves (RFC 9162, 2.1.4.2).

    Args:
        old: Leaves then.
        old_root: Root then.
        size: Leaves now.
        root: Root now.
        proof: Hashes in the order of the RFC.

    Returns:
        True only if both roots follow from the proof.
    """
    if not 0 < old <= size:
        return False
    if old == size:
        return not proof and old_root == root
    path = [old_root, *proof] if old & (old - 1) == 0 else list(proof)
    if not path:
        return False
    place, last = old - 1, size - 1
    while place % 2:
        place, last = place >> 1, last >> 1
    first = second = path[0]
    for neighbour in path[1:]:
        if last == 0:
            return False
        if place % 2 or place == last:
            first, second = _node(neighbour, first), _node(neighbour, second)
            while place % 2 == 0 and place:
                place, last = place >> 1, last >> 1
        else:
            second = _node(second, neighbour)
        place, last = place >> 1, last >> 1
    return last == 0 and first == old_root and second == root


def ssh_signer(armored: str, message: bytes, namespace: bytes) -> bytes | None:
    """Return the public key behind a detached OpenSSH signature, if it is sound (OpenSSH, PROTOCOL.sshsig).

    Args:
        armored: Content of the signature file.
        message: Exact bytes that were signed.
        namespace: What the signature must be for.

    Returns:
        Public key, 32 bytes, or None.
    """
    match = re.fullmatch(
        r"-----BEGIN SSH SIGNATURE-----\s(.*?)\s-----END SSH SIGNATURE-----\s*", armored, re.DOTALL
    )
    blob = unbase64("".join(match[1].split())) if match else b""
    if blob[:10] != b"SSHSIG\0\0\0\1":
        return None
    try:
        key, space, reserved, name, signature = _ssh_strings(blob[10:])
        (kind, public), (signed_kind, raw) = _ssh_strings(key), _ssh_strings(signature)
    except (ValueError, struct.error):
        return None
    if (
        kind != b"ssh-ed25519"
        or signed_kind != kind
        or space != namespace
        or name not in {b"sha256", b"sha512"}
    ):
        return None
    digest = hashlib.new(name.decode(), message).digest()
    parts = b"".join(struct.pack(">I", len(p)) + p for p in (space, reserved, name, digest))
    return public if sound(public, raw, b"SSHSIG" + parts) else None


def _ascii_bytes(value: Any) -> bytes:
    """Write as :func:`canonical_bytes` does; in ASCII the order of UTF-16 code units is that of the characters."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def _ordered(value: Any) -> Any:
    if isinstance(value, dict):
        names = sorted(value, key=lambda name: name.encode("utf-16-be", "surrogatepass"))
        return {name: _ordered(value[name]) for name in names}
    return [_ordered(item) for item in value] if isinstance(value, list) else value


def _no_float(text: str) -> float:
    raise ValueError(f"{text} is a binary fraction")


def _exact(text: str) -> int:
    """Read a whole number that every reader holds exactly (RFC 8785, 3.2.2.3)."""
    if len(text) > 17 or abs(int(text)) > 2**53 - 1:
        raise ValueError(f"{text[:20]} is too large")
    return int(text)


def _node(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(b"\1" + left + right).digest()


def _ssh_strings(data: bytes) -> list[bytes]:
    found = []
    while data:
        (length,) = struct.unpack(">I", data[:4])
        if len(data) < 4 + length:
            raise ValueError("ends early")
        found.append(data[4 : 4 + length])
        data = data[4 + length :]
    return found
