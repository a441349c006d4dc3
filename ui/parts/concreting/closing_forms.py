"""The short forms after the pour: what each asks, and its fields once it is complete."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from ui import words
from ui.parts import forms, plain
from verifier.concrete.after import Query, Terms
from verifier.pipeline.concreting.closing_state import ClosingState

_PARTS: Final = ("sides", "slab soffit, props stay", "beam soffit, props stay", "slab props", "beam props")
_EVIDENCE: Final = ("days of the code", "strength shown", "decided by the engineer of record")
_STATES: Final = ("none needed", "removed and written", "still standing")
_DEFECTS: Final = (
    "cold joint line",
    "level, bulge or step",
    "stain, leak or exposed bar",
    "honeycomb",
    "crack",
)


def _terms(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    held = seen.terms
    mean = forms.number(
        folder, "terms", "mean_temperature_c", words.TERMS_MEAN, start=held.mean_temperature_c
    )
    cement = forms.choice(
        folder, "terms", "cement", words.TERMS_CEMENT, words.TERMS_CEMENTS, start=held.cement
    )
    asked = [("cantilever", words.TERMS_CANTILEVER, held.cantilever)]
    if seen.code.startswith("IS 456"):
        asked.append(("hot_dry", words.TERMS_HOT, held.hot_dry))
    if seen.code.startswith("ACI 318"):
        asked.append(("high_early", words.TERMS_EARLY, held.high_early))
        asked.append(("live_above_dead", words.TERMS_LIVE, held.live_above_dead))
    yes_no = {
        name: forms.choice(folder, "terms", name, label, words.YES_NO, start="yes" if so else "no") == "yes"
        for name, label, so in asked
    }
    spans = {
        name: forms.number(folder, "terms", name, label, start=given)
        for name, label, given in (
            ("slab_span_m", words.TERMS_SLAB, held.slab_span_m),
            ("beam_span_m", words.TERMS_BEAM, held.beam_span_m),
        )
    }
    typed = {"mean_temperature_c": mean, "cement": cement} | yes_no | spans
    if seen.code.startswith("EN 1992"):
        typed |= _curing_class(folder, held)
        typed["striking"] = forms.choice(
            folder, "terms", "striking", words.TERMS_STRIKING, words.TERMS_STRIKINGS, start=held.striking
        )
    # What this code does not ask stays as it was written before.
    fields = held.model_dump(exclude={"by"}) | typed
    return (None if mean is None else fields), []


def _curing_class(folder: Path, held: Terms) -> dict[str, Any]:
    classes = {str(n): str(n) for n in (1, 2, 3, 4)}
    chosen = forms.choice(
        folder, "terms", "curing_class", words.TERMS_CLASS, classes, start=str(held.curing_class)
    )
    ratio = forms.number(folder, "terms", "strength_ratio", words.TERMS_RATIO, start=held.strength_ratio)
    return {"curing_class": int(chosen)} | ({} if ratio is None else {"strength_ratio": ratio})


def _query(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    """A question to the engineer of record, or the answer to one that is open."""
    asked = {e.number: e for e in seen.after.entries if isinstance(e, Query)}
    new = max(asked, default=0) + 1
    numbers = {"new": words.QUERY_NEW} | {
        str(n): f"{n}. {q.says}" for n, q in asked.items() if not q.answered
    }
    number = forms.choice(folder, "query", "number", words.QUERY_WHICH, numbers)
    says = forms.text(folder, "query", "says", words.QUERY_SAYS)
    fields = {
        "kind": "query",
        "number": new if number == "new" else int(number),
        "says": says,
        "answered": number != "new",
    }
    return (fields if says else None), []


def _result(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    del seen
    sample = forms.text(folder, "result", "sample", words.RESULT_SAMPLE)
    age = forms.number(folder, "result", "age_days", words.RESULT_AGE)
    mpa = forms.text(folder, "result", "mpa", words.RESULT_MPA)
    values = [
        float(v.replace(",", ".")) for v in mpa.split() if v.replace(",", ".").replace(".", "", 1).isdecimal()
    ]
    whole = len(values) == len(mpa.split()) and bool(values)
    if mpa and not whole:
        plain.verdict_line("inconclusive", "", words.RESULT_MPA_WRONG)
    ready = bool(sample) and age is not None and whole
    fields = {"kind": "result", "sample": sample, "age_days": int(age or 0), "mpa": values}
    return (fields if ready else None), []


def _level(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    del seen
    place = forms.text(folder, "level", "place", words.LOG_FIELD["place"])
    what = forms.choice(folder, "level", "what", words.LEVEL_KIND, words.LEVEL_WHAT)
    off = forms.number(folder, "level", "off_mm", words.LEVEL_OFF)
    doubt = forms.number(folder, "level", "uncertainty_mm", words.LEVEL_DOUBT)
    ready = bool(place) and off is not None and bool(doubt)
    fields = {"kind": "level", "what": what, "place": place, "off_mm": off, "uncertainty_mm": doubt}
    return (fields if ready else None), []


def _strength(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    del seen
    part = forms.choice(folder, "strength", "part", words.STRENGTH_PART, words.STRENGTH_PARTS)
    mpa = forms.text(folder, "strength", "mpa", words.RESULT_MPA)
    stress = forms.number(folder, "strength", "stress_mpa", words.STRENGTH_STRESS)
    values = [float(v) for v in mpa.replace(",", ".").split() if v.replace(".", "", 1).isdecimal()]
    ready = bool(values) and len(values) == len(mpa.split())
    return (
        {"kind": "strength", "part": part, "mpa": values, "stress_mpa": stress or 0.0} if ready else None
    ), []


def _struck(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    del seen
    part = forms.choice(
        folder, "struck", "part", words.STRUCK_WHAT, {p: words.STRIKING_PART[p] for p in _PARTS}
    )
    how = forms.choice(
        folder, "struck", "evidence", words.STRUCK_BY, {e: words.STRUCK_EVIDENCE[e] for e in _EVIDENCE}
    )
    at = forms.moment(folder, "struck", "at", words.STRUCK_DAY, words.LOG_FIELD["at"])
    return {"kind": "struck", "part": part, "evidence": how, "at": at}, []


def _back_props(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    del seen
    state = forms.choice(
        folder, "back-props", "state", words.BACK_PROPS, {s: words.BACK_PROPS_STATE[s] for s in _STATES}
    )
    return {"kind": "back-props", "state": state}, []


def _propping(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    known = ", ".join(f.floor for f in seen.floors)
    if known:
        plain.paragraph(words.PROPPING_KNOWN.format(floors=known), quiet=True)
    floor = forms.text(folder, "propping", "floor", words.PROPPING_FLOOR)
    step = forms.choice(folder, "propping", "step", words.PROPPING_STEP, words.PROPPING_STEPS)
    sizes: dict[str, float | None] = {}
    if step == "placed":
        sizes = {
            name: forms.number(folder, "propping", name, words.PROPPING_SIZE[name])
            for name in ("spacing_x_m", "spacing_y_m", "prop_kn")
        }
    at = forms.moment(folder, "propping", "at", words.PROPPING_DAY, words.LOG_FIELD["at"])
    ready = bool(floor) and all(sizes.values())
    return ({"kind": "propping", "floor": floor, "step": step, "at": at, **sizes} if ready else None), []


def _defect(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    kind = forms.choice(
        folder, "defect", "kind", words.DEFECT_KIND, {d: words.DEFECT_KINDS[d] for d in _DEFECTS}
    )
    place = forms.text(folder, "defect", "place", words.LOG_FIELD["place"])
    says = forms.text(folder, "defect", "describes", words.DEFECT_SAYS)
    plain.paragraph(words.DEFECT_HOW, quiet=True)
    measures = _measures(folder, kind)
    photo = forms.file(folder, "defect", "photo", words.DEFECT_PHOTO, (".jpg", ".jpeg", ".png"))
    if not (place and says and photo is not None and measures is not None):
        return None, []
    number = max((d.defect.number for d in seen.defects), default=0) + 1
    told = {"number": number, "kind": kind, "place": place, "describes": says} | measures
    return {"kind": "defect", "defect": told}, [(photo.name, photo.read_bytes())]


def _measures(folder: Path, kind: str) -> dict[str, Any] | None:
    """Measures that a crack or honeycomb asks for; an empty table for the other kinds, None while one is missing."""
    if kind == "honeycomb":
        names = ("length_mm", "width_mm", "depth_mm")
        sizes = {n: forms.number(folder, "defect", n, words.DEFECT_SIZE[n]) for n in names}
        seen = forms.choice(folder, "defect", "bar_seen", words.DEFECT_BAR, words.YES_NO)
        whole = all(v is not None for v in sizes.values())
        return {"hollow": sizes | {"face": "as seen", "bar_seen": seen == "yes"}} if whole else None
    if kind == "crack":
        length = forms.number(folder, "defect", "length_mm", words.DEFECT_SIZE["length_mm"])
        widths = [
            forms.number(folder, "defect", f"width-{n}", words.DEFECT_WIDTH.format(count=n))
            for n in (1, 2, 3)
        ]
        way = forms.text(folder, "defect", "direction", words.DEFECT_WAY)
        if length is None or None in widths or not way:
            return None
        now = datetime.now().astimezone()
        return {
            "crack": {
                "direction": way,
                "length_mm": length,
                "widths_mm": widths,
                "through": "not known",
                "first_seen_at": now,
            }
        }
    return {}


def _explanation(folder: Path, seen: ClosingState) -> tuple[dict[str, Any] | None, list[tuple[str, bytes]]]:
    del seen
    says = forms.text(folder, "explanation", "says", words.EXPLAIN_SAYS)
    return ({"kind": "explanation", "says": says} if says else None), []


Form = Callable[[Path, ClosingState], tuple[dict[str, Any] | None, list[tuple[str, bytes]]]]
FORMS: Final[Mapping[str, Form]] = {
    "terms": _terms,
    "result": _result,
    "strength": _strength,
    "struck": _struck,
    "propping": _propping,
    "back-props": _back_props,
    "level": _level,
    "defect": _defect,
    "explanation": _explanation,
    "query": _query,
}
