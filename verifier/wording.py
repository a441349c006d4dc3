"""Words that many rooms put into their sentences."""

from __future__ import annotations


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
