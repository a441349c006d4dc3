"""How far the closing of a record is: what is there, what still lacks, and who brings it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from pydantic import BaseModel

from verifier.concrete.after import BackProps, DefectSeen, Explained, Query, Struck, Terms
from verifier.concrete.close import Closing, Defect, ToClose, missing_to_close
from verifier.concrete.cubes import Acceptance
from verifier.concrete.curing import CuringNeed, CuringState
from verifier.concrete.pour_log import Cube, Entry, PourEvent, Truck
from verifier.concrete.supply import supply_figures
from verifier.drawing.read import read_pour
from verifier.errors import Refusal
from verifier.formwork.propping import FloorPropped
from verifier.formwork.removal import RemovalPlan
from verifier.formwork.striking import removal_order
from verifier.pipeline.concreting.after_pour import After, after_of, decisions_of, signatures_of
from verifier.pipeline.concreting.back_props import floors_of
from verifier.pipeline.concreting.closing_dates import (
    Dated,
    Proof,
    curing_need,
    curing_of,
    dates_of,
    proofs_of,
    removal_of,
    terms_of,
)
from verifier.pipeline.concreting.closing_levels import LevelSeen, levels_of
from verifier.pipeline.concreting.closing_results import (
    FULL_AGE_DAYS,
    SampleResult,
    acceptance_of,
    results_of,
)
from verifier.pipeline.concreting.ordering import quantities_of, samples_of
from verifier.pipeline.concreting.orders import sent_order
from verifier.pipeline.concreting.pouring import log_of
from verifier.pipeline.inspection.rounds import rounds_of


class ClosingState(BaseModel, frozen=True, extra="forbid"):
    """How far the closing is. ``missing`` says what lacks and who brings it; empty means that the record may close."""

    code: str
    ended_at: datetime | None
    terms: Terms
    curing_need: CuringNeed | Refusal
    curing: CuringState | None
    results: tuple[SampleResult, ...]
    acceptance: Acceptance | None
    dates: tuple[Dated, ...] | Refusal
    proofs: tuple[Proof, ...]
    removal: tuple[str, ...]
    plans: tuple[RemovalPlan, ...] | Refusal
    floors: tuple[FloorPropped, ...]
    levels: tuple[LevelSeen, ...]
    defects: tuple[DefectSeen, ...]
    missing: tuple[ToClose, ...]
    after: After


def closing_of(folder: Path, at: datetime) -> ClosingState:
    """Say how far the closing is.

    Args:
        folder: The pour folder.
        at: Time of the question.

    Returns:
        Every part with its source, and what still lacks.

    Raises:
        BadInput: If the drawing values can't be used.
    """
    pour, after, log = read_pour(folder), after_of(folder), log_of(folder)
    terms = terms_of(pour, after)
    ended = max((e.at for e in log if isinstance(e, PourEvent) and e.what == "end"), default=None)
    need = curing_need(pour, terms)
    curing = curing_of(need, ended, after.entries, at)
    results = results_of(after.entries, pour.pour.code, samples_made(log), ended)
    acceptance = acceptance_of(pour, results)
    dates = dates_of(pour.pour.code, terms, ended, after.entries, at)
    floors = floors_of(folder, after.entries)
    closing = _closing(folder, at, after, results, acceptance, curing, dates, floors)
    return ClosingState(
        code=pour.pour.code,
        ended_at=ended,
        terms=terms,
        curing_need=need,
        curing=curing,
        results=results,
        acceptance=acceptance,
        dates=dates,
        proofs=proofs_of(after.entries),
        removal=removal_order(
            slab=bool(pour.slabs),
            beams=bool(pour.beams),
            cantilever=terms.cantilever,
            back_props=_back_props(after, floors) != "none needed",
        ),
        plans=removal_of(folder, after.entries),
        floors=floors,
        levels=levels_of(after.entries),
        defects=tuple(e for e in after.entries if isinstance(e, DefectSeen)),
        missing=(*_not_ended(ended), *missing_to_close(closing, supply_figures().volume_stop.value)),
        after=after,
    )


def samples_made(log: Sequence[Entry]) -> set[str]:
    """Names of the samples that were taken during the pour.

    Args:
        log: The pour log.

    Returns:
        Samples of trucks and of specimens.
    """
    return {e.sample for e in log if isinstance(e, Truck | Cube) and e.sample}


_NOT_GONE = {"not written", "stand", "do not hold"}


def _back_props(after: After, floors: Sequence[FloorPropped]) -> str:
    """How they stand: floor by floor where floors are given or written, else as somebody said of all of them."""
    if floors:
        return "still standing" if any(f.state in _NOT_GONE for f in floors) else "removed and written"
    states = [e.state for e in after.entries if isinstance(e, BackProps)]
    return states[-1] if states else "still standing"


def _defects(after: After) -> tuple[Defect, ...]:
    said = decisions_of(after)
    found = []
    for number, defect in {
        e.defect.number: e.defect for e in after.entries if isinstance(e, DefectSeen)
    }.items():
        decided = said.get(f"defect {number}")
        update = {"decided_by": decided.by, "decision": decided.decision} if decided else {}
        found.append(defect.model_copy(update=update))
    return tuple(found)


def _closing(
    folder: Path,
    at: datetime,
    after: After,
    results: Sequence[SampleResult],
    acceptance: Acceptance | None,
    curing: CuringState | None,
    dates: tuple[Dated, ...] | Refusal,
    floors: tuple[FloorPropped, ...],
) -> Closing:
    levels = levels_of(after.entries)
    log = log_of(folder)
    trucks = [e for e in log if isinstance(e, Truck)]
    order = sent_order(folder)
    made = samples_made(log)
    full = {r.sample for r in results if r.age_days >= FULL_AGE_DAYS}
    newest = signatures_of(after)
    signed = {post: s.by for post, s in newest.items() if s.overtaken_by is None}
    struck = {e.part for e in after.entries if isinstance(e, Struck)}
    parts = set() if isinstance(dates, Refusal) else {d.date.part for d in dates}
    explained = [e.says for e in after.entries if isinstance(e, Explained)]
    decided = {key: s.by for key, s in decisions_of(after).items()}
    answered = {e.number: e.answered for e in after.entries if isinstance(e, Query)}
    too_early = [f"back-props under {f.floor}" for f in floors if f.state == "taken too early"]
    return Closing.model_validate(
        {
            "items_open": _items_open(folder, trucks, at),
            "tickets_m3": sum(t.placed_m3 for t in trucks),
            "computed_m3": quantities_of(folder, truck_m3=1.0).take_off.net_m3,
            "volume_explained": explained[-1] if explained else "",
            "samples_planned": order.samples_planned if order else samples_of(folder).samples,
            "samples_made": len(made),
            "results_in": len(full & made),
            "acceptance": acceptance,
            "results_decided_by": decided.get("results", ""),
            "curing_done": curing is not None and curing.done,
            "striking_written": bool(struck) and parts <= struck,
            "back_props": _back_props(after, floors),
            "back_props_under": [f.floor for f in floors if f.state in _NOT_GONE],
            "levels_written": bool(levels),
            "levels_off": sum(seen.verdict != "conforming" for seen in levels),
            "levels_decided_by": decided.get("levels", ""),
            "struck_early": [
                *(() if isinstance(dates, Refusal) else (d.date.part for d in dates if d.too_early)),
                *too_early,
            ],
            "striking_decided_by": decided.get("striking", ""),
            "queries_open": sum(not done for done in answered.values()),
            "defects": _defects(after),
            "signed_by_contractors_engineer": signed.get("contractor's engineer", ""),
            "signed_by_inspector": signed.get("independent inspector", ""),
            "read_by_engineer_of_record": signed.get("engineer of record", ""),
            "signed_before_later": tuple(post for post, s in newest.items() if s.overtaken_by is not None),
        }
    )


def _items_open(folder: Path, trucks: Sequence[Truck], at: datetime) -> int:
    """Items open when concrete started: later days can't open them again."""
    rounds = rounds_of(folder)
    starts = [t.discharge_start_at for t in trucks if t.discharge_start_at is not None]
    states = rounds.states(min(starts, default=at))
    return sum(len(s.open) for s in states if s.number in rounds.walked)


def _not_ended(ended: datetime | None) -> tuple[ToClose, ...]:
    if ended is not None:
        return ()
    return (ToClose(key="end", says="the end of the pour is not in the log", who="pour leader"),)
