"""What the reviewer wants from the deck: items sent back, further spots, remarks; and whether each has been answered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from verifier.pipeline.decision.check import Check
from verifier.pipeline.folder.evidence import Placement
from verifier.pipeline.review.said import About, AskedSpot, Entry, PointPx, Remark, SentBack

Kind = Literal["return", "spot.ask", "remark"]
_ORDER: Final[tuple[Kind, ...]] = ("return", "spot.ask", "remark")


@dataclass(frozen=True, slots=True)
class Wanted:
    """One thing that the reviewer wants.

    Attributes:
        entry: The word of the review.
        kind: What it is.
        placement: Where a new photo that answers it belongs, None if the word names no place.
        original_sha256: The photo that it is about, None if it is about none.
        point_px: The place on that photo, in pixels of the upright full-size photo.
        answered: Whether somebody has answered it since; it then waits for the reviewer.
    """

    entry: Entry
    kind: Kind
    placement: Placement | None
    original_sha256: str | None
    point_px: PointPx | None
    answered: bool

    @property
    def text(self) -> str:
        """The reviewer's words."""
        return self.entry.word.text if isinstance(self.entry.word, Remark | SentBack | AskedSpot) else ""


def wanted_of(check: Check) -> tuple[Wanted, ...]:
    """List what the reviewer wants and has not got, or has got and not yet looked at.

    Args:
        check: The check.

    Returns:
        Unanswered ones first; among those what stops the pour first, each kind in the order of the record.
    """
    review, site = check.review, set(check.pour.people.site_engineer)
    answered = {e.word.answers for e in review.entries if isinstance(e.word, Remark)}
    found = [_about(check, e, e.word.about, "return", e.seq in answered) for e in review.open_returns
             if isinstance(e.word, SentBack)]  # fmt: skip
    missing = {(c.element, spot) for c in check.coverage for spot in c.missing}
    for e in review.asked:
        if isinstance(e.word, AskedSpot) and (e.word.element, e.word.spot) in missing:
            placement = Placement(element=e.word.element, spot=e.word.spot, basis="said")
            found.append(Wanted(e, "spot.ask", placement, e.word.original_sha256, None, answered=False))
    for e in review.entries:
        word = e.word
        if (
            isinstance(word, Remark)
            and word.answers is None
            and e.seq not in answered
            and e.person not in site
        ):
            found.append(_about(check, e, word.about, "remark", answered=False))
    return tuple(sorted(found, key=lambda w: (w.answered, _ORDER.index(w.kind), w.entry.seq)))


def _about(check: Check, entry: Entry, about: About, kind: Kind, answered: bool) -> Wanted:
    """The place is that of the words; where they name none, that of the photo that they are about."""
    element, spot = about.element, about.spot
    if element is None and about.original_sha256 is not None:
        of = next((p.original for p in check.photos if p.original.sha256 == about.original_sha256), None)
        element, spot = (of.placement.element, of.placement.spot) if of is not None else (None, None)
    known = element in check.pour.marks and spot is not None
    placement = Placement(element=element, spot=spot, basis="said") if known else None
    return Wanted(entry, kind, placement, about.original_sha256, about.point_px, answered)
