"""Boards, print scales and camera profiles of a pour folder."""

from __future__ import annotations

from pathlib import Path

from verifier.board.definition import BoardDefinition
from verifier.board.print_scale import PrintChecks, read_print_checks
from verifier.board.standing import issued_board
from verifier.pipeline.folder.cameras import cameras_in, cameras_of_pour
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.measurement.measuring import Settings
from verifier.record.ledger import Ledger

BOARDS_FILE = "boards.toml"


def settings_of(folder: Path) -> Settings:
    """Read what a folder says about its boards and cameras.

    Args:
        folder: The pour folder.

    Returns:
        Settings with the measured check lengths of ``boards.toml``, if it is there, the camera profiles of the folder, and the
        boards that its record issued.

    Raises:
        BadInput: If a file is there and can't be used.
        RecordDamaged: If the record does not hold.
    """
    path = folder / BOARDS_FILE
    return Settings(
        checks=read_print_checks(path) if path.is_file() else PrintChecks(),
        cameras=cameras_in(cameras_of_pour(folder)),
        issued=issued_boards(folder),
    )


def issued_boards(folder: Path) -> tuple[BoardDefinition, ...]:
    """Read which boards were issued for a pour.

    Args:
        folder: The pour folder.

    Returns:
        Their definitions, in the order issued; none without a record.

    Raises:
        RecordDamaged: If the record does not hold.
    """
    if not has_record(folder):
        return ()
    ledger = Ledger.open(folder)
    try:
        return tuple(
            issued_board(
                str(r.body["paper"]),
                int(r.body["number"]),
                tuple(int(i) for i in r.body["ids"]),
                pour=r.pour,
            )
            for r in ledger.records("board")
            if "ids" in r.body and "paper" in r.body
        )
    finally:
        ledger.close()
