"""Who acts on a pour and when, and the record that the act goes into."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from verifier.codes.load import load_code
from verifier.drawing.pour import Pour
from verifier.errors import BadInput
from verifier.metrology.conformity import DecisionRule
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.folder.versions import VERSIONED
from verifier.record.keys import DeviceSigner, device_signer, settings_folder
from verifier.record.ledger import Ledger, Record
from verifier.record.people import join_device
from verifier.release.decision import validity_rule
from verifier.rules.coverage import spot_rule


@dataclass(frozen=True, slots=True)
class Act:
    """Who adds something, and when.

    Attributes:
        person: Name from ``[people]`` of the pour; the device signs on this person's behalf.
        at: Time by the device's clock, with its zone.
        signer: The device's key; that of this installation if not given.
    """

    person: str
    at: datetime
    signer: DeviceSigner | None = None


def who_adds(pour: Pour, person: str | None) -> str:
    """Name the person on whose behalf evidence is added.

    Args:
        pour: The pour.
        person: As given; None takes the site engineer if there is only one.

    Returns:
        A name of ``[people]``.

    Raises:
        BadInput: If the name is not among the people of the pour, or none was given and there are several.
    """
    engineers = pour.people.site_engineer
    if person is None:
        if len(engineers) == 1:
            return engineers[0]
        raise BadInput(
            "Several site engineers are named and none was given.",
            where="person",
            todo=f"Say who adds this: {' or '.join(engineers)}.",
            command="--person NAME",
        )
    if not pour.people.roles_of(person):
        raise BadInput(
            f"{person} is not among the people of this pour.",
            where="person",
            todo=f"Add the name under [people] in pour.toml, or give one of: {', '.join(engineers)}.",
        )
    return person


def open_record(folder: Path, pour: Pour, act: Act) -> Ledger:
    """Open the record, let this device join, and record drawing values, rules and what a release rests on if they have changed.

    Args:
        folder: The pour folder.
        pour: Its drawing values.
        act: Who acts, and when.

    Returns:
        The ledger; the caller closes it.

    Raises:
        BadInput: If the record can't be written.
        RecordDamaged: If it does not hold.
    """
    signer = act.signer or device_signer()
    ledger = Ledger.open(folder, pour=pour.pour.id)
    try:
        join_device(ledger, signer, act.at, pdf_certificate=lambda: _pdf_certificate(signer.name))
        for kind, name in VERSIONED.items():
            _keep_version(ledger, kind, folder / name, act)
        digest = ledger.store.objects.put(rules_in_force(pour))
        if ledger.standing.in_force.get("rules") != digest:
            record_event(ledger, "rules", {"name": "rules.json", "sha256": digest}, act)
    except BaseException:
        ledger.close()
        raise
    return ledger


def _keep_version(ledger: Ledger, kind: str, path: Path, act: Act) -> None:
    """Record a file that a decision rests on, if it is another one than before or was taken away."""
    before = ledger.standing.in_force.get(kind)
    if not path.is_file():
        if before is not None:
            record_event(ledger, kind, {"name": path.name, "text": "taken away"}, act)
        return
    digest = ledger.store.objects.put_file(path)
    if digest != before:
        record_event(ledger, kind, {"name": path.name, "sha256": digest}, act)


def existing(folder: Path) -> Ledger:
    """Open the record of a pour that must have one.

    Args:
        folder: The pour folder.

    Returns:
        The ledger; the caller closes it.

    Raises:
        BadInput: If there is no record.
    """
    if not has_record(folder):
        raise BadInput(
            "There is no record yet.",
            where=str(folder),
            todo="Add photos or tape readings first.",
            command=f"verifier add {folder} PHOTO..., verifier tape {folder} FILE.csv",
        )
    return Ledger.open(folder)


def record_event(ledger: Ledger, kind: str, body: Mapping[str, object], act: Act) -> Record:
    """Record one event on behalf of a person.

    Args:
        ledger: The record.
        kind: Kind of event.
        body: What happened.
        act: Who acts, and when.

    Returns:
        The record.
    """
    signer = act.signer or device_signer()
    return ledger.append(kind, body, signer.on_behalf_of(act.person), act.at)


def rules_in_force(pour: Pour) -> bytes:
    """Everything that a finding depends on besides drawing and measurements, as bytes to be kept.

    Args:
        pour: The pour.

    Returns:
        The code of practice with all values used, and the rules of decision, coverage and validity, as JSON.
    """
    code = load_code(pour.pour.code, units=pour.pour.units)
    rules = {
        "code": code.model_dump(mode="json"),
        "decision": asdict(DecisionRule()),
        "spots": spot_rule().model_dump(mode="json"),
        "validity": validity_rule().model_dump(mode="json"),
    }
    return json.dumps(rules, ensure_ascii=False, sort_keys=True, indent=1).encode()


def _pdf_certificate(device: str) -> str:
    """The certificate under which this device seals documents, so that the record vouches for it."""
    from verifier.report.pdf_seal import pdf_seal_key  # loads large libraries

    return pdf_seal_key(settings_folder() / "pdf-seal.key", device)[1].read_text(encoding="ascii")
