"""What the networks have learned: their weights as kept in the package, and the names by which a result tells of them."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files


@cache
def learned(name: str) -> bytes:
    """The bytes of one file of weights.

    Args:
        name: file name in ``weights/``, whose ``DATASHEET.md`` says what each was trained on and where it fails.

    Returns:
        The file as it is.

    Raises:
        FileNotFoundError: the package holds no such file.
    """
    return files("verifier.vision").joinpath("weights", name).read_bytes()


@cache
def name_of_labels() -> str:
    """Name of the weights that labels and blocks come from: the first 16 hex digits of their SHA-256."""
    return hashlib.sha256(learned("labels.onnx") + learned("blocks.onnx")).hexdigest()[:16]


@cache
def name_of_outlines() -> str:
    """Name of the weights that outlines come from: the first 8 hex digits of their SHA-256."""
    return hashlib.sha256(learned("outlines.npz")).hexdigest()[:8]
