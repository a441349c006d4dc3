"""Bar diameter from the width of the silhouette, and what nominal size it stands for."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

import numpy as np

from verifier.vision.find_bars import Floats
from verifier.vision.photo_measurement import NominalChance

Series = Literal["metric", "astm"]

ODD_BAR_CHANCE = 0.06
"""How often a bar of a layer is of another size than its neighbours, before looking (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Silhouette:
    """Outline over nominal diameter: ratio and its standard uncertainty."""

    ratio: float
    u_ratio: float


@cache
def silhouette() -> Silhouette:
    """The outline ratio from the data file."""
    table = _sizes_file()["silhouette"]
    return Silhouette(float(table["ratio"]), float(table["standard_uncertainty"]))


@cache
def nominal_sizes_mm(series: Series) -> tuple[float, ...]:
    """Nominal sizes of a series, from the data file.

    Args:
        series: Name of the series of bar sizes.

    Returns:
        Nominal diameters in mm, in the order of the file.
    """
    return tuple(float(v) for v in _sizes_file()[series]["sizes_mm"])


@cache
def _sizes_file() -> dict[str, Any]:
    return tomllib.loads(
        resources.files("verifier.vision").joinpath("bar_sizes.toml").read_text(encoding="utf-8")
    )


@dataclass(frozen=True, slots=True)
class Outline:
    """Outline of one bar.

    Attributes:
        width_mm: Width of the silhouette in mm, corrected for depth and slant of view.
        u_mm: Standard uncertainty from scatter and pixels, without what all bars of the photo share.
    """

    width_mm: float
    u_mm: float


def diameter_of(outline: Outline) -> tuple[float, float]:
    """Diameter of a bar from its outline.

    Args:
        outline: Width of the bar's silhouette over its ribs, with its standard uncertainty. [mm]

    Returns:
        Diameter and its standard uncertainty in mm; the doubt about the ribs is in it.
    """
    shape = silhouette()
    d = outline.width_mm / shape.ratio
    return d, math.hypot(outline.u_mm / shape.ratio, d * shape.u_ratio)


def nominal_chances(
    outlines: Sequence[Outline | None], sizes_mm: Sequence[float]
) -> tuple[tuple[NominalChance, ...], ...]:
    """Probabilities over the nominal sizes for every bar of a layer.

    Bars of a layer mostly share one size, and whatever shifts the outline (ribs, shading, blur) shifts all of them
    alike. So the layer's size is judged first, from all bars together; then each bar, by its ratio to the layer.

    Args:
        outlines: Outline of each bar, None where its edges were not found.
        sizes_mm: Nominal sizes.

    Returns:
        For each bar its sizes with more than 1 % probability, likeliest first; empty where nothing was measured at all.
    """
    known = [o for o in outlines if o is not None]
    sizes = np.asarray(sizes_mm, float)
    if not known:
        return tuple(() for _ in outlines)
    widths = np.array([o.width_mm for o in known])
    own = np.array([max(o.u_mm, 0.15) for o in known])
    shape = silhouette()
    typical = float(np.median(widths))
    u_typical = float(1.25 * np.median(own) / math.sqrt(len(known)))
    spread = np.hypot(u_typical, sizes * shape.u_ratio)
    layer = _normal(typical, sizes * shape.ratio, spread)
    layer = layer / max(float(layer.sum()), 1e-300)
    out = []
    for outline in outlines:
        chance = layer if outline is None else _bar_chance(outline, typical, u_typical, layer, sizes)
        order = np.argsort(-chance)
        out.append(
            tuple(
                NominalChance(nominal_mm=float(sizes[i]), probability=round(float(chance[i]), 4))
                for i in order
                if chance[i] > 0.01
            )
        )
    return tuple(out)


def _bar_chance(outline: Outline, typical: float, u_typical: float, layer: Floats, sizes: Floats) -> Floats:
    total = np.zeros(len(sizes))
    u = math.hypot(max(outline.u_mm, 0.15), u_typical)
    for size, weight in zip(sizes, layer, strict=True):
        if weight < 1e-4:
            continue
        prior = np.full(len(sizes), ODD_BAR_CHANCE / (len(sizes) - 1))
        prior[sizes == size] = 1.0 - ODD_BAR_CHANCE
        # Heavy tails: a shadow taken for an edge must not shout down all other bars.
        like = _normal(outline.width_mm, typical / size * sizes, np.full(len(sizes), u)) + 1e-3
        joint = prior * like
        total += weight * joint / float(joint.sum())
    return total / float(total.sum())


def _normal(x: float, mean: Floats, sd: Floats) -> Floats:
    return np.asarray(np.exp(-0.5 * ((x - mean) / sd) ** 2) / sd)
