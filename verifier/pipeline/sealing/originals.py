"""Each original with the bracket of its time, and what its file claims of itself with what speaks for and against it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timezone
from typing import Literal

from verifier.photo.intake import Intake
from verifier.photo.observations import Observation, ObservationKey
from verifier.photo.time_checks import captured_at
from verifier.pipeline.folder.evidence import Placement
from verifier.pipeline.sealing.telling import Told, intakes_in
from verifier.record.audit.facts import Bracket
from verifier.record.audit.times import BOARD_BY_CLOCK, BOARD_BY_STAMP, RECEIVED, STAMPED, UNVOUCHED
from verifier.record.canonical import utc_instant
from verifier.record.records import Record
from verifier.record.stamps import brackets_in
from verifier.report.time_figures import Bound, TimeBar, TimeMark

Fits = Literal["fits", "doubtful", "contradicts", "not checked"]
"""A claim beside everything that can be held against it; ``contradicts`` the bracket, which is proven."""

_BOUNDS: dict[str, Bound] = {
    BOARD_BY_STAMP: "stamp",
    BOARD_BY_STAMP + UNVOUCHED: "unvouched",
    BOARD_BY_CLOCK: "clock",
    STAMPED: "stamp",
    STAMPED + UNVOUCHED: "unvouched",
    RECEIVED: "clock",
}
_KEY = ObservationKey
_CAMERA = {
    *(
        _KEY.CLOCK_AGAINST_GPS,
        _KEY.ZONE_AGAINST_GPS,
        _KEY.AFTER_RECEIPT,
        _KEY.RECEIVED_LATE,
        _KEY.OUTSIDE_WINDOW,
    ),
    *(_KEY.MODIFIED_LATER, _KEY.COUNTER_AGAINST_TIME, _KEY.BRIGHT_AT_NIGHT),
}
_GPS = {_KEY.CLOCK_AGAINST_GPS, _KEY.ZONE_AGAINST_GPS}
_PLACE = {_KEY.OUTSIDE_SITE}


@dataclass(frozen=True, slots=True)
class Claim:
    """One thing that a photo's file says of itself. Anybody can write it there.

    Attributes:
        what: ``camera clock``, ``GPS time``, ``GPS position`` or ``camera``.
        says: The value, as text.
        at: The instant claimed, for times.
        fits: How it stands beside what else is known.
        why: What speaks against it, or that nothing does.
    """

    what: str
    says: str
    at: datetime | None = None
    fits: Fits = "not checked"
    why: str = ""


@dataclass(frozen=True, slots=True)
class OriginalTold:
    """One photo as a third person sees it.

    Attributes:
        record: The record that brought it, the first one if it was brought twice.
        bracket: Between which instants it was taken, as far as that is proven.
        spot: Where it was taken, as said, named or told by the board.
        claims: What its file says of itself.
        remarks: What else was observed on its file.
    """

    record: Record
    bracket: Bracket
    spot: Placement
    claims: tuple[Claim, ...]
    remarks: tuple[str, ...]

    @property
    def sha256(self) -> str:
        """Hash of the original."""
        return self.bracket.sha256

    @property
    def name(self) -> str:
        """File name as received."""
        return self.bracket.name

    @property
    def person(self) -> str:
        """Who is said to have sent it."""
        return str(self.record.body.get("claimed_by", ""))


def originals_of(of: Told) -> tuple[OriginalTold, ...]:
    """List the photos of a record, each with its bracket and its claims.

    Args:
        of: The record.

    Returns:
        Photos in the order received; one that was placed anew stands once, under its first record.
    """
    intakes = intakes_in(of)
    records = {r.seq: r for r in of.records}
    first: dict[str, OriginalTold] = {}
    for bracket in brackets_in(of.records):
        sha256 = bracket.sha256
        if sha256 in first:
            continue
        intake = intakes.get(sha256)
        first[sha256] = OriginalTold(
            record=records[bracket.seq],
            bracket=bracket,
            spot=of.spots.get(sha256, Placement()),
            claims=_claims(intake, bracket) if intake is not None else _told(bracket),
            remarks=_remarks(intake),
        )
    return tuple(first.values())


def bar_of(original: OriginalTold) -> TimeBar:
    """Lay out the bracket of a photo and what its file claims as a figure.

    Args:
        original: The photo.

    Returns:
        The figure's values.
    """
    b = original.bracket
    marks = tuple(
        TimeMark("GPS" if c.what == "GPS time" else "camera", c.at, c.fits in ("doubtful", "contradicts"))
        for c in original.claims
        if c.at is not None
    )
    said = "; ".join(f"{c.what} claims {c.says}: {c.fits}" for c in original.claims if c.at is not None)
    return TimeBar(
        utc_instant(b.not_before) if b.not_before is not None else None,
        _BOUNDS.get(b.not_before_by, "none"),
        utc_instant(b.not_after) if b.not_after is not None else None,
        _BOUNDS.get(b.not_after_by, "none"),
        marks,
        f"{b.name}: not before {b.not_before or 'any time'}, not after {b.not_after or 'any time'}. {said}",
    )


def _claims(intake: Intake, bracket: Bracket) -> tuple[Claim, ...]:
    said, seen = intake.claims, intake.observations
    found = []
    captured = captured_at(said, timezone(intake.received_at.utcoffset() or UTC.utcoffset(None)))
    if captured is not None:
        at = captured.at
        words = f"{said.captured_local} ({captured.basis})"
        found.append(_weighed("camera clock", words, at, [o for o in seen if o.key in _CAMERA], bracket))
    if said.gps_time is not None:
        against = [o for o in seen if o.key in _GPS]
        found.append(
            _weighed("GPS time", f"{said.gps_time:%Y-%m-%d %H:%M:%S} UTC", said.gps_time, against, bracket)
        )
    if said.position is not None:
        place = f"{said.position.latitude:.5f}, {said.position.longitude:.5f}"
        found.append(_weighed("GPS position", place, None, [o for o in seen if o.key in _PLACE], bracket))
    camera = " ".join(part for part in (said.make, said.model) if part)
    if camera:
        found.append(Claim("camera", camera, fits="not checked", why="Nothing here can check it."))
    return tuple(found)


def _weighed(
    what: str, says: str, at: datetime | None, against: list[Observation], bracket: Bracket
) -> Claim:
    """A claim outside the proven bracket is false or the record is; one with an observation is doubtful."""
    if at is not None and bracket.not_before is not None and at < utc_instant(bracket.not_before):
        why = f"It lies before {bracket.not_before}, when the board that the photo shows did not exist."
        return Claim(what, says, at, "contradicts", why)
    if at is not None and bracket.not_after is not None and at > utc_instant(bracket.not_after):
        why = f"It lies after {bracket.not_after}, when the photo was in the record already."
        return Claim(what, says, at, "contradicts", why)
    if against:
        return Claim(what, says, at, "doubtful", " ".join(o.says for o in against))
    return Claim(what, says, at, "fits", "Nothing else in the file or the record speaks against it.")


def _told(bracket: Bracket) -> tuple[Claim, ...]:
    """Claims as the record tells them in words, where what was read from the file is not at hand."""
    named = bracket.claims if isinstance(bracket.claims, dict) else {}
    return tuple(Claim(str(name).replace("_", " "), str(value)) for name, value in named.items() if value)


def _remarks(intake: Intake | None) -> tuple[str, ...]:
    if intake is None:
        return ()
    told = _CAMERA | _GPS | _PLACE
    return tuple(o.says for o in intake.observations if o.key not in told)
