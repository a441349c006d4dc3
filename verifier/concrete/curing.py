"""Curing: days that the code asks for, the log of each shift, and what is still owed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from functools import cache
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, Field, StringConstraints

from verifier.codes.cited import Cited, Figure, read_data
from verifier.errors import BadInput, Refusal

Words = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=600)]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class IsCuring(Cited, frozen=True):
    """Days of IS 456."""

    ordinary: int
    blended: int
    ordinary_hot_dry: int
    blended_hot_dry: int


class AciCuring(Cited, frozen=True):
    """Days of ACI 318."""

    normal: int
    high_early: int
    least_c: float
    strength_share: float


class SurfaceRow(BaseModel, frozen=True, extra="forbid"):
    """Days for surface temperatures from a value on, by strength ratio; a class that is not known is left out."""

    from_c: float
    class2: tuple[float, float, float]
    class3: tuple[float, float, float] | None = None
    class4: tuple[float, float, float] | None = None


class EnCuring(Cited, frozen=True):
    """Curing classes of EN 13670."""

    class1_hours: int
    strength_share: dict[str, float]
    surface: tuple[SurfaceRow, ...]
    ratio_from: tuple[float, float, float]


class AsCuring(Cited, frozen=True):
    """Days of initial curing and strength at striking by exposure class of AS 3600. [d, MPa]."""

    days: dict[str, int]
    strength_at_striking_mpa: dict[str, float]


class CuringFigures(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``data/curing.toml``."""

    is456: IsCuring
    aci318: AciCuring
    en13670: EnCuring
    as3600: AsCuring
    bad_day: Figure


class CuringEntry(BaseModel, frozen=True, extra="forbid"):
    """One look at the curing, each shift, once on rest days."""

    at: AwareDatetime
    found: Literal["wet", "dry", "covering torn"]
    by: Words
    temperature_c: Annotated[float, Field(ge=-40, le=80)] | None = None
    put_right: bool = False
    photos: tuple[Hash, ...] = ()


class CuringNeed(BaseModel, frozen=True, extra="forbid"):
    """Days that are asked for, with source."""

    days: float
    source: str
    note: str


class CuringState(BaseModel, frozen=True, extra="forbid"):
    """What the log shows. ``ends_at`` counts bad and unlogged days on top."""

    ends_at: AwareDatetime
    bad_days: tuple[date, ...]
    days_without_entry: tuple[date, ...]
    not_put_right: tuple[AwareDatetime, ...]
    done: bool


@cache
def curing_figures() -> CuringFigures:
    """Return the figures of curing.

    Returns:
        The checked data.
    """
    return read_data("verifier.concrete", "curing.toml", CuringFigures)


def is456_curing(*, blended: bool, hot_dry: bool) -> CuringNeed:
    """Days of moist curing by IS 456.

    Args:
        blended: Blended cement or mineral admixture.
        hot_dry: Dry and hot weather.

    Returns:
        Days.

    Source:
        IS 456:2000, 13.5.1.
    """
    rule = curing_figures().is456
    by_case = {
        (False, False): rule.ordinary,
        (True, False): rule.blended,
        (False, True): rule.ordinary_hot_dry,
        (True, True): rule.blended_hot_dry,
    }
    return CuringNeed(days=by_case[blended, hot_dry], source=rule.source, note=rule.note)


def aci318_curing(*, high_early: bool) -> CuringNeed:
    """Days of moist curing by ACI 318 at 10 C or more.

    Args:
        high_early: High-early-strength concrete.

    Returns:
        Days.

    Source:
        ACI 318-19, 26.5.3 (from memory).
    """
    rule = curing_figures().aci318
    return CuringNeed(days=rule.high_early if high_early else rule.normal, source=rule.source, note=rule.note)


def en13670_curing(
    curing_class: Literal[1, 2, 3, 4], surface_c: float, strength_ratio: float
) -> CuringNeed | Refusal:
    """Least curing by EN 13670.

    Args:
        curing_class: 1 to 4, from the execution specification.
        surface_c: Surface temperature.
        strength_ratio: Mean strength at 2 days over that at 28 days.

    Returns:
        Days, or a refusal where the table gives none here; then the part of the strength is shown.

    Source:
        EN 13670:2009, annex F (from memory).
    """
    rule = curing_figures().en13670
    if curing_class == 1:
        return CuringNeed(days=rule.class1_hours / 24.0, source=rule.source, note=rule.note)
    name = f"class{curing_class}"
    row = next((r for r in rule.surface if surface_c >= r.from_c), None)
    column = next((i for i, least in enumerate(rule.ratio_from) if strength_ratio >= least), None)
    days: tuple[float, float, float] | None = getattr(row, name) if row is not None else None
    if days is None or column is None:
        part = rule.strength_share[name] * 100
        return Refusal(
            "no-curing-days",
            f"No days are on file for class {curing_class} at {surface_c:g} C and ratio {strength_ratio:g}. "
            f"Show {part:.0f} % of the characteristic strength at the surface, or open the standard.",
        )
    return CuringNeed(days=days[column], source=rule.source, note=rule.note)


def as3600_curing(exposures: Sequence[str]) -> CuringNeed:
    """Initial curing by AS 3600.

    Args:
        exposures: Exposure classes of the parts; none of them known asks for the longest.

    Returns:
        Days of the part that asks for most.

    Source:
        AS 3600:2018, 4.4 and table 4.4, from memory.
    """
    rule = curing_figures().as3600
    known = [e for e in exposures if e in rule.days]
    whole = bool(known) and len(known) == len(exposures)
    days = max(rule.days[e] for e in known) if whole else max(rule.days.values())
    strength = max(rule.strength_at_striking_mpa[e] for e in (known if whole else rule.days))
    asked = f"When forms are struck the mean strength is {strength:g} MPa or more."
    return CuringNeed(days=days, source=rule.source, note=f"{rule.note} {asked}")


def curing_state(need: CuringNeed, start: datetime, log: Sequence[CuringEntry], at: datetime) -> CuringState:
    """Say what the curing log shows.

    A day with a dry or torn look is bad; a day without a look is not taken as good. Each lengthens the curing by one day.

    Args:
        need: Days asked for.
        start: Start of curing.
        log: Looks, in any order.
        at: Time of the question.

    Returns:
        End of curing as it stands, bad and missing days, whether it is done.

    Raises:
        BadInput: If the question lies before the start.

    Source:
        US federal guide specification (a bad day is put right at once and lengthens the curing by a day).
    """
    if at < start:
        raise BadInput(
            "The time asked about is before the start of curing.", where="curing", todo="Correct the times."
        )
    known = [e for e in log if start <= e.at <= at]
    longer = curing_figures().bad_day.value
    bad: list[date] = []
    empty: list[date] = []
    ends = start + timedelta(days=need.days)
    day = 0
    # Each 24 hours from the start on is one day of curing; lengthening adds further days that must be looked at too.
    while start + timedelta(days=day + 1) <= min(at, ends):
        first, last = start + timedelta(days=day), start + timedelta(days=day + 1)
        looks = [e for e in known if first <= e.at < last]
        if any(e.found != "wet" for e in looks):
            bad.append(first.date())
        elif not looks:
            empty.append(first.date())
        ends = start + timedelta(days=need.days + longer * (len(bad) + len(empty)))
        day += 1
    waiting = tuple(e.at for e in known if e.found != "wet" and not e.put_right)
    return CuringState(
        ends_at=ends,
        bad_days=tuple(bad),
        days_without_entry=tuple(empty),
        not_put_right=waiting,
        done=at >= ends and not waiting and day >= math.floor(need.days),
    )
