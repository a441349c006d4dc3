"""Camera profiles: made from board photos, kept as files, carried along by the pours whose photos they fit.

FOLDER/cameras/*.toml of a pour serves that pour; the cameras folder in the user's settings serves photos measured alone
and fills the pours. So the numbers of a pour never depend on the machine that reads it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from verifier.drawing.read import read_pour
from verifier.errors import BadInput, Refusal
from verifier.photo.exif import ExifClaims
from verifier.photo.intake import Intake
from verifier.record.keys import settings_folder

if TYPE_CHECKING:
    from verifier.board.definition import BoardDefinition
    from verifier.vision.markers.corners import Grey
    from verifier.vision.metric.calibrate import CameraProfile

CAMERAS_FOLDER = "cameras"
UPSIDE_DOWN = 3
"""Exif orientation of a photo taken with the camera turned by half a turn."""


def cameras_of_user() -> Path:
    """Folder of this user's camera profiles."""
    return settings_folder() / CAMERAS_FOLDER


def cameras_of_pour(pour: Path) -> Path:
    """Folder of a pour's camera profiles.

    Args:
        pour: The pour folder.

    Returns:
        The folder, which need not exist.
    """
    return pour / CAMERAS_FOLDER


def cameras_folder(out: Path | None, pour: Path | None) -> Path:
    """Where a new profile is to be kept.

    Args:
        out: A folder as given.
        pour: A pour folder as given.

    Returns:
        The folder; that of this user where neither is given.

    Raises:
        BadInput: If both are given, or the pour folder is none.
    """
    if out is not None and pour is not None:
        raise BadInput("Two places were given.", where="--out, --pour", todo="Give one of them.")
    if pour is not None:
        read_pour(pour)
        return cameras_of_pour(pour)
    return cameras_of_user() if out is None else out


def cameras_in(folder: Path) -> tuple[CameraProfile, ...]:
    """Read all profiles of a folder.

    Args:
        folder: Folder of ``*.toml`` files; none where it is absent.

    Returns:
        The profiles, by file name.

    Raises:
        BadInput: If one of them can't be used; it names the file.
    """
    files = sorted(folder.glob("*.toml"))
    if not files:
        return ()
    from verifier.vision.metric.calibrate import read_profile  # loads large libraries

    return tuple(read_profile(path) for path in files)


def keep_camera(profile: CameraProfile, folder: Path) -> Path:
    """Write a profile; an older one of the same camera, lens and size is replaced.

    Args:
        profile: The profile.
        folder: Where; made if absent.

    Returns:
        The file.

    Raises:
        BadInput: If the place can't be written.
    """
    named = (profile.make, profile.model, profile.lens, profile.focal_length_mm)
    words = [str(w) for w in (*named, profile.long_px, profile.short_px) if w is not None]
    path = folder / (re.sub(r"[^a-z0-9.]+", "-", " ".join(words).lower()).strip("-.") + ".toml")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(profile.to_toml(), encoding="utf-8")
    except OSError as error:
        raise BadInput(
            f"The profile can't be written ({error.strerror}).", where=str(path), todo="Choose another place."
        ) from error
    return path


def carry_cameras(pour: Path, intakes: Iterable[Intake]) -> None:
    """Copy this user's profiles that fit a photo of a pour into the pour, where it has none that fits.

    Args:
        pour: The pour folder.
        intakes: Photos of the pour.

    Raises:
        BadInput: If a profile can't be read or written.
    """
    own = cameras_in(cameras_of_user())
    if not own:
        return
    has = list(cameras_in(cameras_of_pour(pour)))
    for intake in intakes:
        size = intake.upright_size_px
        if any(p.fits(intake.claims, *size) for p in has):
            continue
        fitting = next((p for p in own if p.fits(intake.claims, *size)), None)
        if fitting is not None:
            keep_camera(fitting, cameras_of_pour(pour))
            has.append(fitting)


def calibrate_camera(
    photos: Sequence[Path], boards: tuple[BoardDefinition, ...] = ()
) -> CameraProfile | Refusal:
    """Calibrate a camera from photo files of one flat board.

    Args:
        photos: The files, as the camera wrote them.
        boards: Boards to look for; the built-in ones when empty.

    Returns:
        The profile, or why it can't be had.

    Raises:
        BadInput: If a file is no readable photo.
    """
    from verifier.vision.metric.calibrate import calibrate  # loads large libraries

    read = [_as_the_sensor_saw(path) for path in photos]
    claims = [claim for _, claim in read]
    named = {(c.make, c.model, c.lens, c.focal_length_mm) for c in claims}
    if any(c.model is None for c in claims):
        unnamed = next(path.name for path, c in zip(photos, claims, strict=True) if c.model is None)
        return Refusal(
            "camera-unnamed",
            f"{unnamed} does not say which camera took it, so a profile could never be matched. Use the files as the camera wrote them, not copies from a messenger.",
        )
    if len(named) > 1:
        return Refusal(
            "cameras-differ",
            f"The photos are from {len(named)} cameras or lenses. Calibrate each by itself, without changing the lens or zooming.",
        )
    if any((c.digital_zoom or 1.0) != 1.0 for c in claims):
        return Refusal("zoomed", "A photo was zoomed. Take all photos without zoom.")
    return calibrate([grey for grey, _ in read], boards, claims[0] if claims else None)


def _as_the_sensor_saw(path: Path) -> tuple[Grey, ExifClaims]:
    """Brightness of a photo as it was before it was turned upright, and what its file says."""
    import cv2
    import numpy as np

    from verifier.photo.exif import claims_of
    from verifier.photo.exif_block import exif_block
    from verifier.photo.formats import decode, open_photo

    try:
        data = path.read_bytes()
    except OSError as error:
        raise BadInput(
            f"The photo can't be read ({error.strerror}).", where=str(path), todo="Check its name and rights."
        ) from error
    opened = open_photo(data, path.name)
    claims = claims_of(exif_block(opened.image))
    picture = np.asarray(decode(opened, path.name).convert("RGB"))
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    if opened.kind == "HEIC" and claims.orientation == UPSIDE_DOWN:
        grey = cv2.rotate(grey, cv2.ROTATE_180)  # its decoder has turned it already
    return np.asarray(grey, np.uint8), claims
