"""Distances between points that somebody chose in a photo."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from pydantic import BaseModel

from verifier.errors import BadInput
from verifier.photo.exif import claims_of
from verifier.photo.exif_block import exif_block
from verifier.photo.formats import open_photo
from verifier.photo.pixels import upright_pixels
from verifier.pipeline.measurement.measuring import Settings
from verifier.vision.distance import Plane, distances
from verifier.vision.metric.camera import camera_prior
from verifier.vision.photo_measurement import Saying

Pair = tuple[float, float, float, float]
"""x1, y1, x2, y2 in pixels of the upright full-size photo."""

PAIR_COLUMNS = ("x1", "y1", "x2", "y2")


class DistanceFound(BaseModel, frozen=True, extra="forbid"):
    """One distance on a plane of the photo, or why there is none. The JSON is the contract."""

    distance_mm: float | None
    expanded_uncertainty_mm: float | None
    refusals: tuple[Saying, ...] = ()
    camera: str | None = None
    """Camera profile that was used, if one was."""
    caution: str | None = None
    """What a reader must know of the board's print, if anything."""


def distances_in(
    photo: Path, pairs: Sequence[Pair], settings: Settings, *, plane: Plane = "board"
) -> tuple[DistanceFound, ...]:
    """Measure between points of a photo.

    Args:
        photo: The photo.
        pairs: Pairs of points.
        settings: Boards and their print scale.
        plane: Where the points lie: the board's face, or the axes of the upper or lower bars.

    Returns:
        One result for each pair, in order; a refusal says what to do.

    Raises:
        BadInput: If the file is no readable photo.
    """
    try:
        data = photo.read_bytes()
    except OSError as error:
        raise BadInput(
            f"The photo can't be read ({error.strerror}).",
            where=str(photo),
            todo="Check its name and rights.",
        ) from error
    grey = np.asarray(cv2.cvtColor(upright_pixels(data, photo.name), cv2.COLOR_BGR2GRAY), np.uint8)
    claims = claims_of(exif_block(open_photo(data, photo.name).image))
    height, width = grey.shape
    profile = next((p for p in settings.cameras if p.fits(claims, width, height)), None)
    found = distances(
        grey,
        np.asarray(pairs, float).reshape(-1, 2, 2),
        camera_prior(width, height, claims)
        if profile is None
        else profile.prior(width, height, turned=claims.orientation != 1),
        definitions=settings.sought,
        plane=plane,
        print_checks=settings.print_checks,
    )
    return tuple(
        DistanceFound(
            distance_mm=d.distance_mm,
            expanded_uncertainty_mm=d.expanded_uncertainty_mm,
            refusals=tuple(Saying(reason=r.reason, say=r.say) for r in d.refusals),
            camera=None if profile is None else profile.title,
            caution=d.caution,
        )
        for d in found
    )


def read_pairs(path: Path) -> tuple[Pair, ...]:
    """Read pairs of points from a CSV file with the columns x1, y1, x2, y2.

    Args:
        path: The file; comma, semicolon or tab between cells.

    Returns:
        The pairs, in order.

    Raises:
        BadInput: If the file or a cell can't be read; it names the line.
    """
    todo = f"Give a heading {','.join(PAIR_COLUMNS)} and one pair of points a line, in pixels of the upright photo."
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(f"The file can't be read ({error}).", where=str(path), todo=todo) from error
    heading = text.splitlines()[0] if text.strip() else ""
    separator = max(",;\t", key=heading.count)
    rows = csv.DictReader(io.StringIO(text), delimiter=separator)
    names = [name.strip().lower() for name in rows.fieldnames or ()]
    if not set(PAIR_COLUMNS) <= set(names):
        raise BadInput(f"The heading is {heading!r}.", where=str(path), todo=todo)
    rows.fieldnames = names
    pairs = []
    for row in rows:
        cells = [(row[name] or "").strip() for name in PAIR_COLUMNS]
        if separator != ",":
            cells = [cell.replace(",", ".") for cell in cells]
        pairs.append(_pair(cells, f"{path}, line {rows.line_num}"))
    return tuple(pairs)


def pair_of(first: str, second: str) -> Pair:
    """Read two points written as ``x,y``.

    Args:
        first: One point.
        second: The other.

    Returns:
        The pair.

    Raises:
        BadInput: If either is no pair of numbers.
    """
    cells = [*first.split(","), *second.split(",")]
    if len(first.split(",")) != 2 or len(cells) != 4:
        raise BadInput(
            f"{first} {second} are not two points.",
            where="--points",
            todo="Write them as x1,y1 x2,y2 in pixels.",
        )
    return _pair(cells, "--points")


def _pair(cells: Sequence[str], where: str) -> Pair:
    try:
        x1, y1, x2, y2 = (float(cell) for cell in cells)
    except ValueError:
        raise BadInput(
            f"{', '.join(cells)} are not four numbers.", where=where, todo="Give pixels of the upright photo."
        ) from None
    if not all(map(math.isfinite, (x1, y1, x2, y2))):
        raise BadInput("A coordinate is not finite.", where=where, todo="Give pixels of the upright photo.")
    return x1, y1, x2, y2
