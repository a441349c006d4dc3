"""OIML R 35-1:2007 and Directive 2014/32/EU, annex X (MI-008), chapter I: errors of tapes."""

from __future__ import annotations

import math

import pytest

from verifier.metrology.budget import rectangular
from verifier.metrology.measurement import Measurand
from verifier.tape.instruments import Instrument, TapeClass, greatest_error_mm, instrument_data, tape_error_mm
from verifier.tape.measure import budget_of
from verifier.tape.plausibility import critical_range_mm
from verifier.tape.reading import TapeReading

TABLE = [
    ("I", 10.0, 1.1),
    ("II", 10.0, 2.3),
    ("III", 10.0, 4.6),
    ("I", 3.0, 0.4),
    ("I", 5.0, 0.6),
    ("I", 8.0, 0.9),
    ("II", 3.0, 0.9),
    ("II", 5.0, 1.3),
    ("II", 8.0, 1.9),
    ("III", 3.0, 1.8),
    ("III", 5.0, 2.6),
    ("III", 8.0, 3.8),
]


@pytest.mark.source("OIML R 35-1:2007, maximum permissible errors, as tabulated for 3, 5, 8 and 10 m")
@pytest.mark.parametrize(("tape_class", "length_m", "error_mm"), TABLE)
def test_error_of_whole_metres(tape_class: TapeClass, length_m: float, error_mm: float) -> None:
    assert tape_error_mm(tape_class, length_m) == pytest.approx(error_mm, abs=1e-9)


@pytest.mark.source("OIML R 35-1:2007, L is rounded up to the next whole metre")
@pytest.mark.parametrize(
    ("length_m", "error_mm"), [(4.2, 1.3), (4.0001, 1.3), (4.0, 1.1), (0.15, 0.5), (0.999, 0.5)]
)
def test_lengths_between_metres_are_rounded_up(length_m: float, error_mm: float) -> None:
    assert tape_error_mm("II", length_m) == pytest.approx(error_mm, abs=1e-9)


@pytest.mark.source("OIML R 35-1:2007, c is added where the zero is a surface")
@pytest.mark.parametrize(("tape_class", "error_mm"), [("I", 0.7), ("II", 1.5), ("III", 2.9)])
def test_a_hook_adds_its_play(tape_class: TapeClass, error_mm: float) -> None:
    assert tape_error_mm(tape_class, 5.0, surface_end=True) == pytest.approx(error_mm, abs=1e-9)


@pytest.mark.source("OIML R 35-1:2007, a length is above zero")
@pytest.mark.parametrize("length_m", [0.0, -1.0, math.nan, math.inf])
def test_no_length_has_no_error(length_m: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        tape_error_mm("I", length_m)


def reading(value_mm: float, n_gaps: int = 1) -> TapeReading:
    what = Measurand.SINGLE_GAP if n_gaps == 1 else Measurand.MEAN_SPACING
    return TapeReading(
        row=1, element="S1", layer="B1", what=what, n_gaps=n_gaps, readings=(value_mm,), instrument="t", person="p",
        taken_at="2026-05-13T16:30",
    )  # fmt: skip


TAPE = Instrument(id="t", kind="tape", tape_class="II", hook=True)


@pytest.mark.source("JCGM 100:2008, 4.3.7, limits +-a give a/sqrt(3)")
def test_the_limit_of_the_class_enters_as_a_rectangle_and_is_divided_by_the_gaps() -> None:
    one = {c.name: c.standard_uncertainty for c in budget_of(reading(150.0), TAPE)}
    five = {c.name: c.standard_uncertainty for c in budget_of(reading(750.0, 5), TAPE)}
    assert one["tape II"] == pytest.approx(0.7 / math.sqrt(3))
    assert five["tape II"] == pytest.approx(0.7 / math.sqrt(3) / 5)
    assert one["graduation"] == pytest.approx(0.5 / math.sqrt(3))
    assert five["end setting and scatter"] == pytest.approx(one["end setting and scatter"] / 5)


@pytest.mark.source("JCGM 100:2008, G.4.1, equation (G.2b) and table G.2")
def test_the_stated_interval_is_that_of_the_t_distribution() -> None:
    parts = {c.name: c.standard_uncertainty for c in budget_of(reading(150.0), TAPE)}
    known = [parts["tape II"], parts["graduation"], parts["temperature"]]
    scatter = parts["end setting and scatter"]
    u = math.hypot(*known, scatter)
    degrees = u**4 / (scatter**4 / 8)
    assert degrees == pytest.approx(22.7, abs=0.1)
    t_22 = 2.074  # table G.2 has 2.09 for 20 and 2.06 for 25
    assert 1.96 * math.hypot(*parts.values()) == pytest.approx(t_22 * u, rel=2e-3)


@pytest.mark.source("Steel, expansion 11.5e-6 per kelvin: 10 m at 45 degrees Celsius reads 2.9 mm short")
def test_expansion_of_a_steel_tape() -> None:
    per_kelvin = instrument_data()["expansion"]["per_kelvin"]
    assert per_kelvin * 25 * 10_000 == pytest.approx(2.9, abs=0.05)
    parts = {c.name: c.standard_uncertainty for c in budget_of(reading(10_000.0), TAPE)}
    assert parts["temperature"] == pytest.approx(rectangular(11.5e-6 * 20 * 10_000))


@pytest.mark.source("ISO 5725-6:1994, 5.2.2.1, table 1 (from memory), 2.8 and 3.3 times the repeatability")
def test_critical_range_of_two_and_three_readings() -> None:
    repeatability = instrument_data()["repeatability"]["one_reading_mm"]["tape"]
    assert critical_range_mm(2) == pytest.approx(2.8 * repeatability)
    assert critical_range_mm(3) == pytest.approx(3.3 * repeatability)
    with pytest.raises(ValueError, match="no range"):
        critical_range_mm(1)


@pytest.mark.source("BS 1881-204:1988 (from memory), site accuracy 5 mm or 15 %, the greater")
@pytest.mark.parametrize(("cover_mm", "error_mm"), [(20.0, 5.0), (33.0, 5.0), (40.0, 6.0), (100.0, 15.0)])
def test_cover_gauge(cover_mm: float, error_mm: float) -> None:
    assert greatest_error_mm(Instrument(id="g", kind="cover_gauge"), cover_mm) == pytest.approx(error_mm)
