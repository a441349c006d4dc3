"""A camera's profile from photos of a board: focal length, principal point and lens, each with its doubt.

Kept per camera, lens and picture size; used where a photo's Exif names the same ones.
"""

from __future__ import annotations

import json
import math
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Protocol

import cv2
import numpy as np
from pydantic import BaseModel, Field, ValidationError

from verifier.board.definition import BoardDefinition
from verifier.errors import BadInput, Refusal, faults_of
from verifier.vision.markers.corners import Grey
from verifier.vision.markers.find_board import FoundBoard, find_boards
from verifier.vision.metric.camera import CameraPrior, FocalClaims
from verifier.wording import counted

LEAST_PHOTOS = 8
LEAST_POINTS = 12
LEAST_SPREAD_DEG = 15.0
"""Photos that all look from one side leave focal length and tilt mixed up."""

FOCUS_U = 0.004
"""Relative change of the focal length as a phone focuses from 0.5 m to 2 m (thin lens of 4 to 7 mm, calculated)."""

LENS_U_FLOOR = (0.003, 0.003)
CENTRE_U_SHARE = 0.0008
"""Principal point moves as the picture is stabilised (common practice, no source)."""


class CameraClaims(FocalClaims, Protocol):
    """What a file claims about its camera."""

    @property
    def make(self) -> str | None:
        """Maker."""

    @property
    def model(self) -> str | None:
        """Model."""

    @property
    def lens(self) -> str | None:
        """Lens, where a camera has several."""


class CameraProfile(BaseModel, frozen=True, extra="forbid"):
    """Result of a calibration, in pixels of the landscape picture.

    Attributes:
        make, model, lens, focal_length_mm: As Exif names the camera and its lens.
        long_px, short_px: Size of the picture.
        focal_px, focal_u: Focal length and its relative standard uncertainty.
        centre_px, centre_u_px: Principal point and its standard uncertainty.
        k, k_u: Radial distortion and its standard uncertainties.
        photos: Number of photos used.
        rms_px: What the corners leave unexplained.
    """

    make: str | None
    model: str | None
    lens: str | None
    focal_length_mm: float | None
    long_px: Annotated[int, Field(gt=0)]
    short_px: Annotated[int, Field(gt=0)]
    focal_px: Annotated[float, Field(gt=0)]
    focal_u: Annotated[float, Field(gt=0, lt=1)]
    centre_px: tuple[float, float]
    centre_u_px: Annotated[float, Field(gt=0)]
    k: tuple[float, float]
    k_u: tuple[float, float]
    photos: Annotated[int, Field(ge=1)]
    rms_px: Annotated[float, Field(ge=0)]

    def fits(self, claims: CameraClaims | None, width_px: int, height_px: int) -> bool:
        """Whether a photo was taken by this camera and lens at this size, as far as its file says.

        Args:
            claims: Exif claims; a photo without any never matches.
            width_px: Width of the upright photo.
            height_px: Height of the upright photo.

        Returns:
            True only if make, model, lens, focal length and size all agree and nothing was zoomed.
        """
        if claims is None or claims.model is None:
            return False
        same = (claims.make, claims.model, claims.lens) == (self.make, self.model, self.lens)
        size = (max(width_px, height_px), min(width_px, height_px)) == (self.long_px, self.short_px)
        length = claims.focal_length_mm == self.focal_length_mm
        return same and size and length and (claims.digital_zoom or 1.0) == 1.0

    def prior(self, width_px: int, height_px: int, *, turned: bool = False) -> CameraPrior:
        """The profile for an upright photo.

        Args:
            width_px: Its width.
            height_px: Its height.
            turned: Whether it was turned or mirrored from how the sensor read it.

        Returns:
            Prior for the fit. In a picture turned or stood on end the principal point may lie to either side of the
            middle, so its offset becomes part of its doubt.
        """
        middle, centre, centre_u = ((width_px - 1) / 2, (height_px - 1) / 2), self.centre_px, self.centre_u_px
        if turned or height_px > width_px:
            off = math.hypot(centre[0] - (self.long_px - 1) / 2, centre[1] - (self.short_px - 1) / 2)
            centre, centre_u = middle, math.hypot(centre_u, off)
        return CameraPrior(
            self.focal_px,
            self.focal_u,
            centre,
            centre_u,
            self.k,
            self.k_u,
            self.title,
        )

    @property
    def title(self) -> str:
        """What a person reads where the profile was used."""
        return f"profile of {self.model or 'an unnamed camera'} from {self.photos} photos, {self.long_px} x {self.short_px} px"

    def to_toml(self) -> str:
        """As TOML, in the form that ``read_profile`` takes."""
        lines = []
        for key, value in self.model_dump(exclude_none=True).items():
            # A JSON string is a TOML basic string, save that TOML wants DEL escaped: what Exif says may hold anything.
            shown = (
                json.dumps(value).replace("\x7f", "\\u007f")
                if isinstance(value, str)
                else str(list(value) if isinstance(value, tuple) else value)
            )
            lines.append(f"{key} = {shown}")
        return "\n".join(lines) + "\n"


