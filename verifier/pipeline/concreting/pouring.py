"""The pour log in the record: trucks and what else happens, running volume against the order, alarms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from verifier.concrete.log_doubts import changed_of, doubts_of, notes_of
from verifier.concrete.pour_alarms import alarms_of
from verifier.concrete.pour_log import Entry, PourEvent, Running, Truck, running
from verifier.concrete.supply import age_limit, joint_limit, supply_figures
from verifier.concrete.truck_alarms import Alarm, Limits
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, faults_of
from verifier.pipeline.concreting.after_pour import still_open
from verifier.pipeline.concreting.ordering import quantities_of
from verifier.pipeline.concreting.orders import order_of, sent_order
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.inspection.rounds import rounds_of
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.pipeline.release.pour_release import release_alarms
from verifier.record.ledger import Ledger

_ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)


class Supply(BaseModel, frozen=True, extra="forbid"):
    """What the plant agreed to, which the log is held against. ``age`` and ``slump`` name the standards that rule."""

    rate_m3_per_h: float
    interval_min: float
    slump_mm: float
    truck_m3: float = 6.0
    mix: str = ""
    ordered_m3: float | None = None
    hottest_c: float | None = None
    coldest_c: float | None = None
    age: str
    slump: str
    joint: str = "usual"


class PourSoFar(BaseModel, frozen=True, extra="forbid"):
    """The pour at one moment. ``missing`` says what the take-off leaves out; ``alarms`` come worst first."""

    entries: tuple[Entry, ...]
    running: Running
    computed_m3: float
    ended: bool
    alarms: tuple[Alarm, ...]
    witness: tuple[str, ...]
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


def record_log(
    folder: Path,
    fields: Mapping[str, Any],
    act: Act,
    files: Sequence[Path] = (),
    *,
    once: str = "",
    corrects: bool = False,
) -> Entry:
    """Put one line of the pour log into the record.

    A ticket that is in the log already is written on: what is not given stays, and both versions are kept in the record.

    Args:
        folder: The pour folder.
        fields: Fields of the entry, with its ``kind``.
        act: Who writes, and when.
        files: Photos named by the entry, to be kept.
        once: A name that the entry got when it was typed: one that waited for a connection and is sent twice counts once.
        corrects: Whether plant, volume, batch time or arrival of a ticket in the log are to be written anew.

    Returns:
        The entry as it now stands.

    Raises:
        BadInput: If a field is missing or wrong, can't be right, or a ticket would change; nothing is recorded then.
        NotAllowed: If the person may not write the pour log.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.LOG_POUR)
    known, so_far = dict(fields), log_of(folder)
    same: list[Truck] = []
    if fields.get("kind") == "truck":
        same = [e for e in so_far if isinstance(e, Truck) and e.ticket == fields.get("ticket")]
        known = (same[-1].model_dump(mode="json") if same else {"mix": _mix(folder, pour)}) | known
    try:
        entry = _ENTRY.validate_python(known)
    except ValidationError as error:
        raise BadInput(
            f"{faults_of(error)}.", where="pour log", todo="Correct it; nothing was recorded."
        ) from error
    if once and once in _names_of_lines(folder):
        return entry
    _ask(entry, same[-1] if same else None, act.at, so_far, corrects=corrects)
    still_open(folder)
    ledger = open_record(folder, pour, act)
    try:
        about = f"ticket {entry.ticket}" if isinstance(entry, Truck) else entry.kind
        for path in files:
            ledger.store.objects.put_file(path)
        body: dict[str, object] = {
            "text": about,
            "entry": entry.model_dump(mode="json"),
            "originals": [{"sha256": h} for h in getattr(entry, "photos", ())],
        }
        record_event(ledger, "pour.log", body | ({"once": once} if once else {}), act)
    finally:
        ledger.close()
    return entry


def _names_of_lines(folder: Path) -> set[object]:
    """Names that lines got when they were typed."""
    if not has_record(folder):
        return set()
    ledger = Ledger.open(folder)
    try:
        return {r.body.get("once") for r in ledger.records("pour.log")}
    finally:
        ledger.close()


def _ask(entry: Entry, before: Truck | None, at: datetime, log: Sequence[Entry], *, corrects: bool) -> None:
    """Refuse a line that can't be right, and a ticket that would silently become another load."""
    if doubts := doubts_of(entry, at, log):
        raise BadInput(f"{'; '.join(doubts)}.", where="pour log", todo="Correct it; nothing was recorded.")
    changed = changed_of(before, entry) if before is not None and isinstance(entry, Truck) else ()
    if changed and not corrects:
        raise BadInput(
            f"Ticket {before.ticket if before else ''} is in the log: {'; '.join(changed)}.",
            where="pour log",
            todo="Another load has a ticket of its own; whoever runs the page can correct one that is in the log.",
            command="verifier log FOLDER truck ... --correct",
        )


