"""Public keys: their names, their forms for openssl and OpenSSH, and what a sound signature under one is."""

from __future__ import annotations

import base64

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat, load_ssh_public_key

from verifier.errors import BadInput
from verifier.record.canonical import sha256_hex

_SPKI_ED25519 = bytes.fromhex("302a300506032b6570032100")
"""DER of SubjectPublicKeyInfo for Ed25519, ahead of the 32 bytes of the key (RFC 8410, section 4)."""


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
    """Name a public key by its hash, which ``openssl pkey -outform DER | sha256sum`` repeats.

    Args:
        public: 32 bytes.

    Returns:
        SHA-256 of its SubjectPublicKeyInfo in hexadecimal.
    """
    return sha256_hex(_SPKI_ED25519 + public)


def public_pem(public: bytes) -> str:
    """Write a public key as openssl reads it.

    Args:
        public: 32 bytes.

    Returns:
        PEM text.
    """
    text = base64.b64encode(_SPKI_ED25519 + public).decode()
    return f"-----BEGIN PUBLIC KEY-----\n{text}\n-----END PUBLIC KEY-----\n"


def public_ssh(public: bytes) -> str:
    """Write a public key as OpenSSH reads it.

    Args:
        public: 32 bytes.

    Returns:
        ``ssh-ed25519 AAAA...``, without a comment.
    """
    key = Ed25519PublicKey.from_public_bytes(public)
    return key.public_bytes(Encoding.OpenSSH, PublicFormat.OpenSSH).decode()


def public_from_ssh(text: str, *, where: str = "public key") -> bytes:
    """Read the first public key of an OpenSSH ``.pub`` file.

    Args:
        text: Content of the file.
        where: Name of the file, for the error.

    Returns:
        32 bytes.

    Raises:
        BadInput: If it is no Ed25519 key.
    """
    try:
        key = load_ssh_public_key(text.strip().encode())
    except (ValueError, UnicodeEncodeError) as error:
        raise BadInput("This is no OpenSSH public key.", where=where, todo="Give the .pub file.") from error
    if not isinstance(key, Ed25519PublicKey):
        raise BadInput(
            "This key is not of the Ed25519 kind.", where=where, todo="Make one with: ssh-keygen -t ed25519"
        )
    return key.public_bytes(Encoding.Raw, PublicFormat.Raw)


def signature_sound(public: bytes, signature: bytes, data: bytes) -> bool:
    """Say whether an Ed25519 signature is sound.

    Args:
        public: 32 bytes.
        signature: 64 bytes.
        data: What was signed.

    Returns:
        True if it is; never under a key of small order, for which a signature proves nothing.

    Source:
        RFC 8032, section 5.1.7; Chalkias, Garillot, Nikolaenko, "Taming the many EdDSAs" (2020; from memory), on keys of small order.
    """
    if len(public) != 32 or public[:31] + bytes([public[31] & 0x7F]) in _SMALL_ORDER:
        return False
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, data)
    except (InvalidSignature, ValueError):
        return False
    return True
