"""Boards drawn into pictures: found and measured in the conditions of a site, refused with the reason where they can't be."""

import cv2
import numpy as np
import pytest

from verifier.board.print_scale import PrintCheck, PrintChecks, PrintScale
from verifier.board.standing import PAPERS, standing_board
from verifier.errors import Refusal
from verifier.vision.distance import distances
from verifier.vision.markers.find_board import find_boards
from verifier.vision.markers.why_no_board import why_no_board
from verifier.vision.metric.camera import camera_prior
from verifier.vision.metric.geometry import photo_geometry

SIZE = (1600, 1200)
FOCAL = 1200.0
MATRIX = np.array([[FOCAL, 0, 799.5], [0, FOCAL, 599.5], [0, 0, 1]])


def sheet(definition, px_per_mm=6):
    """The board as flat artwork with a white margin of 15 mm, drawn by the image library."""
    board = definition.chessboard
    rows = sorted(definition.markers, key=lambda m: (m.corners_mm[0][1], m.corners_mm[0][0]))
    library = cv2.aruco.CharucoBoard(
        board.squares,
        board.square_mm,
        float(definition.marker_sides_mm()[0]),
        definition.marker_dictionary(),
        np.array([m.id for m in rows]),
    )
    width, height = (round(n * board.square_mm * px_per_mm) for n in board.squares)
    picture = library.generateImage((width, height))
    margin = 15 * px_per_mm
    return (
        cv2.copyMakeBorder(picture, margin, margin, margin, margin, cv2.BORDER_CONSTANT, value=255),
        px_per_mm,
        margin,
    )


def homography(definition, *, height_mm, tilt_deg=15.0, spin_deg=20.0, at_mm=(0.0, 0.0)):
    """From board mm to pixels; true at the board's middle, which lies at ``at_mm`` from the foot of the axis."""
    lean, _ = cv2.Rodrigues(np.radians(tilt_deg) * np.array([0.8, 0.6, 0.0]))
    turn, _ = cv2.Rodrigues(np.array([0.0, 0.0, np.radians(spin_deg)]))
    columns, rows = definition.chessboard.squares
    middle = np.array([columns, rows]) * definition.chessboard.square_mm / 2
    move = np.array([[1.0, 0, -middle[0]], [0, 1, -middle[1]], [0, 0, 1]])
    place = np.eye(3)
    place[:2, :2], place[:2, 2] = turn[:2, :2], at_mm
    pose = np.c_[lean[:, :2], [0, 0, height_mm]]
    return MATRIX @ pose @ place @ move


def picture_of(*boards, blur=0.8, noise=3.0, seed=0):
    """Boards, each a definition with its homography, on a grey ground with clutter."""
    rng = np.random.default_rng(seed)
    picture = cv2.GaussianBlur(rng.normal(110, 40, SIZE[::-1]).astype(np.float32), (0, 0), 6) * 1.0
    for _ in range(25):
        a, b = (tuple(int(v) for v in rng.uniform(0, 1, 2) * SIZE) for _ in range(2))
        cv2.line(picture, a, b, float(rng.uniform(20, 200)), 9)
    for definition, to_px in boards:
        artwork, scale, margin = sheet(definition)
        to_mm = np.array(
            [[1 / scale, 0, (0.5 - margin) / scale], [0, 1 / scale, (0.5 - margin) / scale], [0, 0, 1]]
        )
        shown = cv2.warpPerspective(
            cv2.GaussianBlur(artwork, (0, 0), 1.5), to_px @ to_mm, SIZE, flags=cv2.INTER_AREA
        )
        mask = cv2.warpPerspective(np.full_like(artwork, 255), to_px @ to_mm, SIZE)
        picture = np.where(mask > 127, 30.0 + 0.75 * shown, picture)
    picture = cv2.GaussianBlur(picture, (0, 0), blur) + rng.normal(0, noise, SIZE[::-1])
    return np.clip(picture, 0, 255).astype(np.uint8)


A4 = standing_board("A4", 3)
PLACE = homography(A4, height_mm=700.0)


def corner_error(found, to_px):
    true = np.c_[found.points_mm, np.ones(len(found.points_mm))] @ to_px.T
    return float(np.sqrt(np.mean((found.points_px - true[:, :2] / true[:, 2:]) ** 2)))


@pytest.mark.parametrize("paper", PAPERS)
def test_size_and_number_are_told_from_the_markers(paper):
    board = standing_board(paper, 3)
    to_px = homography(board, height_mm=20 * board.chessboard.square_mm)
    found = find_boards(picture_of((board, to_px))).boards
    assert [(b.definition, b.number) for b in found] == [(board, 3)]
    assert corner_error(found[0], to_px) < 0.12


@pytest.mark.parametrize("spin_deg", [90.0, 180.0, 261.0])
def test_turned_photo(spin_deg):
    to_px = homography(A4, height_mm=700.0, spin_deg=spin_deg)
    assert corner_error(find_boards(picture_of((A4, to_px))).boards[0], to_px) < 0.12


def test_small_and_blurred():
    to_px = homography(A4, height_mm=1700.0)
    found = find_boards(picture_of((A4, to_px), blur=1.2)).boards[0]
    assert found.seen_share > 0.8
    assert corner_error(found, to_px) < 0.2


