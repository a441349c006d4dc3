"""The built-in boards, and which marker ids a board with a number or a pour carries."""

from __future__ import annotations

import hashlib
import hmac
from functools import cache
from importlib import resources
from typing import Literal

from verifier.board.definition import BoardDefinition, Marker, parse_board
from verifier.errors import BadInput

Paper = Literal["A5", "A4", "A3"]
PAPERS: tuple[Paper, ...] = ("A5", "A4", "A3")

MARKERS_ON_A_BOARD = 17
IDS_IN_DICTIONARY = 1000
STANDING_NUMBERS = IDS_IN_DICTIONARY // MARKERS_ON_A_BOARD
"""Highest number of a standing board: each takes 17 of the 1000 ids."""
FIRST_ISSUED_NUMBER = 101
"""Issued boards are numbered from here, so that a check length kept under a number belongs to one print."""


@cache
def standing_board(paper: str, number: int) -> BoardDefinition:
    """Return a built-in board with the ids of a standing number.

    Args:
        paper: ``A5``, ``A4`` or ``A3``.
        number: From 1; board n carries ids 17(n-1) to 17n-1: on A4 row by row from the top left, on A3 from the bottom
            right, on A5 column by column, so that a photo tells the sizes apart.

    Returns:
        The definition.

    Raises:
        BadInput: If the paper is not built in or the number is out of range.
    """
    if not 1 <= number <= STANDING_NUMBERS:
        raise BadInput(
            f"Standing board {number} does not exist.",
            where="board number",
            todo=f"Use a number from 1 to {STANDING_NUMBERS}.",
        )
    first = MARKERS_ON_A_BOARD * (number - 1)
    return board_with_ids(
        paper, tuple(range(first, first + MARKERS_ON_A_BOARD)), name=f"{paper} board {number}"
    )


@cache
def standing_boards() -> tuple[BoardDefinition, ...]:
    """Return all standing boards, every number in every size."""
    return tuple(standing_board(paper, n) for n in range(1, STANDING_NUMBERS + 1) for paper in PAPERS)


def issued_board(paper: str, number: int, ids: tuple[int, ...], *, pour: str) -> BoardDefinition:
    """Return a board that is issued for one pour.

    Args:
        paper: ``A5``, ``A4`` or ``A3``.
        number: Its number, from ``FIRST_ISSUED_NUMBER``.
        ids: Its marker ids, see :func:`ids_of_issued_board`.
        pour: The pour.

    Returns:
        The definition.

    Raises:
        BadInput: If the paper is not built in.
    """
    board = board_with_ids(paper, ids, name=f"{paper} board {number} of {pour}"[:80])
    return board.model_copy(update={"number": number})


def board_with_ids(paper: str, ids: tuple[int, ...], *, name: str) -> BoardDefinition:
    """Return a built-in board that carries the given ids, in the order of its size.

    Args:
        paper: ``A5``, ``A4`` or ``A3``.
        ids: Seventeen marker ids, none twice, each 0 to 999.
        name: Name of the board.

    Returns:
        The definition.

    Raises:
        BadInput: If the paper is not built in.
        ValueError: If the ids don't fit the board.
    """
    if paper not in PAPERS:
        raise BadInput(
            f"There is no built-in board for paper {paper!r}.",
            where="paper",
            todo=f"Choose one of {', '.join(PAPERS)}.",
        )
    layout = _layout(paper)
    markers = tuple(Marker(id=i, corners_mm=m.corners_mm) for i, m in zip(ids, layout.markers, strict=True))
    return BoardDefinition(
        name=name,
        dictionary=layout.dictionary,
        thickness_mm=layout.thickness_mm,
        markers=markers,
        chessboard=layout.chessboard,
    )


@cache
def _layout(paper: str) -> BoardDefinition:
    file = resources.files("verifier.board").joinpath(f"data/{paper}.toml")
    return parse_board(file.read_text(encoding="utf-8"), where=file.name)


def standing_number_of(ids: tuple[int, ...]) -> int | None:
    """Return the standing number that most of the ids belong to, or None where they belong to no single one.

    Args:
        ids: Marker ids seen together.

    Returns:
        Board number from 1, or None.
    """
    numbers = [i // MARKERS_ON_A_BOARD + 1 for i in ids]
    if not numbers:
        return None
    best = max(sorted(set(numbers)), key=numbers.count)
    return best if best <= STANDING_NUMBERS and 2 * numbers.count(best) > len(numbers) else None


def ids_of_issued_board(ledger_head: bytes, pour_id: str, board_number: int) -> tuple[int, ...]:
    """Draw the marker ids of a board that is issued for one pour.

    Nobody can know them before the ledger head exists, so a photo that shows the board can't be older than the head.
    Words of 16 bits are drawn from an HMAC stream; those of 65000 and above are dropped, so that every id is equally
    likely, and an id that has come already is skipped.

    Args:
        ledger_head: Bytes of the ledger head at the time of issue.
        pour_id: The pour.
        board_number: Number of the board within the pour, from 1.

    Returns:
        Seventeen ids from 0 to 999 in board order, none twice.

    Raises:
        ValueError: If the head is empty or the number is below 1.

    Source:
        RFC 2104 (HMAC), FIPS 180-4 (SHA-256).
    """
    if not ledger_head:
        raise ValueError("the ledger head is empty")
    if board_number < 1:
        raise ValueError(f"board number {board_number} is below 1")
    name = pour_id.encode("utf-8")
    message = (
        b"verifier issued board\x00" + len(name).to_bytes(4, "big") + name + board_number.to_bytes(4, "big")
    )
    ids: list[int] = []
    block = 0
    while True:
        stream = hmac.new(ledger_head, message + block.to_bytes(4, "big"), hashlib.sha256).digest()
        for word in (int.from_bytes(stream[k : k + 2], "big") for k in range(0, len(stream), 2)):
            if word < 65 * IDS_IN_DICTIONARY and word % IDS_IN_DICTIONARY not in ids:
                ids.append(word % IDS_IN_DICTIONARY)
                if len(ids) == MARKERS_ON_A_BOARD:
                    return tuple(ids)
        block += 1
