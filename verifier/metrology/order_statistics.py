"""Medians and percentiles of a few hundred values, taken thousands of times a photo: numpy's own spend most of their time on
kinds of input that are never given here.
"""  # noqa: D205 - one sentence that doesn't fit one line

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray


def median(values: NDArray[np.floating]) -> float:
    """Median of some values.

    Args:
        values: (n,) without NaN, at least one; in any unit.

    Returns:
        The middle one, or the mean of the two in the middle, in the same unit.
    """
    ordered = np.sort(values)
    return float((ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2)


def percentile(values: NDArray[np.floating], percent: float) -> NDArray[np.float64]:
    """A percentile along the last axis.

    Args:
        values: (..., n) without NaN, n at least one; in any unit.
        percent: 0 to 100.

    Returns:
        (...,) values with so many percent below, straight between two neighbours, in the same unit.

    Source:
        Hyndman and Fan 1996, "Sample quantiles in statistical packages", definition 7 (from memory), as numpy's.
    """
    last = values.shape[-1] - 1
    at = last * percent / 100.0
    low, high = math.floor(at), math.ceil(at)
    ordered = np.partition(values, (low, high), axis=-1)
    below, above = ordered[..., low], ordered[..., high]
    return np.asarray(below + (at - low) * (above - below), np.float64)
