"""Keys: one for each person, opened for a single signature, and one for each device."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_ssh_private_key,
)

from verifier.errors import BadInput, NotAllowed
from verifier.record.public_keys import key_id, public_from_ssh, public_ssh
from verifier.wording import counted

PASSPHRASE_LEAST = 8
"""Least length of a passphrase (OWASP ASVS 5.0, 6.2.1)."""


class Signer(Protocol):
    """Who signs a record.

    Attributes:
        public: 32 bytes.
        claims: Name of the person on whose behalf a device signs; None if the key is the person's own.
    """

    @property
    def public(self) -> bytes:
        """The public key."""
        ...

    @property
    def claims(self) -> str | None:
        """The person merely claimed, if any."""
        ...

    def sign(self, data: bytes) -> bytes:
        """Return 64 bytes of signature.

        Args:
            data: What to sign.

        Returns:
            64 bytes.
        """
        ...


class PersonSigner:
    """A person's key, opened by passphrase for exactly one signature.

    Args:
        path: Encrypted private key in OpenSSH form; its ``.pub`` lies beside it.
        passphrase: Kept until the one signature is made, then forgotten.

    Raises:
        BadInput: If the public key isn't there.
    """

    def __init__(self, path: Path, passphrase: str) -> None:
        self._path = path
        self._passphrase: str | None = passphrase
        pub = path.with_name(path.name + ".pub")
        try:
            self.public = public_from_ssh(pub.read_text(encoding="utf-8"), where=str(pub))
        except OSError as error:
            raise BadInput(
                "The public key is missing.", where=str(pub), todo="Keep both files of the key together."
            ) from (error)

    @property
    def claims(self) -> None:
        """Nobody is merely claimed: the key is the person's own."""
        return

    def sign(self, data: bytes) -> bytes:
        """Open the key, sign once, forget the passphrase.

        Args:
            data: What to sign.

        Returns:
            64 bytes.

        Raises:
            NotAllowed: If the passphrase is wrong, or if this signer has signed already.
        """
        if self._passphrase is None:
            raise NotAllowed(
                "This key was opened for one signature and has given it.",
                where=str(self._path),
                todo="Enter the passphrase again for the next act.",
            )
        passphrase, self._passphrase = self._passphrase.encode(), None
        try:
            key = load_ssh_private_key(self._path.read_bytes(), passphrase)
        except (ValueError, TypeError) as error:
            raise NotAllowed(
                "The passphrase doesn't open this key.",
                where=str(self._path),
                todo="Try again; nothing was signed.",
            ) from error
        if not isinstance(key, Ed25519PrivateKey):
            raise BadInput(
                "This key is not of the Ed25519 kind.",
                where=str(self._path),
                todo="Make one with: ssh-keygen -t ed25519",
            )
        return key.sign(data)


def make_person_key(path: Path, passphrase: str, *, rounds: int = 24) -> bytes:
    """Make a person's key pair; the private half is encrypted under the passphrase.

    The files are those of OpenSSH, so the same key also signs through ``ssh-keygen -Y sign`` on any machine.

    Args:
        path: File for the private key; ``.pub`` is added for the public one. Nothing is overwritten.
        passphrase: At least 8 characters.
        rounds: Work factor of the passphrase (bcrypt); higher is slower to guess and to open.

    Returns:
        The public key, 32 bytes.

    Raises:
        BadInput: If the passphrase is short or a file is already there.
    """
    if len(passphrase) < PASSPHRASE_LEAST:
        raise BadInput(
            f"The passphrase has {counted(len(passphrase), 'character')}; {PASSPHRASE_LEAST} are needed.",
            where=str(path),
            todo="Take a few unrelated words.",
        )
    key = Ed25519PrivateKey.generate()
    how = PrivateFormat.OpenSSH.encryption_builder().kdf_rounds(rounds).build(passphrase.encode())
    _write_private(path, key.private_bytes(Encoding.PEM, PrivateFormat.OpenSSH, how))
    public = key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
    path.with_name(path.name + ".pub").write_text(public_ssh(public) + "\n", encoding="utf-8")
    return public


@dataclass(frozen=True, slots=True)
class DeviceSigner:
    """The key of an installation, without passphrase: it proves the device, and merely claims the person.

    Attributes:
        name: Name of the device, for people.
        key: Private key.
        claims: Person on whose behalf it signs, or None if the device speaks for itself.
    """

    name: str
    key: Ed25519PrivateKey
    claims: str | None = None

    @property
    def public(self) -> bytes:
        """The public key, 32 bytes."""
        return self.key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)

    def on_behalf_of(self, person: str) -> DeviceSigner:
        """Return the same device, signing for a person it merely names.

        Args:
            person: Name of the person; the signature claims it and does not prove it.

        Returns:
            A signer with the same key; this one is not changed.
        """
        return DeviceSigner(self.name, self.key, person)

    def sign(self, data: bytes) -> bytes:
        """Return 64 bytes of signature.

        Args:
            data: What to sign.

        Returns:
            64 bytes.
        """
        return self.key.sign(data)


def settings_folder() -> Path:
    """Return the folder for this installation's own settings, on any system.

    Returns:
        The folder; it may not be there yet.
    """
    if os.name == "nt":
        return Path(os.environ.get("APPDATA", Path.home() / "AppData" / "Roaming")) / "verifier"
    return Path(os.environ.get("XDG_CONFIG_HOME", Path.home() / ".config")) / "verifier"


def device_signer(path: Path | None = None) -> DeviceSigner:
    """Open this device's key; the first call makes it, readable by its owner only.

    Args:
        path: File of the key; in the user's settings folder if not given.

    Returns:
        A signer that speaks for the device itself.

    Raises:
        BadInput: If the file can't be read, is open to others, or is no such key.
    """
    path = path or settings_folder() / "device.key"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            fresh = Ed25519PrivateKey.generate()
            _write_private(path, fresh.private_bytes(Encoding.PEM, PrivateFormat.OpenSSH, NoEncryption()))
        if os.name != "nt" and path.stat().st_mode & 0o077:
            raise BadInput(
                "Others may read this device's key.", where=str(path), todo=f"Run: chmod 600 {path}"
            )
        key = load_ssh_private_key(path.read_bytes(), None)
    except (OSError, ValueError, TypeError) as error:
        raise BadInput(
            f"This device's key can't be used ({error}).",
            where=str(path),
            todo="Restore the file, or move it away so that a new key is made and enrolled.",
        ) from error
    if not isinstance(key, Ed25519PrivateKey):
        raise BadInput(
            "This is no device key.", where=str(path), todo="Move the file away; a new one is made."
        )
    public = key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
    return DeviceSigner(f"device-{key_id(public)[:8]}", key)


def _write_private(path: Path, content: bytes) -> None:
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        raise BadInput(
            "There is already a key of this name.",
            where=str(path),
            todo="Choose another file; keys are never overwritten.",
        ) from None
    with os.fdopen(handle, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
