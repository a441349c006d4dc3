"""Who, what, when, on which original: the record told in order, and the difference between two of its states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from verifier.record.audit.canonical_form import unbase64
from verifier.record.audit.facts import Bracket
from verifier.record.audit.signatures import key_id
from verifier.record.kinds import KINDS, VERSIONS
from verifier.record.part import Places, elements_of
from verifier.record.records import Record
from verifier.wording import on_one_line


@dataclass(frozen=True, slots=True)
class Event:
    """One line of the timeline.

    Attributes:
        seq: Number of the record.
        at: Time by the signer's clock, UTC.
        who: Person or device.
        how_known: ``own key``, ``signed on an own machine`` or ``claimed, signed by device ...``.
        what: In words.
        about: Element, item or requirement it is about.
        original: Hash of the original it rests on, or nothing.
        not_before: Lower bound of the photo's time, where one is known.
        not_after: Upper bound.
        bounds: What bounds it, in words.
        type: Kind of event, as the record names it.
        elements: Elements that it is about, as far as that is known.
    """

    seq: int
    at: str
    who: str
    how_known: str
    what: str
    about: str = ""
    original: str = ""
    not_before: str = ""
    not_after: str = ""
    bounds: str = ""
    type: str = ""
    elements: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Difference:
    """What changed between two states of one record.

    Attributes:
        events: Everything that was added.
        gone: What stood in the earlier state and is not in the later one: nothing, unless a record was rewritten or one of
            the two is a part.
        parts_at: First record in which the two are not alike, None where one history goes on from the other.
        answer: Answer of the last check then and now, ``-`` where there was none.
        findings: Requirement -> verdict then and now, where they differ; ``-`` where there was none.
        versions: Kind of version, such as ``drawing`` -> hash then and now, where they differ.
    """

    events: tuple[Event, ...]
    gone: tuple[Event, ...]
    parts_at: int | None
    answer: tuple[str, str]
    findings: Mapping[str, tuple[str, str]]
    versions: Mapping[str, tuple[str, str]]


def events(
    records: Sequence[Record], brackets: Sequence[Bracket] = (), places: Places | None = None
) -> list[Event]:
    """Tell a record in order.

    Args:
        records: Records, from a ledger or from a bundle.
        brackets: Time brackets of its photos, if they were worked out.
        places: Which elements an original shows, as far as that is known.

    Returns:
        One event a record.
    """
    names: dict[str, str] = {}
    bounds = {bracket.seq: bracket for bracket in brackets}
    told = []
    for record in records:
        if record.type in {"key.enrol", "device.enrol"}:
            names.setdefault(record.by, str(record.body.get("device", record.body.get("person", ""))))
            if "public_key" in record.body:
                names[_enrolled_key(record.body)] = str(
                    record.body.get("person", record.body.get("device", ""))
                )
        who, how = _who(record, names.get(record.by, record.by[:16]))
        bracket = bounds.get(record.seq)
        told.append(
            Event(
                seq=record.seq,
                at=record.at,
                who=who,
                how_known=how,
                what=KINDS[record.type].say if record.type in KINDS else record.type,
                about=_about(record.body),
                original=str(record.body.get("sha256", _traced(record.body))),
                not_before=(bracket.not_before or "") if bracket else "",
                not_after=(bracket.not_after or "") if bracket else "",
                bounds=f"{bracket.not_before_by}; {bracket.not_after_by}" if bracket else "",
                type=record.type,
                elements=tuple(sorted(elements_of(record, places or {}))),
            )
        )
    return told


def difference(then: Sequence[Record], now: Sequence[Record], places: Places | None = None) -> Difference:
    """Compare two states of the same record.

    Args:
        then: Records of the earlier state.
        now: Records of the later state.
        places: Which elements an original shows, as far as that is known.

    Returns:
        What was added, what is gone, where the two part, and which answers, verdicts and versions changed.
    """
    old, new = {r.seq: r.line for r in then}, {r.seq: r.line for r in now}
    unlike = sorted(seq for seq in old.keys() & new.keys() if old[seq] != new[seq])
    added = tuple(e for e in events(now, places=places) if old.get(e.seq) != new[e.seq])
    gone = tuple(e for e in events(then, places=places) if new.get(e.seq) != old[e.seq])
    pairs = [
        {key: (before.get(key, "-"), after.get(key, "-")) for key in {**before, **after}}
        for before, after in zip(_state(then), _state(now), strict=True)
    ]
    findings, versions = ({key: p for key, p in part.items() if p[0] != p[1]} for part in pairs)
    return Difference(
        added, gone, unlike[0] if unlike else None, (_answer(then), _answer(now)), findings, versions
    )


def timeline_text(told: Sequence[Event]) -> str:
    """Write a timeline as plain text, a line an event.

    Args:
        told: Events.

    Returns:
        Text; tabs separate the columns, and no foreign text can break a line.
    """
    head = "record\ttime (UTC)\twho\thow known\twhat\tabout\toriginal\tnot before\tnot after\tbounded by"
    lines = [
        "\t".join(on_one_line(cell) for cell in (e.seq, e.at, e.who, e.how_known, e.what, *_or_dash(e)))
        for e in told
    ]
    return "\n".join([head, *lines]) + "\n"


def _or_dash(e: Event) -> tuple[str, ...]:
    return tuple(cell or "-" for cell in (e.about, e.original, e.not_before, e.not_after, e.bounds))


def _who(record: Record, signer: str) -> tuple[str, str]:
    if "statement_signature" in record.body:
        return str(record.body.get("person", "?")), f"signed on an own machine, handed in by {signer}"
    if "claimed_by" in record.body:
        return str(record.body["claimed_by"]), f"claimed, signed by {signer}"
    return signer, "own key"


def _about(body: Mapping[str, Any]) -> str:
    keys = (
        "element",
        "layer",
        "spot",
        "requirement",
        "verdict",
        "answer",
        "item",
        "name",
        "number",
        "person",
        "reason",
        "text",
        "authority",
        "instant",
    )
    return ", ".join(str(body[key]) for key in keys if isinstance(body.get(key), str | int))


def _traced(body: Mapping[str, Any]) -> str:
    trace = body.get("trace")
    return str(trace.get("original_sha256", "")) if isinstance(trace, Mapping) else ""


def _enrolled_key(body: Mapping[str, Any]) -> str:
    return key_id(unbase64(body["public_key"]))


def _state(records: Sequence[Record]) -> tuple[dict[str, str], dict[str, str]]:
    findings, versions = {}, {}
    for record in records:
        if record.type == "finding":
            findings[str(record.body.get("requirement"))] = str(record.body.get("verdict"))
        elif record.type in VERSIONS:
            versions[record.type] = str(record.body.get("sha256"))
    return findings, versions


def _answer(records: Sequence[Record]) -> str:
    said = [str(r.body.get("answer")) for r in records if r.type == "check"]
    return said[-1] if said else "-"
