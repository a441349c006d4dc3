"""Coverage: how many spots are asked of each element and layer, which are there, which are missing."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.drawing.pour import Beam, Pour, Slab, Spot
from verifier.metrology.measurement import Measurand, Measurement

BEAM_BARS = "bottom"
BEAM_LINKS = "links"


class SpotRule(BaseModel, frozen=True, extra="forbid"):
    """When a spot counts for a layer; a data file that a firm may replace."""

    title: str
    basis: str
    least_gaps: Annotated[int, Field(ge=1)]


@cache
def spot_rule() -> SpotRule:
    """Read the shipped rule.

    Returns:
        The rule of ``coverage.toml``.
    """
    text = files("verifier.rules").joinpath("coverage.toml").read_text(encoding="utf-8")
    return SpotRule.model_validate(tomllib.loads(text))


class Coverage(BaseModel, frozen=True, extra="forbid"):
    """Spots of one layer of one element: those asked for, those measured, those missing.

    ``what`` is ``spacing`` (photo or tape) or ``cover`` (taped; ``layer`` is then the face). ``asked_by`` says why so many are asked. Spots have the names that the drawing file gives, else 1, 2, 3.
    """

    element: str
    layer: str
    what: Literal["spacing", "cover"] = "spacing"
    asked: int
    asked_by: str
    there: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def complete(self) -> bool:
        """Whether all spots asked for are there."""
        return not self.missing


def coverage_of(
    pour: Pour, measurements: Sequence[Measurement], rule: SpotRule, further: Sequence[Spot] = ()
) -> tuple[Coverage, ...]:
    """Compare the spots measured with those asked for, layer by layer.

    Args:
        pour: What the drawing asks.
        measurements: Measurements that stand.
        rule: When a spot counts.
        further: Spots asked for besides those of the drawing.

    Returns:
        One entry for each layer of each slab, and for bottom bars and links of each beam.
    """
    found = []
    elements: tuple[Slab | Beam, ...] = (*pour.slabs, *pour.beams)
    for element in elements:
        for layer in _layers(element):
            there = _spots_there(element.mark, layer, measurements, rule)
            found.append(_coverage(pour, element, layer, "spacing", there, further))
        for face, names in _faces(element).items():
            read = {
                m.spot
                for m in measurements
                if m.element == element.mark and m.measurand is Measurand.COVER and m.layer in names
            }
            there = tuple(sorted((s for s in read if s is not None), key=spot_order))
            found.append(_coverage(pour, element, face, "cover", there, ()))
    return tuple(found)


def _coverage(
    pour: Pour,
    element: Slab | Beam,
    layer: str,
    what: Literal["spacing", "cover"],
    there: tuple[str, ...],
    further: Sequence[Spot],
) -> Coverage:
    named = tuple(
        s.spot
        for s in pour.spots
        if s.element == element.mark and (what == "cover" or not s.layers or layer in s.layers)
    )
    asked, why = spots_asked(pour, element)
    more = tuple(
        dict.fromkeys(
            s.spot
            for s in further
            if s.element == element.mark and (not s.layers or layer in s.layers) and s.spot not in named
        )
    )
    if named:
        asked, why = len(named), "named one by one in pour.toml"
        missing = tuple(s for s in named if s not in there)
    else:
        usual = [s for s in there if s not in more]
        free = [str(i) for i in range(1, asked + 1) if str(i) not in there and str(i) not in more]
        missing = tuple(free[: max(0, asked - len(usual))])
    if more:
        asked, why = asked + len(more), f"{why}; {len(more)} more asked for in the review"
        missing += tuple(s for s in more if s not in there)
    return Coverage(
        element=element.mark,
        layer=layer,
        what=what,
        asked=asked,
        asked_by=why,
        there=there,
        missing=missing,
    )


def _faces(element: Slab | Beam) -> dict[str, tuple[str, ...]]:
    """Faces whose cover is read, each with the words that a reading may use for it."""
    if isinstance(element, Beam):
        return {"bottom": ("bottom",), "side": ("side",), "top": ("top",)}
    present = {layer.layer[0] for layer in element.layers}
    faces = {"bottom": ("bottom", "B1"), "top": ("top", "T1")}
    return {face: names for face, names in faces.items() if names[1][0] in present}


def spots_asked(pour: Pour, element: Slab | Beam) -> tuple[int, str]:
    """Number of spots asked of an element's layers where they are not named one by one.

    Args:
        pour: The pour with its coverage rule.
        element: A slab or beam of it.

    Returns:
        The number, and the rule in words.
    """
    rule = pour.pour.coverage
    if isinstance(element, Beam):
        return rule.least_per_beam, f"at least {rule.least_per_beam} on a beam (common practice, no source)"
    by_area = math.ceil(element.net_area_m2 / rule.m2_per_spot - 1e-9)
    return max(rule.least_per_layer, by_area), (
        f"one for every started {rule.m2_per_spot:g} m², at least {rule.least_per_layer} (common practice, no source)"
    )


def _layers(element: Slab | Beam) -> tuple[str, ...]:
    if isinstance(element, Beam):
        return (BEAM_BARS, BEAM_LINKS) if element.stirrups is not None else (BEAM_BARS,)
    return tuple(sorted({layer.layer for layer in element.layers}))


def _spots_there(
    element: str, layer: str, measurements: Sequence[Measurement], rule: SpotRule
) -> tuple[str, ...]:
    """Spots with enough gaps: counted one by one in a photo, or covered by a taped stretch, or bars counted."""
    gaps: dict[str, int] = {}
    for m in measurements:
        if m.element != element or m.layer != layer or m.spot is None:
            continue
        if m.measurand is Measurand.SINGLE_GAP:
            gaps[m.spot] = gaps.get(m.spot, 0) + 1
        elif m.measurand is Measurand.MEAN_SPACING and m.by == "tape":
            gaps[m.spot] = max(gaps.get(m.spot, 0), m.stretch_gaps or 0)
        elif m.measurand is Measurand.BAR_COUNT:
            gaps[m.spot] = max(gaps.get(m.spot, 0), rule.least_gaps)
    return tuple(sorted((s for s, n in gaps.items() if n >= rule.least_gaps), key=spot_order))


def spot_order(spot: str) -> tuple[int, str]:
    """Sort spots by number, names after numbers.

    Args:
        spot: Name of a spot.

    Returns:
        A key to sort by.
    """
    return (int(spot), "") if spot.isdigit() else (1_000_000, spot)
