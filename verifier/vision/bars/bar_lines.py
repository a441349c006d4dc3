"""Bar lines of a layer from the tracks that the labels gave: what runs side by side is one line, with or without a lap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from verifier.vision.bars.lap_ends import LapEnd
from verifier.vision.bars.trace_bars import BarTrack

LAP_APART_MM = 30.0
"""Two bars of a layer nearer than this are one bar line with a lap, not a gap (least clear distances are larger)."""

UNKNOWN_DIAMETER_MM = 10.0
"""Taken where the labels give no width."""


@dataclass(frozen=True, slots=True)
class BarLine:
    """One bar line: its longest bar, the run of all that may belong to it, and where a second one lies beside it.

    Attributes:
        main: The longest bar.
        run: The same line along all stretches where this bar or another one beside it is seen.
        beside_s_mm: Stretch where the labels see a second line beside it, be it a bar, a shadow or one of another mat.
        lap: Both ends of the stretch where a second bar is known to lie beside it.
    """

    main: BarTrack
    run: BarTrack
    beside_s_mm: tuple[float, float] | None = None
    lap: tuple[LapEnd, LapEnd] | None = None


def group_laps(tracks: Sequence[BarTrack]) -> tuple[BarLine, ...]:
    """Put tracks that run side by side into one bar line.

    Args:
        tracks: Tracks of one layer, in order across.

    Returns:
        Bar lines in order across. A second track that is too short or too close to be a bar of its own is dropped.
    """
    groups: list[list[BarTrack]] = []
    for track in sorted(tracks, key=lambda t: t.curve[0]):
        if groups and _apart(groups[-1][-1], track) < LAP_APART_MM:
            groups[-1].append(track)
        else:
            groups.append([track])
    return tuple(_bar_line(group) for group in groups)


def _bar_line(group: Sequence[BarTrack]) -> BarLine:
    """The longest track of a group, and the whole run of it and of those that carry on where it has ended."""
    main = max(group, key=lambda t: t.seen_mm)
    seen = list(main.seen)
    beside: list[tuple[float, float]] = []
    for other in group:
        # A second bar carries on where the first has ended; a band of shadow beside a bar does not.
        carries_on = max(main.seen[0][0] - other.seen[0][0], other.seen[-1][1] - main.seen[-1][1]) > 100.0
        if carries_on and other.seen_mm > 200.0 and _apart(main, other) > 0.5 * _width(main):
            seen += other.seen
            beside.append((max(main.seen[0][0], other.seen[0][0]), min(main.seen[-1][1], other.seen[-1][1])))
    along = [run for run in beside if run[1] - run[0] > 60.0]
    whole = (min(low for low, _ in along), max(high for _, high in along)) if along else None
    return BarLine(main, replace(main, seen=_merged(seen)), whole)


def _merged(stretches: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Stretches in order, those that touch made one."""
    out: list[tuple[float, float]] = []
    for low, high in sorted(stretches):
        if out and low <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return tuple(out)


def _width(track: BarTrack) -> float:
    return track.width_mm if math.isfinite(track.width_mm) else UNKNOWN_DIAMETER_MM


def _apart(a: BarTrack, b: BarTrack) -> float:
    """Least distance across of two tracks over the stretch that both are near."""
    low, high = max(a.seen[0][0], b.seen[0][0]), min(a.seen[-1][1], b.seen[-1][1])
    if high < low:
        low, high = high, low
    s = np.linspace(low, high, 9)
    return float(np.min(np.abs(a.across(s) - b.across(s))))
