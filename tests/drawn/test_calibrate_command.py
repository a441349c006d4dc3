"""From drawn board photos to a stored camera profile, and from there into measurements, distances and a pour's record."""

from __future__ import annotations

import hashlib
import json
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from test_board_search import FOCAL, homography, picture_of

from verifier.board.standing import standing_board
from verifier.cli import main
from verifier.pipeline.measurement.measuring import Settings
from verifier.pipeline.measurement.settings import settings_of
from verifier.pipeline.sealing.recording import measured_again
from verifier.record.ledger import Ledger
from verifier.vision.metric.calibrate import profile_of, read_profile

A4 = standing_board("A4", 1)
SAMPLE = Path(__file__).parents[2] / "sample_images"
MODEL, FOCAL_LENGTH, ORIENTATION = 0x0110, 0x920A, 0x0112
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run one command in this process: exit code, stdout, stderr."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    monkeypatch.setenv("COLUMNS", "200")

    def call(*arguments: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["verifier", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        code = ended.value.code
        return (code if isinstance(code, int) else 0 if code is None else 1), told.out, told.err

    return call


def write(path, picture, *, model="camera-1", orientation=1):
    """A photo as its camera would write it: stored as the sensor saw it, with the turn in Exif."""
    tags = Image.Exif()
    if model is not None:
        tags[MODEL] = model
    tags[ORIENTATION] = orientation
    tags.get_ifd(0x8769)[FOCAL_LENGTH] = 5.4
    path.parent.mkdir(parents=True, exist_ok=True)
    Image.fromarray(cv2.cvtColor(picture, cv2.COLOR_GRAY2RGB)).save(path, quality=95, exif=tags)
    return path


@pytest.fixture(scope="module")
def views():
    """Ten board photos from both sides, turned and moved about, of a pinhole camera of ``FOCAL`` pixels."""
    rng = np.random.default_rng(5)
    made = []
    for k in range(10):
        pose = homography(
            A4,
            height_mm=rng.uniform(420, 560),
            tilt_deg=(-1) ** k * rng.uniform(12, 28),
            spin_deg=36.0 * k,
            at_mm=tuple(rng.uniform(-50, 50, 2)),
        )
        made.append(picture_of((A4, pose), seed=k))
    return made


@pytest.fixture(scope="module")
def session(views, tmp_path_factory):
    """The folder of their files; some were taken with the phone held on end."""
    folder = tmp_path_factory.mktemp("board_photos")
    for k, view in enumerate(views):
        write(folder / f"{k}.jpg", view, orientation=6 if k % 3 == 0 else 1)
    return folder


def test_profile_is_right_and_serves_photos_of_the_same_camera_only(run: Run, session, views, tmp_path):
    code, out, err = run("calibrate", session)
    assert code == 0, err
    assert "camera-1" in out
    (file,) = (tmp_path / "settings" / "verifier" / "cameras").glob("*.toml")
    profile = read_profile(file)
    assert abs(profile.focal_px / FOCAL - 1) < 3 * profile.focal_u
    assert np.abs(np.array(profile.centre_px) - [799.5, 599.5]).max() < 3 * profile.centre_u_px
    assert abs(profile.k[0]) < 3 * profile.k_u[0]

    same, other = write(tmp_path / "a.jpg", views[3]), write(tmp_path / "b.jpg", views[3], model="camera-2")
    first, second = (json.loads(line) for line in run("measure", "--json", same, other)[1].splitlines())
    assert first["method"]["parameters"]["camera"] == profile.title
    assert "camera" not in second["method"]["parameters"]
    assert profile.title in run("measure", same)[1]

    # On the board the ends of a long line are known better with the lens known.
    points = ("--points", "420,300", "1180,900", "--json")
    ours, theirs = (json.loads(run("distance", photo, *points)[1]) for photo in (same, other))
    assert ours["camera"] == profile.title
    assert theirs["camera"] is None
    assert ours["expanded_uncertainty_mm"] < theirs["expanded_uncertainty_mm"]


def test_a_pour_carries_the_profile_and_its_record_can_be_measured_again(run: Run, session, views, tmp_path):
    pour = tmp_path / "pour"
    pour.mkdir()
    for name in ("pour.toml", "boards.toml"):
        shutil.copy(SAMPLE / name, pour / name)
    bare = settings_of(pour).mark
    assert bare == Settings(checks=settings_of(pour).checks).mark
    assert run("calibrate", session)[0] == 0
    assert settings_of(pour).mark == bare, "what lies in a user's settings must not change a pour by itself"

    photo = write(tmp_path / "spot.jpg", views[3])
    code, out, err = run("add", pour, photo)
    assert code == 0, err
    assert "profile of camera-1" in out + err
    (carried,) = settings_of(pour).cameras
    assert settings_of(pour).mark != bare

    ledger = Ledger.open(pour)
    (body,) = (r.body for r in ledger.records("measurement"))
    ledger.close()
    assert body["settings"] == settings_of(pour).mark
    assert [profile_of(text, "record") for text in body["cameras"]] == [carried]
    data = photo.read_bytes()
    assert hashlib.sha256(data).hexdigest() == body["sha256"]
    again = measured_again(data, [body])
    assert (again.differences, again.not_compared) == ((), ())
    assert measured_again(data, [{**body, "cameras": []}]).differences, (
        "without its profile another result must come out"
    )


def test_kept_where_asked(run: Run, session, tmp_path):
    assert run("calibrate", session, "--out", tmp_path / "profiles")[0] == 0
    assert len(list((tmp_path / "profiles").glob("*.toml"))) == 1
    assert not (tmp_path / "settings" / "verifier" / "cameras").exists()
    code, _, err = run("calibrate", session, "--pour", tmp_path / "no-pour")
    assert code == 2
    assert "pour.toml" in err
    code, _, err = run("calibrate", session, "--pour", tmp_path, "--out", tmp_path)
    assert code == 2
    assert "Two places" in err


def _few(folder, views):
    for k in range(3):
        write(folder / f"{k}.jpg", views[k])


def _alike(folder, views):
    for k in range(9):
        pose = homography(A4, height_mm=500.0 + 5 * k, tilt_deg=1.0, spin_deg=40.0 * k)
        write(folder / f"{k}.jpg", picture_of((A4, pose), seed=k))


def _sizes(folder, views):
    for k in range(9):
        write(folder / f"{k}.jpg", views[k] if k else cv2.resize(views[k], (800, 600)))


def _unnamed(folder, views):
    for k in range(9):
        write(folder / f"{k}.jpg", views[k], model=None)


def _two_cameras(folder, views):
    for k in range(9):
        write(folder / f"{k}.jpg", views[k], model=f"camera-{k % 2}")


def _on_end(folder, views):
    for k in range(9):
        write(folder / f"{k}.jpg", np.ascontiguousarray(np.rot90(views[k])))


@pytest.mark.parametrize(
    ("take", "reason"),
    [
        (_few, "too-few-photos"),
        (_alike, "views-alike"),
        (_sizes, "sizes-differ"),
        (_unnamed, "camera-unnamed"),
        (_two_cameras, "cameras-differ"),
        (_on_end, "on-end"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_photos_that_give_no_profile_are_refused_with_the_reason(run: Run, views, tmp_path, take, reason):
    take(tmp_path / "photos", views)
    code, out, err = run("calibrate", tmp_path / "photos")
    assert (code, out) == (2, "")
    assert f"refused ({reason})" in err
    assert not (tmp_path / "settings" / "verifier" / "cameras").exists()


def test_a_profile_that_was_spoilt_is_told_with_its_file(run: Run, session, views, tmp_path):
    assert run("calibrate", session)[0] == 0
    (file,) = (tmp_path / "settings" / "verifier" / "cameras").glob("*.toml")
    file.write_text(file.read_text().replace("focal_px", "focal"))
    code, _, err = run("measure", write(tmp_path / "a.jpg", views[3]))
    assert code == 2
    assert file.name in err
    assert "Calibrate" in err
