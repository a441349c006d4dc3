"""In which order props and back-props may go: what each slab carries after every step, and the strength that this needs."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import Literal

from pydantic import AwareDatetime, BaseModel

from verifier.errors import BadInput
from verifier.formwork.area_loads import NotNegative, Positive
from verifier.formwork.back_props import Floor
from verifier.formwork.figures import CAUTION, striking_figures

Holds = Literal["holds", "does not hold", "not known", "waits"]


class NewSlab(BaseModel, frozen=True, extra="forbid"):
    """The slab just cast, in kN/m2 and MPa.

    ``on_it`` is what walks and lies on it when its props go; ``service_load`` all that it is designed for in use, unfactored,
    its own weight counted in; both come from the engineer of record. ``shown_mpa`` is the lowest result of specimens cured
    beside it, on the same kind of specimen as ``strength_mpa``.
    """

    name: str
    own_load_kn_m2: Positive
    on_it_kn_m2: NotNegative
    service_load_kn_m2: Positive
    strength_mpa: Positive
    shown_mpa: Positive | None = None


class RemovalStep(BaseModel, frozen=True, extra="forbid"):
    """Props that go in one step, and the slab above them that carries alone afterwards.

    ``holds`` is "waits" for a step that would hold once an earlier one does or was taken; ``done_at`` is when it was taken. ``out_of_turn_kn_m2`` is what that slab would carry if these props went first, with everything above still standing on it.
    """

    number: int
    props_under: str
    carries_kn_m2: float
    may_carry_kn_m2: float | None
    holds: Holds
    needs_mpa: float | None
    out_of_turn_kn_m2: float | None
    out_of_turn_holds: bool
    says: str
    done_at: AwareDatetime | None = None


class RemovalPlan(BaseModel, frozen=True, extra="forbid"):
    """All steps from the new slab down. A step may be taken when it holds and every step before it was taken."""

    steps: tuple[RemovalStep, ...]
    source: str
    cautions: tuple[str, ...]


def removal_plan(
    slab: NewSlab,
    floors: Sequence[Floor],
    from_above_kn_m2: float,
    *,
    placed: Collection[str] = (),
    done: Mapping[str, datetime] | None = None,
) -> RemovalPlan:
    """Follow the taking away of props down through the floors.

    The newest slab is freed first, so that nothing comes from above on the floors below; then the back-props go floor by floor,
    from the upper one down. A young slab may carry the part of its design load in use that its strength has reached.

    Args:
        slab: The slab just cast.
        floors: Floors below from the upper one down. Back-props stand under each but the last, and under the last one, too, if
            more comes on it than it may carry.
        from_above_kn_m2: Load that the props of the new slab bring on the first floor while it is fresh.
        placed: Floors under which back-props were written as placed, whether or not the balance asks for them.
        done: Slab or floor -> when the props under it were taken away.

    Returns:
        The steps, each with load, capacity and what would happen out of turn.

    Raises:
        BadInput: If the design load in use is less than the slab's own weight, or a load is not positive.

    Source:
        ACI 347R-14, removal and reshoring (order); capacity in proportion to strength as in CIRIA Report 136 and in a published
        back-propping calculation of a 225 mm slab.
    """
    if not (math.isfinite(from_above_kn_m2) and from_above_kn_m2 > 0):
        raise BadInput(
            f"The load from above is {from_above_kn_m2:g} kN/m2.",
            where="removal of props",
            todo="Write a number above zero.",
        )
    if slab.service_load_kn_m2 < slab.own_load_kn_m2:
        raise BadInput(
            f"{slab.name}: {slab.service_load_kn_m2:g} kN/m2 in use is less than its own {slab.own_load_kn_m2:.2f} kN/m2.",
            where="removal of props",
            todo="Give the whole design load in use, unfactored, with the weight of the slab in it.",
        )
    propped = _propped(floors, from_above_kn_m2, placed)
    steps = [_first(slab), *(_below(n, f, load) for n, (f, load) in enumerate(propped, start=2))]
    rule = striking_figures().share_of_strength
    return RemovalPlan(
        steps=_in_turn([s.model_copy(update={"done_at": (done or {}).get(s.props_under)}) for s in steps]),
        source=f"{striking_figures().order.source}; {rule.source}",
        cautions=(
            CAUTION,
            "The engineer of record says when props go and what each slab may carry; this balance counts on props without slack.",
            "Where props of a further floor are to stand on these slabs, back-props stay as the propping plan says.",
        ),
    )


def share_of_strength(shown_mpa: float, strength_mpa: float) -> float:
    """Part of its design load in use that a young slab may carry.

    Args:
        shown_mpa: Strength shown on specimens cured beside it.
        strength_mpa: Characteristic strength at 28 days.

    Returns:
        Shown over characteristic strength, never above 1.

    Source:
        CIRIA Report 136, load at striking in proportion to strength, from memory; read in a published calculation.
    """
    power: float = striking_figures().share_of_strength.value
    return float(min(1.0, (shown_mpa / strength_mpa) ** power))


def _first(slab: NewSlab) -> RemovalStep:
    """The new slab freed: the strength that its load needs, and whether it was shown."""
    carries = slab.own_load_kn_m2 + slab.on_it_kn_m2
    power = striking_figures().share_of_strength.value
    needs = max(
        striking_figures().soffit_strength.value,
        slab.strength_mpa * (carries / slab.service_load_kn_m2) ** (1.0 / power),
    )
    may, shown = None, slab.shown_mpa
    holds: Holds = "not known"
    if carries > slab.service_load_kn_m2:
        holds, may = "does not hold", slab.service_load_kn_m2
        verdict = f"that is more than the {slab.service_load_kn_m2:g} kN/m2 it is designed for in use: no strength is enough"
    elif shown is None:
        verdict = f"show {needs:.1f} MPa on specimens cured beside it first"
    else:
        may = slab.service_load_kn_m2 * share_of_strength(shown, slab.strength_mpa)
        holds = "holds" if shown >= needs else "does not hold"
        enough = "enough" if holds == "holds" else "not enough"
        verdict = f"that needs {needs:.1f} MPa, {shown:g} MPa were shown: {enough}"
    return RemovalStep(
        number=1,
        props_under=slab.name,
        carries_kn_m2=carries,
        may_carry_kn_m2=may,
        holds=holds,
        needs_mpa=needs,
        out_of_turn_kn_m2=None,
        out_of_turn_holds=False,
        says=f"Props under {slab.name}: it then carries {carries:.2f} kN/m2; {verdict}.",
    )


def _below(number: int, floor: Floor, from_above_kn_m2: float) -> RemovalStep:
    """A floor below freed of the back-props under it, in turn and out of turn."""
    own, may = floor.own_load_kn_m2, floor.capacity_kn_m2
    early = own + from_above_kn_m2
    turn = (
        f"taken before step {number - 1} it would carry {early:.2f} kN/m2"
        if early <= may
        else f"not before step {number - 1}, for then it would carry {early:.2f} kN/m2, {early - may:.2f} too much"
    )
    return RemovalStep(
        number=number,
        props_under=floor.name,
        carries_kn_m2=own,
        may_carry_kn_m2=may,
        holds="holds" if own <= may else "does not hold",
        needs_mpa=None,
        out_of_turn_kn_m2=early,
        out_of_turn_holds=early <= may,
        says=f"Back-props under {floor.name}: it then carries {own:.2f} of {may:.2f} kN/m2; {turn}.",
    )


def _in_turn(steps: Sequence[RemovalStep]) -> tuple[RemovalStep, ...]:
    """Nothing below may look free while a step above it is not."""
    found: list[RemovalStep] = []
    for step in steps:
        free = all(earlier.holds == "holds" or earlier.done_at is not None for earlier in found)
        found.append(step if free or step.holds != "holds" else step.model_copy(update={"holds": "waits"}))
    return tuple(found)


def _propped(
    floors: Sequence[Floor], from_above_kn_m2: float, placed: Collection[str]
) -> list[tuple[Floor, float]]:
    """Floors that have back-props under them, each with what the props above bring on it while the new slab is fresh."""
    found = []
    load = from_above_kn_m2
    for floor in floors:
        down = max(0.0, load + floor.own_load_kn_m2 - floor.capacity_kn_m2)
        if floor is not floors[-1] or down > 0 or floor.name in placed:
            found.append((floor, load))
        load = down
    return found
