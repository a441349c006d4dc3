"""Slabs and bars of a building model turned into drawing values. What does not fit is told, never guessed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import fmean
from typing import Any

from verifier.codes.bars import bar_sizes
from verifier.drawing.bars import Bar, Prefix, SpacedBars
from verifier.drawing.geometry import Point, area_m2, extent_m
from verifier.drawing.solids import Axis, LevelFace
from verifier.wording import counted

ONE_LINE_MM = 2.0
"""Bars of one layer lie at one height, and bars of one line side by side, to within this."""
EQUAL_GAP_MM = 1.0
ALONG_DEG = 1.0
SIZE_MM = 0.1
"""A modelled diameter this near a listed one is that size; #3 is written as 9.5 and as 9.525."""
SAME_VOLUME = 5e-4


@dataclass(frozen=True, slots=True)
class ModelBar:
    """One bar of the model: its axis, its nominal diameter and what its element says."""

    axis: Axis
    diameter_mm: float
    plain: bool
    grade: str | None


@dataclass(frozen=True, slots=True)
class ModelSlab:
    """One slab of the model: mark, soffit, thickness and volume. [m, m3]."""

    mark: str
    face: LevelFace
    thickness_m: float
    volume_m3: float


@dataclass(frozen=True, slots=True)
class ModelReading:
    """What a model says in the keys of pour.toml, and what a person must look at.

    Attributes:
        slabs: One plain table a slab; a key that the model does not hold is left out.
        notes: What was not read and why.
    """

    slabs: tuple[dict[str, Any], ...]
    notes: tuple[str, ...]


def drawing_values(slabs: Sequence[ModelSlab], bars: Sequence[ModelBar]) -> ModelReading:
    """Turn slabs and straight bars into drawing values.

    Args:
        slabs: Level slabs, world coordinates.
        bars: Straight bars, world coordinates.

    Returns:
        Slab tables on axes along the longest edge of the first slab, and notes.
    """
    if not slabs:
        return ModelReading((), ("The model holds no level slab.",))
    turn = -_turn_of(slabs[0].face.outline)
    left = [replace(bar, axis=_turned_axis(bar.axis, turn)) for bar in bars]
    tables, notes = [], []
    for slab in slabs:
        face = LevelFace(
            slab.face.z_m,
            _turned(slab.face.outline, turn),
            tuple(_turned(hole, turn) for hole in slab.face.holes),
        )
        held = [_holds(face, slab.thickness_m, bar.axis) for bar in left]
        inside = [bar for bar, here in zip(left, held, strict=True) if here]
        left = [bar for bar, here in zip(left, held, strict=True) if not here]
        table, told = _slab(replace(slab, face=face), inside)
        tables.append(table)
        notes += [f"{slab.mark}: {note}" for note in told]
    if left:
        notes.append(f"{counted(len(left), 'bar lies', 'bars lie')} in no slab that was read.")
    return ModelReading(tuple(tables), tuple(notes))


def _slab(slab: ModelSlab, bars: list[ModelBar]) -> tuple[dict[str, Any], list[str]]:
    x, y, w, h = extent_m(slab.face.outline)
    notes: list[str] = []
    table: dict[str, Any] = {"mark": slab.mark}
    corners = tuple((round(px - x, 4), round(py - y, 4)) for px, py in slab.face.outline)
    if abs(area_m2(corners) - w * h) < 1e-4 * w * h:
        table["size_m"] = (round(w, 4), round(h, 4))
    else:
        table["outline_m"] = corners
    openings, told = _openings(slab.face, x, y)
    notes += told
    if openings:
        table["openings_m"] = openings
    table["position_m"] = (round(x, 4), round(y, 4))
    table["thickness_mm"] = round(1000 * slab.thickness_m, 1)
    solid_m3 = (area_m2(slab.face.outline) - sum(map(area_m2, slab.face.holes))) * slab.thickness_m
    if abs(slab.volume_m3 - solid_m3) > SAME_VOLUME * solid_m3:
        notes.append("it has recesses, steps or drops; the thickness here is the largest one.")
    layers, covers, told = _layers(slab, bars)
    notes += told
    table["cover_mm"] = covers
    table["layers"] = layers
    if not layers:
        notes.append("no layer could be read from the model.")
    grades = {bar.grade for bar in bars if bar.grade}
    if len(grades) == 1:
        table["steel"] = {"grade": grades.pop()}
    else:
        notes.append(
            "the model names no steel grade." if not grades else "the model names several steel grades."
        )
    for face in ("bottom", "top"):
        if face not in covers:
            notes.append(f"no bars at the {face}: write the cover from the drawing.")
    return table, notes


def _openings(face: LevelFace, x: float, y: float) -> tuple[list[tuple[float, ...]], list[str]]:
    openings: list[tuple[float, ...]] = []
    notes = []
    for hole in face.holes:
        hx, hy, w, h = extent_m(hole)
        if abs(area_m2(hole) - w * h) < 1e-3 * w * h:
            openings.append(tuple(round(value, 4) for value in (hx - x, hy - y, w, h)))
        else:
            notes.append(
                f"an opening at {hx - x:.3f}, {hy - y:.3f} m, {w:.3f} x {h:.3f} m, is no upright rectangle; left out."
            )
    return openings, notes


