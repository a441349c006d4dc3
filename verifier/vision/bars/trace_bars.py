"""Bar lines of one layer: the label maps laid onto its plane, and lines taken from them one by one, the clearest first."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from verifier.metrology.order_statistics import median
from verifier.vision.bars.label_raster import STEP_N_MM, STEP_S_MM, Raster
from verifier.vision.bars.layer_axes import Floats, Map

SLOPE_LIMIT, SLOPE_STEP = 0.036, 0.004
"""How far a single bar may turn from its layer (about 2 degrees)."""

LEAST_BAR_MM, LEAST_SHARE = 190.0, 0.3
"""A line seen along less than this, or along less of the stretch where it could be seen, is no bar."""

VOTE_COLUMNS = 4
"""Columns of the raster that vote together: within 32 mm a bar moves by half a row at most."""

FOLLOW_ROWS = 6
"""A ridge is followed so many rows to either side of where it is presumed."""

TURNS_MM = (8.0, 8.0, 5.0, 5.0)
"""Standard deviations with which rows away from the presumed line count less, turn by turn."""

STRAIGHT_MM, BOWED_MM = 0.01, 8.0
"""Standard deviation of a bar's bow a metre on: first held straight, then as bars are."""


@dataclass(frozen=True, slots=True)
class BarTrack:
    """One bar line on its layer: ``n(s) = c0 + c1 (s/1000) + c2 (s/1000)^2`` in mm.

    Attributes:
        curve: c0, c1, c2 in mm.
        seen: Stretches (from, to) along s in mm where the labels show it.
        share: Seen part of the stretch where it could be seen.
        upper_mm, lower_mm: Length whose labels say upper or lower, weighted with their probability.
        width_mm: Width of the labelled band on the layer's plane.
        whole: Seen part of all of this line that could be seen within reach, beyond its ends too.
    """

    curve: tuple[float, float, float]
    seen: tuple[tuple[float, float], ...]
    share: float
    upper_mm: float
    lower_mm: float
    width_mm: float
    whole: float = 1.0

    def across(self, s: Floats) -> Floats:
        """Offset of the line across the layer.

        Args:
            s: Stations along the layer in mm, of any shape.

        Returns:
            Offsets in mm, of the same shape.
        """
        z = np.asarray(s) / 1000.0
        return self.curve[0] + self.curve[1] * z + self.curve[2] * z * z

    @property
    def seen_mm(self) -> float:
        """Length seen in mm."""
        return float(sum(b - a for a, b in self.seen))


def trace(raster: Raster) -> tuple[BarTrack, ...]:
    """Take bar lines one by one, the clearest first, until what is left no longer makes a bar.

    Args:
        raster: Label maps laid onto the layer.

    Returns:
        The bar lines in order across.
    """
    left = _Evidence.of(raster)
    ballot = _Ballot.of(left)
    votes = ballot.votes(left, 0, len(raster.n))
    tracks: list[BarTrack] = []
    for _ in range(80):
        k, row = np.unravel_index(int(np.argmax(votes)), votes.shape)
        if votes[k, row] * STEP_S_MM < 0.6 * LEAST_BAR_MM:
            break
        gone = np.array([raster.n[row], ballot.slopes[k] * 1000.0, 0.0])
        curve = _followed(left, gone)
        track = None if curve is None else _seen(left, curve)
        if track is not None:
            tracks.append(track)
            gone = np.array(track.curve)
        left.erase(gone)
        low, high = ballot.touched(left, gone)
        votes[:, low:high] = ballot.votes(left, low, high)
    return tuple(sorted(tracks, key=lambda t: t.curve[0]))


