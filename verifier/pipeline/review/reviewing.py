"""What a reviewer adds to a pour: remarks on places in a photo, items sent back, further spots, and own measurements.

All of it goes into the record. A remark asks for nothing; an item sent back stops the pour until the one who may send it back
lifts that again under the own key; a further spot is asked for like those of the drawing. An own measurement is shown beside
what the program measured and decides nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.drawing.bars import LayerName
from verifier.drawing.pour import Pour, Spot
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.measurement.distances import DistanceFound, distances_in
from verifier.pipeline.measurement.settings import settings_of
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.pipeline.review.handing_over import HandOver, handed_in, reasons_of_hand_over
from verifier.record.keys import PersonSigner
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
        words = tuple(_entry(ledger, record) for record in ledger.records() if _is_word(record))
        return Review(words, handed_in(ledger))
    finally:
        ledger.close()


def say(folder: Path, word: Remark | AskedSpot, act: Act) -> int:
    """Put a remark, or a further spot that is asked for, into the record.

    Args:
        folder: The pour folder.
        word: What is said.
        act: Who says it, and when; the device signs on this person's behalf.

    Returns:
        Number of the record.

    Raises:
        BadInput: If it names an element, spot or original that this pour does not have.
        NotAllowed: If the person may not.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.REMARK if isinstance(word, Remark) else Action.ASK_SPOT)
    if isinstance(word, AskedSpot):
        _element_there(pour, word.element)
        if any((s.element, s.spot) == (word.element, word.spot) for s in pour.spots):
            raise BadInput(
                f"Spot {word.spot} of {word.element} is asked for by the drawing values already.",
                where="spot",
                todo="Give the further spot another name.",
            )
    else:
        _element_there(pour, word.about.element)
    ledger = open_record(folder, pour, act)
    try:
        _originals_there(ledger, word)
        if isinstance(word, Remark):
            _answers_something(ledger, word.answers)
        return record_event(ledger, word.kind, {"text": word.text, "review": _body(word)}, act).seq
    finally:
        ledger.close()


def send_back(folder: Path, word: SentBack | WaivedSpot, act: Act, signer: PersonSigner) -> int:
    """Send an item back, lift that again, or waive a spot that was asked for, under the person's own key.

    Args:
        folder: The pour folder.
        word: What is said.
        act: Who says it, and when.
        signer: The own key, opened for this one signature.

    Returns:
        Number of the record.

    Raises:
        BadInput: If it lifts or waives what is not open, or names what this pour does not have.
        NotAllowed: If the person may not.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.RETURN if isinstance(word, SentBack) else Action.ASK_SPOT)
    review = review_of(folder)
    if isinstance(word, SentBack):
        _element_there(pour, word.about.element)
        _is_open(word.lifts, review.open_returns, "an item sent back")
    else:
        _is_open(word.asked, review.asked, "a spot asked for")
    ledger = open_record(folder, pour, act)
    try:
        _originals_there(ledger, word)
        body = {"text": word.text, "review": _body(word), "person": act.person}
        return ledger.append(word.kind, body, signer, act.at).seq
    finally:
        ledger.close()


def measure_personally(
    folder: Path,
    original: Path,
    points_px: tuple[PointPx, PointPx],
    plane: Plane,
    act: Act,
    *,
    what: str,
    about: About,
) -> DistanceFound:
    """Measure between two points of an original and put the result into the record as this person's own.

    Args:
        folder: The pour folder.
        original: Where the original's bytes lie.
        points_px: The two points.
        plane: Where they lie: the board's face, or the axes of the upper or lower bars.
        act: Who measures, and when.
        what: What was measured, in the person's words.
        about: The original, and what the distance is about.

    Returns:
        The distance with its uncertainty; where it is refused, the reasons, and nothing is recorded.

    Raises:
        BadInput: If the original can't be read or is not in the record.
        NotAllowed: If the person may not.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.MEASURE)
    _element_there(pour, about.element)
    found = distances_in(original, [(*points_px[0], *points_px[1])], settings_of(folder), plane=plane)[0]
    if found.distance_mm is None or found.expanded_uncertainty_mm is None:
        return found
    word = OwnMeasurement(
        what=what,
        about=about,
        points_px=points_px,
        plane=plane,
        distance_mm=round(found.distance_mm, 2),
        expanded_uncertainty_mm=round(found.expanded_uncertainty_mm, 2),
        camera=found.camera,
    )
    ledger = open_record(folder, pour, act)
    try:
        _originals_there(ledger, word)
        record_event(ledger, word.kind, {"text": word.what, "review": _body(word)}, act)
    finally:
        ledger.close()
    return found


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
        says=f"Remarks without an answer: {len(waiting)} (records {numbers}).",
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


def _body(word: Word) -> dict[str, object]:
    """The word as the record keeps it; an original is named so that it counts as used."""
    return dict(word.model_dump(mode="json", exclude={"kind"}, exclude_none=True))


def _is_word(record: Record) -> bool:
    return record.type in _WORDS and isinstance(record.body.get("review"), dict)


def _entry(ledger: Ledger, record: Record) -> Entry:
    key = ledger.standing.keys.get(record.by)
    own = key is not None and key.person
    claimed = record.body.get("claimed_by")
    person = key.name if key is not None and own else str(claimed or "?")
    word = _WORDS[record.type].model_validate(record.body["review"])
    return Entry(record.seq, person, record.at, own, word)


def _element_there(pour: Pour, mark: str | None) -> None:
    if mark is not None and mark not in pour.marks:
        raise BadInput(
            f"{mark} is not on the drawing.",
            where="element",
            todo=f"Elements of this pour: {', '.join(pour.marks)}.",
        )


def _originals_there(ledger: Ledger, word: Word) -> None:
    if isinstance(word, WaivedSpot):
        return
    digest = word.original_sha256 if isinstance(word, AskedSpot) else word.about.original_sha256
    if digest is not None and digest not in ledger.recorded_objects():
        raise BadInput(
            f"The record holds no original {digest[:12]}.",
            where="photo",
            todo="Add the photo to the record first, then speak about it.",
        )


def _answers_something(ledger: Ledger, seq: int | None) -> None:
    if seq is not None and not any(r.seq == seq and _is_word(r) for r in ledger.records()):
        raise BadInput(
            f"Record {seq} is no remark, no item sent back and no spot asked for.",
            where="answer",
            todo="Answer one that the record holds.",
        )


def _is_open(seq: int | None, there: Sequence[Entry], what: str) -> None:
    if seq is not None and seq not in {e.seq for e in there}:
        raise BadInput(
            f"Record {seq} is not {what} that is still open.",
            where="review",
            todo=f"Open ones: {', '.join(str(e.seq) for e in there) or 'none'}.",
        )
