"""Closing the record of a pour: neutral words for defects, and what must be there before it closes."""

from __future__ import annotations

import re
from typing import Annotated, Literal, Self

from pydantic import AwareDatetime, BaseModel, Field, StringConstraints, model_validator

from verifier.concrete.cubes import Acceptance
from verifier.wording import counted

Words = Annotated[
    str,
    StringConstraints(
        strip_whitespace=True, min_length=1, max_length=600, pattern=r"^[^\x00-\x08\x0b\x0c\x0e-\x1f]*$"
    ),
]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Length = Annotated[float, Field(ge=0, allow_inf_nan=False)]

JUDGING_WORDS = (
    "minor",
    "major",
    "cosmetic",
    "structural",
    "harmless",
    "negligible",
    "acceptable",
    "caused by",
    "due to",
)
"""Words that judge or explain. A defect is described; the engineer of record judges it."""


class Crack(BaseModel, frozen=True, extra="forbid"):
    """A crack: width at three points with a gauge, and when it was first seen."""

    direction: Words
    length_mm: Length
    widths_mm: tuple[Length, Length, Length]
    through: Literal["yes", "no", "not known"]
    first_seen_at: AwareDatetime


class Hollow(BaseModel, frozen=True, extra="forbid"):
    """Honeycomb: size after tapping, and whether a bar is seen."""

    face: Words
    length_mm: Length
    width_mm: Length
    depth_mm: Length
    bar_seen: bool
    to_joint_mm: Length | None = None


class Defect(BaseModel, frozen=True, extra="forbid"):
    """A defect in neutral words, with photo and scale; how it was decided, and the repair if there was one."""

    number: Annotated[int, Field(ge=1)]
    kind: Literal[
        "honeycomb", "crack", "cold joint line", "level, bulge or step", "stain, leak or exposed bar"
    ]
    place: Words
    describes: Words
    seen_at: AwareDatetime
    by: Words
    photos: Annotated[tuple[Hash, ...], Field(min_length=1)]
    crack: Crack | None = None
    hollow: Hollow | None = None
    decided_by: str = ""
    decision: str = ""
    repair_photos: tuple[Hash, ...] = ()

    @model_validator(mode="after")
    def _is_described_not_judged(self) -> Self:
        found = judging_words(self.describes)
        if found:
            raise ValueError(
                f"the description judges ({', '.join(found)}): write place, size and what is seen; the engineer of record judges"
            )
        if (self.kind == "crack") != (self.crack is not None) or (self.kind == "honeycomb") != (
            self.hollow is not None
        ):
            raise ValueError(f"{self.kind}: give the measures of this kind, and of no other")
        return self


class Closing(BaseModel, frozen=True, extra="forbid"):
    """What is there when somebody wants to close the record. Names are those of persons; empty means not signed.

    ``signed_before_later`` names the posts that signed before later entries: they sign again.
    """

    items_open: Annotated[int, Field(ge=0)]
    tickets_m3: Length
    computed_m3: Annotated[float, Field(gt=0)]
    volume_explained: str = ""
    samples_planned: Annotated[int, Field(ge=0)]
    samples_made: Annotated[int, Field(ge=0)]
    results_in: Annotated[int, Field(ge=0)]
    acceptance: Acceptance | None
    results_decided_by: str = ""
    curing_done: bool
    striking_written: bool
    back_props: Literal["none needed", "removed and written", "still standing"]
    back_props_under: tuple[str, ...] = ()
    levels_written: bool
    levels_off: Annotated[int, Field(ge=0)] = 0
    levels_decided_by: str = ""
    struck_early: tuple[str, ...] = ()
    striking_decided_by: str = ""
    queries_open: Annotated[int, Field(ge=0)]
    defects: tuple[Defect, ...] = ()
    signed_by_contractors_engineer: str = ""
    signed_by_inspector: str = ""
    read_by_engineer_of_record: str = ""
    signed_before_later: tuple[str, ...] = ()


class ToClose(BaseModel, frozen=True, extra="forbid"):
    """One thing that is missing, and who brings it."""

    key: str
    says: str
    who: str


