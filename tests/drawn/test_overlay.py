"""The picture of a measurement: its size, free labels, reasons told, any script, the same bytes each time."""

from __future__ import annotations

import itertools

import cv2
import numpy as np
import pytest

from verifier.vision.photo_measurement import (
    Bar,
    BoardSeen,
    Gap,
    Layer,
    Method,
    PhotoFacts,
    PhotoMeasurement,
    RefusedStretch,
    Region,
    Saying,
    Support,
)
from verifier.vision.pictures import overlay, overlay_gaps, overlay_legend
from verifier.vision.pictures.label_places import Ground, overlapping, turned_box
from verifier.vision.pictures.overlay import draw_overlay, draw_rectified
from verifier.vision.pictures.overlay_gaps import gap_text
from verifier.vision.pictures.overlay_text import plate_size, printable, wrapped

PHOTO = np.full((900, 1200, 3), 120, np.uint8)
METHOD = Method(version="test", labels="none")


def layer(position: str, mat: str, step: float, *, upright: bool) -> Layer:
    """Six bars, 1 px = 1 mm, with their gaps; the middle one refused."""

    def line(u0: float, v0: float, u1: float, v1: float):
        return ((v0, u0), (v1, u1)) if upright else ((u0, v0), (u1, v1))

    bars = tuple(
        Bar(line_px=line(100, 100 + step * k, 800, 100 + step * k), offset_mm=step * k) for k in range(6)
    )
    gaps = tuple(
        Gap(
            bars=(k, k + 1),
            value_mm=step,
            expanded_uncertainty_mm=2.0,
            line_px=line(450, 100 + step * k, 450, 100 + step * (k + 1)),
            from_board_mm=100.0,
        )
        for k in (0, 1, 3, 4)
    )
    outline = line(100, 100 + 2 * step, 800, 100 + 2 * step) + line(800, 100 + 3 * step, 100, 100 + 3 * step)
    refused = (RefusedStretch(outline_px=outline, bars=(2, 3), reason="edges-unclear", say="Look."),)
    return Layer(
        position=position,
        mat=mat,
        direction_deg=90.0 if upright else 0.0,
        bars=bars,
        gaps=gaps,
        refused=refused,
    )


def measured(**changed) -> PhotoMeasurement:
    whole = {
        "photo": PhotoFacts(name="Decke süd 板.jpg", sha256="0" * 64, width_px=1200, height_px=900),
        "usable": True,
        "board": BoardSeen(
            number=1,
            tilt_deg=12.0,
            mm_per_px=1.0,
            reprojection_px=0.1,
            corners_px=((400, 350), (610, 350), (610, 498), (400, 498)),
        ),
        "layers": (layer("upper", "only", 140, upright=True), layer("lower", "only", 110, upright=False)),
        "cover_blocks": (Support(box_px=(700, 700, 40, 30), confidence=0.9),),
        "chairs": (Support(box_px=(900, 100, 40, 60), confidence=0.9),),
        "regions": (Region(kind="conduit", box_px=(20, 20, 900, 300), confidence=0.8),),
        "reach_mm": 400.0,
        "centre_mm": (0.0, 0.0),
        "mat_to_px": (1.0, 0, 505.0, 0, 1.0, 424.0, 0, 0, 1.0),
        "method": METHOD,
    }
    return PhotoMeasurement(**{**whole, **changed})


