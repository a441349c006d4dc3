"""The pour log in the record: trucks and what else happens, running volume against the order, alarms."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from verifier.concrete.pour_alarms import alarms_of
from verifier.concrete.pour_log import Entry, Running, Truck, running
from verifier.concrete.supply import age_limit, joint_limit, supply_figures
from verifier.concrete.truck_alarms import Alarm, Limits
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.acting import Act, open_record, record_event
from verifier.pipeline.evidence import has_record
from verifier.pipeline.ordering import quantities_of
from verifier.pipeline.permissions import Action, demand
from verifier.record.ledger import Ledger

_ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)


class Supply(BaseModel, frozen=True, extra="forbid"):
    """What the plant agreed to, which the log is held against. ``age`` and ``slump`` name the standards that rule."""

    rate_m3_per_h: float
    interval_min: float
    slump_mm: float
    truck_m3: float = 6.0
    age: str
    slump: str
    joint: str = "usual"


class PourSoFar(BaseModel, frozen=True, extra="forbid"):
    """The pour at one moment. ``missing`` says what the take-off leaves out; ``alarms`` come worst first."""

    entries: tuple[Entry, ...]
    running: Running
    computed_m3: float
    alarms: tuple[Alarm, ...]
    missing: tuple[str, ...]


def log_of(folder: Path) -> tuple[Entry, ...]:
    """Read the pour log.

    Args:
        folder: The pour folder.

    Returns:
        Entries in the order of the record; of a ticket written several times, what was written last, at its first place.
    """
    if not has_record(folder):
        return ()
    ledger = Ledger.open(folder)
    try:
        bodies = [
            r.body["entry"] for r in ledger.records("pour.log") if isinstance(r.body.get("entry"), dict)
        ]
    finally:
        ledger.close()
    found: dict[str, Entry] = {}
    for number, body in enumerate(bodies):
        entry = _ENTRY.validate_python(body)
        found[f"ticket {entry.ticket}" if isinstance(entry, Truck) else str(number)] = entry
    return tuple(found.values())


def record_log(folder: Path, fields: Mapping[str, Any], act: Act) -> Entry:
    """Put one line of the pour log into the record.

    A ticket that is in the log already is written on: what is not given stays, and both versions are kept in the record.

    Args:
        folder: The pour folder.
        fields: Fields of the entry, with its ``kind``.
        act: Who writes, and when.

    Returns:
        The entry as it now stands.

    Raises:
        BadInput: If a field is missing or wrong; nothing is recorded then.
        NotAllowed: If the person may not write the pour log.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.LOG_POUR)
    known = dict(fields)
    if fields.get("kind") == "truck":
        same = [e for e in log_of(folder) if isinstance(e, Truck) and e.ticket == fields.get("ticket")]
        known = (same[-1].model_dump(mode="json") if same else {"mix": pour.pour.concrete.grade}) | known
    try:
        entry = _ENTRY.validate_python(known)
    except ValidationError as error:
        faults = "; ".join(
            f"{'.'.join(map(str, e['loc'][1:])) or 'entry'}: {e['msg']}" for e in error.errors()
        )
        raise BadInput(f"{faults}.", where="pour log", todo="Correct it; nothing was recorded.") from error
    ledger = open_record(folder, pour, act)
    try:
        about = f"ticket {entry.ticket}" if isinstance(entry, Truck) else entry.kind
        record_event(ledger, "pour.log", {"text": about, "entry": entry.model_dump(mode="json")}, act)
    finally:
        ledger.close()
    return entry


def pour_so_far(folder: Path, supply: Supply, at: datetime, *, finished: bool = False) -> PourSoFar:
    """Hold the pour log against drawing and order.

    Args:
        folder: The pour folder.
        supply: What the plant agreed to.
        at: Time of the question.
        finished: Whether placing has ended.

    Returns:
        Running volume, forecast of the last trucks, and alarms.

    Raises:
        BadInput: If the drawing values can't be used, or a standard has no such limit.

    Source:
        Each alarm names its own.
    """
    pour = read_pour(folder)
    quantities = quantities_of(folder, truck_m3=supply.truck_m3)
    computed = quantities.take_off.net_m3
    entries = log_of(folder)
    trucks = [e for e in entries if isinstance(e, Truck)]
    placed = sum(t.placed_m3 for t in trucks if t.arrived_at <= at)
    figures = supply_figures()
    limits = Limits(
        mix=pour.pour.concrete.grade,
        ordered_slump_mm=supply.slump_mm,
        slump_rule=supply.slump,
        age=age_limit(supply.age),
        joint=joint_limit(supply.joint),
        interval_min=supply.interval_min,
        rate_m3_per_h=supply.rate_m3_per_h,
        computed_m3=computed,
        hottest_c=figures.hottest.value,
        coldest_c=figures.coldest.value,
    )
    return PourSoFar(
        entries=entries,
        running=running(
            trucks,
            at,
            ordered_m3=quantities.order.order_m3,
            left_to_place_m3=0.0 if finished else max(0.0, computed - placed),
            truck_m3=supply.truck_m3,
            last_call_m3=figures.last_call.value,
        ),
        computed_m3=computed,
        alarms=alarms_of(entries, limits, at, pour_finished=finished),
        missing=quantities.missing,
    )
