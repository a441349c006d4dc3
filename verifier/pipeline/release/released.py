"""What the record says of a decision: deviations accepted in writing, and whether a release was given and still stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from pydantic import BaseModel

from verifier.pipeline.folder.evidence import has_record
from verifier.record.canonical import utc_instant
from verifier.record.kinds import KINDS, VERSIONS
from verifier.record.ledger import Ledger, Record
from verifier.release.decision import Decision
from verifier.release.reason import Reason

_MAY_BE_ACCEPTED = {"non-conforming", "not-decided"}

LAPSES_WITH = VERSIONS | {
    "photo",
    "tape",
    "item",
    "correction",
    "return",
    "spot.ask",
    "review.back",
    "propping",
}
"""What is measured, drawn, listed or sent back after a release ends it: it was given for what stood before."""

_DECIDES = frozenset({"release", "refusal"})

State = Literal["none", "refused", "stands", "lapsed", "poured"]


class AcceptedDeviation(BaseModel, frozen=True, extra="forbid"):
    """A deviation that the engineer of record accepted in writing: the very words it was given for, why, and where it stands."""

    says: str
    reason: str
    person: str
    record: int


class ReleaseState(BaseModel, frozen=True, extra="forbid"):
    """Whether a release was given and stands. ``poured`` is one that stood when the pour began.

    ``record`` is the number of the release or refusal; ``why`` says what ended it.
    """

    state: State = "none"
    person: str = ""
    record: int | None = None
    given_at: datetime | None = None
    valid_until: datetime | None = None
    why: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The state as people say it."""
        if self.state == "none" or self.given_at is None:
            return "No release has been given."
        by = f"by {self.person}, {self.given_at:%Y-%m-%d %H:%M} UTC, record {self.record}"
        if self.state == "refused":
            return f"Release was refused {by}."
        if self.state == "lapsed":
            return f"The release {by} has lapsed: {' '.join(self.why)}"
        if self.state == "poured":
            return f"Released {by}; the pour has begun."
        until = f" until {self.valid_until:%Y-%m-%d %H:%M} UTC" if self.valid_until else ""
        return f"Released {by}; it stands{until} unless something changes."


@dataclass(frozen=True, slots=True)
class Said:
    """What the record says of a decision.

    Attributes:
        accepted: Deviations accepted under the present drawing values, by requirement.
        release: Whether a release was given and stands.
    """

    accepted: Mapping[str, AcceptedDeviation]
    release: ReleaseState


def said_of(folder: Path, versions: Mapping[str, str], at: datetime) -> Said:
    """Read what the record of a pour says of its decision.

    Args:
        folder: The pour folder.
        versions: Hashes of the files that a decision rests on, as they are now, by kind of record.
        at: The moment asked about.

    Returns:
        Acceptances and the state of the release; empty without a record.

    Raises:
        RecordDamaged: If the record does not hold.
    """
    if not has_record(folder):
        return Said({}, ReleaseState())
    ledger = Ledger.open(folder)
    try:
        return Said(acceptances_in(ledger, versions["drawing"]), release_state(ledger, versions, at))
    finally:
        ledger.close()


def acceptances_in(ledger: Ledger, drawing_sha256: str) -> dict[str, AcceptedDeviation]:
    """Read the deviations that were accepted under the present drawing values.

    Args:
        ledger: The record.
        drawing_sha256: Hash of the drawing values as they are now.

    Returns:
        The newest acceptance by requirement.
    """
    return {
        str(r.body["requirement"]): AcceptedDeviation(
            says=str(r.body["says"]), reason=str(r.body["reason"]), person=actor.name, record=r.seq
        )
        for r in ledger.records("acceptance")
        if (r.body.get("drawing") or {}).get("sha256") == drawing_sha256
        and r.seq not in ledger.unfit
        and (actor := ledger.standing.actor(r)) is not None
    }


def counted(
    decision: Decision, given: Mapping[str, AcceptedDeviation]
) -> tuple[Decision, dict[str, AcceptedDeviation]]:
    """Count what was accepted in writing: such a reason no longer stops the pour, it stands among the conditions.

    An acceptance counts only for the very words it was given for, with the values in them.

    Args:
        decision: A decision.
        given: Acceptances by requirement.

    Returns:
        The decision with them counted, and those that fit.
    """
    fitting = {
        stop.key: given[stop.key]
        for stop in decision.reasons
        if acceptable(stop) and stop.key in given and given[stop.key].says == stop.says
    }
    left = tuple(stop for stop in decision.reasons if stop.key not in fitting)
    conditions = (
        *(_accepted(stop, fitting[stop.key]) for stop in decision.reasons if stop.key in fitting),
        *decision.conditions,
    )
    answer = "no_go" if left else "go_with_conditions" if conditions else "go"
    changed = {"answer": answer, "reasons": left, "conditions": conditions}
    return decision.model_copy(update=changed), fitting


