"""A release signed on an own machine: its text given out, and the signature handed in."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from verifier.errors import BadInput, NotAllowed
from verifier.pipeline.approval.accepting import Standing
from verifier.pipeline.approval.releasing import nothing_loose
from verifier.pipeline.people.acting import Act, existing
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.approval import Approval, statement
from verifier.record.canonical import utc_text
from verifier.record.keys import device_signer
from verifier.record.ledger import Record
from verifier.record.people import import_release


def give_out(approval: Approval, text: Path) -> Path:
    """Write the text of a release for signing on an own machine, with what it binds beside it.

    Args:
        approval: What the release binds.
        text: File for the text; ``.json`` is added for the other.

    Returns:
        The second file, which must stay beside the first.

    Raises:
        BadInput: If the place can't be written.
    """
    beside = text.with_name(text.name + ".json")
    try:
        text.write_bytes(statement(approval.body()).encode())
        beside.write_text(approval.model_dump_json(indent=1), encoding="utf-8")
    except OSError as error:
        raise BadInput(
            f"The text can't be written ({error.strerror}).", where=str(text), todo="Choose another place."
        ) from error
    return beside


def given_out(signature: Path) -> tuple[Approval, str]:
    """Read back a signature made on an own machine, and what was given out for it.

    Args:
        signature: ``FILE.sig`` as ssh-keygen wrote it; ``FILE.json`` lies beside it.

    Returns:
        The approval, and the signature.

    Raises:
        BadInput: If either file can't be read.
    """
    beside = signature.with_suffix(".json")
    try:
        return Approval.model_validate_json(beside.read_bytes()), signature.read_text(encoding="utf-8")
    except (OSError, ValidationError, UnicodeDecodeError) as error:
        raise BadInput(
            f"The signature or {beside.name} can't be read ({type(error).__name__}).",
            where=str(signature),
            todo="Keep the three files together: the text, its .json and the .sig that ssh-keygen wrote.",
        ) from error


def hand_in(folder: Path, standing: Standing, approval: Approval, armored: str, act: Act) -> Record:
    """Record a release that the person signed on an own machine, if nothing has changed since.

    Args:
        folder: The pour folder.
        standing: What stands now, from a check made just now.
        approval: What was given out.
        armored: The signature.
        act: Who hands it in, and when.

    Returns:
        The record.

    Raises:
        NotAllowed: If the signature is not over this text, or something has changed since.
    """
    demand(standing.checked.pour, act.person, Action.RELEASE)
    decision = standing.decision
    new = [c.says for c in decision.conditions if c.says not in approval.conditions]
    lapsed = approval.valid_until is not None and utc_text(act.at) > approval.valid_until
    if decision.reasons or new or lapsed or approval.person != act.person:
        why = [r.says for r in decision.reasons] + new
        why += ["its time has run out"] if lapsed else []
        why += [f"it is made out for {approval.person}"] if approval.person != act.person else []
        raise NotAllowed(
            f"What was signed no longer stands: {'; '.join(why)}",
            where="release",
            todo="Give out a new text, read it and sign that.",
            command="--text-out FILE",
        )
    nothing_loose(standing.checked)
    ledger = existing(folder)
    try:
        return import_release(ledger, approval, armored, act.signer or device_signer(), act.at)
    finally:
        ledger.close()
