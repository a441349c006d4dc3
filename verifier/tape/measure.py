"""From a reading to a measurement, with the doubt of its instrument and of the person who read it."""

from __future__ import annotations

import math

from verifier.metrology.agreement import Mean, mean_of
from verifier.metrology.budget import combine, coverage_factor, effective_degrees_of_freedom, rectangular
from verifier.metrology.measurement import (
    COVERAGE_FACTOR_95,
    Component,
    Measurand,
    Measurement,
    Trace,
    combined,
)
from verifier.tape.instruments import Instrument, greatest_error_mm, instrument_data, repeatability_mm
from verifier.tape.reading import TapeReading

METHOD = "tape"
METHOD_VERSION = "1"


def budget_of(reading: TapeReading, instrument: Instrument | None) -> tuple[Component, ...]:
    """List what makes a reading doubtful.

    Args:
        reading: One reading or several of the same thing.
        instrument: What it was read with.

    Returns:
        Components of the value per gap: limit of error of the instrument, graduation, expansion of a steel tape, ribs of a bar, the
        scatter of reading, and an allowance for how little is known of that scatter. None for a count and for a size read from
        the mark rolled on the bar. [mm]

    Source:
        JCGM 100:2008: 4.3.7 (limits), 4.2.4 (scatter pooled with what is known from before), 5.1.2 (a reading over n
        gaps is divided, so each component is too), G.4.1 (effective degrees of freedom). Limits: ``data/instruments.toml``.
    """
    if reading.what is Measurand.BAR_COUNT or instrument is None or instrument.kind == "rolled_mark":
        return ()
    data = instrument_data()
    mean = mean_of(reading.readings)
    parts = {
        f"{instrument.kind.replace('_', ' ')} {instrument.tape_class or ''}".strip(): rectangular(
            greatest_error_mm(instrument, mean.value)
        ),
        "graduation": rectangular(instrument.graduation_mm / 2.0),
    }
    if instrument.tape_class is not None:
        spread = float(data["expansion"]["per_kelvin"]) * float(data["expansion"]["half_width_kelvin"])
        parts["temperature"] = rectangular(spread * mean.value)
    if reading.what is Measurand.BAR_DIAMETER:
        parts["ribs"] = rectangular(float(data["ribs"]["half_width_share"]) * mean.value)
    scatter, degrees = _scatter_mm(mean, repeatability_mm(instrument.kind))
    parts["few readings"] = _few_readings_mm(list(parts.values()), scatter, degrees)
    parts["end setting and scatter"] = scatter
    gaps = reading.n_gaps or 1
    return tuple(Component(name=name, standard_uncertainty=u / gaps) for name, u in parts.items())


def _scatter_mm(mean: Mean, prior: float) -> tuple[float, float]:
    """Scatter of a mean with its degrees of freedom.

    What was seen is pooled with what is known of tapes, so that two lucky readings prove little.
    """
    degrees = float(instrument_data()["repeatability"]["degrees_of_freedom"])
    more = mean.degrees_of_freedom
    pooled = math.sqrt((degrees * prior**2 + more * mean.deviation**2) / (degrees + more))
    return pooled / math.sqrt(more + 1), degrees + more


def _few_readings_mm(limits: list[float], scatter: float, degrees: float) -> float:
    """What must be added so that the normal factor of 95 % does the work of the wider t factor."""
    all_parts = [*limits, scatter]
    effective = effective_degrees_of_freedom([*((u, math.inf) for u in limits), (scatter, degrees)])
    wider = coverage_factor(0.95, effective) / COVERAGE_FACTOR_95
    return combine(all_parts) * math.sqrt(max(0.0, wider**2 - 1.0))


def measurement_of(
    reading: TapeReading, instrument: Instrument | None, *, original_sha256: str, original_name: str
) -> Measurement:
    """Turn a reading into a measurement.

    Args:
        reading: The reading; without open question.
        instrument: What it was read with; ``None`` only for a count made by eye.
        original_sha256: SHA-256 of the file that it stands in.
        original_name: Name of that file.

    Returns:
        Value per gap for spacing, the mean of the readings otherwise, with budget and the way back to its row.

    Raises:
        ValueError: If the instrument is not the one that the reading names.

    Source:
        JCGM 100:2008, 4.2 and 5.1.
    """
    count = reading.what is Measurand.BAR_COUNT
    if (instrument.id if instrument else None) != reading.instrument or (instrument is None and not count):
        raise ValueError(f"row {reading.row} was read with {reading.instrument}, not with {instrument}")
    budget = budget_of(reading, instrument)
    return Measurement(
        measurand=reading.what,
        value=reading.per_gap,
        standard_uncertainty=combined(budget),
        unit="count" if count else "mm",
        element=reading.element,
        layer=reading.layer,
        spot=reading.spot,
        by="count" if count else "tape",
        method=f"{METHOD}: {instrument.id}" if instrument and not count else "count",
        method_version=METHOD_VERSION,
        taken_at=reading.taken_at,
        person=reading.person,
        stretch_gaps=reading.n_gaps,
        index=reading.index,
        budget=budget,
        trace=Trace(original_sha256=original_sha256, original_name=original_name, row=reading.row),
    )
