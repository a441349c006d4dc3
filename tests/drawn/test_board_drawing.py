"""The drawing that a board is aligned with: light and dark where the image library's own picture of the board has them."""

import cv2
import numpy as np
import pytest

from verifier.board.definition import DICTIONARIES, BoardDefinition, Marker
from verifier.board.standing import PAPERS, standing_board
from verifier.vision.markers.draw_board import drawn

FINE = 16
DICTIONARY = "DICT_5X5_1000"


def of_the_library(definition: BoardDefinition, side_px: int, margin_px: int) -> np.ndarray:
    """The board's checkered field as OpenCV draws it, 0 to 1, with white around."""
    field = definition.chessboard
    size = tuple(int(n * side_px) for n in field.squares)
    # The library numbers markers row by row.
    places = definition.corners_mm().mean(axis=1)
    ids = np.array(definition.ids)[np.lexsort((places[:, 0], places[:, 1].round(3)))]
    board = cv2.aruco.CharucoBoard(
        field.squares,
        field.square_mm,
        float(definition.marker_sides_mm()[0]),
        definition.marker_dictionary(),
        ids,
    )
    picture = board.generateImage(size, marginSize=0, borderBits=1)
    return np.pad(picture, margin_px, constant_values=255) / 255.0


@pytest.mark.parametrize("px_per_mm", [1.37, 2.0, 3.3])
def test_each_pixel_is_as_light_as_the_share_of_it_that_is_white(px_per_mm: float):
    # Source: cv2.aruco.CharucoBoard.generateImage, drawn far finer and averaged.
    definition = standing_board(PAPERS[0], 3)
    picture, corner_mm = drawn(definition, px_per_mm)
    side_px = 280
    whole = of_the_library(definition, side_px, 2 * side_px)
    fine_per_mm = side_px / definition.chessboard.square_mm
    rows, columns = np.indices(picture.shape)
    first = (corner_mm + 2 * definition.chessboard.square_mm) * fine_per_mm
    step = fine_per_mm / px_per_mm
    parts = (np.arange(FINE) + 0.5) / FINE
    at_x = np.floor(first[0] + (columns[0][:, None] + parts) * step).astype(int).clip(0, whole.shape[1] - 1)
    at_y = np.floor(first[1] + (rows[:, 0][:, None] + parts) * step).astype(int).clip(0, whole.shape[0] - 1)
    expected = whole[at_y.reshape(-1, 1), at_x.reshape(1, -1)]
    expected = expected.reshape(len(picture), FINE, picture.shape[1], FINE).mean(axis=(1, 3))
    assert np.abs(picture - expected).mean() < 0.005
    assert np.abs(picture - expected).max() < 0.15
    assert abs(float((picture - expected).mean())) < 0.001


def test_a_marker_askew_on_its_board_is_drawn_as_it_lies():
    # Source: cv2.aruco.generateImageMarker, turned by cv2.warpAffine.
    turn = np.array([[np.cos(0.2), -np.sin(0.2)], [np.sin(0.2), np.cos(0.2)]])
    square = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]])
    corners = square @ turn.T + (20.0, 10.0)
    definition = BoardDefinition(
        name="askew",
        dictionary=DICTIONARY,
        thickness_mm=3.0,
        markers=(Marker(id=7, corners_mm=tuple(map(tuple, corners.tolist()))),),
    )
    px_per_mm = 3.0
    picture, corner_mm = drawn(definition, px_per_mm)
    book = cv2.aruco.getPredefinedDictionary(DICTIONARIES[DICTIONARY])
    side = 7 * 60
    marker = cv2.aruco.generateImageMarker(book, 7, side, borderBits=1).astype(np.float32) / 255.0
    fine_per_mm = px_per_mm * 4
    warp = np.column_stack(
        [turn * (40.0 * fine_per_mm / side), (np.array([20.0, 10.0]) - corner_mm) * fine_per_mm]
    )
    size = (picture.shape[1] * 4, picture.shape[0] * 4)
    expected = cv2.warpAffine(marker, warp, size, flags=cv2.INTER_LINEAR, borderValue=1.0)
    expected = cv2.resize(expected, picture.shape[::-1], interpolation=cv2.INTER_AREA)
    assert np.abs(picture - expected).mean() < 0.01
    assert np.abs(picture - expected).max() < 0.3
