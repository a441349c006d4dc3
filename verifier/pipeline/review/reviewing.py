"""What a reviewer adds to a pour: remarks on places in a photo, items sent back, further spots, and own measurements.

All of it goes into the record; who sends back, lifts or waives does so under the own key.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.measurement.distances import DistanceFound, distances_in
from verifier.pipeline.measurement.settings import settings_of
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.pipeline.review.said import (
    About,
    AskedSpot,
    Entry,
    OwnMeasurement,
    PointPx,
    Remark,
    SentBack,
    WaivedSpot,
    Word,
    is_word,
    review_of,
)
from verifier.record.keys import PersonSigner
from verifier.record.ledger import Ledger
from verifier.vision.distance import Plane


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


def _body(word: Word) -> dict[str, object]:
    """The word as the record keeps it; an original is named so that it counts as used."""
    return dict(word.model_dump(mode="json", exclude={"kind"}, exclude_none=True))


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
    if seq is not None and not any(r.seq == seq and is_word(r) for r in ledger.records()):
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