def _mix(folder: Path, pour: Pour) -> str:
    """Name of the mix that a ticket is expected to carry."""
    sent = sent_order(folder)
    return pour.pour.concrete.grade if sent is None else sent.mix_name


def supply_of(folder: Path, at: datetime) -> Supply:
    """What the log is held against: the order as it was sent, or as it is filled in.

    Args:
        folder: The pour folder.
        at: Time of the question.

    Returns:
        The supply.

    Raises:
        BadInput: If there is no order; concrete mixed on site has none.
    """
    order = order_of(folder, at)
    if order is None:
        raise BadInput(
            "The log is held against the order, and there is none.",
            where=str(folder),
            todo="Fill in the order first.",
            command=f"verifier order {folder} --draft; or give --rate, --interval and --ordered-slump",
        )
    sheet = order.sheet
    return Supply(
        rate_m3_per_h=sheet.rate_m3_per_h,
        interval_min=sheet.interval_min,
        slump_mm=sheet.slump_mm,
        truck_m3=sheet.truck_m3,
        mix=sheet.mix_name,
        ordered_m3=sheet.volume_m3,
        hottest_c=sheet.hottest_c,
        coldest_c=sheet.coldest_c,
        age=sheet.supply.age,
        slump=sheet.supply.slump,
        joint=sheet.supply.joint,
    )


def pour_so_far(
    folder: Path, at: datetime, *, supply: Supply | None = None, finished: bool | None = None
) -> PourSoFar:
    """Hold the pour log against drawing, order and release.

    Args:
        folder: The pour folder.
        at: Time of the question.
        supply: What the plant agreed to; that of the order if not given.
        finished: Whether placing has ended; by the log's own event of the end if not given.

    Returns:
        Running volume, forecast of the last trucks, alarms, and witness points.

    Raises:
        BadInput: If the drawing values can't be used, there is no order, or a standard has no such limit.

    Source:
        Each alarm names its own.
    """
    pour = read_pour(folder)
    against = supply or supply_of(folder, at)
    quantities = quantities_of(folder, truck_m3=against.truck_m3)
    computed = quantities.take_off.net_m3
    entries = log_of(folder)
    trucks = [e for e in entries if isinstance(e, Truck)]
    placed = sum(t.placed_m3 for t in trucks if t.arrived_at <= at)
    ended = any(isinstance(e, PourEvent) and e.what == "end" and e.at <= at for e in entries)
    done = ended if finished is None else finished
    limits = _limits(against, pour.pour.concrete.grade, computed)
    ordered = quantities.order.order_m3 if against.ordered_m3 is None else against.ordered_m3
    return PourSoFar(
        entries=entries,
        running=running(
            trucks,
            at,
            ordered_m3=ordered,
            left_to_place_m3=0.0 if done else max(0.0, computed - placed),
            truck_m3=against.truck_m3,
            last_call_m3=supply_figures().last_call.value,
        ),
        computed_m3=computed,
        ended=done,
        alarms=(
            *release_alarms(folder, trucks, at),
            *alarms_of(entries, limits, at, pour_finished=done),
            *notes_of(entries, pour.pour.planned_start),
        ),
        witness=_witness(folder, at),
        missing=quantities.missing,
    )


def _witness(folder: Path, at: datetime) -> tuple[str, ...]:
    """Witness points of the rounds that somebody was told of, in words."""
    rounds = rounds_of(folder)
    told = {w.item: w for s in rounds.states(at) for w in s.witness if w.says != "not told"}
    return tuple(
        f'{w.item} "{rounds.checklist.find(w.item).item}": {w.told}, {w.says}' for w in told.values()
    )


def _limits(supply: Supply, grade: str, computed_m3: float) -> Limits:
    figures = supply_figures()
    return Limits(
        mix=supply.mix or grade,
        ordered_slump_mm=supply.slump_mm,
        slump_rule=supply.slump,
        age=age_limit(supply.age),
        joint=joint_limit(supply.joint),
        interval_min=supply.interval_min,
        rate_m3_per_h=supply.rate_m3_per_h,
        computed_m3=computed_m3,
        hottest_c=figures.hottest.value if supply.hottest_c is None else supply.hottest_c,
        coldest_c=figures.coldest.value if supply.coldest_c is None else supply.coldest_c,
    )
