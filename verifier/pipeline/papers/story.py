"""The whole story of a record as a document for reading offline, from a pour folder or a sealed bundle."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, tzinfo
from pathlib import Path

from verifier.errors import BadInput
from verifier.pipeline.measurement.pictures import thumbnail_of
from verifier.pipeline.papers.inches import beside
from verifier.pipeline.sealing.disclosing import audit_now
from verifier.pipeline.sealing.originals import Fits, OriginalTold, bar_of, originals_of
from verifier.pipeline.sealing.recording import audit_bundle, head_of
from verifier.pipeline.sealing.telling import Told, events_of, is_bundle, told
from verifier.record.audit import FAILS, OPEN, Audit, Fact
from verifier.record.canonical import utc_instant
from verifier.record.timeline import Event
from verifier.report.sheet import HeadLine, PersonLine
from verifier.report.story import (
    QUESTIONS,
    ClaimLine,
    EventLine,
    FactLine,
    OriginalLine,
    Question,
    StorySheet,
    story_pdf,
)
from verifier.report.time_figures import TimeAxis, axis_of, time_bar, time_scale

_WIDTH_PX = 480
_FITS: dict[Fits, str] = {
    "fits": "nothing speaks against it",
    "doubtful": "doubtful",
    "contradicts": "contradicts the bracket",
    "not checked": "can't be checked",
}
_STATEMENT = (
    "This document tells what a record holds. It does not design, accept or release anything and does not replace the "
    "engineer of record; local codes and licensed practice govern."
)


def write_story(place: Path, out: Path, at: datetime) -> Path:
    """Write the story of a record as a PDF.

    Args:
        place: The pour folder, or a sealed bundle of it.
        out: The PDF; an older file of that name is never written over.
        at: Moment of the act.

    Returns:
        The PDF.

    Raises:
        BadInput: If there is no record, or the file can't be written.
    """
    if out.exists():
        raise BadInput(
            "There is a file of that name already.", where=str(out), todo="Give another name with --pdf."
        )
    data = story_of(place, at)
    try:
        out.write_bytes(data)
    except OSError as error:
        raise BadInput(
            f"The document can't be written ({error.strerror}).", where=str(out), todo="Choose another place."
        ) from error
    return out


def story_of(place: Path, at: datetime, *, audited: Audit | None = None) -> bytes:
    """Set the story of a record.

    Args:
        place: The pour folder, or a sealed bundle of it.
        at: Moment of the act.
        audited: What an audit of it says, if one was made just now.

    Returns:
        The PDF.

    Raises:
        BadInput: If there is no record, or the document can't be set.
        RecordDamaged: If an original is missing or changed in a folder.
    """
    found = audited or (audit_bundle(place) if is_bundle(place) else audit_now(place, at))
    of = told(place)
    note = of.note or head_of(place, at)[1]
    return story_pdf(_sheet(of, found, note, at), at)


def _sheet(of: Told, found: Audit, note: str, at: datetime) -> StorySheet:
    events, originals = events_of(of), originals_of(of)
    inches = of.pour is not None and of.pour.pour.units == "inch"
    said = beside if inches else str
    zone = of.pour.pour.planned_start.tzinfo if of.pour is not None else None
    axis = axis_of(bar_of(o) for o in originals)
    drawn = {f.topic for f in found.facts if f.topic == "derived pictures" and f.state == OPEN}
    facts = {f.topic: f for f in found.facts if f.topic not in drawn}  # a folder has none to be judged
    pictures = {o.sha256: thumbnail_of(o.sha256, of.read, width_px=_WIDTH_PX) for o in originals}
    return StorySheet(
        pour=of.records[0].pour,
        title=of.pour.pour.title if of.pour is not None else of.records[0].pour,
        lead=_lead(of, events, originals, at, zone or UTC),
        head=HeadLine(short=of.head.short, size=of.head.size, root=of.head.root_text, note=note),
        part=_part(of),
        statement=_STATEMENT,
        questions=tuple(
            Question(
                asks=asks,
                facts=tuple(_fact(facts[t], said) for t in topics if t in facts),
            )
            for asks, topics in QUESTIONS.values()
            if any(t in facts for t in topics)
        ),
        limits=found.limits,
        axis=time_scale(axis, _ends(axis, zone or UTC)) if axis is not None else "",
        originals=tuple(_original(o, axis, zone or UTC) for o in originals),
        people=_people(events),
        events=tuple(_event(e, zone or UTC, said) for e in events),
        pictures={sha256: data for sha256, data in pictures.items() if data is not None},
    )


def _fact(fact: Fact, said: Callable[[str], str]) -> FactLine:
    """A fact with what stands behind it; brackets stand with their photos."""
    details = () if fact.topic == "time brackets" and fact.state != FAILS else fact.details
    return FactLine(topic=fact.topic, state=fact.state, say=said(fact.say), details=tuple(map(said, details)))


def _part(of: Told) -> str:
    if of.whole:
        return ""
    return (
        f"Made from a part: {len(of.records)} of {of.head.size} records. What the others say is not told here, and the whole "
        "record may tell more."
    )


def _lead(
    of: Told, events: Sequence[Event], originals: Sequence[OriginalTold], at: datetime, zone: tzinfo
) -> tuple[tuple[str, str], ...]:
    answers = [str(r.body.get("answer", "")).replace("_", " ") for r in of.records if r.type == "check"]
    decided = [e for e in events if e.type in ("release", "refusal", "lapse", "close")]
    bounded = sum(o.bracket.not_before is not None for o in originals)
    rows = [
        ("Records", f"{of.head.size}, from {_when(events[0].at, zone)} to {_when(events[-1].at, zone)}"),
        ("Photos", f"{len(originals)}, bounded in time from both sides: {bounded}"),
        ("Last check", answers[-1] if answers else _none(of)),
        *(("Decided", f"{e.what} by {e.who}, {_when(e.at, zone)}, record {e.seq}") for e in decided),
        ("Made", f"{at.astimezone(zone):%Y-%m-%d %H:%M %z}"),
    ]
    if not decided:
        rows.insert(3, ("Decided", _none(of)))
    return tuple(rows)


def _none(of: Told) -> str:
    return "nothing in the record" if of.whole else "nothing among the records shown"


def _original(o: OriginalTold, axis: TimeAxis | None, zone: tzinfo) -> OriginalLine:
    b, bar = o.bracket, bar_of(o)
    place = ", ".join(part for part in (o.spot.element, f"spot {o.spot.spot}" if o.spot.spot else "") if part)
    return OriginalLine(
        name=o.name,
        place=place or "place not said",
        record=o.record.seq,
        person=o.person,
        sha256=o.sha256,
        not_before=_bound(b.not_before, b.not_before_by, zone),
        not_after=_bound(b.not_after, b.not_after_by, zone),
        claims=tuple(
            ClaimLine(
                what=c.what,
                says=c.says,
                fits=_FITS[c.fits],
                doubted=c.fits in ("doubtful", "contradicts"),
                why=c.why,
            )
            for c in o.claims
        ),
        remarks=" ".join(o.remarks),
        bar=time_bar(bar, axis) if axis is not None else "",
        says=bar.says,
    )


def _people(events: Sequence[Event]) -> tuple[PersonLine, ...]:
    did: dict[tuple[str, str], dict[str, int]] = {}
    for e in events:
        counts = did.setdefault((e.who, e.how_known), {})
        counts[e.what] = counts.get(e.what, 0) + 1
    return tuple(
        PersonLine(
            name=who,
            role="",
            did="; ".join(
                f"{what}{f' ({count} times)' if count > 1 else ''}" for what, count in acts.items()
            ),
            known_by=how,
        )
        for (who, how), acts in did.items()
    )


def _event(e: Event, zone: tzinfo, said: Callable[[str], str]) -> EventLine:
    """One line; the name of a file stays as it was received."""
    about = e.about if e.original else said(e.about)
    return EventLine(
        seq=e.seq, at=_when(e.at, zone), who=e.who, how_known=e.how_known, what=e.what, about=about
    )


def _ends(axis: TimeAxis, zone: tzinfo) -> list[str]:
    middle = axis.start + (axis.end - axis.start) / 2
    return [f"{t.astimezone(zone):%m-%d %H:%M}" for t in (axis.start, middle, axis.end)]


def _bound(instant: str | None, by: str, zone: tzinfo) -> str:
    return (
        f"not bounded: {by.removeprefix('nothing: ')}"
        if instant is None
        else f"{_when(instant, zone)} - {by}"
    )


def _when(instant: str, zone: tzinfo) -> str:
    return f"{utc_instant(instant).astimezone(zone):%Y-%m-%d %H:%M %z}"
