"""Curing and striking of a pour: days of its code, strength shown, what was struck when, and the order of taking props away."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal

from pydantic import BaseModel

from verifier.concrete.after import AfterEntry, CuringLook, StrengthShown, Struck, Terms
from verifier.concrete.curing import (
    CuringNeed,
    CuringState,
    aci318_curing,
    as3600_curing,
    curing_state,
    en13670_curing,
    is456_curing,
)
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, Refusal
from verifier.formwork.figures import striking_figures
from verifier.formwork.removal import RemovalPlan
from verifier.formwork.striking import StrengthProof, strength_proof
from verifier.formwork.striking_days import (
    CAUTION,
    StrikingDate,
    aci347_days,
    as3600_dates,
    bs8110_dates,
    is456_dates,
)
from verifier.pipeline.concreting.after_pour import After
from verifier.pipeline.concreting.back_props import freed_at, placed_in
from verifier.pipeline.concreting.falsework import falsework_of

USUAL_C = 20.0


class Proof(StrengthProof, frozen=True):
    """Strength shown for a side or a soffit."""

    part: Literal["side", "soffit"]


class Dated(BaseModel, frozen=True, extra="forbid"):
    """A striking date and when it was done; ``too_early`` where that was before it without enough strength shown."""

    date: StrikingDate
    struck: Struck | None
    passed: bool
    too_early: bool = False


def terms_of(pour: Pour, after: After) -> Terms:
    """What days and dates rest on: as written, and where nothing is written the spans of the drawing.

    Args:
        pour: The pour.
        after: What was written after it.

    Returns:
        The terms. Without a drawn span a slab takes its longer side, which asks for more days.
    """
    given = after.terms or Terms(by="drawing")
    slab = max((s.span_m or max(s.extent_m) for s in pour.slabs), default=None)
    beam = max((b.span_m or b.length_m or 0.0 for b in pour.beams), default=0.0) or None
    return given.model_copy(
        update={"slab_span_m": given.slab_span_m or slab, "beam_span_m": given.beam_span_m or beam}
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


def curing_of(
    need: CuringNeed | Refusal, ended: datetime | None, entries: Sequence[AfterEntry], at: datetime
) -> CuringState | None:
    """What the looks at the curing show.

    Args:
        need: Days asked for.
        ended: End of the pour.
        entries: What was written after it.
        at: Time of the question.

    Returns:
        The state; None while there are no days to count.
    """
    if ended is None or isinstance(need, Refusal) or at < ended:
        return None
    return curing_state(need, ended, [e for e in entries if isinstance(e, CuringLook)], at)


def dates_of(
    code: str, terms: Terms, ended: datetime | None, entries: Sequence[AfterEntry], at: datetime
) -> tuple[Dated, ...] | Refusal:
    """Earliest striking times by the days of the code, each with what was done.

    Args:
        code: Title of the code of the pour.
        terms: Spans, temperature, cement.
        ended: End of the pour.
        entries: What was written after it.
        at: Time of the question.

    Returns:
        One entry a part, or a refusal where no days apply.

    Source:
        IS 456:2000, 11.3.1; ACI 347R-14; AS 3610-1995 and AS 3600, and BS 8110-1:1997, table 6.2, both from memory.
    """
    if ended is None:
        return Refusal("not-ended", "The end of the pour is not in the log, so no day is counted.")
    found: tuple[StrikingDate, ...] | Refusal
    mean = terms.mean_temperature_c
    surface = terms.striking == "BS 8110-1"
    if mean is None and (surface or code.startswith(("IS 456", "ACI 318", "AS 3600"))):
        return Refusal(
            "temperature-not-written",
            f"Striking days of {code} rest on the temperature: write the mean temperature since the pour.",
        )
    slab, beams = terms.slab_span_m is not None, terms.beam_span_m is not None
    if surface and mean is not None:
        found = bs8110_dates(ended, slab=slab, beams=beams, surface_c=mean, cement=terms.cement)
    elif code.startswith("IS 456") and mean is not None:
        found = is456_dates(
            ended,
            slab_span_m=terms.slab_span_m,
            beam_span_m=terms.beam_span_m,
            mean_temperature_c=mean,
            cement=terms.cement,
        )
    elif code.startswith("AS 3600") and mean is not None:
        found = as3600_dates(ended, slab=slab, beams=beams, mean_temperature_c=mean)
    elif code.startswith("ACI 318") and mean is not None:
        found = _aci_dates(terms, ended, mean)
    elif code.startswith("EN 1992"):
        return _none_by_en()
    else:
        return Refusal(
            "no-days",
            f"No striking days of {code} are on file: show the strength on specimens cured beside the slab.",
        )
    if isinstance(found, Refusal):
        return found
    # Of a part written several times the earliest counts: a later line must not hide that something went too soon.
    by_time = sorted((e for e in entries if isinstance(e, Struck)), key=lambda e: e.at, reverse=True)
    struck = {e.part: e for e in by_time}
    return tuple(_dated(d, struck.get(d.part), entries, at) for d in found)


def _dated(date: StrikingDate, struck: Struck | None, entries: Sequence[AfterEntry], at: datetime) -> Dated:
    """A part struck before its days is too early, unless enough strength was shown before it was struck."""
    early = struck is not None and struck.at < date.earliest
    if early and struck is not None:
        shown = proofs_of([e for e in entries if isinstance(e, StrengthShown) and e.at <= struck.at])
        part = "side" if date.part == "sides" else "soffit"
        early = not any(p.reached and p.part == part for p in shown)
    return Dated(date=date, struck=struck, passed=at >= date.earliest, too_early=early)


def _none_by_en() -> Refusal:
    figures = striking_figures()
    return Refusal(
        "no-days",
        f"{figures.no_days.standard} gives no striking days ({figures.no_days.source}): show the strength on specimens cured beside "
        f"the slab. Where the execution specification asks for the periods of {figures.bs8110.standard}, write that.",
    )


def _aci_dates(terms: Terms, ended: datetime, mean_c: float) -> tuple[StrikingDate, ...] | Refusal:
    """Days above 10 C, taken as if every day since the pour were one; colder days push the date back."""
    counted_above = striking_figures().aci347.counted_above_c
    if mean_c <= counted_above:
        return Refusal(
            "too-cold-for-days",
            f"Only days above {counted_above:g} C count and the mean was {mean_c:g} C. Show the strength on specimens cured beside "
            "the slab.",
        )
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


def proofs_of(entries: Sequence[AfterEntry]) -> tuple[Proof, ...]:
    """Hold each strength that was shown against what striking needs.

    Args:
        entries: What was written after the pour.

    Returns:
        One proof for each.
    """
    found = (
        (e.part, strength_proof(e.part, e.mpa, e.stress_mpa)) for e in entries if isinstance(e, StrengthShown)
    )
    return tuple(Proof(part=part, **dict(proof)) for part, proof in found if not isinstance(proof, Refusal))


def removal_of(folder: Path, entries: Sequence[AfterEntry]) -> tuple[RemovalPlan, ...] | Refusal:
    """Work out in which order props may go, from the falsework file and the strength last shown for a soffit.

    Args:
        folder: The pour folder.
        entries: What was written after the pour.

    Returns:
        One plan for each slab whose design load in use is given, or a refusal that says what is missing for one.
    """
    shown = [min(e.mpa) for e in entries if isinstance(e, StrengthShown) and e.part == "soffit"]
    placed, freed = placed_in(entries), freed_at(entries)
    done = {p.floor: p.taken_at for p in placed if p.taken_at is not None}
    if freed is not None:
        done |= {slab.mark: freed for slab in read_pour(folder).slabs}
    try:
        plans = falsework_of(
            folder,
            shown_mpa=shown[-1] if shown else None,
            placed=[p.floor for p in placed],
            done=done,
        ).removal
    except BadInput as error:
        return Refusal("falsework-unreadable", f"{error.wrong} {error.todo}")
    return plans or Refusal(
        "no-loads",
        "Nothing is worked out: no design load in use stands at a grid of props, and no floor below is given. Enter both under the falsework.",
    )
