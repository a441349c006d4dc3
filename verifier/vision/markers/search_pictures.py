"""The forms of a photo in which a board is searched: presumed places first, then all of it, easy light before hard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from verifier.vision.markers.corners import Grey
from verifier.vision.markers.marker_quads import Quad, find_quads

FIRST_SEARCH_PX = 1800
"""Long side of the picture that is searched first, at most."""

PLACE_SEARCH_PX = 800
"""Long side of a presumed place of a board as it is searched, at most; a board that fills it still shows markers of 55 px."""

LEAST_SIDE_PX = 9.0
"""Sides of markers that are looked for in a presumed place, at least, in pixels of the picture searched."""

Box = tuple[float, float, float, float]
"""Left, top, right and lower edge in full-size pixels."""


@dataclass(frozen=True, slots=True)
class View:
    """A picture to search.

    Attributes:
        picture: (h, w) the photo or a part of it, perhaps resized and with its contrast changed.
        scale: Its size against the full-size photo.
        corner_px: Where in that its top left corner lies.
        quick_from_px: Look quickly, and for markers with sides from this on; None to look for all.
    """

    picture: Grey
    scale: float
    corner_px: tuple[float, float] = (0.0, 0.0)
    quick_from_px: float | None = None

    def quads(self, dictionary: str) -> list[Quad]:
        """Quadrilaterals in it that may be markers.

        Args:
            dictionary: Name of the dictionary to read them with.

        Returns:
            Read ones first, in pixels of the full-size photo.
        """
        found = find_quads(self.picture, self.scale, dictionary, quick_from_px=self.quick_from_px)
        return [Quad(quad.px + self.corner_px, quad.id) for quad in found]


def pictures(grey: Grey, places: Sequence[Box]) -> Iterator[tuple[list[View], bool]]:
    """The photo in the forms that are searched for a board, quickest first.

    Args:
        grey: (h, w) upright full-size photo.
        places: Where boards are presumed to lie.

    Yields:
        Pictures that are searched together, and whether markers that can't be read are guessed there.
    """
    presumed = [view for box in places if (view := _place(grey, box)) is not None]
    yield presumed, False
    if presumed:
        yield [harder for view in presumed for harder in _harder(view)], True
    long_side = max(grey.shape)
    scale = min(1.0, FIRST_SEARCH_PX / long_side)
    yield [View(grey if scale == 1.0 else _resized(grey, scale), scale)], False
    if scale < 1.0:
        yield [View(grey, 1.0)], True
    for view in _harder(View(grey, 1.0)):
        yield [view], True


def _harder(view: View) -> list[View]:
    """A picture made ready for hard light: contrast spread in each part of it; and darkened, enlarged and sharpened, for light
    that spills from white to black closes the cells.
    """  # noqa: D205 - one sentence that doesn't fit one line
    spread = cv2.createCLAHE(3.0, (8, 8)).apply(view.picture).astype(np.uint8, copy=False)
    made = [replace(view, picture=spread, quick_from_px=None)]
    if max(view.picture.shape) <= 2 * FIRST_SEARCH_PX:
        curve = (255.0 * (np.arange(256) / 255.0) ** 2.2).astype(np.uint8)
        large = _resized(curve[view.picture], 2.0)
        sharpened = cv2.addWeighted(large, 2.5, cv2.GaussianBlur(large, (0, 0), 3.0), -1.5, 0)
        made.append(
            replace(
                view,
                picture=sharpened.astype(np.uint8, copy=False),
                scale=2.0 * view.scale,
                quick_from_px=None,
            )
        )
    return made


def _place(grey: Grey, box: Box) -> View | None:
    """The part of the photo around a presumed board; None where nothing of it lies in the photo."""
    height, width = grey.shape
    left, top = max(int(box[0]), 0), max(int(box[1]), 0)
    part = grey[top : min(int(box[3]) + 1, height), left : min(int(box[2]) + 1, width)]
    if min(part.shape, default=0) < 2 * LEAST_SIDE_PX:
        return None
    scale = min(1.0, PLACE_SEARCH_PX / max(part.shape))
    picture = np.ascontiguousarray(part) if scale == 1.0 else _resized(part, scale)
    return View(picture, scale, (float(left), float(top)), LEAST_SIDE_PX)


def _resized(grey: Grey, scale: float) -> Grey:
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    return cv2.resize(grey, None, fx=scale, fy=scale, interpolation=how).astype(np.uint8, copy=False)
