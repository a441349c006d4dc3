"""What a release binds: the pour, the versions of drawing and rules, and the exact record that was looked at."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from typing import Any, Literal

from pydantic import BaseModel, Field

from verifier.record.canonical import signable
from verifier.wording import on_one_line

DECISION_WORDS = {"go": "Go", "go_with_conditions": "Go, with the conditions below"}
BOUND_LATER = {
    "falsework_sha256": ("falsework.file", "falsework file"),
    "order_sha256": ("order.file", "order file"),
}
"""Fields that older releases lack -> kind of record that brings the version, and its words."""
CAUTION = (
    "This release records what was documented and looked at. It does not replace the engineer of record; "
    "local codes and licensed practice govern."
)


class HeldHead(BaseModel, frozen=True, extra="forbid"):
    """A head of this record that somebody keeps outside of it; without one, a rewritten history could not be told.

    Attributes:
        size: Number of records it covers.
        root: Merkle root, base64.
        holder: Who keeps it.
        kept: Where, in words: the reviewer's file of heads, a print on site, a time stamp.
    """

    size: int = Field(gt=0)
    root: str
    holder: str = Field(min_length=1)
    kept: str = Field(min_length=1)


class Approval(BaseModel, frozen=True, extra="forbid"):
    """The release of a pour, as it is signed.

    Attributes:
        pour: Pour id.
        person: Who releases.
        decision: ``go`` or ``go_with_conditions``; a refusal is an event of its own.
        verdict: The verdict in words, as it stood on the reviewer's screen.
        conditions: What must be done before or during the pour.
        open_observations: Observations that were open and are known to the person.
        drawing_sha256: Version of the drawing values in force.
        rules_sha256: Version of the rules in force.
        falsework_sha256: Version of the falsework file, None where there is none.
        order_sha256: Version of the order file, None where there is none. Releases from before these two were bound leave
            them out, and their statement does, too.
        size: Number of records that were looked at.
        root: Merkle root over them, base64.
        held: The head kept outside.
        valid_until: When the release lapses by itself, UTC.
        software: Name and version of this program.
    """

    pour: str
    person: str
    decision: Literal["go", "go_with_conditions"]
    verdict: str
    conditions: tuple[str, ...] = ()
    open_observations: tuple[str, ...] = ()
    drawing_sha256: str
    rules_sha256: str
    falsework_sha256: str | None = None
    order_sha256: str | None = None
    size: int = Field(gt=0)
    root: str
    held: HeldHead
    valid_until: str | None = None
    software: str

    def body(self) -> dict[str, Any]:
        """Return the body of the release record, with the statement that a person can read and sign.

        Returns:
            Fields as a record holds them, and the statement under ``statement``.
        """
        unbound = BOUND_LATER.keys() - self.model_fields_set
        plain: dict[str, Any] = {name: v for name, v in signable(self).items() if name not in unbound}
        return plain | {"statement": statement(plain)}


def statement(body: Mapping[str, Any]) -> str:
    """Write a release as the text that the person reads and signs.

    Args:
        body: Body of the release record.

    Returns:
        Plain text; every field that the release binds stands in it, so that the text and the record can't differ.
    """
    held = body["held"]
    lines = [
        "RELEASE OF A POUR",
        f"pour: {on_one_line(body['pour'])}",
        f"released by: {on_one_line(body['person'])}",
        f"decision: {DECISION_WORDS[body['decision']]}",
        f"verdict: {on_one_line(body['verdict'])}",
        *(f"condition {n}: {on_one_line(text)}" for n, text in enumerate(body["conditions"], 1)),
        *(
            f"open observation {n}: {on_one_line(text)}"
            for n, text in enumerate(body["open_observations"], 1)
        ),
        f"drawing sha256: {body['drawing_sha256']}",
        f"rules sha256: {body['rules_sha256']}",
        *(
            f"{words} sha256: {body[name] or 'none'}"
            for name, (_, words) in BOUND_LATER.items()
            if name in body
        ),
        f"records looked at: 1 to {body['size']}",
        f"root over them: {body['root']}",
        f"head held outside: {held['size']} records, root {held['root']}",
        f"held by: {on_one_line(held['holder'])}, {on_one_line(held['kept'])}",
        f"valid until: {body['valid_until'] or 'anything measured, drawn or listed changes'}",
        f"software: {on_one_line(body['software'])}",
        CAUTION,
    ]
    return "\n".join(lines) + "\n"


def release_faults(
    body: Mapping[str, Any], *, pour: str, person: str, in_force: Mapping[str, str], judged_size: int
) -> list[str]:
    """Say what a release fails to bind.

    Whether its roots are those of the record is for the ledger, which holds the leaves.

    Args:
        body: Body of the release record.
        pour: The pour of the record it stands in.
        person: Whose key signed.
        in_force: Newest ``drawing`` and ``rules`` hashes.
        judged_size: Number of the newest record that adds something to judge.

    Returns:
        One sentence for each fault.
    """
    fields = {name: value for name, value in body.items() if name in Approval.model_fields}
    try:
        approval = Approval.model_validate(fields)
        roots_sound = all(
            len(base64.b64decode(r, validate=True)) == 32 for r in (approval.root, approval.held.root)
        )
    except ValueError as error:
        return [f"the release is not complete ({str(error).splitlines()[0]})"]
    found = []
    if not roots_sound:
        found.append("a root is not 32 bytes in base64")
    if body.get("statement") != statement(body):
        found.append("the signed statement does not say what the record says")
    if approval.pour != pour:
        found.append(f"the release is for pour {approval.pour!r}")
    if approval.person != person:
        found.append(f"the release names {approval.person!r} but {person!r} signed")
    for what, value in (("drawing", approval.drawing_sha256), ("rules", approval.rules_sha256)):
        if in_force.get(what) != value:
            found.append(f"the {what} version bound is not the one in force")
    for name, (kind, words) in BOUND_LATER.items():
        if body.get(name) != in_force.get(kind):
            found.append(f"the version of the {words} bound is not the one in force")
    if approval.size < judged_size:
        found.append(f"records up to {judged_size} exist, but only 1 to {approval.size} were looked at")
    if approval.held.size > approval.size:
        found.append("the head held outside is newer than what was looked at")
    return found
