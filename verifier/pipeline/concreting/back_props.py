"""Back-props of a pour floor by floor: as written in the record, held against the falsework file, and what that brings to the decision."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from verifier.concrete.after import AfterEntry, Propping, Struck
from verifier.errors import BadInput
from verifier.formwork.propping import FloorPropped, PropsPlaced, floors_propped
from verifier.pipeline.concreting.after_pour import after_of
from verifier.pipeline.concreting.falsework import falsework_of
from verifier.release.reason import Reason


def placed_in(entries: Sequence[AfterEntry]) -> tuple[PropsPlaced, ...]:
    """Read what was written of back-props: of each floor what was placed last, and when that was taken away.

    Args:
        entries: What was written, in the order of the record.

    Returns:
        One entry a floor, in the order in which floors were first written.
    """
    found: dict[str, PropsPlaced] = {}
    for entry in sorted((e for e in entries if isinstance(e, Propping)), key=lambda e: e.at):
        if entry.step == "placed":
            fields = entry.model_dump(include={"floor", "spacing_x_m", "spacing_y_m", "prop_kn"})
            found[entry.floor] = PropsPlaced(**fields, placed_at=entry.at)
        elif entry.floor in found:
            found[entry.floor] = found[entry.floor].model_copy(update={"taken_at": entry.at})
    return tuple(found.values())


def freed_at(entries: Sequence[AfterEntry]) -> datetime | None:
    """When the props of the new slab went.

    Args:
        entries: What was written.

    Returns:
        The earliest time written, None while they stand.
    """
    return min((e.at for e in entries if isinstance(e, Struck) and e.part == "slab props"), default=None)


def floors_of(folder: Path, entries: Sequence[AfterEntry]) -> tuple[FloorPropped, ...]:
    """Hold the back-props of each floor against the load that goes down through it.

    Args:
        folder: The pour folder.
        entries: What was written.

    Returns:
        Floors from the upper one down; of a falsework file that can't be used only what was written.
    """
    try:
        below = falsework_of(folder).below
    except BadInput:
        below = None  # said where the falsework is checked
    return floors_propped(below, placed_in(entries), freed_at(entries))


def reasons_of_back_props(folder: Path) -> tuple[Reason, ...]:
    """Say what the back-props on the floors below bring to the decision.

    Args:
        folder: The pour folder.

    Returns:
        A stop for back-props that do not hold or were taken away before the pour, a condition for a floor that needs some and
        for which none are written, or whose load nobody gave.
    """
    entries = after_of(folder).entries
    if freed_at(entries) is not None:
        return ()
    return tuple(reason for floor in floors_of(folder, entries) if (reason := _reason(floor)) is not None)


def _reason(floor: FloorPropped) -> Reason | None:
    unknown = floor.passed_down_kn_m2 is None
    if floor.passed_down_kn_m2 == 0 or (floor.state == "stand" and not unknown):
        return None
    open_only = unknown or floor.state == "not written"
    open_clears = (
        "Enter what the floor weighs and carries under the falsework."
        if unknown
        else "See that they stand as the propping plan says, and write floor, grid and what one prop may carry."
    )
    return Reason(
        key=f"back-props-{floor.floor}",
        room="formwork",
        weight="condition" if open_only else "stops",
        kind="not-done" if open_only else "non-conforming",
        says=floor.says,
        clears=open_clears
        if open_only
        else "The designer of the falsework decides; put them back or closer together, and write it.",
        owner="temporary works",
    )
