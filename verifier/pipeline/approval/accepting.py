"""What a release would rest on: the check, and the deviations that the engineer of record accepts in writing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from verifier.errors import BadInput, NotAllowed
from verifier.pipeline.decision.check import Check
from verifier.pipeline.people.acting import Act, existing
from verifier.pipeline.people.enrolling import OwnKey
from verifier.pipeline.people.permissions import Action, demand
from verifier.pipeline.release.released import AcceptedDeviation, acceptable, acceptances_in, counted
from verifier.pipeline.sealing.recording import record_check
from verifier.record.ledger import Ledger
from verifier.release.decision import SIGNATURE, Decision
from verifier.release.reason import Reason


@dataclass(frozen=True, slots=True)
class ToAccept:
    """A finding that the engineer of record accepts as it is, and why."""

    finding: str
    reason: str


@dataclass(frozen=True, slots=True)
class Standing:
    """What a release would rest on: the check, and the decision once what was accepted in writing is counted.

    Attributes:
        checked: The check, recorded.
        decision: Its decision; accepted findings stand among the conditions, in the words of the acceptance.
        accepted: Requirement -> acceptance that still fits what was found.
    """

    checked: Check
    decision: Decision
    accepted: Mapping[str, AcceptedDeviation]


def stands(
    folder: Path, checked: Check, act: Act, *, accept: Sequence[ToAccept] = (), key: OwnKey | None = None
) -> Standing:
    """Record a check and what the engineer of record accepts of it, and say what then stands.

    Args:
        folder: The pour folder.
        checked: The check.
        act: Who acts, and when.
        accept: Findings accepted just now.
        key: The own key of the engineer of record, if anything is accepted.

    Returns:
        What a release would rest on.

    Raises:
        BadInput: If an acceptance names nothing that stops the pour, or what can't be accepted.
        NotAllowed: If somebody else than the engineer of record accepts.
    """
    if accept:
        demand(checked.pour, act.person, Action.ACCEPT)
    chosen = [(_stop_named(checked.decision, a.finding), a) for a in accept]
    record_check(folder, checked, act)
    ledger = existing(folder)
    try:
        for stop, given in chosen:
            body = {
                "requirement": stop.key,
                "says": stop.says,
                "reason": given.reason,
                "person": act.person,
                "drawing": {"sha256": checked.drawing_sha256},
            }
            ledger.append("acceptance", body, _needed(key).opened(), act.at)
        return standing_of(ledger, checked, act.person)
    finally:
        ledger.close()


def stands_now(folder: Path, checked: Check, person: str) -> Standing:
    """Say what stands without recording anything.

    Args:
        folder: The pour folder.
        checked: The check.
        person: Who is to release.

    Returns:
        What a release would rest on.
    """
    ledger = existing(folder)
    try:
        return standing_of(ledger, checked, person)
    finally:
        ledger.close()


def standing_of(ledger: Ledger, checked: Check, person: str) -> Standing:
    """Put a check beside the acceptances in the record.

    An acceptance counts only for the very words it was given for, with the values in them, and the same drawing values.

    Args:
        ledger: The record.
        checked: The check.
        person: Who is to release: the signature that is about to be given is not a condition of itself.

    Returns:
        What a release would rest on.
    """
    decision, fitting = counted(checked.decision, acceptances_in(ledger, checked.drawing_sha256))
    if person in decision.engineer_of_record:
        conditions = tuple(c for c in decision.conditions if c.key != SIGNATURE)
        answer = "no_go" if decision.reasons else "go_with_conditions" if conditions else "go"
        decision = decision.model_copy(update={"answer": answer, "conditions": conditions})
    return Standing(checked, decision, {**checked.accepted, **fitting})


def _needed(key: OwnKey | None) -> OwnKey:
    if key is None:
        raise NotAllowed("An acceptance is signed with the own key.", where="--accept", todo="Give the key.")
    return key


def _stop_named(decision: Decision, name: str) -> Reason:
    stop = next((r for r in decision.reasons if r.key == name), None)
    open_to_it = [r.key for r in decision.reasons if acceptable(r)]
    listed = ", ".join(open_to_it) or "there are none"
    if stop is None:
        raise BadInput(
            f"{name} is not among what stops this pour.",
            where="--accept",
            todo=f"Findings that may be accepted: {listed}.",
        )
    if not acceptable(stop):
        raise BadInput(
            f"{name} can't be accepted: {stop.says}",
            where="--accept",
            todo=f"{stop.clears} Only findings may be accepted: {listed}.",
        )
    return stop
