"""The closer look at cover blocks, against the exact truth of rendered photos that no network was trained on."""

import json

import cv2
import numpy as np
import pytest
from photo_truth import RENDERED

from verifier.vision.labels import label_photo
from verifier.vision.supports import EVEN_CLOSER, blobs


def counted(name: str) -> tuple[int, int, int, int]:
    """Half-visible blocks, those of them told, patches told, patches told that show a block."""
    photo = np.asarray(
        cv2.imread(str(RENDERED / f"{name}.jpg"), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
    )
    truth = json.loads((RENDERED / f"{name}.json").read_text())["blocks"]
    labels = label_photo(photo)
    assert labels.blocks is not None
    told = [b for b in blobs(labels.of("block"), labels.px_per_cell) if b.confidence(EVEN_CLOSER) >= 0.5]

    def shows(centre: tuple[float, float], box: list[float]) -> bool:
        return box[0] <= centre[0] <= box[2] and box[1] <= centre[1] <= box[3]

    wanted = [b for b in truth if b["visible_fraction"] >= 0.5 and b["in_frame_share"] >= 0.7]
    found = sum(any(shows(t.centre_px, b["box_px"]) for t in told) for b in wanted)
    right = sum(any(shows(t.centre_px, b["box_px"]) for b in truth) for t in told)
    return len(wanted), found, len(told), right


def test_nearly_all_blocks_in_plain_light_are_told_and_little_else():
    wanted, found, told, right = np.sum([counted(n) for n in ("plain_0304", "plain_0305", "plain_0308")], 0)
    assert wanted >= 10
    assert found >= 0.9 * wanted
    assert right >= 0.85 * told


@pytest.mark.parametrize("value", [0, 128, 255])
def test_an_empty_picture_holds_no_block(value: int):
    labels = label_photo(np.full((480, 640, 3), value, np.uint8))
    assert labels.blocks is not None
    assert labels.of("block").shape == labels.centre.shape
    assert not blobs(labels.of("block"), labels.px_per_cell)
