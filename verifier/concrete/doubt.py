"""When a result is in doubt: strength with age as information, cores, load test. The engineer of record decides."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from typing import Literal

from pydantic import BaseModel

from verifier.concrete.cube_figures import cube_figures
from verifier.errors import BadInput

AGE_OF_TEST_DAYS = 28.0
SLACK = 1e-9
STEPS_AFTER_A_LOW_RESULT = (
    "Check the test itself: moulds, age, curing, shape of break, machine, label, spread of the specimens.",
    "Map which trucks and strips it stands for; stop loading and striking there.",
    "The engineer of record looks whether the lower strength is enough by calculation.",
    "Compare areas by rebound or pulse; alone this never clears a result.",
    "Take cores, at least three for each low test.",
    "Load test, where the engineer of record asks for it.",
    "The engineer of record decides: accept, limit the use, strengthen, or take out.",
)


class Cores(BaseModel, frozen=True, extra="forbid"):
    """Cores against the specified strength."""

    verdict: Literal["adequate", "not adequate", "engineer decides", "not yet judged"]
    mean: float
    mean_needed: float
    lowest: float
    lowest_needed: float
    mean_percent: float
    source: str


class LoadTest(BaseModel, frozen=True, extra="forbid"):
    """Outcome of a load test."""

    verdict: Literal["recovery not needed", "passes", "repeat", "does not pass"]
    free_deflection_mm: float
    recovery_percent: float
    source: str


def strength_part(age_days: float, cement: Literal["R", "N", "S"]) -> float:
    """Part of the 28-day mean strength at an age, at 20 C. Information, never proof.

    Args:
        age_days: Age in days, > 0.
        cement: Class of strength gain: rapid, normal, slow.

    Returns:
        Part of one.

    Raises:
        BadInput: If the age is not positive.

    Source:
        EN 1992-1-1:2004, 3.1.2(6), equation (3.2).
    """
    if not age_days > 0:
        raise BadInput(f"The age is {age_days:g} d.", where="strength gain", todo="Write days above zero.")
    s = cube_figures().strength_gain.classes[cement]
    return math.exp(s * (1 - math.sqrt(AGE_OF_TEST_DAYS / age_days)))


def aci318_cores(fc: float, cores: Sequence[float]) -> Cores:
    """Hold cores against ACI 318, in any one unit of strength.

    Args:
        fc: Specified strength.
        cores: Core strengths of the area in doubt, corrected as the test method asks.

    Returns:
        Adequate or not. A mean between 84.5 and 85 % of the specified strength is left to the engineer of record.

    Raises:
        BadInput: If there is no core, or the specified strength is not above zero.

    Source:
        ACI 318-19, 26.12.6; IS 456:2000, 17.4.3 on equivalent cubes. An ACI answer reads 85 % as a whole number.
    """
    rule = cube_figures().aci318
    if len(cores) == 0 or not fc > 0:
        raise BadInput(
            "There is no core or no specified strength.", where="cores", todo="Take at least three cores."
        )
    mean, lowest = statistics.fmean(cores), min(cores)
    needed, least = rule.core_mean_share * fc, rule.core_lowest_share * fc
    verdict: Literal["adequate", "not adequate", "engineer decides", "not yet judged"]
    if lowest < least - SLACK or mean < needed - 0.005 * fc - SLACK:
        verdict = "not adequate"
    elif len(cores) < rule.cores:
        verdict = "not yet judged"
    else:
        verdict = "adequate" if mean >= needed - SLACK else "engineer decides"
    return Cores(
        verdict=verdict,
        mean=mean,
        mean_needed=needed,
        lowest=lowest,
        lowest_needed=least,
        mean_percent=mean / fc * 100.0,
        source=rule.source,
    )


def load_test(
    span_m: float, depth_mm: float, deflection_mm: float, recovered_mm: float, *, repeated: bool = False
) -> LoadTest:
    """Judge a load test.

    Args:
        span_m: Span under load.
        depth_mm: Overall depth.
        deflection_mm: Greatest deflection after 24 h under load.
        recovered_mm: What came back 24 h after the load was taken off.
        repeated: Whether this is the second test, 72 h after the first.

    Returns:
        Verdict. It informs the engineer of record.

    Raises:
        BadInput: If a figure can't be used.

    Source:
        IS 456:2000, 17.6 (from memory).
    """
    if not (span_m > 0 and depth_mm > 0 and deflection_mm > 0 and 0 <= recovered_mm <= deflection_mm):
        raise BadInput(
            "Span, depth and deflection are above zero, recovery between zero and the deflection.",
            where="load test",
            todo="Check the readings.",
        )
    rule = cube_figures().load_test
    free = rule.free_factor * span_m**2 / depth_mm
    recovery = recovered_mm / deflection_mm * 100.0
    needed = rule.second_recovery_percent if repeated else rule.recovery_percent
    verdict: Literal["recovery not needed", "passes", "repeat", "does not pass"]
    if deflection_mm < free:
        verdict = "recovery not needed"
    elif recovery >= needed - SLACK:
        verdict = "passes"
    else:
        verdict = "does not pass" if repeated else "repeat"
    return LoadTest(verdict=verdict, free_deflection_mm=free, recovery_percent=recovery, source=rule.source)
