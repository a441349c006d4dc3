"""Keys and signatures: how a key is named and written, and whether it signed."""

from __future__ import annotations

import base64
import hashlib
import re
import struct

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from .canonical_form import unbase64

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


def _ssh_strings(data: bytes) -> list[bytes]:
    found = []
    while data:
        (length,) = struct.unpack(">I", data[:4])
        if len(data) < 4 + length:
            raise ValueError("ends early")
        found.append(data[4 : 4 + length])
        data = data[4 + length :]
    return found
