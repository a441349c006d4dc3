"""Put decision, findings and record together into the release document; nothing is computed or judged here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, tzinfo
from typing import Any

import verifier
from verifier.metrology.budget import result_text
from verifier.record import Ledger, Record, Signer, sign_head
from verifier.record.audit.facts import Bracket
from verifier.record.stamps import time_brackets
from verifier.record.timeline import events
from verifier.release.decision import Decision
from verifier.release.reason import Reason
from verifier.report.figures import Limits, Reading, Verdict, tolerance_bar
from verifier.report.sheet import (
    ElementLine,
    FindingLine,
    HeadLine,
    Line,
    PersonLine,
    PhotoLine,
    ReleaseSheet,
    Table,
)
from verifier.rules.finding import Finding
from verifier.wording import counted

PICTURES_AT_MOST = 24
"""So many findings are shown with their picture, worst first; the bundle holds the rest."""

_ORDER: tuple[Verdict, ...] = ("non_conforming", "inconclusive", "missing", "conforming")


def release_sheet(  # noqa: PLR0913 - a release document is made of these parts; each is named where it is called
    *,
    title: str,
    decision: Decision,
    findings: Sequence[Finding],
    ledger: Ledger,
    device: Signer,
    zone: tzinfo,
    elements: Mapping[str, tuple[str, str]] | None = None,
    overlays: Mapping[str, bytes] | None = None,
    tables: Sequence[Table] = (),
) -> ReleaseSheet:
    """Fill in a release document.

    Args:
        title: Title of the pour.
        decision: Go, go with conditions, or no-go, with every reason.
        findings: All findings.
        ledger: The record.
        device: This device, which signs the head that is printed.
        zone: Zone in which times are printed.
        elements: Mark -> what it is, and what the drawing asks of it.
        overlays: Hash of an original -> PNG or JPEG with the measurement drawn on it.
        tables: Further tables: order, rounds, formwork.

    Returns:
        The document as data; :func:`verifier.report.typeset.release_pdf` sets it.
    """
    records = ledger.records()
    worst_first = sorted(findings, key=lambda f: (_ORDER.index(_verdict(f)), _low(f), f.key))
    pictures = dict(overlays or {})
    head = ledger.head()
    released = [r for r in records if r.type == "release"]
    return ReleaseSheet(
        pour=ledger.pour,
        title=title,
        answer=decision.answer,
        answer_words=decision.words,
        decided_at=_moment(decision.decided_at, zone),
        valid_until=_moment(decision.valid_until, zone),
        lapses_when=decision.lapses_when,
        released_by=_released_by(records),
        reasons=_lines(decision.reasons),
        conditions=_lines(decision.conditions),
        cautions=_lines(decision.cautions),
        elements=_elements(elements or {}, findings),
        findings=tuple(_finding(f, pictures, shown=n < PICTURES_AT_MOST) for n, f in enumerate(worst_first)),
        photos=tuple(
            _photo(r, b) for r, b in zip(ledger.records("photo"), time_brackets(ledger), strict=True)
        ),
        people=_people(ledger),
        tables=tuple(tables),
        versions={
            **{name: f"sha256 {digest}" for name, digest in sorted(ledger.standing.in_force.items())},
            "software": f"verifier {verifier.__version__}",
        },
        head=HeadLine(
            short=head.short,
            size=head.size,
            root=head.root_text,
            note=sign_head(head, device),
            held=_held(released[-1].body["held"]) if released else "",
        ),
        statement=decision.statement,
        pictures={
            name: content for name, content in pictures.items() if any(_original(f) == name for f in findings)
        },
    )


def _moment(at: datetime, zone: tzinfo) -> str:
    return at.astimezone(zone).isoformat(sep=" ", timespec="minutes")


def _lines(reasons: Iterable[Reason]) -> tuple[Line, ...]:
    return tuple(Line(says=r.says, clears=r.clears, owner=r.owner) for r in reasons)


def _verdict(finding: Finding) -> Verdict:
    return finding.verdict if finding.measured else "missing"


def _low(finding: Finding) -> float:
    return finding.probability_low if finding.probability_low is not None else 2.0


def _original(finding: Finding) -> str:
    return finding.worst.measurement.trace.original_sha256 if finding.worst is not None else ""


def _finding(finding: Finding, pictures: Mapping[str, bytes], *, shown: bool) -> FindingLine:
    worst, verdict, asked = finding.worst, _verdict(finding), finding.requirement
    measured, bar = "not measured", ""
    if worst is not None:
        m = worst.measurement
        measured = (
            f"{result_text(m.value, m.expanded_uncertainty, m.unit)}, by {m.by}, {m.trace.original_name}"
        )
        if len(finding.judged) > 1:
            measured += f" (worst of {len(finding.judged)})"
        if shown and verdict != "conforming" and (asked.lower is not None or asked.upper is not None):
            limits = Limits(asked.lower, asked.upper, asked.nominal, asked.unit)
            bar = tolerance_bar(Reading(m.value, m.expanded_uncertainty, verdict), limits)
    return FindingLine(
        place=finding.place,
        asked=asked.asks,
        limits=asked.limits_words,
        source="; ".join(source.words for source in asked.sources),
        measured=measured,
        probability=_chance(finding),
        verdict=verdict,
        next_step=finding.blocked_by or finding.next_step,
        picture=_original(finding)
        if shown and verdict != "conforming" and _original(finding) in pictures
        else "",
        bar=bar,
    )


def _chance(finding: Finding) -> str:
    low, high = finding.probability_low, finding.probability_high
    if low is None or high is None:
        return "—"
    if high <= 0.01:
        return "< 1 %"
    if low >= 0.99:
        return "> 99 %"
    # Rounded outwards, so that a chance is never shown better than it is.
    from_percent, to_percent = math.floor(low * 100), math.ceil(high * 100)
    return (
        f"{from_percent} %" if high - low < 0.005 else f"{max(from_percent, 0)} to {min(to_percent, 100)} %"
    )


def _elements(known: Mapping[str, tuple[str, str]], findings: Sequence[Finding]) -> tuple[ElementLine, ...]:
    marks = [*known, *sorted({f.requirement.element for f in findings} - set(known))]
    lines = []
    for mark in marks:
        verdicts = [_verdict(f) for f in findings if f.requirement.element == mark]
        what, asked = known.get(mark, ("", ""))
        counts = {verdict: verdicts.count(verdict) for verdict in _ORDER}
        lines.append(ElementLine(mark=mark, what=what, asked=asked, **counts))
    return tuple(lines)


def _photo(record: Record, bracket: Bracket) -> PhotoLine:
    body = record.body
    remarks = [str(o.get("says", "")) for o in body.get("observations") or () if isinstance(o, Mapping)]
    return PhotoLine(
        name=bracket.name,
        sha256=bracket.sha256,
        shows=", ".join(
            f"{k} {body[k]}" if k == "spot" else str(body[k]) for k in ("element", "spot") if body.get(k)
        ),
        not_before=bracket.not_before or "not bounded",
        not_after=bracket.not_after or "not bounded",
        bounds=f"from: {bracket.not_before_by}; to: {bracket.not_after_by}",
        claims=_claims(bracket.claims),
        remarks=" ".join(remarks),
    )


def _claims(claims: Mapping[str, Any]) -> str:
    words = [
        f"{name.replace('_', ' ')} {value}"
        for name, value in claims.items()
        if isinstance(value, str | int) and value
    ]
    return "; ".join(words) or "none recorded"


def _people(ledger: Ledger) -> tuple[PersonLine, ...]:
    did: dict[tuple[str, str], dict[str, int]] = {}
    for event in events(ledger.records()):
        counts = did.setdefault((event.who, event.how_known), {})
        counts[event.what] = counts.get(event.what, 0) + 1
    keys = {key.name: (ident, key) for ident, key in ledger.standing.keys.items()}
    lines = []
    for (name, how), counts in did.items():
        ident, key = keys.get(name, ("", None))
        role = (
            "device"
            if key is not None and not key.person
            else ", ".join(key.roles)
            if key is not None
            else "not enrolled"
        )
        acts = "; ".join(
            f"{what}{f' ({count} times)' if count > 1 else ''}" for what, count in counts.items()
        )
        own = how != "own key" or not ident
        lines.append(
            PersonLine(
                name=name, role=role.replace("_", " "), did=acts, known_by=how, key="" if own else ident[:16]
            )
        )
    return tuple(lines)


def _released_by(records: Sequence[Record]) -> str:
    told = [e for e in events(records) if records[e.seq - 1].type == "release"]
    return f"{told[-1].who}, record {told[-1].seq} ({told[-1].how_known})" if told else ""


def _held(held: Mapping[str, Any]) -> str:
    return f"The head over {counted(held['size'], 'entry', 'entries')} is held outside by {held['holder']} ({held['kept']})."
