"""The audit as a program: ``python3 -B -m audit BUNDLE [HEAD ...]``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from . import audit, report


def main(arguments: Sequence[str]) -> int:
    """Audit the bundle named first; further arguments are files with heads held outside, or short forms.

    Args:
        arguments: Command line without the program's name.

    Returns:
        0 if no fact fails, 1 if one does, 2 if no bundle was named.
    """
    if not arguments:
        sys.stderr.write("usage: python3 -B -m audit BUNDLE [HEAD ...]\n")
        return 2
    heads = [Path(a).read_text(encoding="utf-8") if Path(a).is_file() else a for a in arguments[1:]]
    outcome = audit(Path(arguments[0]), heads=heads)
    sys.stdout.write(report(outcome))
    return 1 if outcome.alarms else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
