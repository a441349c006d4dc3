"""Releasing a pour or refusing to: what the person looked at is bound to a head held outside, and signed."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from verifier.drawing.read import read_pour
from verifier.errors import BadInput, NotAllowed
from verifier.pipeline.approval.accepting import Standing
from verifier.pipeline.decision.check import Check
from verifier.pipeline.folder.versions import VERSIONED
from verifier.pipeline.people.acting import Act, existing
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.approval import Approval, HeldHead, statement
from verifier.record.canonical import utc_text
from verifier.record.checkpoint import sign_head
from verifier.record.heads import KeptHeads
from verifier.record.keys import PersonSigner, device_signer
from verifier.record.kinds import KINDS
from verifier.record.ledger import Ledger, Record
from verifier.record.people import bind_release, release
from verifier.release.decision import Decision
from verifier.wording import counted

_BY_CHECKING = {*VERSIONED, "rules", "device.enrol", "finding", "check", "lapse"}


def may_release(folder: Path, person: str) -> None:
    """Say early whether a person may decide on this pour; the record and the audit judge it again by themselves.

    Args:
        folder: The pour folder.
        person: Who is to release or refuse.

    Raises:
        NotAllowed: If the person has no valid key or not the role, or documented or corrected the steel.
        BadInput: If there is no record.
    """
    demand(read_pour(folder), person, Action.RELEASE)
    ledger = existing(folder)
    try:
        key = ledger.standing.person_key(person)
        if key is None:
            raise NotAllowed(
                f"{person} has no valid key in this record.",
                where="release",
                todo="The person needs an own key in this record first.",
                command=f"verifier enrol {folder} --person {person}",
            )
        needed = KINDS["release"].roles
        if not needed & set(key.roles):
            raise NotAllowed(
                f"{person} is enrolled as {', '.join(key.roles)} and may not release a pour.",
                where="release",
                todo="A reviewer or the engineer of record releases.",
            )
        documented = ledger.standing.documented_by(person)
        if documented is not None:
            raise NotAllowed(
                f"{person} documented or corrected steel of this pour (record {documented}).",
                where="release",
                todo="Somebody else must release it: nobody passes the own work.",
            )
    finally:
        ledger.close()


def bind(
    folder: Path, standing: Standing, act: Act, *, heads: Path | HeldHead | None, looked_from: int
) -> tuple[Approval, str]:
    """Take over the head into the person's own file, and fill in what the release binds.

    Args:
        folder: The pour folder.
        standing: What it rests on.
        act: Who releases, and when.
        heads: The person's file of kept heads, outside of the pour folder, or a head that the person keeps.
        looked_from: Size of the record before the check was made.

    Returns:
        The approval, and the text that the person reads and signs.

    Raises:
        NotAllowed: If something stops the pour, no head is held outside, or the record grew while it was checked.
        RecordDamaged: If the record does not continue the heads kept before.
    """
    demand(standing.checked.pour, act.person, Action.RELEASE)
    decision = standing.decision
    if decision.reasons:
        raise NotAllowed(
            f"{counted(len(decision.reasons), 'reason stops', 'reasons stop')} this pour.",
            where="release",
            todo="Clear them; single findings may be accepted in writing by the engineer of record.",
        )
    nothing_loose(standing.checked)
    if heads is None:
        raise NotAllowed(
            "No head of this record is held outside of it.",
            where="release",
            todo="Give the head that you keep yourself, outside the pour folder; without one a rewritten record could not be told.",
            command="--head-out FILE",
        )
    ledger = existing(folder)
    try:
        _nothing_new(ledger, looked_from, standing.checked)
        held = heads if isinstance(heads, HeldHead) else _taken_over(ledger, folder, heads, act)
        approval = bind_release(
            ledger,
            held,
            person=act.person,
            decision=decision.answer,
            verdict=_verdict(decision),
            conditions=[c.says for c in decision.conditions],
            open_observations=[c.says for c in decision.cautions],
            valid_until=utc_text(decision.valid_until),
        )
        return approval, statement(approval.body())
    finally:
        ledger.close()


def sign_here(folder: Path, approval: Approval, signer: PersonSigner, at: datetime) -> Record:
    """Record a release signed on this device with the person's own key.

    Args:
        folder: The pour folder.
        approval: What was read.
        signer: The key, opened for this one signature.
        at: Moment of the act.

    Returns:
        The record.

    Raises:
        NotAllowed: If the person may not, or the record has it otherwise; nothing is recorded then.
    """
    demand(read_pour(folder), approval.person, Action.RELEASE)
    ledger = existing(folder)
    try:
        return release(ledger, approval, signer, at)
    finally:
        ledger.close()


def refuse(folder: Path, standing: Standing, reason: str, act: Act, signer: PersonSigner) -> Record:
    """Record that a person refuses to release a pour.

    Args:
        folder: The pour folder.
        standing: What stood when it was refused.
        reason: Why, in words.
        act: Who refuses, and when.
        signer: The own key, opened for this one signature.

    Returns:
        The record.

    Raises:
        NotAllowed: If the person may not.
    """
    demand(standing.checked.pour, act.person, Action.REFUSE)
    body = {
        "person": act.person,
        "reason": reason,
        "answer": standing.decision.answer,
        "reasons": [r.says for r in standing.decision.reasons],
    }
    ledger = existing(folder)
    try:
        return ledger.append("refusal", body, signer, act.at)
    finally:
        ledger.close()


def record_size(folder: Path) -> int:
    """Count the records of a pour.

    Args:
        folder: The pour folder.

    Returns:
        Number of records.

    Raises:
        BadInput: If there is no record.
    """
    ledger = existing(folder)
    try:
        return len(ledger.records())
    finally:
        ledger.close()


def _verdict(decision: Decision) -> str:
    return f"{decision.words}; {counted(len(decision.conditions), 'condition')}, {counted(len(decision.cautions), 'caution')}"


def nothing_loose(checked: Check) -> None:
    """Refuse to decide on files that are not in the record yet.

    Args:
        checked: The check that the decision rests on.

    Raises:
        BadInput: If it counted such files.
    """
    loose = [p.original.name for p in checked.photos if not p.original.in_record]
    if any(c.key == "record/loose" for c in checked.decision.conditions):
        wrong = "The answer rests on files that are not in the record."
        raise BadInput(
            f"The answer rests on files that are not in the record: {', '.join(loose)}." if loose else wrong,
            where="release",
            todo="Put them into the record first.",
            command="verifier add FOLDER photos/, verifier tape FOLDER FILE.csv",
        )


def _nothing_new(ledger: Ledger, looked_from: int, checked: Check) -> None:
    new = [r for r in ledger.records()[looked_from:] if r.type not in _BY_CHECKING | {"acceptance"}]
    recorded = {kind: ledger.standing.in_force.get(kind) for kind in VERSIONED}
    if new or recorded != {kind: checked.versions.get(kind) for kind in VERSIONED}:
        raise NotAllowed(
            "Something was added or changed while the pour was checked.",
            where="release",
            todo="Run the command again, so that you decide on what is there now.",
        )


def _taken_over(ledger: Ledger, folder: Path, heads: Path, act: Act) -> HeldHead:
    """Take the present head over into a person's file of kept heads."""
    kept = KeptHeads(heads, act.person)
    origin = ledger.head().origin
    _outside(heads, folder)
    size = kept.needs_proof_from(origin)
    kept.accept(sign_head(ledger.head(), act.signer or device_signer()), _proof(ledger, size), act.at)
    return kept.held(origin, outside=folder)


def _outside(heads: Path, folder: Path) -> None:
    if heads.resolve().is_relative_to(folder.resolve()):
        raise NotAllowed(
            "The file of kept heads lies inside the pour folder.",
            where=str(heads),
            todo="Keep it on your own machine or stick: whoever rewrites the folder would rewrite it too.",
        )


def _proof(ledger: Ledger, size: int) -> list[bytes]:
    """Prove growth from the newest head kept; a record shorter than that can't prove anything and is then refused."""
    return ledger.consistency(size) if 0 < size <= len(ledger.records()) else []
