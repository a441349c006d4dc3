"""Figures of sampling, acceptance, cores, load test and strength gain, from ``data/cubes.toml``."""

from __future__ import annotations

from functools import cache

from pydantic import BaseModel

from verifier.codes.cited import Cited, read_data


class SampleRow(BaseModel, frozen=True, extra="forbid"):
    """Samples up to a volume."""

    up_to_m3: float
    samples: int


class IsSampling(Cited, frozen=True):
    """Samples by volume, specimens of a sample, allowed spread of them."""

    specimens: int
    spread_percent: float
    rows: tuple[SampleRow, ...]
    further_m3: float


class Table11(Cited, frozen=True):
    """Acceptance of IS 456."""

    group: int
    mean_factor: float
    rounded_to: float
    mean_over: float
    each_under: float


class DeviationStep(BaseModel, frozen=True, extra="forbid"):
    """Assumed standard deviation of grades up to a strength."""

    up_to_mpa: float | None = None
    mpa: float


class AssumedDeviation(Cited, frozen=True):
    """Standard deviation assumed until enough results are there."""

    steps: tuple[DeviationStep, ...]


class AciRule(Cited, frozen=True):
    """Sampling, acceptance and cores of ACI 318."""

    per_m3: float
    per_m2: float
    least_on_project: int
    waived_below_m3: float
    group: int
    lowest_under_mpa: float
    up_to_mpa: float
    lowest_share: float
    core_mean_share: float
    core_lowest_share: float
    cores: int


class IdentityStep(BaseModel, frozen=True, extra="forbid"):
    """Mean over fck for numbers of results up to a count."""

    up_to_results: int
    mean_over: float


class En206Rule(Cited, frozen=True):
    """Sampling and acceptance of EN 206."""

    initial_m3: float
    initial_samples: int
    certified_per_m3: float
    not_certified_per_m3: float
    continuous_per_m3: float
    initial_group: int
    initial_mean_over: float
    each_under: float
    continuous_group: int
    continuous_factor: float
    spread_from: float
    spread_to: float
    identity: tuple[IdentityStep, ...]


class BatchRow(BaseModel, frozen=True, extra="forbid"):
    """Samples up to a number of batches a day."""

    up_to_batches: int
    samples: int


class As1379Rule(Cited, frozen=True):
    """Sampling and acceptance of a project by AS 1379."""

    specimens: int
    rows: tuple[BatchRow, ...]
    further_batches: int
    group: int
    lowest_share: float


class LoadTestRule(Cited, frozen=True):
    """Load test of a member in doubt."""

    free_factor: float
    recovery_percent: float
    second_recovery_percent: float
    repeat_after_h: float


class StrengthGain(Cited, frozen=True):
    """Coefficient s by cement class."""

    classes: dict[str, float]


class CubeFigures(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``data/cubes.toml``."""

    is456: IsSampling
    table11: Table11
    table11_first_print: Table11
    assumed_deviation: AssumedDeviation
    aci318: AciRule
    en206: En206Rule
    as1379: As1379Rule
    load_test: LoadTestRule
    strength_gain: StrengthGain


@cache
def cube_figures() -> CubeFigures:
    """Return sampling and acceptance figures.

    Returns:
        The checked data.
    """
    return read_data("verifier.concrete", "cubes.toml", CubeFigures)
