"""The whole path: a pour folder in, findings, coverage and a decision out. It reads and compares; it writes nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path

from pydantic import BaseModel

from verifier.codes.load import load_code
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.metrology.conformity import DecisionRule
from verifier.metrology.measurement import Measurement
from verifier.pipeline.concreting.back_props import reasons_of_back_props
from verifier.pipeline.concreting.falsework import reasons_of_falsework
from verifier.pipeline.concreting.forecasting import reasons_of_weather
from verifier.pipeline.concreting.orders import reasons_of_order
from verifier.pipeline.decision.reasons import (
    reasons_of_boards,
    reasons_of_open_points,
    reasons_of_photos,
    reasons_of_record,
    reasons_of_remarks,
    reasons_of_superseded,
)
from verifier.pipeline.folder.evidence import Evidence, evidence_in
from verifier.pipeline.folder.versions import versions_in
from verifier.pipeline.inspection.round_reasons import reasons_of_rounds
from verifier.pipeline.intake.tapes import TapeEntry, tapes_of
from verifier.pipeline.measurement.measuring import WORKERS, Progress, Settings
from verifier.pipeline.measurement.photos import PhotoEntry, photos_of
from verifier.pipeline.measurement.settings import settings_of
from verifier.pipeline.release.released import AcceptedDeviation, ReleaseState, counted, overtaken, said_of
from verifier.pipeline.review.said import Review, reasons_of_review, review_of
from verifier.release.decision import SIGNATURE, Decision, decide
from verifier.release.reason import Reason
from verifier.rules.agreement import Agreement, agreements
from verifier.rules.asked import requirements_of
from verifier.rules.coverage import Coverage, coverage_of, spot_rule
from verifier.rules.drawing_notes import drawing_notes
from verifier.rules.finding import Finding
from verifier.rules.judge import findings_of
from verifier.rules.placing import Superseded, still_standing


class Check(BaseModel, frozen=True, extra="forbid"):
    """Everything known about a pour at one moment: what was asked, measured, found and decided.

    ``drawing_sha256`` is that of pour.toml as read, ``versions`` names it again with the other files that the decision rests on, by
    kind of record. ``findings`` come worst first. What the engineer of record ``accepted`` in writing no
    longer stops the pour; ``release`` says whether one was given and still stands.
    """

    pour: Pour
    at: datetime
    drawing_sha256: str
    versions: Mapping[str, str] = {}
    rule: DecisionRule
    photos: tuple[PhotoEntry, ...]
    tapes: tuple[TapeEntry, ...]
    measurements: tuple[Measurement, ...]
    superseded: tuple[Superseded, ...]
    agreements: tuple[Agreement, ...]
    findings: tuple[Finding, ...]
    coverage: tuple[Coverage, ...]
    review: Review
    decision: Decision
    accepted: Mapping[str, AcceptedDeviation] = {}
    release: ReleaseState = ReleaseState()

    @property
    def open_conditions(self) -> tuple[Reason, ...]:
        """Conditions still to be met, worst first: a signature that stands is no longer asked for."""
        signed = self.release.state == "stands" and self.release.person in self.decision.engineer_of_record
        return tuple(c for c in self.decision.conditions if not (signed and c.key == SIGNATURE))

    def findings_at(self, element: str, spot: str | None = None) -> tuple[Finding, ...]:
        """Findings of one element, or of one spot of it, worst first.

        Args:
            element: Mark of the element.
            spot: Name of the spot, None for all.
        """
        return tuple(
            f for f in self.findings if f.requirement.element == element and (spot is None or f.spot == spot)
        )


def check(
    folder: Path,
    *,
    at: datetime,
    workers: int = WORKERS,
    progress: Progress | None = None,
    settings: Settings | None = None,
    further: Sequence[Reason] = (),
) -> Check:
    """Check a pour: everything in its folder against everything that drawing and code ask.

    Args:
        folder: The pour folder.
        at: The moment of the check, with its zone.
        workers: Worker processes for photos still to be measured.
        progress: Told after each photo measured.
        settings: Boards and their print scale; those of the folder if not given.
        further: Reasons of other rooms, beside those of rounds, order, falsework and weather, which are read here.

    Returns:
        Findings, coverage and the decision.

    Raises:
        BadInput: If there is no such folder, or its drawing values can't be used.
    """
    if not folder.is_dir():
        raise BadInput(
            "There is no such folder.",
            where=str(folder),
            todo="Make a pour folder first.",
            command="verifier new FOLDER",
        )
    pour = read_pour(folder)
    code = load_code(pour.pour.code, units=pour.pour.units)
    asked = requirements_of(pour, code)
    evidence = evidence_in(folder, pour.marks)
    photos, by_photo = photos_of(
        folder,
        pour,
        evidence.photos,
        settings or settings_of(folder),
        at=at,
        workers=workers,
        progress=progress,
    )
    tapes, by_tape = tapes_of(folder, pour, asked, evidence.tapes)
    standing, gone, told = still_standing((*by_photo, *by_tape), least_gaps=spot_rule().least_gaps)
    photos = _with_superseded(photos, standing)
    compared = agreements(standing)
    rule = DecisionRule()
    findings, unused = findings_of(asked, standing, compared, rule=rule)
    blunt = {m for f in findings for m in f.aside}
    review = review_of(folder)
    coverage = coverage_of(pour, [m for m in standing if m not in blunt], spot_rule(), review.asked_spots)
    remarks = (*told, *unused, *evidence.remarks, *_photo_remarks(photos))
    decision = decide(
        findings=findings,
        coverage=coverage,
        engineer_of_record=pour.people.engineer_of_record,
        at=at,
        planned_start=pour.pour.planned_start,
        further=(
            *_evidence_reasons(evidence, photos, tapes, gone),
            *reasons_of_open_points(asked.open_points, drawing_notes(pour, code)),
            *reasons_of_remarks(remarks),
            *reasons_of_review(review),
            *reasons_of_rounds(folder, at),
            *reasons_of_order(folder, at),
            *reasons_of_falsework(folder),
            *reasons_of_back_props(folder),
            *reasons_of_weather(folder),
            *further,
        ),
    )
    versions = versions_in(folder)
    said = said_of(folder, versions, at)
    decision, accepted = counted(decision, said.accepted)
    return Check(
        pour=pour,
        at=at,
        drawing_sha256=versions["drawing"],
        versions=versions,
        rule=rule,
        photos=photos,
        tapes=tapes,
        measurements=standing,
        superseded=gone,
        agreements=compared,
        findings=findings,
        coverage=coverage,
        review=review,
        decision=decision,
        accepted=accepted,
        release=overtaken(said.release, decision),
    )


def _evidence_reasons(
    evidence: Evidence,
    photos: Sequence[PhotoEntry],
    tapes: Sequence[TapeEntry],
    gone: Sequence[Superseded],
) -> tuple[Reason, ...]:
    return (
        *reasons_of_photos(photos),
        *reasons_of_boards(photos),
        *reasons_of_record(evidence),
        *reasons_of_superseded(gone),
        *{reason.says: reason for tape in tapes for reason in tape.reasons}.values(),
    )


def _with_superseded(photos: Sequence[PhotoEntry], standing: Sequence[Measurement]) -> tuple[PhotoEntry, ...]:
    """Mark photos of which nothing counts any more."""
    stand = {m.trace.original_sha256 for m in standing}
    return tuple(
        p.model_copy(update={"state": "superseded"})
        if p.state == "counted" and p.original.sha256 not in stand
        else p
        for p in photos
    )


def _photo_remarks(photos: Sequence[PhotoEntry]) -> tuple[str, ...]:
    return tuple(remark for p in photos if p.state != "unplaced" for remark in p.remarks)
