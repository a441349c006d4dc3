"""Real photos of printed sheets: a few markers give the scale, and distances between all the others must lie inside.

No lens profile, no Exif. The sheets and their licence: tests/photos/real/SOURCES.md.
"""

import itertools
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest

from verifier.board.definition import BoardDefinition, Chessboard, Marker
from verifier.vision.distance import distances
from verifier.vision.markers.find_board import find_boards
from verifier.vision.metric.camera import camera_prior

REAL = Path(__file__).parent / "real"
DICTIONARY = "DICT_6X6_250"


def charuco_sheet() -> BoardDefinition:
    library = cv2.aruco.CharucoBoard(
        (5, 7), 40, 20, cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    )
    markers = tuple(
        Marker(id=i, corners_mm=tuple((float(x), float(y)) for x, y, _ in c))
        for i, c in enumerate(library.getObjPoints())
    )
    return BoardDefinition(
        name="tutorial sheet",
        dictionary=DICTIONARY,
        thickness_mm=0,
        markers=markers,
        chessboard=Chessboard(squares=(5, 7), square_mm=40),
    )


def markers_sheet() -> BoardDefinition:
    """Top-left corner in pixels of the printed sheet and quarter turns of each marker, which is 200 px wide."""
    places = {
        40: (1264, 1237, 0),
        98: (1608, 919, 0),
        62: (491, 848, 2),
        23: (976, 445, 0),
        124: (1494, 243, 3),
        203: (391, 206, 0),
    }
    markers = []
    for marker_id, (x, y, turns) in places.items():
        square = np.roll(np.array([[x, y], [x + 200, y], [x + 200, y + 200], [x, y + 200]]), turns, axis=0)
        markers.append(Marker(id=marker_id, corners_mm=tuple(map(tuple, (square * 25.4 / 200).tolist()))))
    return BoardDefinition(
        name="markers sheet", dictionary=DICTIONARY, thickness_mm=0, markers=tuple(markers)
    )


def part_of(sheet: BoardDefinition, ids) -> BoardDefinition:
    return BoardDefinition(
        name="part",
        dictionary=sheet.dictionary,
        thickness_mm=0,
        markers=tuple(m for m in sheet.markers if m.id in ids),
    )


@cache
def photo(name):
    return cv2.imread(str(REAL / name), cv2.IMREAD_GRAYSCALE)


@cache
def points(name, sheet):
    """Points of the whole sheet: places on it and in the photo."""
    board = find_boards(photo(name), [sheet]).boards[0]
    return board.points_mm, board.points_px


def measured(name, sheet, ids, count=40, seed=3):
    mm, px = points(name, sheet)
    held_out = [
        k
        for k, p in enumerate(mm)
        if all(np.linalg.norm(p - m.corners_mm, axis=1).min() > 1 for m in part_of(sheet, ids).markers)
    ]
    pairs = [p for p in itertools.combinations(held_out, 2) if np.linalg.norm(mm[p[0]] - mm[p[1]]) > 20]
    pairs = [pairs[k] for k in np.random.default_rng(seed).permutation(len(pairs))[:count]]
    grey = photo(name)
    results = distances(
        grey,
        np.array([[px[a], px[b]] for a, b in pairs]),
        camera_prior(grey.shape[1], grey.shape[0]),
        definitions=[part_of(sheet, ids)],
    )
    truth = [np.linalg.norm(mm[a] - mm[b]) for a, b in pairs]
    return [(r, t) for r, t in zip(results, truth, strict=True)]


CASES = [
    *(
        (name, ids)
        for name in (
            "charuco_sheet.jpg",
            "charuco_sheet_2.jpg",
            "charuco_sheet_3.jpg",
            "charuco_sheet_turned.jpg",
        )
        for ids in ((1, 2, 3, 4), (12, 13, 15, 16), (5, 6, 7, 8, 9, 10, 11), (7, 8, 9))
    ),
    ("charuco_sheet_covered.jpg", (0, 1, 2, 3, 4, 5, 6)),
    *(("markers_sheet.jpg", ids) for ids in itertools.combinations((40, 98, 62, 23, 124, 203), 2)),
]


@cache
def all_results():
    return [
        (name, ids, measured(name, markers_sheet() if name == "markers_sheet.jpg" else charuco_sheet(), ids))
        for name, ids in CASES
    ]


def test_distances_between_markers_left_out_lie_inside_the_interval():
    given = [(r, t) for _, _, rows in all_results() for r, t in rows if r.distance_mm is not None]
    inside = [abs(r.distance_mm - t) <= r.expanded_uncertainty_mm for r, t in given]
    assert len(given) > 700
    assert np.mean(inside) >= 0.90


