"""What a release says in words, written a second time: text and record must say the same, whoever wrote them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from typing import Any

from .policy import BOUND_LATER

_STEERING = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
_DECISIONS = {"go": "Go", "go_with_conditions": "Go, with the conditions below"}
_LAST = (
    "This release records what was documented and looked at. It does not replace the engineer of record; "
    "local codes and licensed practice govern."
)


def statement(body: Mapping[str, Any], held: Mapping[str, Any]) -> str:
    """Write the text that a release must have been signed under, from what its record says.

    Args:
        body: Body of the release.
        held: The head held outside that it names.

    Returns:
        The text; what the record lacks reads as ``None``, and so is no text that anybody signed.
    """
    conditions, seen = (_texts(body.get(name)) for name in ("conditions", "open_observations"))
    lines = [
        "RELEASE OF A POUR",
        f"pour: {one_line(body.get('pour'))}",
        f"released by: {one_line(body.get('person'))}",
        f"decision: {_DECISIONS.get(str(body.get('decision')))}",
        f"verdict: {one_line(body.get('verdict'))}",
        *(f"condition {n}: {text}" for n, text in enumerate(conditions, 1)),
        *(f"open observation {n}: {text}" for n, text in enumerate(seen, 1)),
        f"drawing sha256: {body.get('drawing_sha256')}",
        f"rules sha256: {body.get('rules_sha256')}",
        *(
            f"{words} sha256: {body[name] or 'none'}"
            for name, (_, words) in BOUND_LATER.items()
            if name in body
        ),
        f"records looked at: 1 to {body.get('size')}",
        f"root over them: {body.get('root')}",
        f"head held outside: {held.get('size')} records, root {held.get('root')}",
        f"held by: {one_line(held.get('holder'))}, {one_line(held.get('kept'))}",
        f"valid until: {body.get('valid_until') or 'anything measured, drawn or listed changes'}",
        f"software: {one_line(body.get('software'))}",
        _LAST,
    ]
    return "\n".join(lines) + "\n"


def same_name(name: str) -> str:
    """Fold a name, so that one person under two spellings that read alike is still one person.

    Args:
        name: Name as it stands in a record.

    Returns:
        Its compatibility form without case, blanks and invisible characters (Unicode Standard Annex 15 and chapter 3.13).
        Letters of two scripts that merely look alike stay apart.
    """
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    return "".join(c for c in folded if unicodedata.category(c)[0] not in "CZ")


def _texts(value: Any) -> list[str]:
    return [one_line(text) for text in value] if isinstance(value, list) else []


def one_line(text: Any) -> str:
    """Write a field so that it stays on its line, with every character that steers or turns the reading spelled.

    Args:
        text: What the record holds, of any type.

    Returns:
        The text.
    """
    return _STEERING.sub(lambda found: f"[U+{ord(found[0]):04X}]", " ".join(str(text).split()))
