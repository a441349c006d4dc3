"""One way to write a record as bytes, so that anybody's hash and signature of it come out the same."""

from __future__ import annotations

import dataclasses
import hashlib
import math
from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import Enum
from numbers import Integral, Real
from pathlib import PurePath
from typing import Any

import rfc8785
from pydantic import BaseModel

from verifier.errors import BadInput

LARGEST_INTEGER = 2**53 - 1
"""Beyond it, readers that hold numbers as IEEE 754 doubles no longer agree (RFC 8785, section 3.2.2.3)."""


def canonical(value: Any) -> bytes:
    """Write a JSON value in its one canonical form.

    Args:
        value: Text, whole numbers, truth values, None, lists and dictionaries of them.

    Returns:
        UTF-8 bytes without a final newline.

    Raises:
        BadInput: If the value has no canonical form: a lone surrogate, a number that isn't finite or too large.

    Source:
        RFC 8785 (2020), section 3.2.
    """
    try:
        return rfc8785.dumps(value)
    except (rfc8785.CanonicalizationError, UnicodeEncodeError) as error:
        raise BadInput(
            f"This can't be recorded: {error}.",
            where="record",
            todo="Correct the value; text must be valid Unicode and numbers finite.",
        ) from error


def sha256_hex(data: bytes) -> str:
    """Return SHA-256 of bytes in hexadecimal.

    Args:
        data: Any bytes.

    Returns:
        64 lower-case hexadecimal digits.
    """
    return hashlib.sha256(data).hexdigest()


def utc_text(at: datetime) -> str:
    """Write an instant as the record does: UTC, whole seconds, final Z.

    Args:
        at: An instant with its zone.

    Returns:
        For example ``2026-11-25T06:30:00Z``.

    Raises:
        BadInput: If the zone is missing.

    Source:
        RFC 3339, section 5.6.
    """
    if at.tzinfo is None:
        raise BadInput(
            f"The time {at.isoformat()} has no zone.",
            where="record",
            todo="Give it with an offset, for example +01:00.",
        )
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def utc_instant(text: str) -> datetime:
    """Read an instant that :func:`utc_text` wrote.

    Args:
        text: ``YYYY-MM-DDThh:mm:ssZ``, in UTC, whole seconds. Leading zeros are not insisted on; who must, compares with
            what ``utc_text`` makes of the instant.

    Returns:
        The instant, with UTC as its zone.

    Raises:
        ValueError: If the text is no such instant.

    Source:
        RFC 3339, section 5.6, of which this is the form without fractions and offsets.
    """
    return datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)


def signable(value: Any) -> Any:
    """Turn a model, dataclass or plain value into what a signed record may hold.

    A record holds no binary fractions: a finite float becomes the decimal text of its shortest exact form (``148.9``), so
    that every reader sees the same digits. Times need a zone. Nothing is rounded or left out.

    Args:
        value: A pydantic model, a dataclass, or a nest of plain values.

    Returns:
        Dictionaries, lists, text, whole numbers, truth values and None.

    Raises:
        BadInput: If something has no such form: NaN, infinity, bytes, a time without zone, a whole number beyond 2^53 - 1.
    """
    if isinstance(value, BaseModel):
        return {name: signable(getattr(value, name)) for name in type(value).model_fields}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: signable(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {_key(key): signable(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [signable(item) for item in value]
    if isinstance(value, set | frozenset):
        return sorted((signable(item) for item in value), key=canonical)
    return _plain(value)


def _key(key: Any) -> str:
    key = key.value if isinstance(key, Enum) else key
    if not isinstance(key, str):
        raise _unfit(key, "name every entry with text")
    return key


def _plain(value: Any) -> str | int | bool | None:
    if isinstance(value, Enum):
        return _plain(value.value)
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, datetime):
        return utc_text(value) if value.microsecond == 0 else value.astimezone(_zoned(value)).isoformat()
    if isinstance(value, date | PurePath):
        return str(value)
    if isinstance(value, Integral):
        if abs(int(value)) > LARGEST_INTEGER:
            raise _unfit(value, "give it as text")
        return int(value)
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, Real) and math.isfinite(value):
        return format(Decimal(repr(float(value))), "f")
    raise _unfit(value, "give a finite number, text or a list of them")


def _zoned(value: datetime) -> Any:
    if value.tzinfo is None:
        raise _unfit(value, "give the time with its zone")
    return UTC


def _unfit(value: Any, todo: str) -> BadInput:
    return BadInput(
        f"{value!r} ({type(value).__name__}) can't stand in a signed record.",
        where="record",
        todo=f"Please {todo}.",
    )
