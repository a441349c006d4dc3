"""The drawn scenes are what they claim to be: cameras project, labels lie where geometry says, a seed is a scene.

The expected values come from the pinhole model with radial distortion as OpenCV writes it (`cv2.projectPoints`), a
library outside the renderer.
"""

from __future__ import annotations

import ctypes
import math
import shutil
import subprocess

import cv2
import numpy as np
import pytest

from tests.scenes.laid_board import BoardPage, lay
from tests.scenes.scene import (
    BAR_NUMBER,
    BLOCK,
    BLOCK_NUMBER,
    NEAR_LOWER,
    NEAR_UPPER,
    NONE,
    OVER_RIBS,
    STRIDE,
    Scene,
    draw_scene,
)
from tests.scenes.truth import Seen, truth_of

pytestmark = pytest.mark.skipif(shutil.which("cc") is None, reason="the tracer needs a C compiler")


@pytest.fixture(scope="module")
def tracer():
    from tests.scenes import trace

    return trace.trace_here


def scene_of_one_bar() -> Scene:
    """Camera 1 m above, turned a little; one upper bar along x, one block under it."""
    scene = Scene(256, 192)
    tilt = math.radians(12)
    forward = np.array([math.sin(tilt), 0, -math.cos(tilt)])
    right = np.cross(forward, [0.3, 1.0, 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    centre = -forward * 1000.0
    scene.cam[:17] = [*centre, *right, *down, *forward, 220.0, 127.0, 95.0, -0.05, 0.02]
    scene.light[:14] = [0, 0, 1, 1, 1, 1, 0.3, 0.3, 0.3, 0, 0, 0, 0.005, 0.05]
    scene.deck[:19] = [3, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0, 0, 0, 5000, 5000, 0, 0, 3, 0.2, 2.0, 0, 0]
    grey = scene.material((0.2, 0.2, 0.2))
    scene.cylinder((-900, 40, 60), (900, 40, 60), 12.0, NEAR_UPPER, grey)
    scene.box((150, -150, 20), (25, 25, 20), BLOCK, grey)
    return scene


def project(scene: Scene, points: np.ndarray) -> np.ndarray:
    cam = np.asarray(scene.cam, np.float64)
    rotation = cam[3:12].reshape(3, 3)
    matrix = np.array([[cam[12], 0, cam[13]], [0, cam[12], cam[14]], [0, 0, 1]])
    lens = np.array([cam[15], cam[16], 0, 0])
    px, _ = cv2.projectPoints(points, cv2.Rodrigues(rotation)[0], -rotation @ cam[:3], matrix, lens)
    return px.reshape(-1, 2)


def test_a_bar_and_a_block_are_labelled_where_opencv_projects_them(tracer) -> None:
    scene = scene_of_one_bar()
    _, classes, cue = tracer(scene, samples=1)
    middle = classes[:, :, 4]
    axis = project(scene, np.stack([np.linspace(-400, 400, 60), np.full(60, 40.0), np.full(60, 60.0)], 1))
    cells = np.rint((axis - 0.5) / 2).astype(int)
    inside = (cells >= 0).all(1) & (cells[:, 0] < 128) & (cells[:, 1] < 96)
    assert inside.sum() > 30
    assert (middle[cells[inside, 1], cells[inside, 0]] == NEAR_UPPER).all()
    farthest = math.exp(
        -0.5 * (math.sqrt(2) / 1.6) ** 2
    )  # a cell whose middle is half a diagonal from the axis
    assert cue[cells[inside, 1], cells[inside, 0]].min() > farthest - 0.02
    x, y = np.rint((project(scene, np.array([[150.0, -150.0, 40.0]]))[0] - 0.5) / 2).astype(int)
    assert middle[y, x] == BLOCK


def test_the_cue_tells_the_distance_to_the_axis(tracer) -> None:
    scene = scene_of_one_bar()
    _, classes, cue = tracer(scene, samples=1)
    ends = project(scene, np.array([[-300.0, 40, 60], [300.0, 40, 60]]))
    rows, columns = np.nonzero((classes == NEAR_UPPER).any(-1))
    cells = np.stack([2 * columns + 0.5, 2 * rows + 0.5], 1)
    near = np.abs(cells[:, 0] - ends[:, 0].mean()) < 40
    along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    away = np.abs((cells - ends[0])[:, 0] * along[1] - (cells - ends[0])[:, 1] * along[0])
    expected = np.exp(-0.5 * (away / 1.6) ** 2)
    assert np.abs(cue[rows, columns] - expected)[near].max() < 0.12


def test_the_upper_bar_hides_the_lower_one(tracer) -> None:
    scene = scene_of_one_bar()
    scene.cylinder((0, -900, 36), (0, 900, 36), 12.0, NEAR_LOWER, 0)
    _, classes, _ = tracer(scene, samples=1)
    x, y = np.rint((project(scene, np.array([[0.0, 40.0, 60.0]]))[0] - 0.5) / 2).astype(int)
    assert classes[y, x, 4] == NEAR_UPPER
    x, y = np.rint((project(scene, np.array([[0.0, 150.0, 36.0]]))[0] - 0.5) / 2).astype(int)
    assert classes[y, x, 4] == NEAR_LOWER


def test_a_shadow_is_dark_and_stays_deck(tracer) -> None:
    scene = scene_of_one_bar()
    scene.light[:3] = [0, math.sin(math.radians(40)), math.cos(math.radians(40))]
    radiance, classes, _ = tracer(scene, samples=4)
    shift = 60 * math.tan(math.radians(40))
    x, y = np.rint(project(scene, np.array([[-200.0, 40 - shift, 0.0]]))[0]).astype(int)
    lit_x, lit_y = np.rint(project(scene, np.array([[-200.0, -150.0, 0.0]]))[0]).astype(int)
    assert radiance[y, x].mean() < 0.6 * radiance[lit_y, lit_x].mean()
    assert classes[y // 2, x // 2, 4] == NONE


def test_a_seed_is_a_scene() -> None:
    one, again, other = draw_scene(5), draw_scene(5), draw_scene(6)
    assert one.prims == again.prims
    assert one.prims != other.prims
    assert np.asarray(one.prims).shape[1] == STRIDE


def laid_in_a_scene(seed: int):
    scene = draw_scene(seed, width=2400, height=1800, with_board=False)
    points = np.array([[58.5, 51.0], [238.5, 159.0]])
    board = BoardPage(1, np.ones((2, 2), np.float32), (297.0, 210.0), 3.0, points)
    return scene, lay(scene, board, np.random.default_rng(seed))


@pytest.mark.parametrize("seed", [11, 12, 14])
def test_a_laid_board_rests_on_bars_and_none_pierces_it(seed: int) -> None:
    scene, laid = laid_in_a_scene(seed)
    above = []
    for bar in scene.bars:
        a, b = bar.points[:-1], bar.points[1:]
        axis = (a[:, None] + np.linspace(0, 1, 200)[:, None] * (b - a)[:, None]).reshape(-1, 3)
        own = (axis + np.array([0, 0, OVER_RIBS * bar.diameter / 2]) - laid.centre) @ laid.axes.T
        under = (np.abs(own[:, :2]) < [148.5, 105]).all(1)
        above += (own[under, 2] + 3.0).tolist()
    assert max(above) < 0.1
    assert max(above) > -0.1
    assert np.allclose(laid.axes @ laid.axes.T, np.eye(3), atol=1e-9)


def test_the_truth_lies_where_opencv_projects_it() -> None:
    scene, laid = laid_in_a_scene(11)
    nothing = np.zeros((scene.height, scene.width), np.int16)
    truth = truth_of(scene, laid, Seen(nothing, nothing, nothing, nothing[:10, :10], (1, 1, 9, 9)), 1)
    camera, board = truth["camera"], truth["board"]
    rotation, _ = cv2.Rodrigues(np.array(camera["R_world_to_camera"]))
    how = (rotation, np.array(camera["t_world_to_camera"]), np.array(camera["K"]), np.array(camera["dist"]))
    for bar in truth["bars"]:
        expected, _ = cv2.projectPoints(np.array(bar["axis_mm"]), *how)
        assert np.abs(expected.reshape(-1, 2) - bar["axis_px"]).max() < 0.03
    own = np.c_[np.array(board["points_texture_mm"]) - [148.5, 105], [0, 0]]
    turn, _ = cv2.Rodrigues(np.array(board["R_board_to_camera"]))
    expected, _ = cv2.projectPoints(own, turn, np.array(board["t_board_to_camera"]), how[2], how[3])
    assert np.abs(expected.reshape(-1, 2) - board["points_px"]).max() < 0.01


def numbers_seen(scene: Scene, column: int, cam: np.ndarray, side: int) -> tuple[np.ndarray, np.ndarray]:
    """Numbers in a column of the primitives that a view shows, and would show if nothing else were there."""
    from tests.scenes.trace import Windows, trace_windows_here

    prims = np.asarray(scene.prims, np.float32)
    prims[:, BLOCK_NUMBER] = prims[:, column]
    windows = Windows(prims, np.array([[0, len(prims)]], np.int32), cam[None].astype(np.float32))
    _, seen, alone = trace_windows_here(scene, windows, side=side, samples=0, seed=1)
    return seen[0], alone[0]


def test_the_truth_knows_what_hides_a_bar_and_what_the_frame_cuts_off() -> None:
    scene = draw_scene(28, width=480, height=360, with_board=False)
    board = BoardPage(1, np.ones((2, 2), np.float32), (297.0, 210.0), 3.0, np.zeros((1, 2)))
    laid = lay(scene, board, np.random.default_rng(28))
    wide, high = scene.width, scene.height
    cam = np.asarray(scene.cam, np.float64)
    bars, _ = numbers_seen(scene, BAR_NUMBER, cam, 480)
    blocks, alone = numbers_seen(scene, BLOCK_NUMBER, cam, 480)
    around = cam.copy()
    around[12] /= 4
    around[13:15] = (cam[13:15] + 240 - 1.5) / 4
    _, far = numbers_seen(scene, BLOCK_NUMBER, around, 240)
    frame = (60, 60, 60 + wide // 4, 60 + high // 4)
    seen = Seen(blocks[:high, :wide], alone[:high, :wide], bars[:high, :wide], far, frame)
    truth = truth_of(scene, laid, seen, 1)
    outline = np.array(truth["board"]["corners_px"], np.float32)
    under = shown = 0
    for bar in truth["bars"]:
        inside = [cv2.pointPolygonTest(outline, point, True) for point in bar["axis_px"]]
        hidden = [v for d, v in zip(inside, bar["axis_visible"], strict=True) if d > 2]
        assert not any(hidden)
        under += len(hidden)
        if bar["family"].endswith("upper") and not bar["lapped"]:
            shown += bar["visible_fraction"] > 0.7
    assert under > 10
    assert shown > 2
    assert len(truth["blocks"]) > 3
    for block in truth["blocks"]:
        x0, y0, x1, y1 = block["box_px"]
        whole = min(x0, y0, wide - x1, high - y1) > 4
        assert block["in_frame_share"] == 1 if whole else block["in_frame_share"] <= 1
        assert 0 <= block["visible_fraction"] <= 1


def test_true_gaps_follow_the_drawn_spacing_but_for_what_is_wrong() -> None:
    scene, laid = laid_in_a_scene(11)
    nothing = np.zeros((scene.height, scene.width), np.int16)
    truth = truth_of(scene, laid, Seen(nothing, nothing, nothing, nothing[:10, :10], (1, 1, 9, 9)), 1)
    for family in truth["nominal"]["families"].values():
        gaps = [gap["gap_mm"] for gap in family["at_stations"][1]["gaps"] if not gap["lapped"]]
        assert abs(np.median(gaps) / family["nominal_spacing_mm"] - 1) < 0.12
        assert family["board_plane_above_axis_mm"] > 3


def test_one_source_compiles_without_warnings_that_hide_mistakes(tmp_path) -> None:
    from tests.scenes.trace import SOURCE

    target = tmp_path / "tracer.so"
    done = subprocess.run(
        [
            "cc",
            "-O1",
            "-Wall",
            "-Wno-unused-function",
            "-Werror",
            "-shared",
            "-fPIC",
            "-o",
            str(target),
            str(SOURCE),
            "-lm",
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert ctypes.CDLL(str(target)).render


def test_scenes_and_network_mean_the_same_classes() -> None:
    from tests.scenes import scene
    from verifier.vision import labels

    assert scene.CLASSES == labels.CLASSES