@dataclass(frozen=True, slots=True)
class _Evidence:
    """How clearly each cell of a raster lies on a bar that isn't taken yet.

    Attributes:
        raster: The raster.
        clear: (margin + rows + margin, columns) evidence, 0 to 0.8; rows of nothing stand for what lies outside.
        margin: Such rows above, and below.
    """

    raster: Raster
    clear: Map
    margin: int

    @classmethod
    def of(cls, raster: Raster) -> _Evidence:
        bar = (raster.upper + raster.lower) * (0.25 + 0.75 * raster.centre)
        clear = np.minimum(cv2.GaussianBlur(cv2.blur(bar, (9, 1)), (1, 5), 0, sigmaY=1.2), 0.8)
        margin = int(SLOPE_LIMIT * raster.s[-1] / STEP_N_MM) + 2 * FOLLOW_ROWS + 2
        return cls(raster, np.pad(clear, ((margin, margin), (0, 0))), margin)

    def around(self, curve: Floats, low: int, high: int) -> tuple[Map, NDArray[np.int64]]:
        """Evidence ``low`` to ``high`` rows from a curve, (rows, columns), and the curve's row in each column."""
        row = np.rint((curve @ self.raster.powers - self.raster.n[0]) / STEP_N_MM).astype(np.int64)
        # Beyond the margin, too, there is nothing: the first and the last cell of all hold none.
        return self.clear.take(self._places(row, low, high), mode="clip"), row

    def erase(self, curve: Floats, half_mm: float = 9.0) -> None:
        """Take the band along a curve away."""
        first = (curve @ self.raster.powers - half_mm - self.raster.n[0]) / STEP_N_MM
        band = self._places(np.rint(first).astype(np.int64), 0, int(2 * half_mm / STEP_N_MM))
        self.clear.put(band, 0.0, mode="clip")

    def _places(self, row: NDArray[np.int64], low: int, high: int) -> NDArray[np.int64]:
        """Where in the evidence, told row after row, the cells stand that lie ``low`` to ``high`` rows from those given."""
        columns = len(row)
        first = (row + self.margin) * columns + np.arange(columns)
        return np.asarray(first + columns * np.arange(low, high + 1)[:, None])