def refused() -> PhotoMeasurement:
    why = (Saying(reason="no-board", say="No scale board was found. Lay it flat on the upper bars."),)
    return measured(usable=False, refusals=why, board=None, layers=(), reach_mm=None, mat_to_px=None)


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every text that is put on a picture."""
    texts: list[str] = []
    put = overlay.put_text

    def note(canvas, text, *rest, **more):
        texts.append(text)
        put(canvas, text, *rest, **more)

    for part in (overlay, overlay_gaps, overlay_legend):
        monkeypatch.setattr(part, "put_text", note)
    return texts


@pytest.mark.parametrize("width", [390, 900, 1560])
def test_the_picture_has_the_width_asked_and_holds_the_whole_photo(width):
    picture = draw_overlay(PHOTO, measured(), width)
    assert picture.shape[1] == width
    assert picture.shape[0] > width * 900 / 1200
    assert picture.dtype == np.uint8


def test_the_view_from_above_is_square_and_absent_without_a_plane():
    seen = draw_rectified(PHOTO, measured(), width_px=800)
    assert seen is not None
    assert seen.shape == (800, 800, 3)
    assert draw_rectified(PHOTO, refused()) is None


def test_every_gap_is_written_once(written):
    draw_overlay(PHOTO, measured())
    values = [gap_text(gap) for seen in measured().layers for gap in seen.gaps]
    assert sorted(t for t in written if t in values) == sorted(values)


def test_labels_touch_neither_each_other_nor_the_board(monkeypatch):
    grounds: list[Ground] = []

    class Watched(Ground):
        def __init__(self, size):
            super().__init__(size)
            grounds.append(self)

    monkeypatch.setattr(overlay, "Ground", Watched)
    draw_overlay(PHOTO, measured())
    closed = grounds[0].closed
    assert len(closed) == 1 + 8 + 2  # the board, the gaps, the hatched stretches
    masks = []
    for corners in closed:
        mask = np.zeros((1170, 1560), np.uint8)
        cv2.fillConvexPoly(mask, np.rint(corners).astype(np.int32), 1)
        masks.append(cv2.erode(mask, np.ones((3, 3), np.uint8)))
    for one, other in itertools.combinations(masks, 2):
        assert not (one & other).any()


def test_overlap_agrees_with_opencv_on_turned_boxes():
    """The intersection of turned rectangles by OpenCV (rotatedRectangleIntersection) is the reference."""
    draw = np.random.default_rng(7)
    hits = 0
    for _ in range(300):
        boxes = [(draw.uniform(0, 100, 2), draw.uniform(5, 60, 2), draw.uniform(-90, 90)) for _ in range(2)]
        (a, b) = (turned_box(tuple(c), tuple(s), float(t)) for c, s, t in boxes)
        kind, region = cv2.rotatedRectangleIntersection(
            *((tuple(map(float, c)), tuple(map(float, s)), float(t)) for c, s, t in boxes)
        )
        shared = (
            0.0 if kind == cv2.INTERSECT_NONE or region is None else cv2.contourArea(cv2.convexHull(region))
        )
        if shared == 0.0 or shared > 0.5:
            assert bool(overlapping(a, [b])[0]) == (shared > 0.0)
            hits += shared > 0.0
    assert 50 < hits < 250


def test_a_label_goes_where_it_is_free_and_stays_away_where_nothing_is():
    ground = Ground((100, 100))
    box = turned_box((50, 50), (40, 20), 0.0)
    aside = turned_box((50, 80), (40, 20), 0.0)
    outside = turned_box((95, 50), (40, 20), 0.0)
    assert ground.take([box]) == 0
    assert ground.take([box, outside, aside]) == 2
    assert ground.take([box, outside, aside]) is None


def test_a_refused_photo_tells_the_reason_and_what_to_do(written):
    picture = draw_overlay(PHOTO, refused())
    told = " ".join(written)
    assert "NOT MEASURED" in told
    assert "no board: No scale board was found. Lay it flat on the upper bars." in told
    assert not np.array_equal(picture[: PHOTO.shape[0]], cv2.resize(PHOTO, (1560, 1170))[: PHOTO.shape[0]])


def test_a_hatched_stretch_is_numbered_and_explained(written):
    draw_overlay(PHOTO, measured())
    assert "not measured: edges unclear (2)" in written
    assert sum(t in ("1", "1 edges unclear") for t in written) == 3  # both stretches and the legend


def test_any_name_can_be_drawn(written):
    strange = Saying(reason="no-board", say="Größe 板 Ω \udc80 \n\x00 " + "ohne" * 80)
    picture = draw_overlay(PHOTO, refused().model_copy(update={"refusals": (strange,)}), 390)
    assert picture.shape[1] == 390
    assert "\x00" not in printable(strange.say)
    assert printable("gap 150 ± 2 mm at 28°\n") == "gap 150 ± 2 mm at 28°"
    assert printable("Decke süd – 2 × 4 ≤ 9") == "Decke sud - 2 x 4 <= 9"
    assert printable("板\udc80") == "??"


def test_no_line_of_text_is_wider_than_its_room():
    for width in (120, 300, 900):
        lines = wrapped("top mat, lower layer: 9 bars, mean 296.8 mm, " + "x" * 100, 30, width)
        assert all(plate_size(line, 30)[0] <= width + 12 for line in lines)
        assert "".join(lines).count("x") == 100


def test_the_same_measurement_gives_the_same_picture():
    assert np.array_equal(draw_overlay(PHOTO, measured()), draw_overlay(PHOTO, measured()))
