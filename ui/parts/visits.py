"""Who is logged in on this page, and for how long."""

from __future__ import annotations


def person() -> str | None:
    """Name the person who is logged in.

    Returns:
        A name as in ``[people]``; None where the page runs without log-in.
    """
    return None
