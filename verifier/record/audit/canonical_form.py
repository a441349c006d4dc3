"""A record as bytes: its canonical form, read strictly, and the part of it that is signed."""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Iterator
from datetime import datetime
from typing import Any

_FIELDS = ["at", "body", "by", "pour", "prev", "seq", "sig", "type", "v"]
_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


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
