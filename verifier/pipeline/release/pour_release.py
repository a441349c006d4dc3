"""Whether concrete is placed under a release that stands."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from verifier.concrete.pour_log import Truck
from verifier.concrete.truck_alarms import Alarm
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.inspection.rounds import rounds_of
from verifier.pipeline.release.released import release_state_then
from verifier.record.ledger import Ledger
from verifier.rounds.reopening import reopenings


def release_alarms(folder: Path, trucks: Sequence[Truck], at: datetime) -> tuple[Alarm, ...]:
    """Say whether concrete is placed under a release that stands.

    Args:
        folder: The pour folder.
        trucks: Deliveries of the log.
        at: Time of the question.

    Returns:
        One stop if concrete was placed without a release, after its end, or after something that ends it; else nothing.

    Source:
        BS 5975-1:2024, 13.1.4 (a hold point is released before the load comes); what ends a release is common practice.
    """
    starts = [
        t.discharge_start_at
        for t in trucks
        if t.discharge_start_at is not None and t.discharge_start_at <= at
    ]
    if not starts:
        return ()
    first = min(starts)
    why = _not_released(folder, first)
    if not why:
        return ()
    return (
        Alarm(
            weight="stop",
            kind="release",
            about="pour",
            at=first,
            says=f"Concrete was placed from {first.astimezone():%H:%M} on, and {why}.",
            do="Stop; the engineer of record decides what becomes of what is placed.",
            who="engineer of record",
            source="BS 5975-1:2024, 13.1.4",
        ),
    )


def _not_released(folder: Path, first: datetime) -> str:
    if not has_record(folder):
        return "the record holds no release"
    ledger = Ledger.open(folder)
    try:
        told_by = _told_by(ledger)
        state = release_state_then(ledger, first, told_by=told_by)
        by_clock = release_state_then(ledger, first)
    finally:
        ledger.close()
    if state.given_at is None:
        return (
            "no release was signed before"
            if by_clock.record is None
            else f"record {by_clock.record} that decides on the release came into the record only after record {told_by}, "
            "which tells of the concrete; what counts is what was recorded first"
        )
    if state.state == "refused":
        return f"release had been refused by {state.person}"
    if state.state == "lapsed":
        return f"the release had lapsed: {' '.join(state.why).removesuffix('.')}"
    rounds = rounds_of(folder)
    if rounds.walked:
        since = [r for r in reopenings(rounds.events, rounds.checklist, first) if r.at > state.given_at]
        if since:
            return f"the release had ended with: {since[0].say}"
    return ""


def _told_by(ledger: Ledger) -> int | None:
    """Number of the first record that tells of a discharge."""
    told = (r.seq for r in ledger.records("pour.log") if _discharged(r.body.get("entry")))
    return next(told, None)


def _discharged(entry: object) -> bool:
    return isinstance(entry, dict) and entry.get("kind") == "truck" and bool(entry.get("discharge_start_at"))
