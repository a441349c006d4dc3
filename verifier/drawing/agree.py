"""Parts of a pour that must fit each other. Each function returns faults; none changes a value."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from verifier.codes.code import Code
from verifier.drawing.elements import Beam, Slab
from verifier.drawing.fault import Fault
from verifier.drawing.fit import faults_of_beam, faults_of_slab
from verifier.drawing.geometry import crossing_edges, holds_box
from verifier.drawing.heading import Heading, People, Site
from verifier.drawing.pour import Spot


def faults_of_pour(
    head: Heading | None,
    code: Code | None,
    slabs: Sequence[Slab],
    beams: Sequence[Beam],
    spots: Sequence[Spot],
    people: People | None,
    *,
    complete: bool,
) -> list[Fault]:
    """Check the parts of a pour against each other and against its code.

    Args:
        head: The table ``[pour]``, None if it could not be read.
        code: The pour's code, None where it is not known; then nothing of the code is checked.
        slabs: The slabs that could be read.
        beams: The beams that could be read.
        spots: The spots that could be read.
        people: The table ``[people]``, None if it could not be read.
        complete: Whether every part could be read; else nothing is said about what seems to be missing. Spots are
            checked last, against elements that are sound.

    Returns:
        All faults.
    """
    faults = [] if head is None else _heading(head)
    for slab in slabs:
        faults += faults_of_slab(slab, code)
    for beam in beams:
        faults += faults_of_beam(beam, code)
    if complete and not slabs and not beams:
        faults.append(Fault("slab", None, "is missing", "at least one [[slab]] or [[beam]]"))
    marks = [slab.mark for slab in slabs] + [beam.mark for beam in beams]
    for mark, times in Counter(marks).items():
        if times > 1:
            faults.append(
                Fault("mark", mark, f"is given {times} times", "one mark for each element of the pour")
            )
    boards = [s.board for s in slabs] + [b.board for b in beams] + [s.board for s in spots]
    for number, times in Counter(n for n in boards if n is not None).items():
        if times > 1:
            faults.append(Fault("board", number, f"is kept for {times} places", "one place for each number"))
    if complete and not faults:
        faults += _spots(spots, slabs, beams)
    if people is not None:
        faults += _people(people)
    return faults


def _heading(head: Heading) -> list[Fault]:
    faults = [] if head.site is None else _site(head.site)
    slump = head.concrete.slump_mm
    if slump is not None and slump[0] > slump[1]:
        allowed = "least slump first, then the largest"
        faults.append(Fault("pour.concrete.slump_mm", list(slump), "runs backwards", allowed))
    return faults


def _site(site: Site) -> list[Fault]:
    centre = {"latitude": site.latitude, "longitude": site.longitude, "fence_radius_m": site.fence_radius_m}
    given = [name for name, value in centre.items() if value is not None]
    both = "latitude, longitude and fence_radius_m, or fence = [[lat, lon], ...]"
    if site.fence is None:
        return [Fault(f"pour.site.{name}", None, "is missing", both) for name in centre if name not in given]
    if given:
        return [Fault("pour.site", given, "is given beside a fence", f"one of the two: {both}")]
    crossed = crossing_edges(site.fence)
    if crossed:
        wrong = f"crosses itself: its sides {crossed[0]} and {crossed[1]} meet"
        return [
            Fault("pour.site.fence", None, wrong, "corners in the order in which one walks round the site")
        ]
    return []


def _spots(spots: Sequence[Spot], slabs: Sequence[Slab], beams: Sequence[Beam]) -> list[Fault]:
    faults: list[Fault] = []
    elements: dict[str, Slab | Beam] = {slab.mark: slab for slab in slabs}
    elements |= {beam.mark: beam for beam in beams}
    seen: set[tuple[str, str]] = set()
    for number, spot in enumerate(spots, 1):
        at = f"spot[{number}]"
        element = elements.get(spot.element)
        if element is None:
            faults.append(
                Fault(f"{at}.element", spot.element, "is no mark of this pour", ", ".join(elements))
            )
            continue
        if (spot.element, spot.spot) in seen:
            faults.append(
                Fault(f"{at}.spot", spot.spot, f"is named twice on {spot.element}", "one name a spot")
            )
        seen.add((spot.element, spot.spot))
        if isinstance(element, Slab):
            known = [layer.layer for layer in element.layers]
            unknown = [layer for layer in spot.layers if layer not in known]
            if unknown:
                faults.append(
                    Fault(f"{at}.layers", unknown, f"are not layers of {spot.element}", ", ".join(known))
                )
            if spot.at_m is not None and not holds_box(element.outline, (*spot.at_m, 0.0, 0.0)):
                faults.append(
                    Fault(f"{at}.at_m", list(spot.at_m), "is not on the slab", "a point inside its outline")
                )
    return faults


def _people(people: People) -> list[Fault]:
    faults = []
    for role, names in people.model_dump().items():
        for name, times in Counter[str](names).items():
            if times > 1:
                faults.append(
                    Fault(f"people.{role}", name, f"is named {times} times", "each person once a role")
                )
    return faults
