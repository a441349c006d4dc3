"""Board definitions: what is read back is what was written, and every fault is named with its key."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from verifier.board.definition import parse_board, read_board
from verifier.board.print_scale import PrintCheck, PrintChecks, read_print_checks
from verifier.board.standing import (
    IDS_IN_DICTIONARY,
    PAPERS,
    STANDING_NUMBERS,
    ids_of_issued_board,
    standing_board,
    standing_number_of,
)
from verifier.errors import BadInput

PLATE = """
[board]
name = "site plate"
dictionary = "DICT_5X5_1000"
thickness_mm = 3.0
[[marker]]
id = 0
corners_mm = [[0, 0], [27, 0], [27, 27], [0, 27]]
[[marker]]
id = 5
corners_mm = [[100, 0], [127, 0], [127, 27], [100, 27]]
"""


def test_plate_of_a_firm_is_read():
    board = parse_board(PLATE, where="plate.toml")
    assert board.ids == (0, 5)
    assert board.corners_mm().shape == (2, 4, 2)
    assert board.marker_sides_mm() == pytest.approx([27, 27])
    assert parse_board(board.to_toml(), where="again") == board


@pytest.mark.parametrize("paper", PAPERS)
def test_built_in_boards_have_the_library_layout_and_one_format(paper):
    cv2 = pytest.importorskip("cv2")
    board = standing_board(paper, 2)
    assert parse_board(board.to_toml(), where="x") == board
    chessboard = board.chessboard
    library = cv2.aruco.CharucoBoard(
        chessboard.squares, chessboard.square_mm, float(board.marker_sides_mm()[0]), board.marker_dictionary()
    )
    by_row = np.array(sorted(board.corners_mm().tolist(), key=lambda c: (c[0][1], c[0][0])))
    assert np.array(library.getObjPoints())[:, :, :2] == pytest.approx(by_row)
    assert library.getChessboardCorners()[:, :2] == pytest.approx(chessboard.inner_corners_mm())
    assert board.ids == tuple(range(17, 34))


def test_a4_counts_row_by_row_and_the_sizes_differ_in_their_order():
    a4, a3, a5 = (standing_board(paper, 1) for paper in ("A4", "A3", "A5"))
    places = [
        [tuple(np.round(c[0] / board.chessboard.square_mm, 3)) for c in board.corners_mm()]
        for board in (a4, a3, a5)
    ]
    assert places[0] == sorted(places[0], key=lambda p: (p[1], p[0]))
    assert sum(a == b for a, b in zip(places[0], places[1], strict=True)) <= 1
    assert sum(a == b for a, b in zip(places[0], places[2], strict=True)) <= 3


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            ("thickness_mm = 3.0", "thicknes_mm = 3.0"),
            r"thicknes_mm: unknown key, the nearest one is thickness_mm",
        ),
        (("thickness_mm = 3.0", "thickness_mm = -3.0"), r"thickness_mm = -3.0: .*greater than or equal to 0"),
        (
            ("DICT_5X5_1000", "DICT_5X5_100O"),
            r"unknown marker dictionary 'DICT_5X5_100O'; did you mean DICT_5X5_1000?",
        ),
        (
            ("[[0, 0], [27, 0], [27, 27], [0, 27]]", "[[0, 0], [0, 27], [27, 27], [27, 0]]"),
            r"number 1 corners_mm: the corners run anticlockwise",
        ),
        (
            ("[[0, 0], [27, 0], [27, 27], [0, 27]]", "[[0, 0], [27, 27], [27, 0], [0, 27]]"),
            r"do not form a square",
        ),
        (
            ("[[0, 0], [27, 0], [27, 27], [0, 27]]", "[[0, 0], [72, 0], [72, 27], [0, 27]]"),
            r"not a square: sides 72, 27, 72, 27 mm",
        ),
        (("[[0, 0], [27, 0], [27, 27], [0, 27]]", "[[0, 0], [27, 0], [27, 27]]"), r"number 1 corners_mm"),
        (("id = 5", "id = 0"), r"marker id 0 stands twice"),
        (("id = 5", "id = 1000"), r"marker id 1000 is not in DICT_5X5_1000 \(0 to 999\)"),
        (
            ("[[100, 0], [127, 0], [127, 27], [100, 27]]", "[[5, 0], [32, 0], [32, 27], [5, 27]]"),
            r"markers 0 and 5 lie on each other",
        ),
        (("[board]", "[boards]"), r"unknown table \[boards\], the nearest one is board"),
        (("id = 0", "id = "), r"not readable TOML"),
        (
            (", [0, 27]]", "]"),
            r"number 1 corners_mm: four corners \[x, y\] are needed, .*not whole\. Correct",
        ),
        (
            ("[board]", "[chessboard]\nsquares = [7, 1]\nsquare_mm = 36\n[board]"),
            r"\[chessboard\] squares = 1",
        ),
    ],
)
def test_each_fault_is_named(change, message):
    with pytest.raises(BadInput, match=message):
        parse_board(PLATE.replace(*change), where="plate.toml")


def test_no_marker_no_board():
    with pytest.raises(BadInput, match=r"\[\[marker\]\]: .*at least 1"):
        parse_board('[board]\nname = "x"\ndictionary = "DICT_4X4_50"\nthickness_mm = 1\n', where="x.toml")


def test_missing_or_binary_file(tmp_path):
    with pytest.raises(BadInput, match="can't be read"):
        read_board(tmp_path / "none.toml")
    (tmp_path / "photo.toml").write_bytes(b"\xff\xd8\xff\xe0")
    with pytest.raises(BadInput, match="can't be read"):
        read_board(tmp_path / "photo.toml")


@pytest.mark.parametrize("number", [0, -1, STANDING_NUMBERS + 1])
def test_standing_number_out_of_range(number):
    with pytest.raises(BadInput, match="does not exist"):
        standing_board("A4", number)


def test_paper_that_is_not_built_in():
    with pytest.raises(BadInput, match="no built-in board for paper 'A6'"):
        standing_board("A6", 1)


@given(st.binary(min_size=1, max_size=64), st.text(max_size=30), st.integers(1, 500))
def test_issued_ids_are_seventeen_different_ones_and_repeatable(head, pour, number):
    ids = ids_of_issued_board(head, pour, number)
    assert len(set(ids)) == 17
    assert all(0 <= i < IDS_IN_DICTIONARY for i in ids)
    assert ids == ids_of_issued_board(head, pour, number)


def test_issued_ids_change_with_head_pour_and_number():
    base = ids_of_issued_board(b"head", "L2-east", 1)
    assert (
        len(
            {
                base,
                ids_of_issued_board(b"heae", "L2-east", 1),
                ids_of_issued_board(b"head", "L2-eas", 1),
                ids_of_issued_board(b"head", "L2-east", 2),
            }
        )
        == 4
    )


def test_issued_ids_are_evenly_spread():
    # 2000 boards draw 34 000 ids over 1000 values: chi-square with about 999 degrees of freedom (sd 45).
    drawn = np.concatenate([ids_of_issued_board(b"head", "pour", n) for n in range(1, 2001)])
    counts = np.bincount(drawn, minlength=1000)
    assert abs(((counts - 34) ** 2 / 34).sum() - 999) < 5 * 45


def test_standing_number_from_ids():
    assert standing_number_of((17, 20, 33)) == 2
    assert standing_number_of((17, 20, 500)) == 2
    assert standing_number_of((17, 500)) is None
    assert standing_number_of(()) is None


def test_check_length_is_kept_with_its_number(tmp_path):
    checks = (
        PrintChecks()
        .with_check(PrintCheck(board=3, nominal_mm=200, measured_mm=194))
        .with_check(PrintCheck(board=4, nominal_mm=200, measured_mm=200.5))
    )
    path = tmp_path / "prints.toml"
    path.write_text(checks.to_toml())
    again = read_print_checks(path)
    assert again == checks
    scale = again.scale_of(3)
    assert scale.factor == pytest.approx(0.97)
    assert scale.standard_uncertainty == pytest.approx(0.0021, abs=1e-4)
    assert scale.caution is None
    assert "not been measured" in again.scale_of(9).caution


def test_impossible_check_length_is_asked_about(tmp_path):
    with pytest.raises(ValidationError, match="read the check line again"):
        PrintCheck(board=3, nominal_mm=200, measured_mm=20)
    path = tmp_path / "prints.toml"
    path.write_text("[[check]]\nboard = 3\nnominal_mm = 200\nmeasured_mm = 20\n")
    with pytest.raises(BadInput, match=r"prints.toml: check.0: measured 20 mm against 200 mm"):
        read_print_checks(path)
