"""What the drawing of a pour asks, as requirements that evidence can be held against."""

from __future__ import annotations

from pathlib import Path

from verifier.codes.load import load_code
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.rules.asked import Asked, requirements_of


def asked_of(folder: Path) -> tuple[Pour, Asked]:
    """What a pour asks, without looking at any evidence.

    Args:
        folder: The pour folder.

    Returns:
        Drawing values and requirements.

    Raises:
        BadInput: If the drawing values can't be used.
    """
    pour = read_pour(folder)
    return pour, requirements_of(pour, load_code(pour.pour.code, units=pour.pour.units))
