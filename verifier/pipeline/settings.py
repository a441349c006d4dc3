"""Boards, print scales and camera profiles of a pour folder."""

from __future__ import annotations

from pathlib import Path

from verifier.board.print_scale import PrintChecks, read_print_checks
from verifier.pipeline.cameras import cameras_in, cameras_of_pour
from verifier.pipeline.measuring import Settings

BOARDS_FILE = "boards.toml"


def settings_of(folder: Path) -> Settings:
    """Read what a folder says about its boards and cameras.

    Args:
        folder: The pour folder.

    Returns:
        Settings with the measured check lengths of ``boards.toml``, if it is there, and the camera profiles of the folder.

    Raises:
        BadInput: If a file is there and can't be used.
    """
    path = folder / BOARDS_FILE
    return Settings(
        checks=read_print_checks(path) if path.is_file() else PrintChecks(),
        cameras=cameras_in(cameras_of_pour(folder)),
    )