def acceptable(stop: Reason) -> bool:
    """Tell whether the engineer of record may accept a reason in writing.

    Args:
        stop: What stops the pour.

    Returns:
        True for a deviation that was measured; damaged, contradicting or missing evidence and open hold points never.
    """
    return stop.room == "findings" and stop.kind in _MAY_BE_ACCEPTED


def release_state(ledger: Ledger, versions: Mapping[str, str], at: datetime) -> ReleaseState:
    """Tell whether a release was given and stands.

    Args:
        ledger: The record.
        versions: Hashes of the files that a decision rests on, as they are now, by kind of record.
        at: The moment asked about.

    Returns:
        The state of the newest release or refusal; for a pour that has begun, the state it began under.
    """
    records = ledger.records()
    last = next((r.seq for r in reversed(records) if _decides(ledger, r)), len(records))
    began = next((r for r in records[last:] if r.type == "pour.log"), None)
    if began is None:
        state = _judged(ledger, records, at)
        changed = _changed(records[last - 1].body, versions) if state.state == "stands" else ()
        return state.model_copy(update={"state": "lapsed", "why": changed}) if changed else state
    state = _judged(ledger, records[: began.seq - 1], began.instant)
    return state.model_copy(update={"state": "poured"}) if state.state == "stands" else state


def _changed(bound: Mapping[str, object], versions: Mapping[str, str]) -> tuple[str, ...]:
    """What a release bound and is another file by now; a release from before a file was bound says nothing of it."""
    files = {
        "drawing_sha256": ("drawing", "The drawing values were changed."),
        "falsework_sha256": ("falsework.file", "The falsework file was changed."),
        "order_sha256": ("order.file", "The order file was changed."),
    }
    return tuple(
        say for name, (kind, say) in files.items() if name in bound and bound[name] != versions.get(kind)
    )


def overtaken(state: ReleaseState, decision: Decision) -> ReleaseState:
    """Let a release lapse that something has overtaken which the record does not hold: what a clock or the weather brings.

    Args:
        state: Whether a release stands, by the record.
        decision: The answer as of now.

    Returns:
        The state; a release that stood has lapsed where the answer is no-go.
    """
    if state.state != "stands" or decision.answer != "no_go":
        return state
    first = decision.reasons[0].says if decision.reasons else "The answer is no-go."
    return state.model_copy(
        update={"state": "lapsed", "why": (f"What stops the pour now came after it: {first}",)}
    )


def release_state_then(ledger: Ledger, moment: datetime, *, told_by: int | None = None) -> ReleaseState:
    """Tell whether a release stood at a moment of the past, by what the record held then.

    Args:
        ledger: The record.
        moment: When concrete was placed, say.
        told_by: Number of the record that tells of it first. What stands behind it in the record came later, whatever time
            it claims: a clock may have been set back. None where no record tells of it.

    Returns:
        The state then.
    """
    held = ledger.records() if told_by is None else ledger.records()[: told_by - 1]
    return _judged(ledger, [r for r in held if r.instant <= moment], moment)


def _judged(ledger: Ledger, records: Sequence[Record], at: datetime) -> ReleaseState:
    """The newest release or refusal of some records, and what came after it."""
    last = next((r for r in reversed(records) if _decides(ledger, r)), None)
    if last is None:
        return ReleaseState()
    actor = ledger.standing.actor(last)
    told = {
        "person": actor.name if actor is not None else "an unknown key",
        "record": last.seq,
        "given_at": last.instant,
    }
    if last.type == "refusal":
        return ReleaseState(state="refused", why=(str(last.body.get("reason", "")),), **told)
    until = last.body.get("valid_until")
    valid_until = utc_instant(until) if isinstance(until, str) else None
    since = [r for r in records if r.seq > last.seq]
    why = [f"{_change(r)} (record {r.seq})." for r in since if _ends(r, last.seq)]
    if valid_until is not None and at > valid_until:
        why.append(f"It ran out at {valid_until:%Y-%m-%d %H:%M} UTC.")
    return ReleaseState(state="lapsed" if why else "stands", valid_until=valid_until, why=tuple(why), **told)


def _ends(record: Record, release: int) -> bool:
    """Whether a record ends a release: what is measured, drawn, listed or ordered anew, or the lapse of it as somebody noted it."""
    if record.type == "lapse":
        return record.body.get("release") == release
    return record.type in LAPSES_WITH or (record.type == "order" and "order" in record.body)


def _decides(ledger: Ledger, record: Record) -> bool:
    """Whether a record releases or refuses; one that was written around the rules does neither."""
    return record.type in _DECIDES and record.seq not in ledger.unfit


def _change(record: Record) -> str:
    said = KINDS[record.type].say
    return said[0].upper() + said[1:]


def _accepted(stop: Reason, given: AcceptedDeviation) -> Reason:
    says = (
        f"Accepted in writing by {given.person} (record {given.record}): {stop.says} Reason: {given.reason}"
    )
    return stop.model_copy(update={"weight": "condition", "says": says, "clears": "", "owner": given.person})
