"""Words that many rooms put into their sentences."""

from __future__ import annotations

import re


def counted(count: int, one: str, many: str = "") -> str:
    """Write a number with its noun in singular or plural.

    Args:
        count: How many.
        one: The noun for one of them.
        many: The noun for none or several; ``one`` with an s if not given.

    Returns:
        For example ``1 item``, ``3 items``, ``0 queries``.
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


_STEERING = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
"""Control characters, and those that turn the direction of reading: what is read would not be what is written."""


def on_one_line(text: object) -> str:
    """Write foreign text so that it stays on its line and reads as it is written.

    Args:
        text: Any text, such as a remark or a file name as received.

    Returns:
        The text with single blanks; a character that would steer a terminal or turn the direction of reading is spelled as
        its code point.

    Source:
        Unicode Standard Annex 9 (bidirectional text), section 2; Unicode Technical Report 36, on how it can mislead.
    """
    return spelled(" ".join(str(text).split()))


def spelled(text: str) -> str:
    """Spell every character that steers or turns as its code point, such as ``[U+202E]``.

    Args:
        text: Any text.

    Returns:
        The text, with nothing else changed.
    """
    return _STEERING.sub(lambda found: f"[U+{ord(found[0]):04X}]", text)
