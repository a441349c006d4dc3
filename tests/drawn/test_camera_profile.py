"""A camera profile from drawn board photos: right within its own doubt, matched by Exif alone, and worth having."""

from dataclasses import dataclass

import numpy as np
import pytest
from drawn_views import SIZE_PX, Level, draw

from verifier.errors import BadInput, Refusal
from verifier.vision.metric.calibrate import calibrate_views, read_profile
from verifier.vision.metric.fit_model import fit_model
from verifier.vision.metric.geometry import PhotoGeometry
from verifier.vision.metric.model_priors import MatPrior

FLAT = MatPrior(board_tilt_u_rad=0.002, height_u_mm=0.3, sag_u_mm=0.5)
CAMERA_SEED = 11


@dataclass(frozen=True)
class Claims:
    make: str | None = "maker-1"
    model: str | None = "camera-1"
    lens: str | None = None
    focal_length_mm: float | None = 5.4
    focal_length_35mm: float | None = 26.0
    focal_plane_px_per_mm: tuple[float, float] | None = None
    width_px: int | None = None
    digital_zoom: float | None = None


class OneCamera:
    """Draws the camera of a level always alike, all else anew."""

    def __init__(self, seed):
        self.camera, self.rest, self.drawn = (
            np.random.default_rng(CAMERA_SEED),
            np.random.default_rng(seed),
            0,
        )

    def normal(self, *args):
        self.drawn += 1
        # The first four draws of a view are focal length, principal point, k1 and k2.
        return (self.camera if self.drawn <= 4 else self.rest).normal(*args)

    def uniform(self, *args):
        return self.rest.uniform(*args)


LEVEL = Level(noise_px=0.1, from_board_mm=(500.0, 900.0), height_mm=1200.0, mat=FLAT)


@pytest.fixture(scope="module")
def profile():
    close = Level(noise_px=0.1, height_mm=380.0, tilt_deg=(5.0, 35.0), mat=FLAT)
    views = [draw(close, OneCamera(seed)).board for seed in range(14)]
    made = calibrate_views(views, SIZE_PX, Claims())
    assert not isinstance(made, Refusal)
    return made


def test_profile_is_right_within_its_doubt(profile):
    matrix, lens = draw(LEVEL, OneCamera(99)).true_camera
    assert abs(profile.focal_px / matrix[0, 0] - 1) < 3 * profile.focal_u
    assert np.abs(np.array(profile.centre_px) - matrix[:2, 2]).max() < 3 * profile.centre_u_px
    assert abs(profile.k[0] - lens[0]) < 3 * profile.k_u[0]


def test_profile_makes_distances_far_from_the_board_better(profile):
    errors = {"without": [], "with": []}
    for seed in range(100, 125):
        view = draw(LEVEL, OneCamera(seed))
        for name, camera in (("without", view.camera), ("with", profile.prior(*SIZE_PX))):
            geometry = PhotoGeometry(
                fit_model((view.board,), camera, view.print_scale), (view.board,), camera, view.print_scale
            )
            ends = geometry.to_plane_mm(view.pairs_px.reshape(-1, 2), LEVEL.depth_mm).reshape(-1, 2, 2)
            errors[name].append(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) - view.true_mm)
    without, with_profile = (np.abs(np.concatenate(errors[n])).mean() for n in ("without", "with"))
    assert with_profile < 0.8 * without


def test_profile_is_used_only_where_exif_names_the_same_camera(profile):
    assert profile.fits(Claims(), 4000, 3000)
    assert profile.fits(Claims(), 3000, 4000)
    assert not profile.fits(Claims(model="camera-2"), 4000, 3000)
    assert not profile.fits(Claims(focal_length_mm=2.2), 4000, 3000)
    assert not profile.fits(Claims(digital_zoom=2.0), 4000, 3000)
    assert not profile.fits(Claims(), 2000, 1500)
    assert not profile.fits(None, 4000, 3000)


def test_profile_is_kept_as_toml(profile, tmp_path):
    path = tmp_path / "camera-1.toml"
    path.write_text(profile.to_toml())
    assert read_profile(path) == profile
    path.write_text(profile.to_toml().replace("focal_px", "focal_pixels"))
    with pytest.raises(BadInput, match="focal_pixels"):
        read_profile(path)


def test_few_or_like_views_are_refused():
    board = draw(LEVEL, OneCamera(1)).board
    assert calibrate_views([board] * 3, SIZE_PX).reason == "too-few-photos"
    straight = [
        draw(Level(tilt_deg=(0.0, 2.0), noise_px=0.05, mat=FLAT), OneCamera(s)).board for s in range(9)
    ]
    assert calibrate_views(straight, SIZE_PX).reason == "views-alike"
