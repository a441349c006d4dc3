"""The story of a record as a document: what stands on it, and how it is set."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from importlib import resources
from types import MappingProxyType
from typing import Final

from pydantic import BaseModel

from verifier.report.sheet import HeadLine, PersonLine
from verifier.report.typeset import compiled, qr

QUESTIONS: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = MappingProxyType(
    {
        "bytes": (
            "Are the bytes intact?",
            ("container", "bytes intact", "listing", "originals", "copies", "derived pictures", "records"),
        ),
        "signatures": ("Are the signatures sound?", ("signatures", "head", "seal", "sealed in person")),
        "persons": ("Were the persons authorised?", ("persons", "claimed persons")),
        "order": ("Is the order kept?", ("chain", "order")),
        "times": ("Between which times?", ("time brackets", "time stamps", "boards", "device clocks")),
        "approvals": (
            "Do approvals bind what they claim?",
            ("approvals", "release and check", "release in force", "closing"),
        ),
        "outside": ("Is it the history that others saw?", ("held head",)),
        "replay": ("Does measuring again give the same?", ("replay",)),
    }
)
"""What a third person asks -> the question in words, and the facts of the audit that answer it."""


class FactLine(BaseModel, frozen=True, extra="forbid"):
    """One fact of the audit: what it is about, how it stands, the sentence, and what stands behind it."""

    topic: str
    state: str
    say: str
    details: tuple[str, ...] = ()


class Question(BaseModel, frozen=True, extra="forbid"):
    """A question and the facts that answer it."""

    asks: str
    facts: tuple[FactLine, ...]


class ClaimLine(BaseModel, frozen=True, extra="forbid"):
    """What a file claims of itself, how that fits, and why not."""

    what: str
    says: str
    fits: str
    doubted: bool
    why: str = ""


class OriginalLine(BaseModel, frozen=True, extra="forbid"):
    """A photo: its bracket with what bounds it, its claims; ``bar`` is an SVG, ``says`` the same in words."""

    name: str
    place: str
    record: int
    person: str
    sha256: str
    not_before: str
    not_after: str
    claims: tuple[ClaimLine, ...]
    remarks: str = ""
    bar: str = ""
    says: str = ""


class EventLine(BaseModel, frozen=True, extra="forbid"):
    """One line of what happened."""

    seq: int
    at: str
    who: str
    how_known: str
    what: str
    about: str = ""


class StorySheet(BaseModel, frozen=True, extra="forbid"):
    """Everything on the document.

    Attributes:
        pour: Pour id.
        title: Title of the pour.
        lead: Name and value of what is told first.
        head: Head of the record.
        part: What it does not tell, if it was made from a part of a record.
        statement: What the document is and is not.
        questions: What is proven, question by question.
        limits: What no record can prove.
        axis: The axis of time that all bars share, SVG; empty without one.
        originals: Photos in the order received.
        people: Who did what.
        events: What happened, in order.
        pictures: Hash of an original -> JPEG of it in small.
    """

    pour: str
    title: str
    lead: tuple[tuple[str, str], ...]
    head: HeadLine
    part: str = ""
    statement: str
    questions: tuple[Question, ...]
    limits: tuple[str, ...]
    axis: str = ""
    originals: tuple[OriginalLine, ...]
    people: tuple[PersonLine, ...]
    events: tuple[EventLine, ...]
    pictures: dict[str, bytes] = {}


def story_pdf(sheet: StorySheet, at: datetime) -> bytes:
    """Typeset the story; the same input gives the same bytes.

    Args:
        sheet: What stands on it.
        at: Time of making.

    Returns:
        PDF bytes.

    Raises:
        BadInput: If a letter can't be shown by any font.
    """
    data = sheet.model_dump(mode="python", exclude={"pictures", "axis"})
    files: dict[str, bytes] = {
        "main.typ": resources.files("verifier.report").joinpath("story.typ").read_bytes(),
        "axis.svg": sheet.axis.encode(),
    }
    if sheet.head.note:
        files["head.svg"] = qr(sheet.head.note)
    for number, original in enumerate(data["originals"], 1):
        picture = sheet.pictures.get(original["sha256"])
        original["picture"] = f"photo-{number}.jpg" if picture is not None else ""
        if picture is not None:
            files[original["picture"]] = picture
        if original["bar"]:
            files[f"bar-{number}.svg"] = original["bar"].encode()
            original["bar"] = f"bar-{number}.svg"
    return compiled(files, data, at, document="story of the record")
