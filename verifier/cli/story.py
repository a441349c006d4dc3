"""The story of the sample pour, step by step: what arrives, who walks which round, who orders, who signs."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, Field

from verifier.pipeline.approval.accepting import stands
from verifier.pipeline.approval.releasing import bind, record_size, sign_here
from verifier.pipeline.concreting.orders import confirm_order, send_order
from verifier.pipeline.decision.check import check
from verifier.pipeline.inspection.round_entries import record_answer_file, release_hold, sign_round
from verifier.pipeline.intake.adding import Added, add_photos, add_tape
from verifier.pipeline.measurement.measuring import Progress
from verifier.pipeline.papers.release_document import release_document
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey, enrol_person
from verifier.record.keys import DeviceSigner

PERSON = "engineer-1"
FILES = ("pour.toml", "boards.toml", "instruments.toml", "items.toml", "rounds.toml", "order.toml")
PASSPHRASE = "invented like the sample"
"""Of the sample's keys, which sign invented data only."""


class Walk(BaseModel, frozen=True, extra="forbid"):
    """One person's answers of a round; ``signs`` where that person signs the round, too."""

    person: str
    at: datetime
    number: Annotated[int, Field(ge=1, le=9)]
    file: str
    signs: bool = False


class Hold(BaseModel, frozen=True, extra="forbid"):
    """Hold points that one person releases."""

    person: str
    at: datetime
    items: tuple[str, ...]


class Said(BaseModel, frozen=True, extra="forbid"):
    """The order sent, and the plant's word on it."""

    sent_at: datetime
    confirmed_at: datetime
    plant: str
    by: str


class Signed(BaseModel, frozen=True, extra="forbid"):
    """The release."""

    person: str
    at: datetime


class Step(BaseModel, frozen=True, extra="forbid"):
    """One step of the story: what arrives, and when it is checked."""

    title: str
    at: datetime
    says: str
    photos: tuple[str, ...] = ()
    tape: tuple[str, ...] = ()
    order: Said | None = None
    walk: tuple[Walk, ...] = ()
    enrol: tuple[str, ...] = ()
    hold: tuple[Hold, ...] = ()
    release: Signed | None = None

    @property
    def ends_at(self) -> datetime:
        """When the last thing of it was done."""
        return self.at if self.release is None else self.release.at


def steps(sample: Path) -> Sequence[Step]:
    """Read the story.

    Args:
        sample: The folder of the sample pour.

    Returns:
        Its steps, in order.
    """
    table = tomllib.loads((sample / "story.toml").read_text(encoding="utf-8"))
    return [Step.model_validate(step) for step in table["step"]]


def begin(place: Path, sample: Path) -> None:
    """Copy what a person would have written: drawing values, boards, instruments, list, posts, order.

    Args:
        place: The pour folder.
        sample: The folder of the sample pour.
    """
    for name in FILES:
        (place / name).write_bytes((sample / name).read_bytes())


def play(
    place: Path, sample: Path, step: Step, signer: DeviceSigner, progress: Progress | None = None
) -> tuple[Added, ...]:
    """Do what a step tells, in its order; the release is an act of its own.

    Args:
        place: The pour folder.
        sample: The folder of the sample pour.
        step: The step.
        signer: Key of a device for invented data, never a real one.
        progress: Told after each photo measured.

    Returns:
        What became of the photos.
    """
    act = Act(PERSON, step.at, signer)
    if step.order is not None:
        send_order(place, Act(PERSON, step.order.sent_at, signer))
        word: dict[str, object] = {
            "plant": step.order.plant,
            "by": step.order.by,
            "not_in_maintenance": True,
            "stock_and_trucks": True,
        }
        confirm_order(place, word, Act(PERSON, step.order.confirmed_at, signer))
    added = (
        add_photos(place, [sample / "photos" / n for n in step.photos], act, progress=progress)
        if step.photos
        else ()
    )
    if step.tape:
        add_tape(place, [sample / "tape" / n for n in step.tape], act)
    for walk in step.walk:
        who = Act(walk.person, walk.at, signer)
        record_answer_file(place, sample / "rounds" / walk.file, who)
        if walk.signs:
            sign_round(place, walk.number, who)
    for number, person in enumerate(step.enrol):
        by = key_of(place, step.enrol[0]) if number else None
        enrol_person(place, person, (), key_of(place, person), act, by=by)
    for hold in step.hold:
        for item in hold.items:
            key = key_of(place, hold.person).opened()
            release_hold(place, item, Act(hold.person, hold.at, signer), key)
    return added


def sign(place: Path, signed: Signed, signer: DeviceSigner) -> Path:
    """Release the sample pour as its engineer of record would, with a head held outside the folder.

    Args:
        place: The pour folder.
        signed: Who releases, and when.
        signer: Key of a device for invented data.

    Returns:
        The release document.
    """
    act = Act(signed.person, signed.at, signer)
    size = record_size(place)
    standing = stands(place, check(place, at=signed.at), act)
    approval, _ = bind(
        place, standing, act, heads=place.parent / f"{place.name}-heads.jsonl", looked_from=size
    )
    record = sign_here(place, approval, key_of(place, signed.person).opened(), signed.at)
    return release_document(place, standing, record, act)


def key_of(place: Path, person: str) -> OwnKey:
    """Name the sample key of a person, beside the folder and never in it.

    Args:
        place: The pour folder.
        person: Name of the person.

    Returns:
        The key; its file may still have to be made.
    """
    return OwnKey(place.parent / f"{place.name}-sample-keys" / person, PASSPHRASE)
