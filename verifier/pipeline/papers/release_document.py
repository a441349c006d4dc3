"""The release document beside the record, and the seal that a person puts under both."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from pathlib import Path

import cv2

from verifier.drawing.pour import Pour, Slab
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.approval.accepting import Standing
from verifier.pipeline.decision.check import Check
from verifier.pipeline.measurement.pictures import overlay_of
from verifier.pipeline.papers.inches import sheet_beside
from verifier.pipeline.papers.pour_tables import tables_of_pour
from verifier.pipeline.people.acting import Act, existing
from verifier.pipeline.people.permissions import Action, demand, signer_in
from verifier.record.keys import PersonSigner, device_signer, settings_folder
from verifier.record.ledger import Ledger, Record
from verifier.record.sealing import import_seal, person_in, seal, seal_text
from verifier.report.assemble import PICTURES_AT_MOST, release_sheet
from verifier.report.pdf_seal import pdf_seal_key, seal_pdf, write_pdf
from verifier.report.sheet import Table
from verifier.report.typeset import release_pdf

_OVERLAY_WIDTH_PX = 1400


def release_document(folder: Path, standing: Standing, record: Record, act: Act) -> Path:
    """Set, sign and write the release document beside the record.

    Args:
        folder: The pour folder.
        standing: What the release rests on.
        record: The release.
        act: Who acts, and when.

    Returns:
        The PDF: ``release-N.pdf``, N being the number of the release in the record.

    Raises:
        BadInput: If it can't be set or written.
    """
    device = act.signer or device_signer()
    checked = standing.checked
    ledger = existing(folder)
    try:
        sheet = release_sheet(
            title=checked.pour.pour.title,
            decision=standing.decision,
            findings=checked.findings,
            ledger=ledger,
            device=device,
            zone=act.at.tzinfo or UTC,
            elements=_elements(checked.pour),
            overlays=_overlays(checked),
            tables=(
                *_tables(standing),
                *(Table.model_validate(t.model_dump()) for t in tables_of_pour(folder, act.at)),
            ),
        )
        if checked.pour.pour.units == "inch":
            sheet = sheet_beside(sheet)
        lines = b"".join(r.line + b"\n" for r in ledger.records())
    finally:
        ledger.close()
    key, certificate = pdf_seal_key(settings_folder() / "pdf-seal.key", device.name)
    pdf = seal_pdf(
        release_pdf(sheet, lines, act.at),
        key,
        certificate,
        name=device.name,
        reason=f"Release document of pour {ledger.pour}, record {record.seq}",
    )
    path = release_file(folder, record.seq)
    write_pdf(pdf, path)
    return path


def release_file(folder: Path, seq: int) -> Path:
    """Name the document of a release.

    Args:
        folder: The pour folder.
        seq: Number of the release in the record.

    Returns:
        Its path.
    """
    return folder / f"release-{seq}.pdf"


def seal_by_person(folder: Path, signer: PersonSigner, at: datetime) -> Record:
    """Record that a person seals the record as it stands, with the document of its newest release.

    Args:
        folder: The pour folder.
        signer: The own key, opened for this one signature.
        at: Moment of the act.

    Returns:
        The record.

    Raises:
        BadInput: If the record holds a release and its document is not there.
        NotAllowed: If no enrolled person signs, or one who may not seal.
    """
    ledger = existing(folder)
    try:
        demand(read_pour(folder), signer_in(ledger, signer.public), Action.SEAL)
        return seal(ledger, _newest_document(folder, ledger), signer, at)
    finally:
        ledger.close()


def seal_given_out(folder: Path, person: str, out: Path) -> Path:
    """Write the text that a person signs on an own machine to seal the record as it stands.

    Args:
        folder: The pour folder.
        person: Who seals.
        out: The file to write; an older one is never written over.

    Returns:
        The file.

    Raises:
        BadInput: If there is no record, a release document is missing, or the file can't be written.
        NotAllowed: If the person may not seal.
    """
    demand(read_pour(folder), person, Action.SEAL)
    ledger = existing(folder)
    try:
        document = _newest_document(folder, ledger)
        digest = hashlib.sha256(document).hexdigest() if document is not None else None
        text = seal_text(ledger, person, digest)
    finally:
        ledger.close()
    try:
        with out.open("x", encoding="utf-8", newline="") as stream:
            stream.write(text)
    except OSError as error:
        raise BadInput(
            f"The text can't be written ({error.strerror}).", where=str(out), todo="Choose another place."
        ) from error
    return out


def seal_handed_in(folder: Path, signature: Path, at: datetime) -> Record:
    """Record a seal that a person signed on an own machine.

    Args:
        folder: The pour folder.
        signature: The ``.sig`` that lies beside the text, as ``ssh-keygen`` leaves it.
        at: Moment of the act.

    Returns:
        The record.

    Raises:
        BadInput: If text or signature can't be read, or the text is not one of this record.
        NotAllowed: If the signature is not sound, or the person may not seal.
    """
    text_file = signature.with_suffix("")
    try:
        armored = signature.read_text(encoding="utf-8")
        text = text_file.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            "The signed text and its signature can't both be read.",
            where=f"{text_file}, {signature}",
            todo="Keep the two side by side, as ssh-keygen leaves them, and give the .sig.",
        ) from error
    ledger = existing(folder)
    try:
        demand(read_pour(folder), person_in(text), Action.SEAL)
        return import_seal(ledger, text, armored, _newest_document(folder, ledger), device_signer(), at)
    finally:
        ledger.close()


def _newest_document(folder: Path, ledger: Ledger) -> bytes | None:
    """The document of the newest release, None where nobody has released."""
    given = ledger.records("release")
    if not given:
        return None
    path = release_file(folder, given[-1].seq)
    if not path.is_file():
        raise BadInput(
            "The document of the newest release is not there.",
            where=str(path),
            todo="Bring it back from a copy, or release again.",
        )
    return path.read_bytes()


def _overlays(checked: Check) -> dict[str, bytes]:
    """Pictures of the photos behind the worst findings, as many as the document shows."""
    photos = {p.original.sha256: p for p in checked.photos}
    shown: dict[str, bytes] = {}
    for finding in checked.findings:
        worst = finding.worst
        digest = worst.measurement.trace.original_sha256 if worst is not None else ""
        # That a photo only indicates a bar size needs no picture; it would crowd out the findings that do.
        if finding.verdict == "conforming" or finding.indication or digest in shown or digest not in photos:
            continue
        entry = photos[digest]
        picture = overlay_of(entry.original.path, entry.seen, width_px=_OVERLAY_WIDTH_PX)
        done, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 85])
        if done:
            shown[digest] = bytes(data)
        if len(shown) == PICTURES_AT_MOST:
            break
    return shown


def _tables(standing: Standing) -> tuple[Table, ...]:
    if not standing.accepted:
        return ()
    rows = tuple(
        (given.says, given.reason, f"{given.person}, record {given.record}")
        for given in standing.accepted.values()
    )
    return (
        Table(
            title="Accepted in writing by the engineer of record",
            columns=("what was found", "reason", "by"),
            rows=rows,
            note="These findings do not conform or are not decided; they stand as they were measured.",
        ),
    )


def _elements(pour: Pour) -> dict[str, tuple[str, str]]:
    """Mark -> what it is, and the bars asked for; the order is that of the drawing."""
    return {
        e.mark: (
            (f"slab, {e.thickness_mm:.0f} mm", ", ".join(f"{la.layer} {la.callout.text}" for la in e.layers))
            if isinstance(e, Slab)
            else (
                f"beam, {e.width_mm:.0f} x {e.depth_mm:.0f} mm",
                f"bottom {e.bottom.text}" + (f", stirrups {e.stirrups.text}" if e.stirrups else ""),
            )
        )
        for e in pour.elements
    }
