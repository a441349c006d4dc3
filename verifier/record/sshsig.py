"""Signatures that a person makes on an own machine with ``ssh-keygen -Y sign``."""

from __future__ import annotations

import base64
import binascii
import hashlib
import struct

from verifier.record.public_keys import signature_sound

_BEGIN, _END = "-----BEGIN SSH SIGNATURE-----", "-----END SSH SIGNATURE-----"


def signed_by(armored: str, message: bytes, *, namespace: str) -> bytes | None:
    """Check a detached OpenSSH signature.

    Args:
        armored: Content of the ``.sig`` file.
        message: Exact bytes that were signed.
        namespace: What the signature must be for, for example ``pour-release``.

    Returns:
        The Ed25519 public key (32 bytes) that signed, or None if the signature isn't sound, has another namespace or is of
        another kind. Keys on hardware tokens (``sk-ssh-ed25519``) are not read.

    Source:
        OpenSSH, PROTOCOL.sshsig (the "SSHSIG" blob and the signed data).
    """
    text = armored.strip()
    if not (text.startswith(_BEGIN) and text.endswith(_END)):
        return None
    try:
        blob = base64.b64decode("".join(text[len(_BEGIN) : -len(_END)].split()), validate=True)
        return _checked(blob, message, namespace.encode())
    except (ValueError, binascii.Error, struct.error):
        return None


def _checked(blob: bytes, message: bytes, namespace: bytes) -> bytes | None:
    if blob[:6] != b"SSHSIG" or struct.unpack(">I", blob[6:10])[0] != 1:
        return None
    (key, space, reserved, hash_name, signature), rest = _strings(blob[10:], 5)
    (key_kind, public), key_rest = _strings(key, 2)
    (signature_kind, raw), signature_rest = _strings(signature, 2)
    if rest or key_rest or signature_rest or space != namespace:
        return None
    if (
        key_kind != b"ssh-ed25519"
        or signature_kind != b"ssh-ed25519"
        or hash_name not in {b"sha256", b"sha512"}
    ):
        return None
    digest = hashlib.new(hash_name.decode(), message).digest()
    signed = b"SSHSIG" + b"".join(struct.pack(">I", len(s)) + s for s in (space, reserved, hash_name, digest))
    return public if signature_sound(public, raw, signed) else None


def _strings(data: bytes, count: int) -> tuple[list[bytes], bytes]:
    found = []
    for _ in range(count):
        (length,) = struct.unpack(">I", data[:4])
        if len(data) < 4 + length:
            raise ValueError("the signature ends early")
        found.append(data[4 : 4 + length])
        data = data[4 + length :]
    return found, data