@pytest.mark.parametrize("sheet", ["charuco", "markers"])
def test_each_photo_by_itself(sheet):
    """Distances of one photo share their errors, so a single case may fall short of the overall share."""
    for name, ids, rows in all_results():
        given = [(r, t) for r, t in rows if r.distance_mm is not None]
        if name.startswith(sheet) and len(ids) > 1 and given:
            assert np.mean([abs(r.distance_mm - t) <= r.expanded_uncertainty_mm for r, t in given]) >= 0.7, (
                name,
                ids,
            )


def test_intervals_are_of_use():
    """Not held by being wide: with a handful of markers half of the intervals are below 1 % or 2 mm."""
    rows = [
        (r, t)
        for _, ids, rows in all_results()
        if len(ids) >= 7
        for r, t in rows
        if r.distance_mm is not None
    ]
    assert np.median([r.expanded_uncertainty_mm / max(t, 200) for r, t in rows]) < 0.01


def test_interval_grows_as_points_leave_the_board():
    mm, px = points("charuco_sheet_2.jpg", charuco_sheet())
    rows = [
        int(np.argmin(np.linalg.norm(mm - place, axis=1)))
        for place in ((40, 40), (160, 40), (40, 240), (160, 240))
    ]
    grey = photo("charuco_sheet_2.jpg")
    near, far = distances(
        grey,
        np.array([[px[rows[0]], px[rows[1]]], [px[rows[2]], px[rows[3]]]]),
        camera_prior(640, 480),
        definitions=[part_of(charuco_sheet(), (0, 1, 2, 3, 4))],
    )
    assert far.expanded_uncertainty_mm > 1.2 * near.expanded_uncertainty_mm


def refused(picture, sheet):
    found = find_boards(picture, [sheet])
    assert not found.boards
    return found.refusals[0].reason


def test_wrong_size_of_markers_is_refused():
    library = cv2.aruco.CharucoBoard(
        (5, 7), 40, 28, cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    )
    markers = tuple(
        Marker(id=i, corners_mm=tuple((float(x), float(y)) for x, y, _ in c))
        for i, c in enumerate(library.getObjPoints())
    )
    wrong = BoardDefinition(
        name="w",
        dictionary=DICTIONARY,
        thickness_mm=0,
        markers=markers,
        chessboard=Chessboard(squares=(5, 7), square_mm=40),
    )
    assert refused(photo("charuco_sheet.jpg"), wrong) == "markers-do-not-fit"


def test_other_dictionary_is_named():
    sheet = markers_sheet()
    other = BoardDefinition(
        name="o",
        dictionary="DICT_4X4_50",
        thickness_mm=0,
        markers=tuple(Marker(id=k, corners_mm=m.corners_mm) for k, m in enumerate(sheet.markers)),
    )
    assert refused(photo("markers_sheet.jpg"), other) == "unknown-dictionary"


def test_flipped_photo_is_refused():
    flipped = np.ascontiguousarray(photo("markers_sheet.jpg")[:, ::-1])
    assert refused(flipped, markers_sheet()) == "marker-mirrored"


def test_other_ids_are_another_board():
    assert refused(photo("markers_sheet.jpg"), part_of(charuco_sheet(), (0, 1, 2))) == "wrong-board"


def test_marker_pasted_in_twice_is_refused():
    picture = photo("markers_sheet.jpg").copy()
    corners = cv2.aruco.ArucoDetector(
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    ).detectMarkers(picture)
    marker = next(c for c, i in zip(corners[0], corners[1].ravel(), strict=True) if i == 40).reshape(4, 2)
    (x0, y0), (x1, y1) = (
        np.floor(marker.min(axis=0)).astype(int) - 6,
        np.ceil(marker.max(axis=0)).astype(int) + 6,
    )
    picture[y0:y1, 10 + 250 : 10 + 250 + x1 - x0] = picture[y0:y1, x0:x1]
    assert refused(picture, markers_sheet()) == "marker-twice"


def test_marker_out_of_its_place_is_refused():
    sheet = markers_sheet()
    moved = tuple(
        m if m.id != 98 else Marker(id=98, corners_mm=tuple((x + 12.0, y) for x, y in m.corners_mm))
        for m in sheet.markers
    )
    wrong = BoardDefinition(name="w", dictionary=DICTIONARY, thickness_mm=0, markers=moved)
    result = distances(
        photo("markers_sheet.jpg"),
        np.array([[[100.0, 100.0], [200.0, 200.0]]]),
        camera_prior(640, 480),
        definitions=[wrong],
    )[0]
    assert result.distance_mm is None
    assert result.refusals[0].reason in ("marker-out-of-plane", "marker-twice")
