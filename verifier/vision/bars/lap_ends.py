"""Where the two bars of a lap end, and how well that is known: the length of the lap.

Blocks of a few millimetres show each bar or don't. Where it begins is the place that splits them best into blocks without and
blocks with the bar; how much worse its neighbours split them says how well the place is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from verifier.vision.bars.bar_strips import Strip
from verifier.vision.bars.laps import LapFound, Shown, shown
from verifier.vision.bars.layer_axes import Floats

WINDOW_MM = 150.0
"""So far to either side of an end the blocks are asked."""

BESIDE_MM = 60.0
"""So far to either side of an end the strip must have no hole and show the other bar: what hides both bars hides an end."""

ALIKE = 4.0
"""Neighbouring blocks share ribs, shadows and ties: about one block in four is new information."""

ASIDE_MM, ASKEW = np.arange(-3.0, 3.1, 1.0), np.arange(-0.02, 0.021, 0.01)
"""So far a bar may lie beside its line near its end, and so much may it be turned against it: where it is tied, not where it ends,
the other bar holds it."""

HOLE_MM, CLEAR_BESIDE, LEAST_BLOCKS = 20.0, 0.45, 16
"""A longer stretch without blocks hides an end, and so does what lets the other bar be seen no better; so many blocks are needed."""

CLEAR_STEP, CLEAR_ABOVE = 0.25, 1.6
"""A bar's end is clear where the blocks with it show its edges by so much and so many times more than those without."""

LABEL_AGREES_MM = (-25.0, 25.0)
LABEL_LATE_MM, PLAIN_ABOVE, PLAIN_THERE, PLAIN_U_MM = 45.0, 2.2, 0.8, 6.0
"""The labels must see the end so near to where the edges do; later, for they draw thin ends in, where the edges are plain: so many
times clearer with the bar than without, so clear with it, and the place known so well."""

MOST_U_MM = 15.0
"""An end that is known no better than this says nothing about the length of a lap."""

FACE_U_MM = 4.5
"""Standard uncertainty of where the bar ends against where its outline does: a cut face that isn't square, seen aslant, and what
lies at it, a tie or the rim of a shadow. Root mean square of 43 of 44 clear ends in pictures drawn for it and in development
pictures; one was 27 mm off."""

SCALE_U = 0.007
"""Relative standard uncertainty of a length along the bars: their plane sags between supports and is tilted by half a degree or
so, which at half a metre from the board is as many thousandths (calculated)."""

Why = Literal["clear", "covered", "unclear"]


@dataclass(frozen=True, slots=True)
class LapEnd:
    """One end of a lap.

    Attributes:
        s_mm: Where along the layer.
        u_mm: Standard uncertainty; None where the end isn't clear.
        why: Whether it is clear, covered by something that hides both bars, or can't be told from what lies beside it.
    """

    s_mm: float
    u_mm: float | None
    why: Why


def lap_ends(strip: Strip, lap: LapFound, width_mm: float) -> tuple[LapEnd, LapEnd]:
    """Find both ends of a lap.

    Args:
        strip: Pixels around the lap in short blocks, cut along the line that the lap was found on.
        lap: The lap.
        width_mm: Silhouette width of the bars.

    Returns:
        The end where the second bar begins, and the one where the first bar ends.
    """
    first, second = shown(strip, _askew(strip, lap, width_mm, 1), width_mm)
    start = _begins(strip.s_mm, second, first, (lap.from_s_mm, lap.to_s_mm))
    first, second = shown(strip, _askew(strip, lap, width_mm, 0), width_mm)
    stop = _begins(-strip.s_mm[::-1], _turned(first), _turned(second), (-lap.to_s_mm, -lap.from_s_mm))
    if start.s_mm >= -stop.s_mm:
        return LapEnd(lap.from_s_mm, None, "unclear"), LapEnd(lap.to_s_mm, None, "unclear")
    return start, LapEnd(-stop.s_mm, stop.u_mm, stop.why)


