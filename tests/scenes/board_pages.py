"""Write what real standing boards look like and where their corners lie, for renderers that lack the project.

    python -m tests.scenes.board_pages --out tests/scenes/out/boards.npz

Needs the project itself; what reads the file (``laid_board.py``) needs NumPy only.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import cv2
import numpy as np

from verifier.board.printing import SHEET_MM, sheet_png, standing_sheet
from verifier.board.standing import Paper

PAPER: Paper = "A4"
NUMBERS = (1, 5, 17, 58)
PX_PER_MM = 8


def main() -> None:
    """Write the file."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, required=True)
    a = ask.parse_args()
    width, height = SHEET_MM[PAPER]
    size = (round(width * PX_PER_MM), round(height * PX_PER_MM))
    pages = []
    for number in NUMBERS:
        sheet = standing_sheet(PAPER, number)
        printed = cv2.imdecode(np.frombuffer(sheet_png(sheet), np.uint8), cv2.IMREAD_GRAYSCALE)
        assert printed is not None
        pages.append(cv2.resize(printed, size, interpolation=cv2.INTER_AREA))
    board = sheet.definition
    assert board.chessboard is not None
    points = board.chessboard.inner_corners_mm() + sheet.field_origin_mm
    a.out.parent.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(
        a.out,
        pages=np.stack(pages),
        numbers=NUMBERS,
        size_mm=(width, height),
        thickness_mm=board.thickness_mm,
        points_mm=points,
    )
    print(f"{a.out}: {len(pages)} boards, {a.out.stat().st_size} bytes")


if __name__ == "__main__":
    main()