@dataclass(frozen=True, slots=True)
class _Ballot:
    """Straight lines that are voted for: one of each slope through each row at s = 0.

    Attributes:
        slopes: (k,) of the lines.
        place: (k, 1, groups) where in the evidence, summed in groups of columns and told row after row, the lines through
            its first row find their votes.
    """

    slopes: Floats
    place: NDArray[np.int64]

    @classmethod
    def of(cls, evidence: _Evidence) -> _Ballot:
        slopes = np.arange(-SLOPE_LIMIT, SLOPE_LIMIT + 1e-9, SLOPE_STEP)
        # The last group, if it isn't whole, is dropped with its few centimetres.
        groups = len(evidence.raster.s) // VOTE_COLUMNS
        middle = evidence.raster.s[: groups * VOTE_COLUMNS].reshape(groups, VOTE_COLUMNS).mean(axis=1)
        shift = np.rint(slopes[:, None] * middle / STEP_N_MM).astype(np.int64)
        place = (evidence.margin + shift) * groups + np.arange(groups)
        return cls(slopes, place[:, None, :])

    def votes(self, evidence: _Evidence, low: int, high: int) -> Floats:
        """Evidence summed along the lines through rows ``low`` to ``high``, (k, high - low)."""
        groups = self.place.shape[2]
        part = evidence.clear[low : high + 2 * evidence.margin, : groups * VOTE_COLUMNS]
        grouped = np.add.reduce([part[:, k::VOTE_COLUMNS] for k in range(VOTE_COLUMNS)])
        at = self.place + groups * np.arange(high - low)[:, None]
        return np.asarray(grouped.take(at) @ np.ones(groups, np.float32), np.float64)

    def touched(self, evidence: _Evidence, gone: Floats) -> tuple[int, int]:
        """Rows whose lines could cross a band that was erased along a curve."""
        raster = evidence.raster
        across = gone @ raster.powers[:, [0, len(raster.s) // 2, -1]]
        margin_mm = SLOPE_LIMIT * raster.s[-1] + 14.0
        low = int((across.min() - margin_mm - raster.n[0]) / STEP_N_MM)
        high = int((across.max() + margin_mm - raster.n[0]) / STEP_N_MM) + 1
        rows = len(raster.n)
        return min(max(low, 0), rows), min(max(high, 0), rows)


def _followed(evidence: _Evidence, start: Floats) -> Floats | None:
    """The bowed line through the ridge near a first guess, outliers weighted down; None where there is no ridge."""
    raster, curve = evidence.raster, start
    for turn, near in enumerate(_nearness()):
        piece, row = evidence.around(curve, -FOLLOW_ROWS, FOLLOW_ROWS)
        mass, moment = near @ piece
        clear = mass > 0.25
        if int(clear.sum()) * STEP_S_MM < 100.0:
            return None
        centre = raster.n[0] + STEP_N_MM * (row + moment / np.maximum(mass, 1e-9))
        weight = np.minimum(mass, 1.0) * clear
        curve = _weighted_bow(raster.powers, centre, weight, curve, BOWED_MM if turn >= 2 else STRAIGHT_MM)
    return curve


@cache
def _nearness() -> tuple[Map, ...]:
    """For each turn what the rows about a presumed line count (2, rows), and that times how many rows they are away."""
    rows = np.arange(-FOLLOW_ROWS, FOLLOW_ROWS + 1)
    narrow = (np.exp(-0.5 * (rows * STEP_N_MM / near_mm) ** 2) for near_mm in TURNS_MM)
    return tuple(np.array([n, n * rows], np.float32) for n in narrow)


def _weighted_bow(powers: Floats, centre: Floats, weight: Map, start: Floats, bow_mm: float) -> Floats:
    """Weighted parabola through the centres, bow held small by a prior; residuals beyond 3 mm lose weight."""
    # Prior: a bar turns from its layer by some 0.6 degrees and bows by a few mm over a metre.
    prior = np.array([[0.0, 0.0, 0.0], [0.0, 1.0 / 10.0**2, 0.0], [0.0, 0.0, 1.0 / bow_mm**2]])
    curve = start
    for _ in range(2):
        away = (centre - curve @ powers) / 3.0
        weighted = powers * (weight / (1.0 + away * away) / 2.0**2)
        curve = np.linalg.solve(weighted @ powers.T + prior, weighted @ centre)
    return curve


def _seen(evidence: _Evidence, curve: Floats) -> BarTrack | None:
    """What the labels say along a line; None where they don't show enough of a bar."""
    raster = evidence.raster
    near, row = evidence.around(curve, -1, 1)
    columns = np.arange(len(row))
    rows = np.clip(row, 1, len(raster.n) - 2)
    possible = raster.open[rows, columns] & (row > 0) & (row < len(raster.n) - 1)
    there = (near.max(axis=0) > 0.22) & possible
    stretches = _stretches(there, raster.s)
    if not stretches:
        return None
    span = (raster.s >= stretches[0][0]) & (raster.s <= stretches[-1][1])
    share = float(there.sum()) / max(float((possible & span).sum()), 1.0)
    if sum(b - a for a, b in stretches) < LEAST_BAR_MM or share < LEAST_SHARE:
        return None
    upper, lower = (float(m[rows[there], columns[there]].sum()) for m in (raster.upper, raster.lower))
    return BarTrack(
        (float(curve[0]), float(curve[1]), float(curve[2])),
        stretches,
        share,
        upper * STEP_S_MM,
        lower * STEP_S_MM,
        _band_width(raster, rows[there], columns[there]),
        float(there.sum()) / max(float(possible.sum()), 1.0),
    )


def _band_width(
    raster: Raster, rows: NDArray[np.int64], columns: NDArray[np.int64], half_mm: float = 22.0
) -> float:
    """Median width of the labelled band: the probabilities summed across the bar, out to where they first fall low."""
    if len(columns) < 4:
        return math.nan
    steps = int(half_mm / STEP_N_MM)
    at = np.clip(rows + np.arange(-steps, steps + 1)[:, None], 0, len(raster.n) - 1)
    across = np.minimum(raster.upper[at, columns] + raster.lower[at, columns], 1.0)
    left = np.minimum.accumulate(across[steps::-1], axis=0).sum(axis=0)
    right = np.minimum.accumulate(across[steps:], axis=0).sum(axis=0)
    return median(left + right - across[steps]) * STEP_N_MM


def _stretches(
    there: NDArray[np.bool_], s: Floats, bridge_mm: float = 40.0, least_mm: float = 48.0
) -> tuple[tuple[float, float], ...]:
    """Runs of true stations, small breaks (crossings, ties) bridged, crumbs left out."""
    out: list[list[float]] = []
    for at in s[there]:
        if out and at - out[-1][1] <= bridge_mm:
            out[-1][1] = float(at)
        else:
            out.append([float(at), float(at)])
    return tuple((a, b) for a, b in out if b - a >= least_mm)
