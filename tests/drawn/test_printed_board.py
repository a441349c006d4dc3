"""The printed sheet, measured on its raster: true size, no seam, found by the image library's own board search."""

import re
import shutil
import subprocess

import cv2
import numpy as np
import pytest

from verifier.board.printing import (
    CHECK_LENGTH_MM,
    SHEET_MM,
    issued_sheet,
    sheet_pdf,
    sheet_png,
    standing_sheet,
    write_sheet,
)
from verifier.board.standing import PAPERS, ids_of_issued_board
from verifier.errors import BadInput

DPI = 300
MM_PER_DOT = 25.4 / DPI


def library_board(definition):
    """The same board made by the image library, which counts its markers row by row."""
    chessboard = definition.chessboard
    rows = sorted(definition.markers, key=lambda m: (m.corners_mm[0][1], m.corners_mm[0][0]))
    return cv2.aruco.CharucoBoard(
        chessboard.squares,
        chessboard.square_mm,
        float(definition.marker_sides_mm()[0]),
        definition.marker_dictionary(),
        np.array([m.id for m in rows]),
    )


def rasterised(pdf, folder):
    if shutil.which("pdftoppm") is None:
        pytest.skip(
            "pdftoppm (poppler-utils) is not installed, so the PDF can't be rasterised by an independent program"
        )
    path = folder / "board.pdf"
    path.write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-gray", "-png", str(path), str(folder / "raster")],
        check=True,
        capture_output=True,
    )
    return cv2.imread(str(next(folder.glob("raster*.png"))), cv2.IMREAD_GRAYSCALE)


@pytest.mark.parametrize("paper", PAPERS)
def test_pdf_is_true_to_size_when_another_program_draws_it(paper, tmp_path):
    sheet = standing_sheet(paper, 3, pour="L2-east")
    picture = rasterised(sheet_pdf(sheet), tmp_path)
    assert picture.shape[::-1] == pytest.approx([side / MM_PER_DOT for side in SHEET_MM[paper]], abs=1.5)

    found, ids, corners, marker_ids = cv2.aruco.CharucoDetector(library_board(sheet.definition)).detectBoard(
        picture
    )
    assert len(ids) == 24
    assert sorted(marker_ids.ravel()) == sorted(sheet.definition.ids)
    measured = (found.reshape(-1, 2) + 0.5) * MM_PER_DOT - np.array(sheet.field_origin_mm)
    wanted = sheet.definition.chessboard.inner_corners_mm()[ids.ravel()]
    assert np.abs(measured - wanted).max() < 0.08

    order = {marker_id: index for index, marker_id in enumerate(sheet.definition.ids)}
    for marker_id, quad in zip(marker_ids.ravel(), corners, strict=True):
        on_sheet = (
            cv2.cornerSubPix(picture, quad.reshape(-1, 1, 2), (5, 5), (-1, -1), (3, 50, 1e-3)).reshape(4, 2)
            + 0.5
        ) * MM_PER_DOT
        wanted = sheet.definition.corners_mm()[order[marker_id]] + sheet.field_origin_mm
        assert np.abs(on_sheet - wanted).max() < 0.12


@pytest.mark.parametrize("paper", PAPERS)
def test_check_length_is_as_long_as_it_says(paper, tmp_path):
    sheet = standing_sheet(paper, 1)
    picture = rasterised(sheet_pdf(sheet), tmp_path)
    field_end = int((SHEET_MM[paper][1] - sheet.field_origin_mm[1]) / MM_PER_DOT) + 8
    below = 255.0 - picture[field_end:]
    row = int(np.argmax((below > 128).sum(axis=1)))
    # The end marks stand out above and below the line; the text lies under it.
    above = below[row - 12 : row - 4].mean(axis=0)
    marks = [
        float(np.average(np.arange(run[0], run[-1] + 1), weights=above[run[0] : run[-1] + 1]))
        for run in runs(above > 40)
    ]
    assert len(marks) == 2
    assert (marks[1] - marks[0]) * MM_PER_DOT == pytest.approx(CHECK_LENGTH_MM[paper], abs=0.05)


def runs(mask):
    edges = np.flatnonzero(np.diff(np.r_[False, mask, False]))
    return [np.arange(a, b) for a, b in edges.reshape(-1, 2)]


def test_pdf_carries_its_fonts_and_says_who_it_is(tmp_path):
    pypdf = pytest.importorskip("pypdf")
    path = tmp_path / "board.pdf"
    path.write_bytes(sheet_pdf(standing_sheet("A4", 12, pour="L2-east")))
    page = pypdf.PdfReader(path).pages[0]
    text = re.sub(r"\s+", " ", page.extract_text())
    assert "Scale board 12" in text
    assert "L2-east" in text
    assert "Check length 200 mm" in text
    for font in page["/Resources"]["/Font"].values():
        descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert any(key.startswith("/FontFile") for key in descriptor)


def test_code_for_the_desk_can_be_read():
    picture = cv2.imdecode(
        np.frombuffer(sheet_png(standing_sheet("A4", 7, pour="L2-east")), np.uint8), cv2.IMREAD_GRAYSCALE
    )
    right = cv2.copyMakeBorder(picture[1000:1500, 3265:], 40, 40, 0, 40, cv2.BORDER_CONSTANT, value=255)
    assert cv2.QRCodeDetector().detectAndDecode(right)[0] == "scale board 7; A4; pour L2-east"


def test_raster_and_definition_are_written_beside_the_pdf(tmp_path):
    ids = ids_of_issued_board(b"\x01" * 32, "L2-east", 2)
    sheet = issued_sheet("A5", 2, ids, pour="L2-east", ledger_head="4f1c-9a02")
    paths = write_sheet(sheet, tmp_path / "board.pdf", png=True)
    assert [p.name for p in paths] == ["board.pdf", "board.toml", "board.png"]
    picture = cv2.imread(str(tmp_path / "board.png"), cv2.IMREAD_GRAYSCALE)
    *_, marker_ids = cv2.aruco.CharucoDetector(library_board(sheet.definition)).detectBoard(picture)
    assert sorted(marker_ids.ravel()) == sorted(ids)


def test_same_board_gives_the_same_bytes():
    assert sheet_pdf(standing_sheet("A4", 3)) == sheet_pdf(standing_sheet("A4", 3))


def test_letters_that_would_print_as_boxes_are_refused():
    with pytest.raises(BadInput, match=r"can't print the letters"):
        sheet_pdf(standing_sheet("A4", 1, pour="二階東"))
