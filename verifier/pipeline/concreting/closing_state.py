"""How far the closing of a record is: curing, results, striking, levels, defects, signatures, and what still lacks."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from verifier.codes.grades import concrete_strength_mpa
from verifier.codes.load import load_code
from verifier.concrete.after import (
    BackProps,
    CuringLook,
    DefectSeen,
    Explained,
    Level,
    Query,
    Result,
    StrengthShown,
    Struck,
    Terms,
)
from verifier.concrete.close import Closing, Defect, ToClose, missing_to_close
from verifier.concrete.cubes import (
    Acceptance,
    aci318_acceptance,
    as1379_acceptance,
    en206_identity,
    en206_initial,
    is456_acceptance,
    sample_result_mpa,
)
from verifier.concrete.curing import (
    CuringNeed,
    CuringState,
    aci318_curing,
    as3600_curing,
    curing_state,
    en13670_curing,
    is456_curing,
)
from verifier.concrete.doubt import strength_part
from verifier.concrete.pour_log import Cube, PourEvent, Truck
from verifier.concrete.supply import supply_figures
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, Refusal
from verifier.formwork.striking import (
    CAUTION,
    StrengthProof,
    StrikingDate,
    aci347_days,
    as3600_dates,
    is456_dates,
    removal_order,
    strength_proof,
)
from verifier.pipeline.concreting.closing import After, ClosingState, Dated, SampleResult, after_of, terms_of
from verifier.pipeline.concreting.ordering import quantities_of, samples_of
from verifier.pipeline.concreting.orders import sent_order
from verifier.pipeline.concreting.pouring import log_of
from verifier.pipeline.inspection.rounds import rounds_of

FULL_AGE_DAYS = 28
IDENTITY_MOST = 6
USUAL_C = 20.0


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
    curing = _curing(need, ended, after, at)
    results = tuple(_sample(r, pour.pour.code) for r in after.entries if isinstance(r, Result))
    acceptance = acceptance_of(pour, results)
    dates = _dates(pour.pour.code, terms, ended, after, at)
    closing = _closing(folder, at, pour, after, acceptance, curing, dates)
    return ClosingState(
        ended_at=ended,
        terms=terms,
        curing_need=need,
        curing=curing,
        results=results,
        acceptance=acceptance,
        dates=dates,
        proofs=_proofs(after),
        removal=removal_order(
            slab=bool(pour.slabs),
            beams=bool(pour.beams),
            cantilever=terms.cantilever,
            back_props=_back_props(after) != "none needed",
        ),
        levels=tuple(e for e in after.entries if isinstance(e, Level)),
        defects=tuple(e for e in after.entries if isinstance(e, DefectSeen)),
        missing=(*_not_ended(ended), *missing_to_close(closing, supply_figures().volume_stop.value)),
        after=after,
    )


def curing_need(pour: Pour, terms: Terms) -> CuringNeed | Refusal:
    """Days of curing by the code of the pour.

    Args:
        pour: The pour, for code and exposure.
        terms: Cement, weather and class.

    Returns:
        Days with source, or a refusal where the table gives none.

    Source:
        IS 456:2000, 13.5.1; ACI 318-19, 26.5.3; EN 13670:2009, annex F; AS 3600:2018, 4.4. Seven days elsewhere are
        common practice.
    """
    code = pour.pour.code
    if code.startswith("IS 456"):
        return is456_curing(blended=terms.cement == "blended", hot_dry=terms.hot_dry)
    if code.startswith("ACI 318"):
        return aci318_curing(high_early=terms.high_early)
    if code.startswith("EN 1992"):
        surface = USUAL_C if terms.mean_temperature_c is None else terms.mean_temperature_c
        return en13670_curing(terms.curing_class, surface, terms.strength_ratio)
    if code.startswith("AS 3600"):
        return as3600_curing([e.exposure or pour.pour.exposure or "" for e in pour.elements])
    return CuringNeed(
        days=7,
        source="common practice, no source",
        note=f"No days of {code} are on file: the specification says how many.",
    )


def acceptance_of(pour: Pour, results: Sequence[SampleResult]) -> Acceptance | None:
    """Judge the results of 28 days by the code of the pour.

    Args:
        pour: The pour, for grade and code.
        results: All results.

    Returns:
        The acceptance, or None where no rule of the code is on file.

    Source:
        IS 456:2000, table 11; ACI 318-19, 26.12.3; EN 206:2013, annex B up to six results, else the initial rule;
        AS 1379:2007, project assessment.
    """
    code = pour.pour.code
    judged = [r.mpa for r in results if r.age_days >= FULL_AGE_DAYS and r.mpa is not None]
    table = load_code(code, units=pour.pour.units)
    strength = concrete_strength_mpa(pour.pour.concrete.grade, table.concrete).value
    if code.startswith("IS 456"):
        return is456_acceptance(strength, judged)
    if code.startswith("ACI 318"):
        return aci318_acceptance(strength, judged)
    if code.startswith("EN 1992"):
        on_cubes = _cube_strength(pour.pour.concrete.grade, strength)
        return (
            en206_identity(on_cubes, judged)
            if len(judged) <= IDENTITY_MOST
            else en206_initial(on_cubes, judged)
        )
    if code.startswith("AS 3600"):
        return as1379_acceptance(strength, judged)
    return None


def _cube_strength(grade: str, cylinder_mpa: float) -> float:
    """The second figure of a class such as C25/30 is that of cubes, which are what most sites make."""
    _, slash, cube = grade.partition("/")
    return float(cube) if slash and cube.replace(".", "", 1).isdecimal() else cylinder_mpa


def _sample(result: Result, code: str) -> SampleResult:
    mean: float | None = statistics.fmean(result.mpa)
    why = ""
    if code.startswith("IS 456"):
        try:
            mean = sample_result_mpa(result.mpa)
            why = "" if mean is not None else "a cube is off the mean by more than 15 % (IS 456:2000, 15.4)"
        except BadInput as error:
            mean, why = None, error.wrong
    return SampleResult(
        sample=result.sample,
        age_days=result.age_days,
        mpa=mean,
        specimens=result.mpa,
        usual_share=strength_part(result.age_days, "N"),
        invalid_because=why,
    )


def _curing(
    need: CuringNeed | Refusal, ended: datetime | None, after: After, at: datetime
) -> CuringState | None:
    if ended is None or isinstance(need, Refusal) or at < ended:
        return None
    return curing_state(need, ended, [e for e in after.entries if isinstance(e, CuringLook)], at)


def _dates(
    code: str, terms: Terms, ended: datetime | None, after: After, at: datetime
) -> tuple[Dated, ...] | Refusal:
    if ended is None:
        return Refusal("not-ended", "The end of the pour is not in the log, so no day is counted.")
    found: tuple[StrikingDate, ...] | Refusal
    mean = terms.mean_temperature_c
    if mean is None and code.startswith(("IS 456", "AS 3600")):
        return Refusal(
            "temperature-not-written",
            f"Striking days of {code} rest on the temperature: write the mean temperature since the pour.",
        )
    if code.startswith("IS 456") and mean is not None:
        found = is456_dates(
            ended,
            slab_span_m=terms.slab_span_m,
            beam_span_m=terms.beam_span_m,
            mean_temperature_c=mean,
            cement=terms.cement,
        )
    elif code.startswith("AS 3600") and mean is not None:
        slab, beams = terms.slab_span_m is not None, terms.beam_span_m is not None
        found = as3600_dates(ended, slab=slab, beams=beams, mean_temperature_c=mean)
    elif code.startswith("ACI 318"):
        found = _aci_dates(terms, ended)
    else:
        return Refusal(
            "no-days",
            f"No striking days of {code} are on file: show the strength on specimens cured beside the slab.",
        )
    if isinstance(found, Refusal):
        return found
    struck = {e.part: e for e in after.entries if isinstance(e, Struck)}
    return tuple(Dated(date=d, struck=struck.get(d.part), passed=at >= d.earliest) for d in found)


def _aci_dates(terms: Terms, ended: datetime) -> tuple[StrikingDate, ...]:
    """Days above 10 C, taken as if every day since the pour were one; colder days push the date back."""
    parts: list[StrikingDate] = []
    for element, part, span in (
        ("slab", "slab props", terms.slab_span_m),
        ("beam", "beam props", terms.beam_span_m),
    ):
        if span is not None:
            days = aci347_days(
                "slab" if element == "slab" else "beam", span, live_above_dead=terms.live_above_dead
            )
            parts.append(
                StrikingDate.model_validate(
                    {
                        "part": part,
                        "hours": days * 24.0,
                        "earliest": ended + timedelta(days=days),
                        "source": "ACI 347R-14; only days above 10 C count, each colder one adds a day",
                        "caution": CAUTION,
                    }
                )
            )
    return tuple(parts)


def _proofs(after: After) -> tuple[StrengthProof, ...]:
    found = (
        strength_proof(e.part, e.mpa, e.stress_mpa) for e in after.entries if isinstance(e, StrengthShown)
    )
    return tuple(p for p in found if not isinstance(p, Refusal))


def _back_props(after: After) -> str:
    states = [e.state for e in after.entries if isinstance(e, BackProps)]
    return states[-1] if states else "still standing"


def _defects(after: After) -> tuple[Defect, ...]:
    said = {s.decides: s for s in after.signed if s.decides}
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
    pour: Pour,
    after: After,
    acceptance: Acceptance | None,
    curing: CuringState | None,
    dates: tuple[Dated, ...] | Refusal,
) -> Closing:
    log = log_of(folder)
    trucks = [e for e in log if isinstance(e, Truck)]
    order = sent_order(folder)
    made = {t.sample for t in trucks if t.sample} | {e.sample for e in log if isinstance(e, Cube)}
    full = {e.sample for e in after.entries if isinstance(e, Result) and e.age_days >= FULL_AGE_DAYS}
    signed = {s.post: s.by for s in after.signed if not s.decides}
    struck = {e.part for e in after.entries if isinstance(e, Struck)}
    parts = set() if isinstance(dates, Refusal) else {d.date.part for d in dates}
    explained = [e.says for e in after.entries if isinstance(e, Explained)]
    decided = [s.by for s in after.signed if s.decides == "results"]
    answered = {e.number: e.answered for e in after.entries if isinstance(e, Query)}
    back_props = _back_props(after)
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
            "results_decided_by": decided[-1] if decided else "",
            "curing_done": curing is not None and curing.done,
            "striking_written": bool(struck) and parts <= struck,
            "back_props": back_props,
            "levels_written": any(isinstance(e, Level) for e in after.entries),
            "queries_open": sum(not done for done in answered.values()),
            "defects": _defects(after),
            "signed_by_contractors_engineer": signed.get("contractor's engineer", ""),
            "signed_by_inspector": signed.get("independent inspector", ""),
            "read_by_engineer_of_record": signed.get("engineer of record", ""),
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
