"""How many samples a pour asks for: IS 456, ACI 318, EN 206, AS 1379."""

from __future__ import annotations

import math

from pydantic import BaseModel

from verifier.concrete.cube_figures import cube_figures
from verifier.errors import BadInput

SLACK = 1e-9
USUAL_TRUCK_M3 = 6.0


class SamplesAsked(BaseModel, frozen=True, extra="forbid"):
    """Samples of a pour, with what decided their number."""

    samples: int
    specimens: int | None
    because: str
    source: str
    note: str


def is456_samples(volume_m3: float, *, shifts: int = 1) -> SamplesAsked:
    """Samples by IS 456.

    Args:
        volume_m3: Volume of the pour in one grade.
        shifts: Shifts that it takes; each has a sample at least.

    Returns:
        Samples of three cubes each.

    Raises:
        BadInput: If the volume is not above zero.

    Source:
        IS 456:2000, 15.2.2.
    """
    _volume(volume_m3)
    rule = cube_figures().is456
    row = next((r for r in rule.rows if volume_m3 <= r.up_to_m3 + SLACK), None)
    if row is None:
        last = rule.rows[-1]
        by_volume = last.samples + math.ceil((volume_m3 - last.up_to_m3) / rule.further_m3 - SLACK)
    else:
        by_volume = row.samples
    samples = max(by_volume, shifts)
    because = "one a shift" if shifts > by_volume else f"{volume_m3:g} m3"
    return SamplesAsked(
        samples=samples,
        specimens=samples * rule.specimens,
        because=because,
        source=rule.source,
        note=rule.note,
    )


def aci318_samples(volume_m3: float, area_m2: float, *, days: int = 1) -> SamplesAsked:
    """Strength tests by ACI 318 for one class of concrete.

    Args:
        volume_m3: Volume of the pour.
        area_m2: Surface of slabs or walls.
        days: Days on which it is placed.

    Returns:
        Tests, of two 6 x 12 in or three 4 x 8 in cylinders each.

    Raises:
        BadInput: If the volume is not above zero.

    Source:
        ACI 318-19, 26.12.2.
    """
    _volume(volume_m3)
    rule = cube_figures().aci318
    by_volume = math.ceil(volume_m3 / rule.per_m3 - SLACK)
    by_area = math.ceil(area_m2 / rule.per_m2 - SLACK)
    tests = max(days, by_volume, by_area)
    because = f"{by_volume} by volume, {by_area} by area, {days} by day"
    return SamplesAsked(samples=tests, specimens=None, because=because, source=rule.source, note=rule.note)


def en206_samples(volume_m3: float, *, certified: bool, continuous: bool = False) -> SamplesAsked:
    """Samples of the producer's conformity control by EN 206.

    Args:
        volume_m3: Volume of this mix, counted from the first.
        certified: Whether production control is certified.
        continuous: Whether production is past its initial phase.

    Returns:
        Samples.

    Raises:
        BadInput: If the volume is not above zero.

    Source:
        EN 206:2013, table 17 (from memory).
    """
    _volume(volume_m3)
    rule = cube_figures().en206
    if continuous:
        per = rule.continuous_per_m3 if certified else rule.not_certified_per_m3
        samples, because = math.ceil(volume_m3 / per - SLACK), f"one per {per:g} m3"
    else:
        per = rule.certified_per_m3 if certified else rule.not_certified_per_m3
        further = math.ceil(max(0.0, volume_m3 - rule.initial_m3) / per - SLACK)
        samples = rule.initial_samples + further
        because = f"{rule.initial_samples} in the first {rule.initial_m3:g} m3, then one per {per:g} m3"
    note = "The producer's own control; identity tests on site only as agreed."
    return SamplesAsked(samples=samples, specimens=None, because=because, source=rule.source, note=note)


def as1379_samples(batches: int) -> SamplesAsked:
    """Samples of one grade and one day by AS 1379, where the project asks for them.

    Args:
        batches: Truck loads of the day, at least 1.

    Returns:
        Samples of two cylinders each.

    Raises:
        BadInput: If there is no batch.

    Source:
        AS 1379:2007, project assessment, from memory; the column for critical members, which asks for more.
    """
    if batches < 1:
        raise BadInput(f"{batches} batches are given.", where="samples", todo="Write 1 or more.")
    rule = cube_figures().as1379
    row = next((r for r in rule.rows if batches <= r.up_to_batches), None)
    last = rule.rows[-1]
    further = math.ceil(max(0, batches - last.up_to_batches) / rule.further_batches)
    samples = row.samples if row is not None else last.samples + further
    return SamplesAsked(
        samples=samples,
        specimens=samples * rule.specimens,
        because="1 batch" if batches == 1 else f"{batches} batches",
        source=rule.source,
        note=rule.note,
    )


def samples_by_code(
    code: str, volume_m3: float, area_m2: float, *, truck_m3: float = USUAL_TRUCK_M3
) -> SamplesAsked:
    """Samples of one pour by its code.

    Args:
        code: Title of the code, for example ``IS 456:2000``.
        volume_m3: Volume of the pour in one grade.
        area_m2: Surface of its slabs.
        truck_m3: What one truck brings, where a code counts batches.

    Returns:
        Samples; of the European code the producer's figure without certificate, which asks for more. A code without a figure
        here asks for one sample at least.

    Raises:
        BadInput: If the volume is not above zero.

    Source:
        The code's own rule; one sample a pour at least is common practice.
    """
    if code.startswith("IS 456"):
        return is456_samples(volume_m3)
    if code.startswith("ACI 318"):
        return aci318_samples(volume_m3, area_m2)
    if code.startswith("EN 1992"):
        return en206_samples(volume_m3, certified=False)
    _volume(volume_m3)
    if code.startswith("AS 3600"):
        return as1379_samples(max(1, math.ceil(volume_m3 / truck_m3 - SLACK)))
    return SamplesAsked(
        samples=1,
        specimens=None,
        because="one a pour at least",
        source="common practice, no source",
        note=f"No sampling rule of {code} is on file: the specification of the job says how many.",
    )


def _volume(volume_m3: float) -> None:
    if not (math.isfinite(volume_m3) and volume_m3 > 0):
        raise BadInput(f"The volume is {volume_m3:g} m3.", where="samples", todo="Write a number above zero.")
