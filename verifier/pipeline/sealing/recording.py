"""What goes into the record besides evidence, and what is asked of it: checks, its head, the independent audit."""

from __future__ import annotations

import hashlib
import tempfile
import tomllib
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from verifier.board.definition import parse_board
from verifier.board.print_scale import PrintChecks
from verifier.errors import BadInput
from verifier.pipeline.concreting.forecasting import WEATHER_FILE
from verifier.pipeline.decision.check import Check
from verifier.pipeline.intake.boards import ids_from_head
from verifier.pipeline.measurement.measuring import Job, Settings, measure_one, method_version
from verifier.pipeline.measurement.photos import boards_seen
from verifier.pipeline.people.acting import Act, existing, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.audit import Audit, Replayed, audit
from verifier.record.checkpoint import Head, sign_head
from verifier.record.keys import DeviceSigner, device_signer
from verifier.record.ledger import Ledger
from verifier.record.people import join_device

if TYPE_CHECKING:
    from verifier.vision.metric.calibrate import CameraProfile


def record_check(folder: Path, checked: Check, act: Act) -> int:
    """Put a check into the record: each verdict that has changed since the last one, then the answer.

    Args:
        folder: The pour folder.
        checked: The check.
        act: Who acts, and when.

    Returns:
        Number of findings recorded.

    Raises:
        BadInput: If the record can't be written.
        NotAllowed: If the person may not put it there.
    """
    demand(checked.pour, act.person, Action.RECORD_CHECK)
    ledger = open_record(folder, checked.pour, act)
    try:
        last = {r.body["requirement"]: r.body["verdict"] for r in ledger.records("finding")}
        changed = [f for f in checked.findings if f.measured and last.get(f.key) != f.verdict]
        for f in changed:
            body: dict[str, Any] = {
                "requirement": f.key,
                "element": f.requirement.element,
                "layer": f.requirement.layer,
                "spot": f.spot,
                "asked": f.requirement.limits_words,
                "sources": [s.words for s in f.requirement.sources],
                "verdict": f.verdict,
                "probability_low": f.probability_low,
                "probability_high": f.probability_high,
                "values": [
                    {"value": j.measurement.value, "standard_uncertainty": j.measurement.standard_uncertainty}
                    for j in f.judged
                ],
                "originals": [
                    {"sha256": sha256}
                    for sha256 in dict.fromkeys(j.measurement.trace.original_sha256 for j in f.judged)
                ],
            }
            record_event(ledger, "finding", body, act)
        decision = checked.decision
        beside = [folder / name for name in (WEATHER_FILE,) if (folder / name).is_file()]
        record_event(
            ledger,
            "check",
            {
                "beside": [{"name": p.name, "sha256": ledger.store.objects.put_file(p)} for p in beside],
                "answer": decision.answer,
                "reasons": [r.says for r in decision.reasons],
                "conditions": [r.says for r in decision.conditions],
                "cautions": [r.says for r in decision.cautions],
                "valid_until": decision.valid_until.isoformat(),
                "statement": decision.statement,
            },
            act,
        )
        _record_lapse(ledger, checked, act)
        return len(changed)
    finally:
        ledger.close()


def _record_lapse(ledger: Ledger, checked: Check, act: Act) -> None:
    """Note once that a release has lapsed; it lapsed by itself, with what is named."""
    release = checked.release
    noted = any(r.body.get("release") == release.record for r in ledger.records("lapse"))
    if release.state == "lapsed" and not noted:
        body = {"release": release.record, "why": list(release.why), "text": " ".join(release.why)}
        record_event(ledger, "lapse", body, act)


def head_of(folder: Path, at: datetime, device: DeviceSigner | None = None) -> tuple[Head, str]:
    """Sign the present head of a record, for somebody outside to keep.

    Args:
        folder: The pour folder.
        at: Moment of the act.
        device: This device's key; that of this installation if not given.

    Returns:
        The head, and its signed text.

    Raises:
        BadInput: If there is no record.
    """
    signer = device or device_signer()
    ledger = existing(folder)
    try:
        join_device(ledger, signer, at)
        head = ledger.head()
        return head, sign_head(head, signer)
    finally:
        ledger.close()


def audit_bundle(
    path: Path, *, heads: Sequence[str] = (), replay: bool = False, authority_roots: Sequence[bytes] = ()
) -> Audit:
    """Check a bundle, offline, each fact apart.

    Args:
        path: The zip, or the folder that it was unpacked to.
        heads: Heads held outside: texts of checkpoints or their short forms.
        replay: Whether to measure the originals again.
        authority_roots: Certificates (PEM) of time stamp authorities that you trust; those in the bundle if none.

    Returns:
        Facts, time brackets and limits.

    Raises:
        BadInput: If there is no such file.
    """
    if not path.exists():
        raise BadInput("There is no such bundle.", where=str(path), todo="Correct the name.")
    return audit(
        path,
        heads=heads,
        replay=measured_again if replay else None,
        board_ids=ids_from_head,
        authority_roots=authority_roots,
    )


def measured_again(data: bytes, bodies: Sequence[Mapping[str, Any]]) -> Replayed:
    """Measure an original again and compare with what is recorded, to the last printed digit.

    A result of another version of the method is not compared: it may differ for good reason, and must be measured again with
    that version.

    Args:
        data: Bytes of an original.
        bodies: Measurements recorded about it.

    Returns:
        What differs and what can't be compared; nothing for a file that is the result of a measurement and not an original.
    """
    digest, version = hashlib.sha256(data).hexdigest(), method_version()
    differences, not_compared = [], []
    for body in bodies:
        if body.get("sha256") != digest:
            continue
        if body.get("version") != version:
            recorded = body.get("version")
            not_compared.append(
                f"{body['name']}: measured with version {recorded}, this program has {version}"
            )
            continue
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "original"
            path.write_bytes(data)
            seen = measure_one(Job(path, str(body["name"])), _settings_recorded(body))
        if hashlib.sha256(seen.model_dump_json().encode()).hexdigest() != body.get("result_sha256"):
            differences.append(f"{body['name']}: measuring again gives another result.")
        if _boards_recorded(body) != boards_seen(seen):
            differences.append(f"{body['name']}: the record names other markers than are seen in it.")
    return Replayed(tuple(differences), tuple(not_compared))


def _boards_recorded(body: Mapping[str, Any]) -> list[dict[str, object]] | None:
    """The boards that a record says are seen; None where its list of markers is not what they carry."""
    told = [{"number": one["number"], "ids": one["ids"]} for one in body.get("boards_seen", ())]
    return told if body.get("ids_seen") == [i for one in told for i in one["ids"]] else None


def _settings_recorded(body: Mapping[str, Any]) -> Settings:
    """The settings that a recorded measurement was made with."""
    cameras = tuple(body.get("cameras", ()))
    profiles: tuple[CameraProfile, ...] = ()
    if cameras:
        from verifier.vision.metric.calibrate import profile_of  # loads large libraries

        profiles = tuple(profile_of(str(text), "camera profile in the record") for text in cameras)
    checks = PrintChecks.model_validate(tomllib.loads(str(body["boards"])))
    issued = tuple(
        parse_board(str(text), where="issued board in the record") for text in body.get("issued", ())
    )
    return Settings(checks=checks, cameras=profiles, issued=issued)
