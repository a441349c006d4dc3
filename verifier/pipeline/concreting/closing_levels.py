"""Levels and finish of the cast face, each held against its limit."""

from __future__ import annotations

from collections.abc import Sequence

from pydantic import BaseModel

from verifier.concrete.after import AfterEntry, Level
from verifier.formwork.tolerances import Bounds, Reading, Verdict, deviation, survey

_LIMIT = {"level": "top_level", "straightedge": "finish_under_2_m", "thickness": "slab_thickness"}


class LevelSeen(BaseModel, frozen=True, extra="forbid"):
    """A reading with its limit and what they say together."""

    entry: Level
    verdict: Verdict
    bounds: Bounds


def levels_of(entries: Sequence[AfterEntry]) -> tuple[LevelSeen, ...]:
    """Hold every reading of the cast face against its limit.

    Args:
        entries: What was written after the pour.

    Returns:
        Readings in the order of the record. One passes only if it is inside by more than its doubt.

    Source:
        ACI 117-06, 4.4.2 (level of the top); EN 13670:2009, 10.5 (2 m straightedge); ACI 117-10, 4.5 (thickness);
        JCGM 106:2012, 8.3.
    """
    found = []
    for entry in entries:
        if isinstance(entry, Level):
            limit = deviation(_LIMIT[entry.what])
            reading = Reading(place=entry.place, planned_mm=0.0, found_mm=entry.off_mm)
            seen = survey([reading], limit, expanded_uncertainty_mm=entry.uncertainty_mm)
            found.append(LevelSeen(entry=entry, verdict=seen.verdict, bounds=limit))
    return tuple(found)
