"""Results of the samples of a pour: one a sample, judged by its code."""

from __future__ import annotations

import statistics
from collections.abc import Collection, Sequence
from datetime import datetime, timedelta

from pydantic import BaseModel

from verifier.codes.grades import concrete_strength_mpa
from verifier.codes.load import load_code
from verifier.concrete.after import AfterEntry, Result
from verifier.concrete.cubes import (
    Acceptance,
    aci318_acceptance,
    as1379_acceptance,
    en206_identity,
    en206_initial,
    is456_acceptance,
    sample_result_mpa,
)
from verifier.concrete.doubt import strength_part
from verifier.drawing.pour import Pour
from verifier.errors import BadInput
from verifier.wording import counted

FULL_AGE_DAYS = 28
IDENTITY_MOST = 6


class SampleResult(BaseModel, frozen=True, extra="forbid"):
    """One sample at one age: its result, or why it has none; the share of the 28-day strength is information only."""

    sample: str
    age_days: int
    mpa: float | None
    specimens: tuple[float, ...]
    usual_share: float
    invalid_because: str = ""


def results_of(
    entries: Sequence[AfterEntry], code: str, made: Collection[str], ended: datetime | None
) -> tuple[SampleResult, ...]:
    """Take the results of all samples.

    Args:
        entries: What was written after the pour.
        code: Title of the code of the pour.
        made: Samples that the log of the pour knows; a result of another one is shown and never judged.
        ended: End of the pour; a result older than the pour itself is shown and never judged.

    Returns:
        One result for each sample and age, in the order in which they first came. Of one written twice the last counts, so
        that no sample counts for two.
    """
    found: dict[tuple[str, int], Result] = {}
    for entry in entries:
        if isinstance(entry, Result):
            found[entry.sample, entry.age_days] = entry
    return tuple(_sample(r, code, made, ended) for r in found.values())


def full_age(results: Sequence[SampleResult]) -> tuple[SampleResult, ...]:
    """Choose the results that acceptance rests on.

    Args:
        results: All results.

    Returns:
        The first valid one of each sample at 28 days or later; a sample without a valid one is left out.
    """
    chosen: dict[str, SampleResult] = {}
    for result in sorted(results, key=lambda r: r.age_days):
        if result.age_days >= FULL_AGE_DAYS and result.mpa is not None:
            chosen.setdefault(result.sample, result)
    return tuple(r for r in results if chosen.get(r.sample) is r)


def acceptance_of(pour: Pour, results: Sequence[SampleResult]) -> Acceptance | None:
    """Judge the results of 28 days by the code of the pour.

    Args:
        pour: The pour, for grade and code.
        results: All results.

    Returns:
        The acceptance, or None where no rule of the code is on file.

    Source:
        IS 456:2000, table 11; ACI 318-19, 26.12.3; EN 206:2013, annex B up to six results, else the initial rule;
        AS 1379:2007, project assessment.
    """
    code = pour.pour.code
    judged = [r.mpa for r in full_age(results) if r.mpa is not None]
    table = load_code(code, units=pour.pour.units)
    strength = concrete_strength_mpa(pour.pour.concrete.grade, table.concrete).value
    if code.startswith("IS 456"):
        return is456_acceptance(strength, judged)
    if code.startswith("ACI 318"):
        return aci318_acceptance(strength, judged)
    if code.startswith("EN 1992"):
        on_cubes = _cube_strength(pour.pour.concrete.grade, strength)
        return (
            en206_identity(on_cubes, judged)
            if len(judged) <= IDENTITY_MOST
            else en206_initial(on_cubes, judged)
        )
    if code.startswith("AS 3600"):
        return as1379_acceptance(strength, judged)
    return None


def _cube_strength(grade: str, cylinder_mpa: float) -> float:
    """The second figure of a class such as C25/30 is that of cubes, which are what most sites make."""
    _, slash, cube = grade.partition("/")
    return float(cube) if slash and cube.replace(".", "", 1).isdecimal() else cylinder_mpa


def _sample(result: Result, code: str, made: Collection[str], ended: datetime | None) -> SampleResult:
    mean: float | None = statistics.fmean(result.mpa)
    why = ""
    if code.startswith("IS 456"):
        try:
            mean = sample_result_mpa(result.mpa)
            why = "" if mean is not None else "a cube is off the mean by more than 15 % (IS 456:2000, 15.4)"
        except BadInput as error:
            mean, why = None, error.wrong
    if result.sample not in made:
        mean, why = None, "the log of the pour knows no sample of this name"
    elif ended is not None and result.at < ended + timedelta(days=result.age_days - 1):
        days = (result.at - ended) / timedelta(days=1)
        mean, why = (
            None,
            f"written {days:.1f} days after the pour, so it can't be {counted(result.age_days, 'day')} old",
        )
    return SampleResult(
        sample=result.sample,
        age_days=result.age_days,
        mpa=mean,
        specimens=result.mpa,
        usual_share=strength_part(result.age_days, "N"),
        invalid_because=why,
    )
