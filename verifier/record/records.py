"""One record of the ledger: its fields, its exact bytes, and the originals that it names."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

from verifier.record.canonical import canonical, sha256_hex, utc_instant

FORMAT_VERSION = 1
FIRST_PREV = "0" * 64
FIELDS = ("at", "body", "by", "pour", "prev", "seq", "sig", "type", "v")


@dataclass(frozen=True, slots=True)
class Record:
    """One record, with the exact bytes it was read from.

    Attributes:
        seq: Number, from 1.
        prev: SHA-256 of the previous record's line.
        type: Kind of event.
        pour: Pour id.
        by: Id of the signing key.
        at: Time that the signer's clock read, UTC.
        body: What happened.
        sig: Ed25519 signature over the canonical record without ``sig``, base64.
        line: Exact bytes.
    """

    seq: int
    prev: str
    type: str
    pour: str
    by: str
    at: str
    body: Mapping[str, Any]
    sig: str
    line: bytes

    @property
    def sha256(self) -> str:
        """Hash of the line, which the next record names as ``prev``."""
        return sha256_hex(self.line)

    @property
    def instant(self) -> datetime:
        """The claimed time."""
        return utc_instant(self.at)


@dataclass(frozen=True, slots=True)
class Entry:
    """An event still to be recorded: kind and body."""

    type: str
    body: Any


@lru_cache(maxsize=20_000)
def read_record(line: bytes) -> Record:
    """Read a record from its line; the same bytes are read once, for they can only say the same.

    Args:
        line: Exact bytes, without newline.

    Returns:
        The record.

    Raises:
        ValueError: If the line is no canonical record of this format.
    """
    raw = json.loads(line)
    if not isinstance(raw, dict) or tuple(sorted(raw)) != FIELDS or raw["v"] != FORMAT_VERSION:
        raise ValueError("not a record of this format")
    whole = type(raw["v"]) is int and type(raw["seq"]) is int  # true equals 1 in Python, and nowhere else
    texts = all(isinstance(raw[name], str) for name in ("at", "by", "pour", "prev", "sig", "type"))
    if not whole or not texts or not isinstance(raw["body"], dict):
        raise ValueError("a field of the wrong kind")
    if canonical(raw) != line:
        raise ValueError("not in canonical form")
    del raw["v"]
    return Record(**raw, line=line)


def named_objects(body: Any) -> Iterator[str]:
    """Yield the hash of every original that a body names, under ``sha256`` or any key that ends with ``_sha256``.

    Args:
        body: Body of a record.

    Yields:
        Hashes, in the order of the body.
    """
    if isinstance(body, Mapping):
        for key, value in body.items():
            if isinstance(value, str) and (key == "sha256" or key.endswith("_sha256")):
                yield value
            else:
                yield from named_objects(value)
    elif isinstance(body, list):
        for value in body:
            yield from named_objects(value)
