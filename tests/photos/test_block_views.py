"""Cover blocks in views along the bars, against the exact truth of rendered photos that no network was trained on."""

import json
from dataclasses import dataclass

import cv2
import numpy as np
import pytest
from photo_truth import RENDERED

from verifier.vision.halves import Halves
from verifier.vision.measure import measure_file
from verifier.vision.supports.block_views import Hints, see_blocks


def counted(name: str) -> tuple[int, int, int, int]:
    """Half-visible blocks, those of them told, blocks told, those told that show a block."""
    truth = json.loads((RENDERED / f"{name}.json").read_text())
    # Pixels of the truth are those of the stored photo, pixels of a measurement those of the upright one.
    back = np.linalg.inv(np.vstack([truth["stored_to_upright"], [0, 0, 1]]))
    measured = measure_file((RENDERED / f"{name}.jpg").read_bytes(), f"{name}.jpg")
    told = []
    for block in measured.cover_blocks:
        if block.confidence >= 0.5:
            x, y, w, h = block.box_px
            told.append((back @ [x + w / 2, y + h / 2, 1])[:2])

    def shows(at: np.ndarray, box: list[float]) -> bool:
        return bool(box[0] <= at[0] <= box[2] and box[1] <= at[1] <= box[3])

    wanted = [b for b in truth["blocks"] if b["visible_fraction"] >= 0.5 and b["in_frame_share"] >= 0.7]
    found = sum(any(shows(t, b["box_px"]) for t in told) for b in wanted)
    right = sum(any(shows(t, b["box_px"]) for b in truth["blocks"]) for t in told)
    return len(wanted), found, len(told), right


def test_nearly_all_blocks_in_plain_light_are_told_and_little_else():
    wanted, found, told, right = np.sum([counted(n) for n in ("plain_0304", "plain_0305", "plain_0308")], 0)
    assert wanted >= 10
    assert found >= 0.9 * wanted
    assert right >= 0.85 * told


def test_where_light_is_hard_what_the_first_look_leaves_unsure_is_told_by_the_second():
    names = ("site_0304", "site_0307", "hard_0303", "hard_0310")
    wanted, found, told, right = np.sum([counted(n) for n in names], 0)
    assert wanted >= 25
    assert found >= 0.8 * wanted
    assert right >= 0.85 * told


@dataclass(frozen=True)
class FromAbove:
    """A camera straight above: a pixel is half a millimetre everywhere."""

    def to_plane_mm(self, px: np.ndarray, height_below_face_mm: float) -> np.ndarray:
        return np.asarray(px, float) / 2.0

    def to_px(self, mm: np.ndarray, height_below_face_mm: float) -> np.ndarray:
        return np.asarray(mm, float) * 2.0


def looked_at(photo: np.ndarray, hint: float):
    likely = np.zeros((120, 160), np.float32)
    likely[58:63, 78:83] = hint
    return see_blocks(
        Halves.of(np.asarray(photo, np.uint8)),
        Hints(likely, (10.0, 10.0)),
        FromAbove(),
        direction_rad=0.3,
        depth_mm=0.0,
    )


@pytest.mark.parametrize("value", [0, 128, 255])
def test_an_empty_picture_holds_no_block_whatever_the_labels_say(value: int):
    seen = looked_at(np.full((1200, 1600, 3), value), 0.9)
    assert all(block.chance < 0.5 for block in seen)


def test_a_grey_cube_under_a_dark_bar_is_seen_where_it_stands():
    c, s = np.cos(0.3), np.sin(0.3)
    middle = np.array([805.0, 605.0])
    shadow = np.array([26.0, 22.0])
    along, across = np.array([c, s]), np.array([-s, c])

    def quad(at, half_along, half_across):
        corners = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
        return np.array([at + a * half_along * along + b * half_across * across for a, b in corners]).astype(
            np.int32
        )

    photo = np.full((1200, 1600, 3), (90, 120, 150), np.uint8)
    photo += np.random.default_rng(1).integers(0, 12, photo.shape, np.uint8)
    cv2.fillPoly(photo, [quad(middle + shadow, 40, 40)], (35, 45, 55))
    cv2.fillPoly(photo, [quad(middle, 40, 40)], (185, 190, 195))
    cv2.fillPoly(photo, [quad(middle, 1500, 10)], (55, 60, 75))
    best = looked_at(photo, 0.9)[0]
    assert best.chance > 0.5
    assert np.hypot(*(np.array(best.middle_mm) * 2.0 - middle)) < 30
    assert 25 <= best.size_mm <= 65


def test_where_the_labels_see_nothing_nothing_is_looked_at():
    assert looked_at(np.full((1200, 1600, 3), 128), 0.0) == ()