def test_half_in_shade_and_dirty():
    picture = picture_of((A4, PLACE)).astype(float)
    picture[:, 800:] *= 0.25
    rng = np.random.default_rng(2)
    for _ in range(5):
        x, y = rng.uniform([500, 350], [1100, 850]).astype(int)
        cv2.circle(picture, (int(x), int(y)), 22, 90.0, -1)
    found = find_boards(picture.astype(np.uint8)).boards[0]
    assert found.seen_share > 0.5
    assert corner_error(found, PLACE) < 0.2


def test_two_boards_are_told_apart_and_fix_the_plane_better():
    one, two = standing_board("A4", 1), standing_board("A4", 2)
    places = [
        homography(b, height_mm=1300.0, at_mm=at)
        for b, at in ((one, (-330.0, -150.0)), (two, (330.0, 180.0)))
    ]
    found = find_boards(picture_of((one, places[0]), (two, places[1]))).boards
    assert {b.number for b in found} == {1, 2}
    camera = camera_prior(*SIZE)
    far = np.array([[1300.0, 800.0], [1400.0, 900.0]])
    u = []
    for boards in (found[:1], found):
        geometry = photo_geometry(boards, camera, PrintScale())
        budget = geometry.on_mat().propagate(
            lambda g: np.linalg.norm(np.diff(g.to_plane_mm(far, 8.0), axis=-2), axis=-1)
        )
        u.append(np.sqrt(sum(v[0] ** 2 for v in budget.values())))
    assert u[1] < 0.9 * u[0]


def test_print_scale_corrects_every_length():
    picture = picture_of((A4, PLACE))
    true = np.c_[[[36.0, 36.0], [216.0, 144.0]], np.ones(2)] @ PLACE.T
    pair = np.array([true[:, :2] / true[:, 2:]])
    plain, scaled = (
        distances(picture, pair, camera_prior(*SIZE), print_checks=s)[0]
        for s in (PrintScale(), PrintScale.stated(0.97))
    )
    assert plain.distance_mm == pytest.approx(np.hypot(180, 108), abs=plain.expanded_uncertainty_mm)
    assert scaled.distance_mm / plain.distance_mm == pytest.approx(0.97, abs=1e-4)
    assert plain.caution is not None
    assert scaled.caution is None
    entered = PrintCheck(board=3, nominal_mm=200.0, measured_mm=194.0)
    other = PrintCheck(board=4, nominal_mm=200.0, measured_mm=210.0)
    (by_number,) = distances(
        picture, pair, camera_prior(*SIZE), print_checks=PrintChecks(check=(entered, other))
    )
    assert by_number.distance_mm == pytest.approx(scaled.distance_mm, abs=1e-6)


def test_a_point_given_twice_is_no_distance_without_doubt():
    (nothing,) = distances(picture_of((A4, PLACE)), np.full((1, 2, 2), 700.0), camera_prior(*SIZE))
    assert nothing.distance_mm is None
    assert nothing.refusals[0].reason == "same-point"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda p: p[:, ::-1].copy(), "marker-mirrored"),
        (lambda p: np.full_like(p, 128), "no-board"),
        (lambda p: cv2.GaussianBlur(p, (0, 0), 14), "no-board"),
    ],
)
def test_photo_without_usable_board_is_refused_with_its_reason(change, reason):
    search = find_boards(change(picture_of((A4, PLACE))))
    assert not search.boards
    assert [r.reason for r in search.refusals] == [reason]


def test_other_board_than_the_one_looked_for():
    search = find_boards(picture_of((A4, PLACE)), [standing_board("A4", 7)])
    assert search.refusals[0].reason == "wrong-board"
    assert "standing board 3" in search.refusals[0].say


def test_same_board_twice():
    places = [homography(A4, height_mm=1300.0, at_mm=at) for at in ((-300.0, 0.0), (300.0, 0.0))]
    picture = picture_of((A4, places[0]), (A4, places[1]))
    assert find_boards(picture).refusals[0].reason == "marker-twice"
    # also where the two keep each other from being followed, so that neither is found
    for sought in ((), (A4,)):
        assert why_no_board(picture, sought).reason == "marker-twice"
    assert why_no_board(picture_of((A4, PLACE)), ()).reason != "marker-twice"


def test_boards_of_different_numbers_side_by_side_are_all_found():
    places = [homography(A4, height_mm=1300.0, at_mm=at) for at in ((-300.0, 0.0), (300.0, 0.0))]
    found = find_boards(picture_of((A4, places[0]), (standing_board("A4", 4), places[1]))).boards
    assert sorted(b.number for b in found) == [3, 4]


def geometry_of(to_px, picture=None):
    found = find_boards(picture_of((A4, to_px)) if picture is None else picture).boards
    return photo_geometry(found, camera_prior(*SIZE))


def test_oblique_board_is_refused():
    result = geometry_of(homography(A4, height_mm=520.0, tilt_deg=66.0))
    assert isinstance(result, Refusal)
    assert result.reason == "board-too-oblique"


def test_tiny_board_is_refused():
    result = geometry_of(homography(A4, height_mm=2600.0, tilt_deg=5.0))
    assert isinstance(result, Refusal)
    assert result.reason == "board-too-small"


def test_pose_is_right():
    geometry = geometry_of(PLACE)
    assert geometry.reprojection_px < 0.15
    assert geometry.mm_per_px == pytest.approx(700 / FOCAL, rel=0.08)
