"""What the site engineer does next: the decision's own reasons, worst first, each with the place where it is done."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from verifier.pipeline.decision.check import Check
from verifier.release.reason import Reason
from verifier.report.figures import Verdict

Where = Literal["photo", "reading", "rounds", "place", "none"]
_DECK = ("findings", "coverage", "evidence", "rounds", "formwork")


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do on the deck.

    Attributes:
        key: The same as long as the thing is.
        verdict: What it looks like on the plan.
        stops: Whether the pour may not start while it is open.
        says: What is so, one line a reason.
        clears: What clears it.
        element: Where, None for the pour as a whole.
        layer: Layer or face, where it is about one.
        spot: Name of the spot, None where it is about several.
        spots: All spots that it is about.
        where: Where on the page it is done.
        round: Number of the inspection round, where it is about one.
        item: Item of that round, where it is about one.
    """

    key: str
    verdict: Verdict
    stops: bool
    says: tuple[str, ...]
    clears: str
    element: str | None = None
    layer: str | None = None
    spot: str | None = None
    spots: tuple[str, ...] = ()
    where: Where = "none"
    round: int | None = None
    item: str | None = None


def next_steps(check: Check) -> tuple[Step, ...]:
    """List what is to be done on the deck, in the order of what blocks most.

    Reasons of one place make one step: who stands there sees to all of them.

    Args:
        check: The check.

    Returns:
        Steps, those that stop the pour first.
    """
    found: dict[object, Step] = {}
    for reason in (*check.decision.reasons, *check.decision.conditions):
        if reason.room not in _DECK:
            continue
        step = _step(check, reason)
        place = (step.element, step.spots) if step.element is not None else step.clears
        key = (place, step.verdict, step.where, step.stops)
        before = found.get(key)
        found[key] = step if before is None else _joined(before, step)
    return tuple(found.values())


def of_element(steps: Iterable[Step], element: str, spot: str | None) -> tuple[Step, ...]:
    """Steps at one place.

    Args:
        steps: Steps in order.
        element: Mark of the element.
        spot: Name of the spot, None for the whole element.

    Returns:
        Those of the element, or those that this spot is among.
    """
    here = (s for s in steps if s.element == element)
    return tuple(s for s in here if spot is None or not s.spots or spot in s.spots)


def _step(check: Check, reason: Reason) -> Step:
    by_key = {f.key: f for f in check.findings}
    about = [by_key[key] for key in reason.about if key in by_key]
    stops = reason.weight == "stops"
    if about:
        first = about[0]
        spots = tuple(dict.fromkeys(f.spot for f in about if f.spot is not None))
        verdict: Verdict = "non_conforming" if reason.kind == "non-conforming" else "inconclusive"
        # What only the engineer of record may accept, a tape on the deck may still settle.
        by_others = reason.owner != "site engineer" and verdict == "inconclusive"
        return Step(
            key=reason.key,
            verdict=verdict,
            stops=stops,
            says=(reason.says,),
            clears=first.next_step if by_others and first.next_step else reason.clears,
            element=first.requirement.element,
            layer=first.requirement.layer,
            spot=spots[0] if len(spots) == 1 else None,
            spots=spots,
            where="photo" if verdict == "non_conforming" else "reading",
        )
    if reason.room == "coverage":
        return _uncovered(check, reason, stops=stops)
    named = _OF_ROUND.match(reason.key)
    return Step(
        key=reason.key,
        verdict="non_conforming" if reason.kind in ("non-conforming", "evidence-damaged") else "missing",
        stops=stops,
        says=(reason.says,),
        clears=reason.clears,
        where="rounds" if reason.room == "rounds" else "none",
        round=int(named["round"]) if named and named["round"] else None,
        item=named["item"] if named else None,
    )


_OF_ROUND = re.compile(r"rounds-(?:[a-z-]+)-(?P<round>\d)?(?:-?(?P<item>[A-Z]+-\d+))?")
"""Keys of the reasons that rounds bring; they name the round, the item, or both."""


def _uncovered(check: Check, reason: Reason, *, stops: bool) -> Step:
    element, _, what = reason.key.rpartition("/coverage/")
    missing = [c for c in check.coverage if (c.element, c.what) == (element, what) and c.missing]
    spots = tuple(dict.fromkeys(s for c in missing for s in c.missing))
    return Step(
        key=reason.key,
        verdict="missing",
        stops=stops,
        says=(reason.says,),
        clears=reason.clears,
        element=element,
        spot=spots[0] if len(spots) == 1 else None,
        spots=spots,
        where="reading" if what == "cover" else "photo",
    )


def _joined(before: Step, step: Step) -> Step:
    return Step(
        key=before.key,
        verdict=before.verdict,
        stops=before.stops,
        says=(*before.says, *step.says),
        clears=before.clears,
        element=before.element,
        layer=before.layer if before.layer == step.layer else None,
        spot=before.spot,
        spots=before.spots,
        where=before.where,
    )
