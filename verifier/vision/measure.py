"""One photo from upright pixels to bars, gaps and their uncertainty, or to a refusal that says what to do."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from threadpoolctl import ThreadpoolController

from verifier.board.definition import BoardDefinition
from verifier.board.print_scale import PrintChecks, PrintScale, print_scale_of
from verifier.errors import Refusal
from verifier.photo.exif import claims_of
from verifier.photo.exif_block import exif_block
from verifier.photo.formats import open_photo
from verifier.photo.pixels import upright_pixels
from verifier.vision.bars.diameters import Series
from verifier.vision.bars.layer_axes import Floats
from verifier.vision.halves import Halves
from verifier.vision.labels import LabelMap, label_photo
from verifier.vision.learned import name_of_labels, name_of_outlines
from verifier.vision.markers.find_board import BoardSearch, FoundBoard, find_boards
from verifier.vision.markers.search_pictures import Box
from verifier.vision.measure_mat import Scene, measure_mat
from verifier.vision.metric.calibrate import CameraProfile
from verifier.vision.metric.camera import CameraPrior, FocalClaims, camera_prior
from verifier.vision.metric.geometry import PhotoGeometry, photo_geometry
from verifier.vision.photo_measurement import (
    BoardRecognised,
    BoardSeen,
    Method,
    PhotoFacts,
    PhotoMeasurement,
    Saying,
)
from verifier.vision.quality import exposure, shaken, sharpness
from verifier.vision.supports.supports import blobs

METHOD_VERSION = f"1.21+{name_of_labels()}+{name_of_outlines()}"
"""Changes whenever the same original may give other numbers."""

REACH_MM = 850.0
"""Gaps are measured within this distance of the board. Beyond it, an angle of half a degree between board and mat
outweighs all else."""

BOARD_MARGIN, LEAST_BOARD_CELLS, MOST_BOARDS = 0.25, 60, 4
"""Margin around what the labels call a board as a share of its longer side; smaller patches are none; so many are searched
before the whole photo is."""

SMALL_PX = 400
"""Long side, at least, of the picture in which the exposure of the mat is looked at."""

Pixels = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Settings:
    """What a measurement depends on besides the photo; recorded with it.

    Attributes:
        reach_mm: Radius around the board within which gaps are measured.
        series: Series of nominal bar sizes.
    """

    reach_mm: float = REACH_MM
    series: Series = "metric"


@contextmanager
def _one_thread_for_matrices() -> Iterator[None]:
    """Hold the library of linear algebra to one thread.

    With matrices as small as here its threads would mostly wait for each other, which costs as much of the processor's
    time as all of the measuring.
    """
    with _matrix_threads().limit(limits=1, user_api="blas"):
        yield


@cache
def _matrix_threads() -> ThreadpoolController:
    return ThreadpoolController()


@_one_thread_for_matrices()
def measure_photo(
    photo: Pixels,
    *,
    name: str,
    sha256: str,
    camera: CameraPrior | FocalClaims | None = None,
    boards: Sequence[BoardDefinition] = (),
    print_checks: PrintChecks | PrintScale | None = None,
    settings: Settings | None = None,
) -> PhotoMeasurement:
    """Measure one photo. Knows no drawing and no code of practice.

    Args:
        photo: (h, w, 3) upright full-size pixels, blue-green-red.
        name: Name of the photo.
        sha256: Hash of the bytes as received.
        camera: A profile of this camera, or what the file claims about its lens.
        boards: Boards to look for; the built-in standing boards when empty.
        print_checks: Measured check lengths by board number, or one scale for the board in this photo.
        settings: Reach and series of sizes.

    Returns:
        The measurement. A photo that can't be measured gives one with ``usable`` false and its refusals.
    """
    asked = settings or Settings()
    height, width = photo.shape[:2]
    facts = PhotoFacts(name=name, sha256=sha256, width_px=width, height_px=height)
    halves = Halves.of(photo)
    grey = np.asarray(cv2.cvtColor(photo, cv2.COLOR_BGR2GRAY), np.uint8)
    labels = label_photo(halves)
    method = Method(version=METHOD_VERSION, labels=labels.weights, parameters=_parameters(asked, camera))
    search = find_boards(grey, boards, _board_places(labels))
    answer = _answered(_Shot(halves, grey, labels, facts, method), search, camera, print_checks, asked)
    recognised = tuple(BoardRecognised(number=b.number, ids=b.seen_ids) for b in search.recognised)
    return answer.model_copy(update={"recognised": recognised})


def measure_file(
    data: bytes,
    name: str,
    *,
    boards: Sequence[BoardDefinition] = (),
    print_checks: PrintChecks | PrintScale | None = None,
    profiles: Sequence[CameraProfile] = (),
    settings: Settings | None = None,
) -> PhotoMeasurement:
    """Measure a photo from its bytes: hash, claims and upright pixels, then ``measure_photo``.

    Args:
        data: The bytes exactly as received.
        name: File name as received.
        boards: Boards to look for; the built-in standing boards when empty.
        print_checks: Measured check lengths.
        profiles: Camera profiles; the first one that fits what the file says of its camera is used.
        settings: Reach and series of sizes.

    Returns:
        The measurement.

    Raises:
        BadInput: If the bytes are no photo, too large or damaged.
    """
    opened = open_photo(data, name)
    photo = upright_pixels(data, name)
    claims = claims_of(exif_block(opened.image))
    height, width = photo.shape[:2]
    fitting = next((p for p in profiles if p.fits(claims, width, height)), None)
    return measure_photo(
        photo,
        name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        camera=claims if fitting is None else fitting.prior(width, height, turned=claims.orientation != 1),
        boards=boards,
        print_checks=print_checks,
        settings=settings,
    )


@dataclass(frozen=True, slots=True)
class _Shot:
    """A photo as it came, with what the labels say of it, and what any answer about it begins with."""

    halves: Halves
    grey: Pixels
    labels: LabelMap
    facts: PhotoFacts
    method: Method


def _answered(
    shot: _Shot,
    search: BoardSearch,
    camera: CameraPrior | FocalClaims | None,
    print_checks: PrintChecks | PrintScale | None,
    asked: Settings,
) -> PhotoMeasurement:
    if not search.boards:
        unread = {r.reason for r in search.refusals} <= {"no-board", "board-partly-hidden"}
        smeared = shaken(shot.grey) if unread else None
        return _refused(shot, search.refusals if smeared is None else (smeared, *search.refusals))
    scale = print_scale_of(print_checks, search.boards[0].number)
    height, width = shot.grey.shape
    prior = camera if isinstance(camera, CameraPrior) else camera_prior(width, height, camera)
    geometry = photo_geometry(search.boards, prior, scale)
    if isinstance(geometry, Refusal):
        return _refused(shot, (geometry,))
    seen, blurred = _board_seen(search.boards, geometry)
    dark = exposure(*_mat_region(shot.halves, geometry, asked.reach_mm))
    if blurred is not None or dark is not None:
        return _refused(shot, [r for r in (blurred, dark) if r is not None], seen)
    scene = Scene(shot.halves, geometry, shot.labels, asked.reach_mm, asked.series)
    return measure_mat(scene, shot.facts, seen, shot.method)


def _parameters(
    settings: Settings, camera: CameraPrior | FocalClaims | None
) -> dict[str, float | str | bool | None]:
    told: dict[str, float | str | bool | None] = {"reach_mm": settings.reach_mm, "series": settings.series}
    return told | ({"camera": camera.source} if isinstance(camera, CameraPrior) else {})


def _refused(shot: _Shot, refusals: Sequence[Refusal], seen: BoardSeen | None = None) -> PhotoMeasurement:
    sayings = tuple(Saying(reason=r.reason, say=r.say) for r in refusals)
    return PhotoMeasurement(photo=shot.facts, usable=False, refusals=sayings, board=seen, method=shot.method)


def _board_seen(boards: Sequence[FoundBoard], geometry: PhotoGeometry) -> tuple[BoardSeen, Refusal | None]:
    board = boards[0]
    spread, refusal = sharpness(board, geometry.mm_per_px)
    seen = BoardSeen(
        number=board.number,
        ids=tuple(i for one in boards for i in one.seen_ids),
        tilt_deg=round(geometry.tilt_deg, 2),
        mm_per_px=round(geometry.mm_per_px, 4),
        reprojection_px=round(geometry.reprojection_px, 3),
        corners_px=tuple((round(float(x), 2), round(float(y), 2)) for x, y in board.outline_px()),
        edge_spread_mm=round(spread, 2),
        print_scale=geometry.print_scale.factor,
    )
    return seen, refusal


def _board_places(labels: LabelMap) -> tuple[Box, ...]:
    """Boxes around what the labels call a board, wide enough for what they miss of it, largest first."""
    found = blobs(labels.of("board"), labels.px_per_cell, least_cells=LEAST_BOARD_CELLS)
    boxes = []
    for x, y, w, h in (blob.box_px for blob in sorted(found, key=lambda b: -b.cells)[:MOST_BOARDS]):
        margin = BOARD_MARGIN * max(w, h)
        boxes.append((x - margin, y - margin, x + w + margin, y + h + margin))
    return tuple(boxes)


def _mat_region(halves: Halves, geometry: PhotoGeometry, reach_mm: float) -> tuple[Pixels, Floats]:
    """A small grey picture and the outline of the measured part of the mat in it."""
    times = halves.down_to(SMALL_PX / max(halves.pictures[0].shape))
    small = np.asarray(cv2.cvtColor(halves.pictures[times], cv2.COLOR_BGR2GRAY), np.uint8)
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=1) * 0.6 * reach_mm + geometry.centre_mm
    return small, np.clip(geometry.to_px(circle, 0.0) * 0.5**times, -1e4, 1e4)
