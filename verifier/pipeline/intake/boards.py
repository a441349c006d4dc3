"""Scale boards of a pour: printing, and the check length that a steel rule found on the print."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from pathlib import Path

from pydantic import ValidationError

from verifier.board.print_scale import PrintCheck, PrintChecks, PrintScale, read_print_checks
from verifier.board.printing import CHECK_LENGTH_MM, issued_sheet, standing_sheet, write_sheet
from verifier.board.standing import FIRST_ISSUED_NUMBER, ids_of_issued_board
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, fault_in_words
from verifier.pipeline.measurement.settings import BOARDS_FILE
from verifier.pipeline.people.acting import Act, open_record, who_adds
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.keys import device_signer
from verifier.record.stamps import issue_board as record_board

PAPERS: dict[str, str] = {paper: f"{paper}: {CHECK_LENGTH_MM[paper]:g} mm" for paper in ("A4", "A3", "A5")}
"""Sheet sizes of boards, the usual one first, with the check length that a true print has."""


def print_board(out: Path, *, paper: str, number: int, pour: Path | None, png: bool) -> tuple[Path, ...]:
    """Write a standing board as PDF in true size, with its definition beside it.

    Args:
        out: The PDF.
        paper: ``A5``, ``A4`` or ``A3``.
        number: Standing number.
        pour: Pour folder whose name is printed on the board, None for none.
        png: Whether to write a 300-dpi raster, too.

    Returns:
        Files written.

    Raises:
        BadInput: If there is no such paper or number, or the place can't be written.
    """
    title = None if pour is None else read_pour(pour).pour.id
    return write_sheet(standing_sheet(paper, number, pour=title), out, png=png)


def issue_board(folder: Path, out: Path, *, paper: str, act: Act, png: bool) -> tuple[int, tuple[Path, ...]]:
    """Issue a board for a pour and write it: its markers follow from the head of the record, so that no photo of it can be older.

    Args:
        folder: The pour folder; its record is begun if there is none.
        out: The PDF.
        paper: ``A5``, ``A4`` or ``A3``.
        act: Who issues it, and when.
        png: Whether to write a 300-dpi raster, too.

    Returns:
        Number of the board, and the files written.

    Raises:
        BadInput: If there is no such paper, or a place can't be written.
        NotAllowed: If the person may not.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.ISSUE_BOARD)
    ledger = open_record(folder, pour, act)
    try:
        number = FIRST_ISSUED_NUMBER + sum("ids" in r.body for r in ledger.records("board"))
        head = ledger.head()
        ids = tuple(ids_from_head(head.root_text, ledger.pour, number))
        sheet = issued_sheet(paper, number, ids, pour=ledger.pour, ledger_head=head.short)
        written = write_sheet(sheet, out, png=png)
        signer = (act.signer or device_signer()).on_behalf_of(act.person)
        record_board(ledger, number, ids_from_head, signer, act.at, paper=paper)
    finally:
        ledger.close()
    return number, written


def ids_from_head(head_root: str, pour_id: str, number: int) -> Sequence[int]:
    """Marker ids of the board of a number that is issued from a head.

    Args:
        head_root: Root of the head, base64.
        pour_id: The pour.
        number: Number of the board.

    Returns:
        Its ids in order.
    """
    return ids_of_issued_board(base64.b64decode(head_root), pour_id, number)


def enter_check_length(
    folder: Path, *, paper: str, number: int, measured_mm: float, person: str | None = None
) -> PrintScale:
    """Keep the measured check length of a printed board with its number.

    Args:
        folder: The pour folder.
        paper: Sheet size of the board.
        number: Its number.
        measured_mm: Check length as read with a steel rule. [mm]
        person: Who read it; the site engineer if there is only one.

    Returns:
        The scale that follows.

    Raises:
        BadInput: If the paper is unknown, the length implausible, or the folder can't be written.
        NotAllowed: If the person may not.
    """
    pour = read_pour(folder)
    demand(pour, who_adds(pour, person), Action.ISSUE_BOARD)
    nominal = next((mm for name, mm in CHECK_LENGTH_MM.items() if name == paper), None)
    if nominal is None:
        raise BadInput(
            f"{paper} is no board size.", where="paper", todo=f"Give {', '.join(CHECK_LENGTH_MM)}."
        )
    path = folder / BOARDS_FILE
    checks = read_print_checks(path) if path.is_file() else PrintChecks()
    try:
        check = PrintCheck(board=number, nominal_mm=nominal, measured_mm=measured_mm)
    except ValidationError as error:
        raise BadInput(
            f"{fault_in_words(error.errors()[0])}.",
            where=f"check length of board {number}",
            todo="Read the check line again, in mm.",
        ) from error
    _write_whole(path, checks.with_check(check).to_toml())
    return check.scale()


def _write_whole(path: Path, text: str) -> None:
    """Replace a file in one step, so that a write that breaks off loses none of the lengths entered before."""
    beside = path.with_name(f"{path.name}.new")
    try:
        beside.write_text(text, encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        raise BadInput(
            f"The check length can't be kept ({error.strerror}).",
            where=str(path),
            todo="Make the folder writable, or free some space, and enter it again.",
        ) from error
