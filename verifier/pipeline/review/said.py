"""What a review has said: remarks, items sent back, further spots and own measurements, read back from the record.

A remark asks for nothing; an item sent back stops the pour until it is lifted; a further spot is asked for like those of the
drawing; an own measurement is shown beside what the program measured and decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.drawing.bars import LayerName
from verifier.drawing.pour import Spot
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.review.handing_over import HandOver, handed_in, reasons_of_hand_over
from verifier.record.ledger import Ledger, Record
from verifier.release.reason import Reason
from verifier.vision.distance import Plane

PointPx = tuple[float, float]
"""x and y in pixels of the upright full-size photo."""


Said = Annotated[str, Field(min_length=1, max_length=2000)]


class About(BaseModel, frozen=True, extra="forbid"):
    """What something is about: a place in an original, an element, a spot, a requirement; any of them may be left out."""

    original_sha256: str | None = None
    point_px: PointPx | None = None
    element: str | None = None
    spot: str | None = None
    requirement: str | None = None


class Remark(BaseModel, frozen=True, extra="forbid"):
    """Words on a place. ``answers`` is the number of the record that they answer."""

    kind: Literal["remark"] = "remark"
    text: Said
    about: About = About()
    answers: int | None = None


class SentBack(BaseModel, frozen=True, extra="forbid"):
    """An item that can't stand as it is, and why; or, with ``lifts``, the word that the one of that number now can."""

    kind: Literal["return"] = "return"
    text: Said
    about: About = About()
    lifts: int | None = None


class AskedSpot(BaseModel, frozen=True, extra="forbid"):
    """A further spot that is to be documented, and why."""

    kind: Literal["spot.ask"] = "spot.ask"
    element: str
    spot: Annotated[str, Field(min_length=1, max_length=40)]
    layers: tuple[LayerName, ...] = ()
    at_m: tuple[float, float] | None = None
    text: Said
    original_sha256: str | None = None

    @property
    def place(self) -> Spot:
        """The same as the drawing values would write it."""
        return Spot(element=self.element, spot=self.spot, layers=self.layers, at_m=self.at_m)


class WaivedSpot(BaseModel, frozen=True, extra="forbid"):
    """The word that the spot asked for in the record of that number is not needed after all, and why."""

    kind: Literal["spot.waive"] = "spot.waive"
    asked: int
    text: Said


class OwnMeasurement(BaseModel, frozen=True, extra="forbid"):
    """A distance that a person measured between two points of an original; 95 % interval, in mm."""

    kind: Literal["measurement.own"] = "measurement.own"
    what: Said
    about: About
    points_px: tuple[PointPx, PointPx]
    plane: Plane
    distance_mm: float
    expanded_uncertainty_mm: float
    camera: str | None = None


Word = Remark | SentBack | AskedSpot | WaivedSpot | OwnMeasurement