def _layers(
    slab: ModelSlab, bars: list[ModelBar]
) -> tuple[list[dict[str, Any]], dict[str, float], list[str]]:
    """Bars sorted by mat, direction and height; the outermost direction of a mat is its layer 1."""
    notes: list[str] = []
    middle_m = slab.face.z_m + slab.thickness_m / 2
    mats: dict[str, dict[str, list[ModelBar]]] = {"B": defaultdict(list), "T": defaultdict(list)}
    skew = 0
    for bar in bars:
        along = _along(bar.axis)
        if along is None:
            skew += 1
        else:
            mats["B" if bar.axis.middle[2] < middle_m else "T"][along].append(bar)
    if skew:
        notes.append(f"Bars that run neither along x nor along y: {skew}; left out.")
    layers: list[dict[str, Any]] = []
    covers: dict[str, float] = {}
    for mat, by_direction in mats.items():
        outwards = 1 if mat == "B" else -1
        order = sorted(by_direction, key=lambda along: outwards * _height(by_direction[along]))
        for number, along in enumerate(order, 1):
            layer, told = _layer(f"{mat}{number}", along, by_direction[along])
            notes += told
            layers += layer
        if order:
            covers["bottom" if mat == "B" else "top"] = _cover_mm(slab, mat, by_direction[order[0]])
    return layers, covers, notes


def _layer(name: str, along: str, bars: list[ModelBar]) -> tuple[list[dict[str, Any]], list[str]]:
    across = 1 if along == "x" else 0
    heights_mm = [1000 * bar.axis.middle[2] for bar in bars]
    sizes = {bar.diameter_mm for bar in bars}
    if max(heights_mm) - min(heights_mm) > ONE_LINE_MM:
        return [], [f"{name}: bars along {along} lie at several heights; left out."]
    if len(sizes) > 1:
        told = ", ".join(f"{size:g}" for size in sorted(sizes))
        return [], [f"{name}: bars along {along} have several diameters ({told} mm); left out."]
    bar = _named(bars[0])
    if bar is None:
        return [], [f"{name}: no size list holds {bars[0].diameter_mm:g} mm; left out."]
    lines = _lines(sorted(1000 * bar.axis.middle[across] for bar in bars))
    gaps = [b - a for a, b in pairwise(lines)]
    if not gaps:
        return [], [f"{name}: a single bar along {along}; left out."]
    if max(gaps) - min(gaps) > 2 * EQUAL_GAP_MM:
        return [], [f"{name}: gaps along {along} are {min(gaps):.0f} to {max(gaps):.0f} mm; left out."]
    callout = SpacedBars(bar, round(fmean(gaps), 1), count=len(lines))
    return [{"layer": name, "callout": callout.text, "along": along}], []


def _lines(offsets_mm: list[float]) -> list[float]:
    """One offset a line: bars that follow each other on one line, or lie side by side at a lap, are one."""
    lines = [offsets_mm[0]]
    for offset in offsets_mm[1:]:
        if offset - lines[-1] > ONE_LINE_MM:
            lines.append(offset)
    return lines


def _named(bar: ModelBar) -> Bar | None:
    prefixes: tuple[tuple[str, Prefix], ...] = (("metric", "R" if bar.plain else "Ø"), ("astm", "#"))
    for system, prefix in prefixes:
        sizes = [size for size in bar_sizes() if size.system == system]
        nearest = min(sizes, key=lambda size: abs(size.diameter_mm - bar.diameter_mm))
        if abs(nearest.diameter_mm - bar.diameter_mm) <= SIZE_MM:
            return Bar(prefix, nearest)
    return None


def _height(bars: list[ModelBar]) -> float:
    return fmean(bar.axis.middle[2] for bar in bars)


def _cover_mm(slab: ModelSlab, mat: str, bars: list[ModelBar]) -> float:
    """Cover of the outermost layer, to the bars' surface."""
    nearest = []
    for bar in bars:
        z_mm, radius_mm = 1000 * (bar.axis.middle[2] - slab.face.z_m), bar.diameter_mm / 2
        nearest.append(z_mm - radius_mm if mat == "B" else 1000 * slab.thickness_m - z_mm - radius_mm)
    return round(min(nearest), 1)


def _holds(face: LevelFace, thickness_m: float, axis: Axis) -> bool:
    x, y, w, h = extent_m(face.outline)
    mx, my, mz = axis.middle
    return x <= mx <= x + w and y <= my <= y + h and face.z_m < mz < face.z_m + thickness_m


def _along(axis: Axis) -> str | None:
    dx, dy, dz = (b - a for a, b in zip(axis.start, axis.end, strict=True))
    slope = math.sin(math.radians(ALONG_DEG)) * axis.length_m
    if abs(dz) > slope:
        return None
    return "x" if abs(dy) <= slope else "y" if abs(dx) <= slope else None


def _turn_of(outline: Sequence[Point]) -> float:
    """Direction of the longest edge, within a quarter turn of x."""
    edges = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(outline, [*outline[1:], outline[0]], strict=True)]
    dx, dy = max(edges, key=lambda edge: round(math.hypot(*edge), 6))
    angle = math.atan2(dy, dx)
    quarter = math.pi / 2
    return angle - quarter * round(angle / quarter)


def _turned(points: Sequence[Point], angle: float) -> tuple[Point, ...]:
    c, s = math.cos(angle), math.sin(angle)
    return tuple((c * x - s * y, s * x + c * y) for x, y in points)


def _turned_axis(axis: Axis, angle: float) -> Axis:
    (x0, y0), (x1, y1) = _turned((axis.start[:2], axis.end[:2]), angle)
    return Axis((x0, y0, axis.start[2]), (x1, y1, axis.end[2]))
