"""The head of a record as signed text, as a short form for prints, and as the payload of a QR code.

Source:
    C2SP signed-note and tlog-checkpoint (text forms of a signed Merkle tree head).
"""

from __future__ import annotations

import base64
import binascii
import hashlib
from dataclasses import dataclass
from urllib.parse import quote

from verifier.errors import BadInput, RecordDamaged
from verifier.record.keys import Signer
from verifier.record.public_keys import signature_sound

_DASH = "\u2014 "
_ED25519 = b"\x01"


@dataclass(frozen=True, slots=True)
class Head:
    """The state of a record in 32 bytes.

    Attributes:
        origin: Which record.
        size: Number of records.
        root: Merkle root over them, 32 bytes.
        chain: SHA-256 of the last record's line, so that the chain alone can be checked with ``sha256sum``.
    """

    origin: str
    size: int
    root: bytes
    chain: bytes

    @property
    def root_text(self) -> str:
        """The root in base64."""
        return base64.b64encode(self.root).decode()

    @property
    def short(self) -> str:
        """Size and the first 80 bits of the root, for print and telephone: ``41-ABCD-EFGH-IJKL-MNOP``."""
        text = base64.b32encode(self.root[:10]).decode()
        return "-".join([str(self.size), *(text[i : i + 4] for i in range(0, 16, 4))])

    def text(self) -> str:
        """Return the body of the checkpoint, which is what gets signed.

        Returns:
            Origin, size, root and chain, a line each.
        """
        return f"{self.origin}\n{self.size}\n{self.root_text}\nchain {self.chain.hex()}\n"


def origin_of(pour: str) -> str:
    """Name the record of a pour, as checkpoints do.

    Args:
        pour: Pour id.

    Returns:
        ASCII text without spaces or plus signs.
    """
    return f"pour-record/{quote(pour, safe='')}"


def note_key_hash(name: str, public: bytes) -> bytes:
    """Return the four bytes that stand before a note's signature.

    Args:
        name: Name of the key in the note.
        public: Ed25519 public key, 32 bytes.

    Returns:
        4 bytes.

    Source:
        C2SP signed-note, "Signatures".
    """
    return hashlib.sha256(name.encode() + b"\n" + _ED25519 + public).digest()[:4]


def sign_head(head: Head, signer: Signer) -> str:
    """Sign a head; the result is a checkpoint and at the same time the payload of its QR code.

    Args:
        head: The head.
        signer: Usually the device's key.

    Returns:
        Text of the signed note.
    """
    return add_signature(head.text() + "\n", signer)


def add_signature(note: str, signer: Signer) -> str:
    """Add a further signature to a checkpoint, as a witness does.

    Args:
        note: Text of a note: body, empty line, signatures if any.
        signer: Who signs.

    Returns:
        The note with one signature line more.
    """
    text = note.split("\n\n", 1)[0] + "\n"
    name = text.split("\n", 1)[0]
    stamp = note_key_hash(name, signer.public) + signer.sign(text.encode())
    return f"{note}{_DASH}{name} {base64.b64encode(stamp).decode()}\n"


def read_head(note: str) -> Head:
    """Read a checkpoint without checking its signatures.

    Args:
        note: Text of the signed note.

    Returns:
        The head.

    Raises:
        BadInput: If the text is no checkpoint of this project.
    """
    try:
        text, signatures = note.split("\n\n", 1)
        origin, size, root_text, chain = text.split("\n")
        root = base64.b64decode(root_text, validate=True)
        head = Head(origin, int(size), root, bytes.fromhex(chain.removeprefix("chain ")))
        sound = (
            head.size > 0
            and head.text() == text + "\n"
            and len(root) == 32
            and len(head.chain) == 32
            and bool(signatures)
        )
    except (ValueError, binascii.Error):
        sound = False
    if not sound:
        raise BadInput(
            "This is no checkpoint of a pour record.",
            where="checkpoint",
            todo="Scan the code again or copy the whole text, with the line that begins with a long dash.",
        )
    return head


def signers_of(note: str, keys: dict[str, bytes]) -> list[str]:
    """Say which of the known keys signed a note.

    Args:
        note: Text of the signed note.
        keys: Key id -> public key, 32 bytes.

    Returns:
        Ids of those whose signature is sound. Lines of unknown keys are passed over, as the format asks.

    Raises:
        RecordDamaged: If a line claims a known key and its signature isn't sound.

    Source:
        C2SP signed-note, "Verification".
    """
    text, _, lines = note.partition("\n\n")
    found = []
    for line in lines.splitlines():
        name, _, stamp = line.removeprefix(_DASH).rpartition(" ")
        try:
            raw = base64.b64decode(stamp, validate=True)
        except (ValueError, binascii.Error):
            raw = b""
        for ident, public in keys.items():
            if raw[:4] != note_key_hash(name, public):
                continue
            if not signature_sound(public, raw[4:], (text + "\n").encode()):
                raise RecordDamaged(
                    "A signature under this head isn't sound.",
                    where=name,
                    todo="Don't rely on this head; ask for a new one.",
                )
            found.append(ident)
    return found
