"""When forms and props may be taken away: days of a code, strength shown, and in which order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from pydantic import BaseModel

from verifier.errors import BadInput, Refusal
from verifier.formwork.figures import striking_figures
from verifier.formwork.striking_days import CAUTION


class StrengthProof(BaseModel, frozen=True, extra="forbid"):
    """Strength shown on specimens against strength needed."""

    needed_mpa: float
    shown_mpa: float
    reached: bool
    because: str
    source: str
    caution: str = CAUTION


def strength_proof(
    part: Literal["side", "soffit"], shown_mpa: Sequence[float], stress_at_striking_mpa: float = 0.0
) -> StrengthProof | Refusal:
    """Hold the strength of specimens cured beside the slab against what striking needs.

    Args:
        part: Vertical side or soffit.
        shown_mpa: Results of field-cured specimens; the lowest counts.
        stress_at_striking_mpa: Stress in the concrete once the props are away, from the engineer of record.

    Returns:
        The comparison, or a refusal if there are no results.

    Source:
        IS 456:2000, 11.3 (twice the stress); BS 8110-1:1997, 6.2.6.3 (2 and 10 MPa), kept in EN 13670 practice.
    """
    figures = striking_figures()
    if len(shown_mpa) == 0:
        return Refusal(
            "no-strength-shown", "There is no result of a field-cured specimen. Test at least two."
        )
    least = figures.soffit_strength if part == "soffit" else figures.side_strength
    twice = figures.is456.strength.value * stress_at_striking_mpa
    needed = max(least.value, twice)
    shown = min(shown_mpa)
    return StrengthProof(
        needed_mpa=needed,
        shown_mpa=shown,
        reached=shown >= needed,
        because="twice the stress at striking" if twice > least.value else f"least strength of a {part}",
        source=f"{figures.is456.strength.source}; {least.source}",
    )


def adjusted_age_days(daily_concrete_c: Sequence[float]) -> float:
    """Age at 20 C with the same ripening, as information only.

    Args:
        daily_concrete_c: Mean concrete temperature of each day, 0 to 80 C.

    Returns:
        Age in days.

    Raises:
        BadInput: If a temperature is outside the range of the formula.

    Source:
        EN 1992-1-1:2004, B.1(3), equation (B.10).
    """
    constants = striking_figures().maturity
    for day, celsius in enumerate(daily_concrete_c, start=1):
        if not 0 <= celsius <= 80:
            raise BadInput(
                f"{celsius:g} C on day {day} is outside 0 to 80 C of the formula.",
                where="maturity",
                todo="Check the log.",
            )
    return sum(math.exp(constants.constant - constants.activation_k / (273.0 + c)) for c in daily_concrete_c)


def removal_order(*, slab: bool, beams: bool, cantilever: bool, back_props: bool) -> tuple[str, ...]:
    """Say in which order forms and props go.

    Args:
        slab: Whether there is a slab.
        beams: Whether there are beams.
        cantilever: Whether a part sticks out.
        back_props: Whether floors below are propped.

    Returns:
        Sentences in order.

    Source:
        ACI 347R-14, removal and reshoring; trade practice for cantilevers.
    """
    order = striking_figures().order
    asked = (
        (slab, order.slab),
        (beams, order.beam),
        (cantilever, order.cantilever),
        (back_props, order.back_props),
    )
    return tuple(line for wanted, lines in asked if wanted for line in lines)