_WORDS: dict[str, type[Word]] = {
    "remark": Remark,
    "return": SentBack,
    "spot.ask": AskedSpot,
    "spot.waive": WaivedSpot,
    "measurement.own": OwnMeasurement,
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One word of the review as the record holds it.

    Attributes:
        seq: Number of the record.
        person: Who said it.
        at: Time by the signing device's clock, UTC.
        own_key: True where the person's own key signed; else a device did on the person's behalf.
        word: What was said.
    """

    seq: int
    person: str
    at: str
    own_key: bool
    word: Word


@dataclass(frozen=True, slots=True)
class Review:
    """All words of the review, in order, and whether the pour lies with the reviewer."""

    entries: tuple[Entry, ...] = ()
    handed: HandOver = field(default_factory=HandOver)

    @property
    def open_returns(self) -> tuple[Entry, ...]:
        """Items sent back and not lifted."""
        lifted = {e.word.lifts for e in self.entries if isinstance(e.word, SentBack)}
        return tuple(
            e
            for e in self.entries
            if isinstance(e.word, SentBack) and e.word.lifts is None and e.seq not in lifted
        )

    @property
    def asked(self) -> tuple[Entry, ...]:
        """Spots asked for and not waived."""
        waived = {e.word.asked for e in self.entries if isinstance(e.word, WaivedSpot)}
        return tuple(e for e in self.entries if isinstance(e.word, AskedSpot) and e.seq not in waived)

    @property
    def asked_spots(self) -> tuple[Spot, ...]:
        """The same as places on elements."""
        return tuple(e.word.place for e in self.asked if isinstance(e.word, AskedSpot))

    def on(self, original_sha256: str) -> tuple[Entry, ...]:
        """Remarks, items sent back and own measurements on one original, in order.

        Args:
            original_sha256: Hash of the original.

        Returns:
            Entries whose word names it.
        """
        return tuple(
            e
            for e in self.entries
            if isinstance(e.word, Remark | SentBack | OwnMeasurement)
            and e.word.about.original_sha256 == original_sha256
        )


def review_of(folder: Path) -> Review:
    """Read the review of a pour.

    Args:
        folder: The pour folder.

    Returns:
        Its words in order and its hand-over; nothing where there is no record yet.

    Raises:
        RecordDamaged: If the record does not hold.
    """
    if not has_record(folder):
        return Review()
    ledger = Ledger.open(folder)
    try:
        words = tuple(_entry(ledger, record) for record in ledger.records() if is_word(record))
        return Review(words, handed_in(ledger))
    finally:
        ledger.close()


def reasons_of_review(review: Review) -> tuple[Reason, ...]:
    """What the review brings to the decision.

    Args:
        review: The review.

    Returns:
        Each item sent back and not lifted stops the pour, and so does a pour taken back from review; remarks that nobody has
        answered are one caution.
    """
    stops = tuple(
        Reason(
            key=f"review/return/{entry.seq}",
            room="evidence",
            weight="stops",
            kind="contradiction",
            says=f"{entry.person} sent back {_named(entry.word.about)}: {entry.word.text}",
            clears=f"Put it right and document it; then {entry.person}, or another who may, lifts it under the own key.",
            owner="site engineer, then reviewer",
            about=tuple(filter(None, (entry.word.about.requirement,))),
        )
        for entry in review.open_returns
        if isinstance(entry.word, SentBack)
    )
    stops += reasons_of_hand_over(review.handed)
    answered = {e.word.answers for e in review.entries if isinstance(e.word, Remark)}
    waiting = [
        e
        for e in review.entries
        if isinstance(e.word, Remark) and e.word.answers is None and e.seq not in answered
    ]
    if not waiting:
        return stops
    numbers = ", ".join(str(e.seq) for e in waiting)
    remarks = Reason(
        key="review/remarks",
        room="evidence",
        weight="caution",
        kind="to-know",
        says=f"Remarks without an answer: {len(waiting)} (in the record under {numbers}).",
        clears="Read them and answer them.",
    )
    return (*stops, remarks)


def _named(about: About) -> str:
    told = (
        about.requirement,
        about.element and f"element {about.element}",
        about.spot and f"spot {about.spot}",
    )
    return ", ".join(filter(None, told)) or (
        f"photo {about.original_sha256[:12]}" if about.original_sha256 else "this pour"
    )


def is_word(record: Record) -> bool:
    """Tell whether a record is a word of the review.

    Args:
        record: Any record.

    Returns:
        True if it is of such a kind and holds such a word.
    """
    return record.type in _WORDS and isinstance(record.body.get("review"), dict)


def _entry(ledger: Ledger, record: Record) -> Entry:
    key = ledger.standing.keys.get(record.by)
    own = key is not None and key.person
    claimed = record.body.get("claimed_by")
    person = key.name if key is not None and own else str(claimed or "?")
    word = _WORDS[record.type].model_validate(record.body["review"])
    return Entry(record.seq, person, record.at, own, word)
