"""Several pours in one list: how each stands, and what waits for whom."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from verifier.pipeline.decision.check import Check
from verifier.pipeline.review.handing_over import HandOver
from verifier.release.decision import SIGNATURE, Answer
from verifier.release.reason import Reason
from verifier.rules.finding import Finding


@dataclass(frozen=True, slots=True)
class Standing:
    """How one pour stands.

    Attributes:
        folder: The pour folder.
        title: Its title on the drawing.
        planned_start: When concrete is to come.
        answer: Go, go with conditions or no-go.
        stops: Number of reasons that stop it.
        conditions: Number of conditions.
        worst: The worst finding that does not conform or is not decided, None if all conform.
        waits: Person or post, and how many reasons and conditions wait for them; most first.
        handed: Whether the site engineer has handed it over for review.
        newest: When the newest evidence came into the record, None if there is none.
    """

    folder: Path
    title: str
    planned_start: datetime
    answer: Answer
    stops: int
    conditions: int
    worst: Finding | None
    waits: tuple[tuple[str, int], ...]
    handed: HandOver
    newest: datetime | None


def standing_of(folder: Path, checked: Check) -> Standing:
    """Say how a pour stands.

    Args:
        folder: The pour folder.
        checked: A check of it.

    Returns:
        What a list of pours shows of it.
    """
    decision = checked.decision
    waits = Counter(_who(reason) for reason in (*decision.reasons, *checked.open_conditions) if reason.owner)
    originals = (*(p.original for p in checked.photos), *(t.original for t in checked.tapes))
    came = [original.received_at for original in originals]
    open_ones = (f for f in checked.findings if f.measured and not f.indication and f.verdict != "conforming")
    return Standing(
        folder=folder,
        title=checked.pour.pour.title,
        planned_start=checked.pour.pour.planned_start,
        answer=decision.answer,
        stops=len(decision.reasons),
        conditions=len(checked.open_conditions),
        worst=next(open_ones, None),
        waits=tuple(waits.most_common()),
        handed=checked.review.handed,
        newest=max((at for at in came if at is not None), default=None),
    )


def _who(reason: Reason) -> str:
    """Whose turn it is, by post: a signature is asked of a person by name, if one is named at all."""
    named = reason.key == SIGNATURE and reason.owner != "site engineer"
    return "engineer of record" if named else reason.owner


def in_order(standings: Iterable[Standing], at: datetime) -> tuple[Standing, ...]:
    """Order pours as they come up: the next start first, then those whose start has passed, latest first.

    Args:
        standings: Any number.
        at: Now.

    Returns:
        The same in order.
    """
    listed = tuple(standings)
    ahead = sorted((s for s in listed if s.planned_start >= at), key=lambda s: (s.planned_start, s.title))
    passed = sorted((s for s in listed if s.planned_start < at), key=lambda s: s.planned_start, reverse=True)
    return (*ahead, *passed)
