"""Whether the results of a pour are accepted. Four ways: IS 456, ACI 318, EN 206, AS 1379."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from typing import Literal

from pydantic import BaseModel

from verifier.codes.cited import Cited
from verifier.concrete.cube_figures import cube_figures
from verifier.errors import BadInput

SLACK = 1e-9


class Acceptance(BaseModel, frozen=True, extra="forbid"):
    """Whether results meet a code. ``not yet judged`` until the group of the code is complete."""

    verdict: Literal["met", "not met", "not yet judged"]
    why: tuple[str, ...]
    mean_limit_mpa: float
    each_limit_mpa: float
    source: str
    note: str


def sample_result_mpa(specimens_mpa: Sequence[float]) -> float | None:
    """Result of one sample by IS 456.

    Args:
        specimens_mpa: Its cubes, tested at one age.

    Returns:
        Their mean, or None if one of them is off by more than 15 %: the sample is then invalid.

    Raises:
        BadInput: If the sample has not as many cubes as the code asks for.

    Source:
        IS 456:2000, 15.4.
    """
    rule = cube_figures().is456
    if len(specimens_mpa) != rule.specimens:
        raise BadInput(
            f"A sample has {rule.specimens} cubes, given: {len(specimens_mpa)}.",
            where="cubes",
            todo="Give all of them.",
        )
    mean = statistics.fmean(specimens_mpa)
    spread = max(abs(s - mean) for s in specimens_mpa) / mean * 100.0
    return mean if spread <= rule.spread_percent + SLACK else None


def assumed_deviation_mpa(fck_mpa: float) -> float:
    """Standard deviation to assume while fewer than 30 results are there.

    Args:
        fck_mpa: Characteristic cube strength.

    Returns:
        Deviation in MPa.

    Source:
        IS 456:2000, table 8.
    """
    steps = cube_figures().assumed_deviation.steps
    return next(s.mpa for s in steps if s.up_to_mpa is None or fck_mpa <= s.up_to_mpa)


def is456_mean_limit_mpa(fck_mpa: float, deviation_mpa: float, *, first_print: bool = False) -> float:
    """Least mean of four results by IS 456.

    Args:
        fck_mpa: Characteristic cube strength.
        deviation_mpa: Established or assumed standard deviation.
        first_print: Take the figures of the first print in place of the amended table.

    Returns:
        The larger of fck + 0.825 s (s term rounded to 0.5) and fck + 3.

    Source:
        IS 456:2000, table 11.
    """
    table = cube_figures().table11_first_print if first_print else cube_figures().table11
    rounded = math.floor(table.mean_factor * deviation_mpa / table.rounded_to + 0.5) * table.rounded_to
    return fck_mpa + max(rounded, table.mean_over)


def is456_acceptance(
    fck_mpa: float,
    results_mpa: Sequence[float],
    *,
    deviation_mpa: float | None = None,
    first_print: bool = False,
) -> Acceptance:
    """Accept sample results by IS 456.

    Args:
        fck_mpa: Characteristic cube strength.
        results_mpa: Sample results at 28 days in order of sampling; means of three cubes.
        deviation_mpa: Established deviation; without it the assumed one.
        first_print: Take the first print of the table.

    Returns:
        Met or not; not yet judged while the last group of four is not complete and nothing has failed.

    Source:
        IS 456:2000, 16.1 and table 11: means of four consecutive results that don't overlap.
    """
    table = cube_figures().table11_first_print if first_print else cube_figures().table11
    deviation = assumed_deviation_mpa(fck_mpa) if deviation_mpa is None else deviation_mpa
    mean_limit = is456_mean_limit_mpa(fck_mpa, deviation, first_print=first_print)
    each_limit = fck_mpa - table.each_under
    why = [f"result {r:g} MPa is below {each_limit:g} MPa" for r in results_mpa if r < each_limit - SLACK]
    for first in range(0, len(results_mpa) - table.group + 1, table.group):
        group = results_mpa[first : first + table.group]
        mean = statistics.fmean(group)
        if mean < mean_limit - SLACK:
            why.append(
                f"results {first + 1} to {first + table.group}: mean {mean:.2f} MPa is below {mean_limit:g} MPa"
            )
    open_group = len(results_mpa) % table.group or not results_mpa
    return _acceptance(why, bool(open_group), table.group, mean_limit, each_limit, table)


def aci318_acceptance(fc_mpa: float, tests_mpa: Sequence[float]) -> Acceptance:
    """Accept strength tests by ACI 318.

    Args:
        fc_mpa: Specified strength.
        tests_mpa: Tests at 28 days in order; each the mean of its cylinders.

    Returns:
        Met or not; not yet judged below three tests while nothing has failed.

    Source:
        ACI 318-19, 26.12.3.1.
    """
    rule = cube_figures().aci318
    each_limit = fc_mpa - rule.lowest_under_mpa if fc_mpa <= rule.up_to_mpa else rule.lowest_share * fc_mpa
    why = [
        f"test {t:g} MPa is below {each_limit:g} MPa: investigate"
        for t in tests_mpa
        if t < each_limit - SLACK
    ]
    why += _running_means("tests", tests_mpa, rule.group, fc_mpa)
    return _acceptance(why, len(tests_mpa) < rule.group, rule.group, fc_mpa, each_limit, rule)


def as1379_acceptance(fc_mpa: float, results_mpa: Sequence[float]) -> Acceptance:
    """Accept sample results of a project by AS 1379.

    Args:
        fc_mpa: Characteristic cylinder strength.
        results_mpa: Sample results at 28 days in order of sampling; each the mean of its cylinders.

    Returns:
        Met or not; not yet judged below three results while nothing has failed.

    Source:
        AS 1379:2007, project assessment, from memory: three consecutive results at f'c on the mean, none below 0.85 f'c.
    """
    rule = cube_figures().as1379
    each_limit = rule.lowest_share * fc_mpa
    why = [f"result {r:g} MPa is below {each_limit:g} MPa" for r in results_mpa if r < each_limit - SLACK]
    why += _running_means("results", results_mpa, rule.group, fc_mpa)
    return _acceptance(why, len(results_mpa) < rule.group, rule.group, fc_mpa, each_limit, rule)


def _running_means(what: str, results_mpa: Sequence[float], group: int, limit_mpa: float) -> list[str]:
    """Means of consecutive, overlapping groups that lie below a limit."""
    found = []
    for first in range(len(results_mpa) - group + 1):
        mean = statistics.fmean(results_mpa[first : first + group])
        if mean < limit_mpa - SLACK:
            found.append(
                f"{what} {first + 1} to {first + group}: mean {mean:.2f} MPa is below {limit_mpa:g} MPa"
            )
    return found


def en206_initial(fck_mpa: float, results_mpa: Sequence[float]) -> Acceptance:
    """Accept results of initial production by EN 206.

    Args:
        fck_mpa: Characteristic strength.
        results_mpa: Results in order; every three consecutive, not overlapping, make a mean.

    Returns:
        Met or not; not yet judged while a group of three is open and nothing has failed.

    Source:
        EN 206:2013, 8.2.1.3, criteria 1 and 2 (from memory).
    """
    rule = cube_figures().en206
    mean_limit, each_limit = fck_mpa + rule.initial_mean_over, fck_mpa - rule.each_under
    why = [f"result {r:g} MPa is below {each_limit:g} MPa" for r in results_mpa if r < each_limit - SLACK]
    for first in range(0, len(results_mpa) - rule.initial_group + 1, rule.initial_group):
        mean = statistics.fmean(results_mpa[first : first + rule.initial_group])
        if mean < mean_limit - SLACK:
            why.append(
                f"results {first + 1} to {first + rule.initial_group}: mean {mean:.2f} MPa is below {mean_limit:g} MPa"
            )
    open_group = len(results_mpa) % rule.initial_group or not results_mpa
    return _acceptance(why, bool(open_group), rule.initial_group, mean_limit, each_limit, rule)


def en206_continuous(fck_mpa: float, results_mpa: Sequence[float], sigma_mpa: float) -> Acceptance:
    """Accept results of continuous production by EN 206.

    Args:
        fck_mpa: Characteristic strength.
        results_mpa: Results of the period, at least 15.
        sigma_mpa: Standard deviation of the 35 results before.

    Returns:
        Met or not; not yet judged below 15 results, or where their scatter says that sigma no longer holds.

    Source:
        EN 206:2013, 8.2.1.3 (from memory); band of s15 read.
    """
    rule = cube_figures().en206
    mean_limit, each_limit = fck_mpa + rule.continuous_factor * sigma_mpa, fck_mpa - rule.each_under
    why = [f"result {r:g} MPa is below {each_limit:g} MPa" for r in results_mpa if r < each_limit - SLACK]
    enough = len(results_mpa) >= rule.continuous_group
    if enough and statistics.fmean(results_mpa) < mean_limit - SLACK:
        why.append(f"mean {statistics.fmean(results_mpa):.2f} MPa is below {mean_limit:.2f} MPa")
    stale = False
    if enough:
        s15 = statistics.stdev(results_mpa[-rule.continuous_group :])
        stale = not rule.spread_from * sigma_mpa <= s15 <= rule.spread_to * sigma_mpa
    if stale and not why:
        low, high = rule.spread_from * sigma_mpa, rule.spread_to * sigma_mpa
        told = f"scatter {s15:.2f} MPa of the last {rule.continuous_group} is outside {low:.2f} to {high:.2f}: find sigma anew"
        return Acceptance(
            verdict="not yet judged",
            why=(told,),
            mean_limit_mpa=mean_limit,
            each_limit_mpa=each_limit,
            source=rule.source,
            note=rule.note,
        )
    return _acceptance(why, not enough, rule.continuous_group, mean_limit, each_limit, rule)


def en206_identity(fck_mpa: float, results_mpa: Sequence[float]) -> Acceptance:
    """Hold identity tests of a defined volume against EN 206.

    Args:
        fck_mpa: Characteristic strength.
        results_mpa: One to six results.

    Returns:
        Met or not.

    Raises:
        BadInput: If there are more than six results.

    Source:
        EN 206:2013, annex B (from memory).
    """
    rule = cube_figures().en206
    step = next((s for s in rule.identity if len(results_mpa) <= s.up_to_results), None)
    if step is None:
        raise BadInput(
            f"{len(results_mpa)} results are given.",
            where="identity test",
            todo="Judge one to six results of one volume.",
        )
    mean_limit, each_limit = fck_mpa + step.mean_over, fck_mpa - rule.each_under
    why = [f"result {r:g} MPa is below {each_limit:g} MPa" for r in results_mpa if r < each_limit - SLACK]
    if results_mpa and statistics.fmean(results_mpa) < mean_limit - SLACK:
        why.append(f"mean {statistics.fmean(results_mpa):.2f} MPa is below {mean_limit:g} MPa")
    return _acceptance(why, not results_mpa, 1, mean_limit, each_limit, rule)


def _acceptance(
    why: list[str], waits: bool, group: int, mean_mpa: float, each_mpa: float, rule: Cited
) -> Acceptance:
    verdict: Literal["met", "not met", "not yet judged"] = "met"
    told = tuple(why)
    if why:
        verdict = "not met"
    elif waits:
        verdict, told = "not yet judged", (f"a group of {group} results is not complete",)
    return Acceptance(
        verdict=verdict,
        why=told,
        mean_limit_mpa=mean_mpa,
        each_limit_mpa=each_mpa,
        source=rule.source,
        note=rule.note,
    )
