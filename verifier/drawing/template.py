"""A first pour.toml to fill in, with its explanations beside the values."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from verifier.errors import BadInput


def template_text() -> str:
    """Return the commented file that a new pour starts from.

    Returns:
        TOML that is itself a readable pour.
    """
    return files("verifier.drawing").joinpath("pour_template.toml").read_text(encoding="utf-8")


def write_template(path: Path) -> None:
    """Write a commented pour.toml to fill in.

    Args:
        path: The file to write; it must not exist.

    Raises:
        BadInput: If there is a file already; it is left as it is.
    """
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(template_text())
    except FileExistsError as error:
        raise BadInput(
            "There is a file of this name already; it was left as it is.",
            where=str(path),
            todo="Choose another folder, or edit the file that is there.",
        ) from error
