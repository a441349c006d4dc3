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

from tests.scenes.scene import BLOCK, NEAR_LOWER, NEAR_UPPER, NONE, STRIDE, Scene, draw_scene

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
