"""Passphrases: how long they must be, and how they are kept."""

from __future__ import annotations

import secrets
import unicodedata
from functools import cache
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY

from verifier.errors import BadInput
from verifier.wording import counted

LEAST: Final = 15
"""Characters of a passphrase that stands alone. Source: NIST SP 800-63B-4 (2025), 3.1.1.2, from memory."""

MOST: Final = 200
"""Longer ones would only cost time; the same source asks that at least 64 are taken."""

VARIED: Final = 5
"""Different characters at least. Common practice, no source."""


def plain(text: str) -> str:
    """Bring what was typed into one form, so that the same keys give the same letters on every machine.

    Args:
        text: As typed.

    Returns:
        Unicode form NFC, as RFC 8265 asks of passwords.
    """
    return unicodedata.normalize("NFC", text)


def hashed(name: str, passphrase: str) -> str:
    """Hash a new passphrase for keeping.

    Args:
        name: Whose it is.
        passphrase: As typed.

    Returns:
        Argon2id with salt and settings, in the usual text form.

    Raises:
        BadInput: If it is too short, too long, of too few different characters, or holds the person's own name.

    Source:
        RFC 9106 (2021), 4: second recommended setting, 3 passes over 64 MiB in 4 lanes.
    """
    text = plain(passphrase)
    wrong = (
        f"The passphrase has {counted(len(text), 'character')}; {LEAST} to {MOST} are needed."
        if not LEAST <= len(text) <= MOST
        else "The passphrase holds the person's own name."
        if name.casefold() in text.casefold()
        else f"The passphrase has fewer than {VARIED} different characters."
        if len(set(text)) < VARIED
        else ""
    )
    if wrong:
        raise BadInput(wrong, where="passphrase", todo="Take four or five unrelated words.")
    return _hasher().hash(text)


def fits(kept: str | None, passphrase: str) -> bool:
    """Say whether a passphrase is the one kept, in the same time whether or not there is one.

    Args:
        kept: What :func:`hashed` gave, None for somebody unknown.
        passphrase: As typed.

    Returns:
        True if it is; never for somebody unknown.
    """
    text = plain(passphrase)[: MOST + 1]
    try:
        same = _hasher().verify(kept or _nobodys(), text)
    except (VerificationError, InvalidHashError):
        return False
    return same and kept is not None


@cache
def _hasher() -> PasswordHasher:
    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


@cache
def _nobodys() -> str:
    """A hash that no passphrase fits, so that an unknown name costs the same work as a known one."""
    return _hasher().hash(secrets.token_hex())
