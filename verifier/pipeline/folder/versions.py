"""Files beside the drawing values that a decision rests on, and whose versions the record keeps."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

DRAWING_FILE: Final = "pour.toml"
FALSEWORK_FILE: Final = "falsework.toml"
ORDER_FILE: Final = "order.toml"

VERSIONED: Final[Mapping[str, str]] = MappingProxyType(
    {"drawing": DRAWING_FILE, "falsework.file": FALSEWORK_FILE, "order.file": ORDER_FILE}
)
"""Kind of record that brings a version -> file of the pour folder."""


def versions_in(folder: Path) -> dict[str, str]:
    """Hash the files that a decision rests on, as they are now.

    Args:
        folder: The pour folder.

    Returns:
        Kind of record -> SHA-256; a file that is not there is left out.
    """
    return {
        kind: hashlib.sha256((folder / name).read_bytes()).hexdigest()
        for kind, name in VERSIONED.items()
        if (folder / name).is_file()
    }
