"""Who, what, when, on which original: the record told in order, and the difference between two of its states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from verifier.record.audit.facts import Bracket
from verifier.record.audit.proofs import key_id, unbase64
from verifier.record.kinds import KINDS, VERSIONS


class Told(Protocol):
    """What the timeline needs of a record; the ledger's records and those of a bundle both have it."""

    @property
    def seq(self) -> int:
        """Number."""
        ...

    @property
    def type(self) -> str:
        """Kind of event."""
        ...

    @property
    def by(self) -> str:
        """Id of the signing key."""
        ...

    @property
    def at(self) -> str:
        """Time by the signer's clock, UTC."""
        ...

    @property
    def body(self) -> Mapping[str, Any]:
        """What happened."""
        ...


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


@dataclass(frozen=True, slots=True)
class Difference:
    """What changed between two states of one record.

    Attributes:
        events: Everything that was added.
        findings: Requirement -> verdict then and now, where they differ; ``-`` where there was none.
        versions: Kind of version, such as ``drawing`` -> hash then and now, where they differ.
    """

    events: tuple[Event, ...]
    findings: Mapping[str, tuple[str, str]]
    versions: Mapping[str, tuple[str, str]]


def events(records: Sequence[Told], brackets: Sequence[Bracket] = ()) -> list[Event]:
    """Tell a record in order.

    Args:
        records: Records, from a ledger or from a bundle.
        brackets: Time brackets of its photos, if they were worked out.

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
            )
        )
    return told


def difference(records: Sequence[Told], old_size: int, new_size: int) -> Difference:
    """Compare two states of the same record.

    Args:
        records: All records.
        old_size: Number of records in the earlier state.
        new_size: Number of records in the later state.

    Returns:
        What was added, and which verdicts and versions changed.
    """
    then, now = _state(records[:old_size]), _state(records[:new_size])
    found = [
        {key: (old.get(key, "-"), new.get(key, "-")) for key in {**old, **new}}
        for old, new in zip(then, now, strict=True)
    ]
    changed = [{key: pair for key, pair in part.items() if pair[0] != pair[1]} for part in found]
    added = tuple(event for event in events(records[:new_size]) if event.seq > old_size)
    return Difference(added, changed[0], changed[1])


def timeline_text(told: Sequence[Event]) -> str:
    """Write a timeline as plain text, a line an event.

    Args:
        told: Events.

    Returns:
        Text; tabs separate the columns, and no foreign text can break a line.
    """
    head = "record\ttime (UTC)\twho\thow known\twhat\tabout\toriginal\tnot before\tnot after\tbounded by"
    lines = [
        "\t".join(
            " ".join(str(cell).split()) for cell in (e.seq, e.at, e.who, e.how_known, e.what, *_or_dash(e))
        )
        for e in told
    ]
    return "\n".join([head, *lines]) + "\n"


def _or_dash(e: Event) -> tuple[str, ...]:
    return tuple(cell or "-" for cell in (e.about, e.original, e.not_before, e.not_after, e.bounds))


def _who(record: Told, signer: str) -> tuple[str, str]:
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


def _state(records: Sequence[Told]) -> tuple[dict[str, str], dict[str, str]]:
    findings, versions = {}, {}
    for record in records:
        if record.type == "finding":
            findings[str(record.body.get("requirement"))] = str(record.body.get("verdict"))
        elif record.type in VERSIONS:
            versions[record.type] = str(record.body.get("sha256"))
    return findings, versions
