"""How long somebody must wait after wrong passphrases: longer with each one."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

FREE_TRIES: Final = 5
"""Wrong ones in a row without a wait. Common practice, no source."""

FIRST_WAIT: Final = timedelta(seconds=30)
LONGEST_WAIT: Final = timedelta(minutes=15)

MOST_TRIES: Final = 100
"""Wrong ones in a row after which a passphrase is shut until it is set anew. Source: NIST SP 800-63B-4, 3.2.2, from memory."""

FORGOTTEN_AFTER: Final = timedelta(hours=24)
"""Tries that are not those of a shut account are forgotten then."""


def wait_after(failed: int) -> timedelta:
    """Say how long nobody may try again.

    Args:
        failed: Wrong passphrases in a row.

    Returns:
        Nothing for the first few, then doubling up to the longest wait.
    """
    over = failed - FREE_TRIES
    if over < 0:
        return timedelta(0)
    return min(FIRST_WAIT * (1 << min(over, 16)), LONGEST_WAIT)