def judging_words(text: str) -> tuple[str, ...]:
    """Find words that judge or explain in a description.

    Args:
        text: Description of a defect.

    Returns:
        The words found, in the order of the list.

    Source:
        Trade practice of neutral description.
    """
    return tuple(w for w in JUDGING_WORDS if re.search(rf"\b{re.escape(w)}\b", text, flags=re.IGNORECASE))


def missing_to_close(closing: Closing, volume_limit_percent: float) -> tuple[ToClose, ...]:
    """Say what is missing before the record of a pour may close.

    Args:
        closing: What is there.
        volume_limit_percent: Difference of placed and computed volume that needs an explanation.

    Returns:
        What is missing, in the order in which it is brought; empty if the record may close.

    Source:
        Common practice of closing a pour; the words follow the order of the work.
    """
    off = (closing.tickets_m3 / closing.computed_m3 - 1) * 100
    told = closing.acceptance
    results_fine = (told is not None and told.verdict == "met") or bool(closing.results_decided_by)
    undecided = [d.number for d in closing.defects if not (d.decision and d.decided_by)]
    checks = (
        (
            closing.items_open == 0,
            "items",
            f"{counted(closing.items_open, 'item')} open",
            "contractor's engineer",
        ),
        (
            abs(off) <= volume_limit_percent or bool(closing.volume_explained),
            "volume",
            f"tickets and computed volume differ by {off:+.2f} % without an explanation",
            "contractor's engineer",
        ),
        (
            closing.samples_made >= closing.samples_planned > 0,
            "samples",
            f"samples made: {closing.samples_made} of {closing.samples_planned} planned",
            "laboratory",
        ),
        (
            closing.results_in >= closing.samples_made,
            "results",
            f"results at 28 days: {closing.results_in} of {closing.samples_made} are in",
            "laboratory",
        ),
        (
            results_fine,
            "acceptance",
            f"results: {told.verdict if told else 'not yet judged'}",
            "engineer of record",
        ),
        (closing.curing_done, "curing", "the curing log is not complete", "contractor's engineer"),
        (closing.levels_written, "levels", "levels and finish are not written", "surveyor"),
        (
            closing.levels_off == 0 or bool(closing.levels_decided_by),
            "levels off",
            f"{counted(closing.levels_off, 'level')} off the limit or not told from it, without a decision",
            "engineer of record",
        ),
        (closing.striking_written, "striking", "striking is not written", "temporary works"),
        (
            not closing.struck_early or bool(closing.striking_decided_by),
            "struck early",
            f"struck before the days and without enough strength shown: {', '.join(closing.struck_early)}; not decided",
            "engineer of record",
        ),
        (
            closing.back_props != "still standing",
            "back-props",
            f"not written as taken away: back-props under {', '.join(closing.back_props_under)}"
            if closing.back_props_under
            else "back-props still stand",
            "temporary works",
        ),
        (
            not undecided,
            "defects",
            f"defects not decided: {', '.join(map(str, undecided))}",
            "engineer of record",
        ),
        (
            closing.queries_open == 0,
            "queries",
            f"{counted(closing.queries_open, 'query', 'queries')} not answered",
            "engineer of record",
        ),
        (
            bool(closing.signed_by_contractors_engineer),
            "signed",
            _again("contractor's engineer", closing) or "not signed by the contractor's engineer",
            "contractor's engineer",
        ),
        (
            bool(closing.signed_by_inspector),
            "inspected",
            _again("independent inspector", closing) or "not signed by the independent inspector",
            "independent inspector",
        ),
        (
            closing.signed_by_inspector != closing.signed_by_contractors_engineer
            or not closing.signed_by_inspector,
            "one hand",
            "one person signed as contractor's engineer and as inspector",
            "independent inspector",
        ),
        (
            bool(closing.read_by_engineer_of_record),
            "read",
            _again("engineer of record", closing) or "not read by the engineer of record",
            "engineer of record",
        ),
    )
    return tuple(ToClose(key=key, says=says, who=who) for fine, key, says, who in checks if not fine)


def _again(post: str, closing: Closing) -> str:
    return (
        f"the {post} signed before later entries: sign again" if post in closing.signed_before_later else ""
    )
