"""A photo halved again and again, once for all that look at it in a smaller size."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]

MOST_TIMES = 4
"""How often a photo is halved: sixteen of its pixels are then one."""


@dataclass(frozen=True, slots=True)
class Halves:
    """A photo and its halves, each pixel the mean of 2 x 2 of the one before.

    Attributes:
        pictures: (h, w, 3) upright, blue-green-red; the photo itself, then its halves.
    """

    pictures: tuple[Picture, ...]

    @classmethod
    def of(cls, photo: Picture) -> Halves:
        """Halve a photo.

        Args:
            photo: (h, w, 3) upright, full size.

        Returns:
            The photo and as many halves as it has pixels for.
        """
        made = [photo]
        while len(made) <= MOST_TIMES and min(made[-1].shape[:2]) > 1:
            half = cv2.resize(made[-1], None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
            made.append(np.asarray(half, np.uint8))
        return cls(tuple(made))

    def down_to(self, scale: float) -> int:
        """How often to halve so that the picture is at least so large against the photo.

        Args:
            scale: Size asked for, 1 for that of the photo.

        Returns:
            Number of times, as far as the photo was halved.
        """
        times = 0
        while times + 1 < len(self.pictures) and 0.5 ** (times + 1) >= scale:
            times += 1
        return times
