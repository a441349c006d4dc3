"""Several pours in one folder, and the accounts of the people that work on them."""

from __future__ import annotations

from pathlib import Path

from verifier.accounts.book import Book, Limits
from verifier.accounts.file import FILE

POUR_FILE = "pour.toml"


def is_pour(folder: Path) -> bool:
    """Say whether a folder is a pour of its own.

    Args:
        folder: Any folder.

    Returns:
        True if drawing values lie in it.
    """
    return (folder / POUR_FILE).is_file()


def pours_in(folder: Path) -> tuple[Path, ...]:
    """Find the pours in a folder.

    Args:
        folder: A pour folder, or a folder of pour folders.

    Returns:
        The folder itself if it is a pour, else the pours right under it, by name.
    """
    if is_pour(folder):
        return (folder,)
    return tuple(sorted(f for f in folder.iterdir() if f.is_dir() and is_pour(f))) if folder.is_dir() else ()


def accounts_of(folder: Path, limits: Limits | None = None) -> Book:
    """Open the accounts for a pour or a folder of pours; they lie beside the pours, never inside one.

    Args:
        folder: A pour folder, or a folder of pour folders.
        limits: How long visits last; as usual if not given.

    Returns:
        The book; it need not have been begun.
    """
    place = folder.resolve()
    return Book((place.parent if is_pour(place) else place) / FILE, limits or Limits())