def _askew(strip: Strip, lap: LapFound, width_mm: float, which: int) -> tuple[Floats, Floats]:
    """Offsets of both bars, the one that ends (0 the first, 1 the second) fitted to its edges in the lap near that end."""
    offsets = list(lap.offsets(strip.s_mm))
    end = (lap.to_s_mm, lap.from_s_mm)[which]
    inward = (strip.s_mm - end) * (-1, 1)[which]
    inside = (inward > 0.0) & (inward < min(WINDOW_MM, lap.to_s_mm - lap.from_s_mm))
    best, own = -1.0, offsets[which]
    for aside in sorted(ASIDE_MM, key=abs):
        for askew in sorted(ASKEW, key=abs):
            offsets[which] = lap.offsets(strip.s_mm)[which] + aside + askew * (inward - WINDOW_MM / 2)
            clear = float(shown(strip, (offsets[0], offsets[1]), width_mm)[which].edges[inside].sum())
            if clear > best + 1e-6:
                best, own = clear, offsets[which]
    offsets[which] = own
    return offsets[0], offsets[1]


def _turned(bar: Shown) -> Shown:
    return Shown(bar.edges[::-1], bar.label[::-1])


def length_u_mm(ends: tuple[LapEnd, LapEnd]) -> float | None:
    """Standard uncertainty of the length between two ends.

    Args:
        ends: Both ends of a lap.

    Returns:
        Standard uncertainty in mm; None where one of the ends isn't clear.

    Source:
        Law of propagation, JCGM 100:2008, 5.1.2.
    """
    first, second = (end.u_mm for end in ends)
    if first is None or second is None:
        return None
    scale = SCALE_U * (ends[1].s_mm - ends[0].s_mm)
    return float(np.sqrt(first**2 + second**2 + 2 * FACE_U_MM**2 + scale**2))


def _begins(s: Floats, bar: Shown, other: Shown, run_mm: tuple[float, float]) -> LapEnd:
    """Where a bar begins near the one end of a lap; up to the other one it goes on."""
    near = (s > run_mm[0] - WINDOW_MM) & (s < min(run_mm[0] + WINDOW_MM, run_mm[1]))
    s, edges, label, beside = s[near], bar.edges[near], bar.label[near], other.both[near]
    if len(s) < LEAST_BLOCKS:
        return LapEnd(run_mm[0], None, "covered")
    block = float(np.median(np.diff(s)))
    at, u = _split(edges)
    told, _ = _split(label)
    begins = float(np.interp(at - 0.5, np.arange(len(s)), s))
    around = np.abs(s - begins) < BESIDE_MM
    holes = np.diff(s[around], prepend=begins - BESIDE_MM, append=begins + BESIDE_MM)
    if holes.max() > HOLE_MM + block:
        return LapEnd(begins, None, "covered")
    there, gone = (float(edges[part].mean()) for part in (s >= begins, s < begins))
    if min(float(beside[around & part].mean()) for part in (s >= begins, s < begins)) < CLEAR_BESIDE:
        return LapEnd(begins, None, "covered")
    u_mm = float(np.hypot(u, 1.0 / np.sqrt(12.0))) * block
    clear = there - gone > CLEAR_STEP and there > CLEAR_ABOVE * gone and u_mm < MOST_U_MM
    plain = there > max(PLAIN_ABOVE * gone, PLAIN_THERE) and u_mm < PLAIN_U_MM
    early, late = LABEL_AGREES_MM[0], LABEL_LATE_MM if plain else LABEL_AGREES_MM[1]
    if not clear or not early < (told - at) * block < late:
        return LapEnd(begins, None, "unclear")
    return LapEnd(begins, u_mm, "clear")


def _split(there: Floats, margin: int = 4) -> tuple[float, float]:
    """Block from which on a bar is there, with its standard uncertainty in blocks.

    Source:
        Likelihood of a change of the mean in normal noise, the means and the noise estimated
        (D. V. Hinkley, Biometrika 57 (1970) 1; from memory), its logarithm divided for blocks that are alike.
    """
    n = len(there)
    place = np.arange(margin, n - margin + 1)
    before = np.cumsum(there)[place - 1]
    low, high = before / place, (there.sum() - before) / (n - place)
    rest = (there**2).sum() - place * low**2 - (n - place) * high**2
    likelihood = np.where(high > low, -0.5 * n / ALIKE * np.log(np.maximum(rest, 1e-9)), -np.inf)
    if not np.isfinite(likelihood).any():
        return n / 2, float(n)
    weight = np.exp(likelihood - likelihood.max())
    weight /= weight.sum()
    at = float(weight @ place)
    return at, float(np.sqrt(weight @ (place - at) ** 2))
