"""Heads held outside of a bundle, compared with the record in it."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from .canonical_form import unbase64
from .facts import FAILS, HOLDS, OPEN, Fact, fact
from .shown import Shown
from .tree import read_head, root_over

_SHORT_FORM = re.compile(r"(\d+)-([A-Z2-7]{4}-[A-Z2-7]{4}-[A-Z2-7]{4}-[A-Z2-7]{4})")


def held_fact(shown: Shown, heads: Sequence[str]) -> Fact:
    """Compare with heads held outside.

    Args:
        shown: The records.
        heads: Texts of heads, each a whole checkpoint or the short form ``size-XXXX-XXXX-XXXX-XXXX`` as printed.

    Returns:
        Open if there are none, or if a part of a record holds no proof for one of them; failing if one can't be read or
        contradicts this record.
    """
    if not heads:
        say = "No head from outside was given. Compare the print in the site office, or ask the reviewer."
        return Fact("held head", OPEN, say)
    found = [(text.strip()[:60], _held(shown, text)) for text in heads]
    faults = [f"{text!r} contradicts this record" for text, state in found if state == FAILS]
    unproven = [text for text, state in found if state == OPEN]
    if unproven and not faults:
        say = "This part of the record holds no proof for a head held outside; compare it with the whole record."
        return Fact("held head", OPEN, say, tuple(f"{text!r} can't be compared" for text in unproven))
    say = f"Heads held outside that belong to this record: {len(heads)}."
    return fact("held head", faults, say, "A head held outside contradicts this record.")


def _held(shown: Shown, text: str) -> str:
    """Whether a head held outside belongs to this record, contradicts it, or can't be compared with the part shown."""
    short, head = _SHORT_FORM.fullmatch(text.strip()), read_head(text.strip() + "\n")
    size = int(short[1]) if short else head.size if head is not None else 0
    if shown.head is None or not 0 < size <= shown.head.size:
        return FAILS
    if short is not None:
        root = _root_at(shown, size)
        comparable = root is not None
        same = root is not None and base64.b32encode(root[:10]).decode() == short[2].replace("-", "")
    else:
        comparable = shown.whole or size == shown.head.size or bool(shown.proof_from(size))
        comparable = comparable or head is None or head.origin != shown.head.origin
        same = head is not None and head.origin == shown.head.origin and shown.belongs(size, head.root)
    return HOLDS if same else FAILS if comparable else OPEN


def _root_at(shown: Shown, size: int) -> bytes | None:
    """The root over the first records, as far as what is shown proves it."""
    if shown.whole:
        return root_over(shown.leaves[:size])
    if shown.head is not None and size == shown.head.size:
        return shown.head.root
    named = (root for record in shown.records for root in _roots_named(record["body"], size))
    return next((root for root in named if shown.belongs(size, root)), None)


def _roots_named(body: Any, size: int) -> Iterator[bytes]:
    """Roots that a record names for a size: in a release, an issued board or the head that a time stamp is over."""
    if not isinstance(body, Mapping):
        return
    if body.get("size") == size:
        yield unbase64(body.get("root"))
    stamped = read_head(str(body.get("checkpoint")))
    if stamped is not None and stamped.size == size:
        yield stamped.root
    for part in body.values():
        yield from _roots_named(part, size)
