"""The release document as data: every line that will be printed, already decided elsewhere."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel

from verifier.report.figures import Verdict

Answer = Literal["go", "go_with_conditions", "no_go"]


class Line(BaseModel, frozen=True, extra="forbid"):
    """A reason, condition or caution: what is so, what would clear it, who can."""

    says: str
    clears: str = ""
    owner: str = ""


class ElementLine(BaseModel, frozen=True, extra="forbid"):
    """An element of the pour: its mark, what it is, what the drawing asks, and how many findings came to which verdict."""

    mark: str
    what: str
    asked: str
    conforming: int = 0
    non_conforming: int = 0
    inconclusive: int = 0
    missing: int = 0


class FindingLine(BaseModel, frozen=True, extra="forbid"):
    """A finding as it is printed.

    ``picture`` names an entry of :attr:`ReleaseSheet.pictures`; ``bar`` is an SVG of value against limits.
    """

    place: str
    asked: str
    limits: str
    source: str
    measured: str
    probability: str
    verdict: Verdict
    accepted: str = ""
    next_step: str = ""
    picture: str = ""
    bar: str = ""


class PhotoLine(BaseModel, frozen=True, extra="forbid"):
    """An original: its name, hash, the time bracket and what bounds it, what it claims of itself, and what was observed."""

    name: str
    sha256: str
    shows: str
    not_before: str
    not_after: str
    bounds: str
    claims: str
    remarks: str = ""


class PersonLine(BaseModel, frozen=True, extra="forbid"):
    """Who did what, and how that is known: by an own key, or claimed on a device."""

    name: str
    role: str
    did: str
    known_by: str
    key: str = ""


class Table(BaseModel, frozen=True, extra="forbid"):
    """Any further table: concrete order, inspection rounds, formwork."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


class HeadLine(BaseModel, frozen=True, extra="forbid"):
    """The head of the record that the document stands on.

    ``note`` is the signed checkpoint, which the QR code carries; ``held`` says who keeps which head outside.
    """

    short: str
    size: int
    root: str
    note: str
    held: str = ""


class ReleaseSheet(BaseModel, frozen=True, extra="forbid"):
    """Everything on the release document.

    Attributes:
        pour: Pour id.
        title: Title of the pour.
        answer: The decision.
        answer_words: The decision as people say it.
        decided_at: Time of the decision, with zone.
        valid_until: End of validity, with zone.
        lapses_when: What ends it earlier.
        released_by: Who released in the record, with the record's number; empty as long as nobody has.
        reasons: What stops the pour, worst first.
        conditions: What must still be done before concrete.
        cautions: What everybody must know.
        elements: Elements of the pour.
        findings: Findings, worst first.
        photos: Originals.
        people: People and devices.
        tables: Further tables.
        versions: Name -> version or hash of drawing, rules, software.
        head: Head of the record.
        statement: What the document is and is not.
        pictures: Name -> PNG or JPEG of an overlay.
    """

    pour: str
    title: str
    answer: Answer
    answer_words: str
    decided_at: str
    valid_until: str
    lapses_when: tuple[str, ...] = ()
    released_by: str = ""
    reasons: tuple[Line, ...] = ()
    conditions: tuple[Line, ...] = ()
    cautions: tuple[Line, ...] = ()
    elements: tuple[ElementLine, ...] = ()
    findings: tuple[FindingLine, ...] = ()
    photos: tuple[PhotoLine, ...] = ()
    people: tuple[PersonLine, ...] = ()
    tables: tuple[Table, ...] = ()
    versions: dict[str, str] = {}
    head: HeadLine
    statement: str
    pictures: dict[str, bytes] = {}
