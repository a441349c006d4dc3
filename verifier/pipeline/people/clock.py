"""A clock that ran ahead and was put right: told in the record, so that work can go on."""

from __future__ import annotations

from pathlib import Path

from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.people.acting import Act, existing
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.canonical import utc_text
from verifier.record.keys import device_signer
from verifier.record.ledger import Record
from verifier.record.people import note_clock


def clock_put_right(folder: Path, act: Act) -> Record:
    """Record that this device's clock reads an earlier time than the record's last entry, and is right.

    Args:
        folder: The pour folder.
        act: Who says so, and what the clock reads.

    Returns:
        The record; entries are accepted again from that time on, and the audit points at the step.

    Raises:
        BadInput: If there is no record, or the clock is not behind it.
        NotAllowed: If the person may not.
    """
    demand(read_pour(folder), act.person, Action.PUT_CLOCK_RIGHT)
    device = act.signer or device_signer()
    ledger = existing(folder)
    try:
        floor = ledger.standing.clock_floor
        if utc_text(act.at) >= floor:
            raise BadInput(
                f"The clock reads {utc_text(act.at)} and is not behind the record, whose last entry is of {floor}.",
                where="clock",
                todo="Nothing is to be told; go on.",
            )
        return note_clock(ledger, device.on_behalf_of(act.person), act.at)
    finally:
        ledger.close()