def read_profile(path: Path) -> CameraProfile:
    """Read a camera profile.

    Args:
        path: TOML file as ``CameraProfile.to_toml`` writes it.

    Returns:
        The profile.

    Raises:
        BadInput: If the file is unreadable or not a profile.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            f"The camera profile can't be read: {error}.", where=path.name, todo="Calibrate the camera again."
        ) from error
    return profile_of(text, path.name)


def profile_of(text: str, where: str) -> CameraProfile:
    """A camera profile from its text.

    Args:
        text: TOML as ``CameraProfile.to_toml`` writes it.
        where: Where it stands, for messages.

    Returns:
        The profile.

    Raises:
        BadInput: If it is not a profile.
    """
    try:
        named = dict.fromkeys(("make", "model", "lens", "focal_length_mm"))
        return CameraProfile.model_validate(named | tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise BadInput(
            f"The camera profile can't be read: {error}.", where=where, todo="Calibrate the camera again."
        ) from error
    except ValidationError as error:
        raise BadInput(f"{faults_of(error)}.", where=where, todo="Calibrate the camera again.") from error


def calibrate(
    photos: Sequence[Grey], definitions: Sequence[BoardDefinition] = (), claims: CameraClaims | None = None
) -> CameraProfile | Refusal:
    """Calibrate a camera from photos of a flat board.

    Args:
        photos: (h, w) landscape photos of one size, taken from different sides with one focal length.
        definitions: Boards to look for; the built-in ones when empty.
        claims: Exif claims of these photos.

    Returns:
        The profile, or why it can't be had.
    """
    if len({photo.shape for photo in photos}) > 1:
        return Refusal(
            "sizes-differ",
            "The photos differ in size. Use photos of one camera at one setting, all held the same way.",
        )
    if photos and photos[0].shape[0] > photos[0].shape[1]:
        return Refusal(
            "on-end",
            "The photos are stored on end, so it is not known which way their sensor lay. Hold the camera so that photos are wider than high.",
        )
    views = [found.boards[0] for photo in photos if (found := find_boards(photo, definitions)).boards]
    height, width = photos[0].shape if photos else (0, 0)
    return calibrate_views(views, (width, height), claims)


def calibrate_views(
    views: Sequence[FoundBoard], size_px: tuple[int, int], claims: CameraClaims | None = None
) -> CameraProfile | Refusal:
    """Calibrate a camera from boards already found.

    Args:
        views: One board a photo.
        size_px: Width and height of the photos.
        claims: Exif claims of these photos.

    Returns:
        The profile, or why it can't be had.

    Source:
        Zhang 2000 (flat target, several views), as the image library has it; standard deviations from its normal
        equations, with floors for what changes between photos.
    """
    usable = [v for v in views if len(v.points_mm) >= LEAST_POINTS]
    if len(usable) < LEAST_PHOTOS:
        return Refusal(
            "too-few-photos",
            f"The board was found well in {counted(len(usable), 'photo')}; {LEAST_PHOTOS} are needed. Take more, from all sides and with the board in all parts of the picture.",
        )
    plane = [np.c_[v.points_mm, np.zeros(len(v.points_mm))].astype(np.float32) for v in usable]
    seen = [v.points_px.astype(np.float32) for v in usable]
    start = np.array(
        [[max(size_px), 0, (size_px[0] - 1) / 2], [0, max(size_px), (size_px[1] - 1) / 2], [0, 0, 1]], float
    )
    flags = (
        cv2.CALIB_USE_INTRINSIC_GUESS
        | cv2.CALIB_FIX_ASPECT_RATIO
        | cv2.CALIB_ZERO_TANGENT_DIST
        | cv2.CALIB_FIX_K3
    )
    rms, matrix, lens, turns, _, deviations, _, _ = cv2.calibrateCameraExtended(
        plane, seen, size_px, start, np.zeros(5), flags=flags
    )
    normals = np.array([cv2.Rodrigues(t)[0][:, 2] for t in turns])
    spread = math.degrees(math.acos(float(np.clip((normals @ normals.T).min(), -1, 1))))
    if spread < LEAST_SPREAD_DEG:
        return Refusal(
            "views-alike",
            f"All photos look at the board from within {spread:.0f} degrees; {LEAST_SPREAD_DEG:.0f} are needed. Take some from the sides.",
        )
    deviation, lens = np.ravel(deviations), np.ravel(lens)
    focal = float(matrix[0, 0])
    return CameraProfile(
        make=claims.make if claims else None,
        model=claims.model if claims else None,
        lens=claims.lens if claims else None,
        focal_length_mm=claims.focal_length_mm if claims else None,
        long_px=max(size_px),
        short_px=min(size_px),
        focal_px=focal,
        focal_u=math.hypot(float(deviation[0]) / focal, FOCUS_U),
        centre_px=(float(matrix[0, 2]), float(matrix[1, 2])),
        centre_u_px=math.hypot(float(max(deviation[2:4])), CENTRE_U_SHARE * max(size_px)),
        k=(float(lens[0]), float(lens[1])),
        k_u=(
            math.hypot(float(deviation[4]), LENS_U_FLOOR[0]),
            math.hypot(float(deviation[5]), LENS_U_FLOOR[1]),
        ),
        photos=len(usable),
        rms_px=float(rms),
    )
