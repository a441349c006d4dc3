"""Figures of supply and placing, from ``data/supply.toml``."""

from __future__ import annotations

from functools import cache

from pydantic import BaseModel

from verifier.codes.cited import Cited, Figure, read_data
from verifier.errors import BadInput


class NamedMinutes(Cited, frozen=True):
    """A time limit that goes by a name."""

    name: str
    minutes: float


class SlumpStep(BaseModel, frozen=True, extra="forbid"):
    """Tolerance of slumps up to a value: ``mm``, or the lesser of it and a share of the slump."""

    up_to_mm: float | None = None
    mm: float
    share: float | None = None


class SlumpTolerance(Cited, frozen=True):
    """Slump tolerance of one standard."""

    name: str
    steps: tuple[SlumpStep, ...]


class JointZone(Cited, frozen=True):
    """Part of the span in which a planned joint may lie."""

    from_span: float
    to_span: float


class Notice(Figure, frozen=True):
    """Usual notice: ``value`` at least, up to ``longest``."""

    longest: float


class SupplyFigures(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``data/supply.toml``."""

    age_limit: tuple[NamedMinutes, ...]
    joint_limit: tuple[NamedMinutes, ...]
    note_share: Figure
    slump_tolerance: tuple[SlumpTolerance, ...]
    hottest: Figure
    coldest: Figure
    warm_note: Figure
    cool_note: Figure
    late_truck: Figure
    volume_note: Figure
    volume_stop: Figure
    heap: Figure
    steel_out: Figure
    movement_note_share: Figure
    vibrator: Figure
    spare_vibrators: Figure
    largest_load: Figure
    over_order: Figure
    notice: Notice
    last_call: Figure
    pump_line: Figure
    joint_zone: JointZone


@cache
def supply_figures() -> SupplyFigures:
    """Return all figures of supply.

    Returns:
        The checked data.
    """
    return read_data("verifier.concrete", "supply.toml", SupplyFigures)


def age_limit(name: str) -> NamedMinutes:
    """Return the age limit of a standard.

    Args:
        name: For example ``ASTM C94`` or ``IS 4926``.

    Returns:
        Minutes from first contact of cement and water to the end of discharge.

    Raises:
        BadInput: If there is no such limit.
    """
    return _named(supply_figures().age_limit, name, "age limit")


def joint_limit(name: str) -> NamedMinutes:
    """Return a limit for the age of an uncovered face.

    Args:
        name: ``usual`` or ``UK road specification``.

    Returns:
        Minutes until fresh concrete must cover it.

    Raises:
        BadInput: If there is no such limit.
    """
    return _named(supply_figures().joint_limit, name, "joint limit")


def _named(limits: tuple[NamedMinutes, ...], name: str, what: str) -> NamedMinutes:
    for limit in limits:
        if limit.name == name:
            return limit
    raise BadInput(
        f'There is no {what} "{name}".',
        where="concrete",
        todo=f"Known are: {', '.join(n.name for n in limits)}.",
    )


def slump_off_by_mm(name: str, ordered_mm: float) -> float:
    """How far a slump may be off the ordered one.

    Args:
        name: ``IS 4926``, ``EN 206`` or ``ASTM C94``.
        ordered_mm: Target slump.

    Returns:
        Allowed difference up or down in mm.

    Raises:
        BadInput: If the standard has no entry or the slump is not positive.

    Source:
        IS 4926:2003; EN 206:2013; ASTM C94/C94M (all from memory).
    """
    tolerances = supply_figures().slump_tolerance
    found = next((t for t in tolerances if t.name == name), None)
    if found is None or not ordered_mm > 0:
        raise BadInput(
            f'No slump tolerance for {ordered_mm:g} mm by "{name}".',
            where="slump",
            todo=f"Known are: {', '.join(t.name for t in tolerances)}; the slump is above zero.",
        )
    step = next(s for s in found.steps if s.up_to_mm is None or ordered_mm <= s.up_to_mm)
    return step.mm if step.share is None else min(step.mm, step.share * ordered_mm)
