"""Go or no-go on a pour, with every reason. It records evidence; the engineer of record decides."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.release.from_findings import reasons_of_coverage, reasons_of_findings
from verifier.release.reason import Reason
from verifier.rules.coverage import Coverage
from verifier.rules.finding import Finding

Answer = Literal["go", "go_with_conditions", "no_go"]

STATEMENT = (
    "This answer puts recorded evidence beside the drawing and the code. It does not design, accept or release anything "
    "and does not replace the engineer of record; local codes and licensed practice govern."
)
SIGNATURE = "signature/engineer-of-record"
"""Key of the condition that the engineer of record signs."""
WORDS: dict[Answer, str] = {"go": "go", "go_with_conditions": "go with conditions", "no_go": "no-go"}


class ValidityRule(BaseModel, frozen=True, extra="forbid"):
    """How long an answer stands; a data file that a firm may replace."""

    title: str
    basis: str
    hours: Annotated[float, Field(gt=0)]
    lapses_when: tuple[str, ...]


@cache
def validity_rule() -> ValidityRule:
    """Read the shipped rule.

    Returns:
        The rule of ``validity.toml``.
    """
    text = files("verifier.release").joinpath("validity.toml").read_text(encoding="utf-8")
    return ValidityRule.model_validate(tomllib.loads(text))


class Decision(BaseModel, frozen=True, extra="forbid"):
    """Go, go with conditions, or no-go.

    ``reasons`` are what stops the pour, worst first; ``conditions`` what a named person must still do before concrete;
    ``cautions`` what everybody should know. The answer lapses at ``valid_until`` and with anything in ``lapses_when``.
    """

    answer: Answer
    reasons: tuple[Reason, ...]
    conditions: tuple[Reason, ...]
    cautions: tuple[Reason, ...]
    engineer_of_record: tuple[str, ...]
    decided_at: datetime
    valid_until: datetime
    lapses_when: tuple[str, ...]
    statement: str = STATEMENT

    @property
    def words(self) -> str:
        """The answer as people say it."""
        return WORDS[self.answer]


def decide(
    *,
    findings: Sequence[Finding],
    coverage: Sequence[Coverage],
    engineer_of_record: Sequence[str],
    at: datetime,
    planned_start: datetime | None = None,
    further: Sequence[Reason] = (),
    validity: ValidityRule | None = None,
) -> Decision:
    """Decide go or no-go from everything known at one moment.

    Args:
        findings: All findings.
        coverage: Spots of every layer.
        engineer_of_record: Who may accept and sign; may be empty, which is a condition in itself.
        at: The moment of the decision, with its zone.
        planned_start: When concrete is planned.
        further: Reasons of other rooms: evidence, rounds, formwork, order, weather, signatures.
        validity: How long the answer stands; without it the shipped rule.

    Returns:
        The decision. With nothing asked and nothing measured the answer is no-go.

    Raises:
        ValueError: If ``at`` has no zone.
    """
    if at.tzinfo is None:
        raise ValueError("at needs a zone: the moment of a decision must be one moment everywhere")
    rule = validity or validity_rule()
    valid_until = at + timedelta(hours=rule.hours)
    found = [
        *reasons_of_findings(findings),
        *reasons_of_coverage(coverage),
        *further,
        *_signature(engineer_of_record),
        *_dates(at, planned_start, valid_until),
    ]
    if not any(f.measured for f in findings):
        found.append(_nothing_measured())
    found.sort(key=lambda r: r.order)
    stops = tuple(r for r in found if r.weight == "stops")
    conditions = tuple(r for r in found if r.weight == "condition")
    return Decision(
        answer="no_go" if stops else "go_with_conditions" if conditions else "go",
        reasons=stops,
        conditions=conditions,
        cautions=tuple(r for r in found if r.weight == "caution"),
        engineer_of_record=tuple(engineer_of_record),
        decided_at=at,
        valid_until=valid_until,
        lapses_when=rule.lapses_when,
    )


def _nothing_measured() -> Reason:
    return Reason(
        key="nothing-measured",
        room="findings",
        weight="stops",
        kind="not-covered",
        says="Nothing has been measured yet.",
        clears="Add photos with the scale board, or tape readings.",
        finer=-1e9,
    )


def _signature(engineer_of_record: Sequence[str]) -> tuple[Reason, ...]:
    """The signature is always a condition here: signing is an act of its own, recorded elsewhere."""
    named = ", ".join(engineer_of_record)
    return (
        Reason(
            key=SIGNATURE,
            room="signature",
            weight="condition",
            kind="to-sign",
            says=f"Engineer of record {named} has not signed."
            if named
            else "No engineer of record is named.",
            clears="The engineer of record reads this and signs the release."
            if named
            else "Name the engineer of record under [people] in pour.toml.",
            owner=named or "site engineer",
        ),
    )


def _dates(at: datetime, planned_start: datetime | None, valid_until: datetime) -> tuple[Reason, ...]:
    if planned_start is None or at <= planned_start <= valid_until:
        return ()
    passed = planned_start < at
    return (
        Reason(
            key="validity/planned-start",
            room="evidence",
            weight="caution",
            kind="to-know",
            says=f"The planned start {planned_start:%Y-%m-%d %H:%M} has passed."
            if passed
            else f"This answer lapses before the planned start {planned_start:%Y-%m-%d %H:%M}.",
            clears="Put the new start into pour.toml." if passed else "Check again on the day.",
        ),
    )
