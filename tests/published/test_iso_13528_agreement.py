"""ISO 13528:2015, 9.7, and ISO/IEC 17043: the E_n score."""

from __future__ import annotations

import pytest

from verifier.metrology.agreement import agreement, mean_of


@pytest.mark.source("ISO 13528:2015, 9.7 (recalculated)")
@pytest.mark.parametrize(
    ("photo_mm", "e_n", "agrees"),
    [(152.0, 0.596, True), (156.0, 1.789, False), (148.0, -0.596, True), (144.0, -1.789, False)],
)
def test_photo_with_3_mm_against_tape_of_150_with_15_tenths(
    photo_mm: float, e_n: float, agrees: bool
) -> None:
    found = agreement(photo_mm, 3.0, 150.0, 1.5)
    assert found.e_n == pytest.approx(e_n, abs=5e-4)
    assert found.agrees is agrees


@pytest.mark.source("ISO 13528:2015, 9.7: |E_n| of exactly one still agrees")
def test_the_limit_itself_agrees() -> None:
    assert agreement(105.0, 3.0, 100.0, 4.0).agrees


@pytest.mark.source("JCGM 100:2008, 4.4.3 and table 1 (20 temperatures)")
def test_mean_and_its_uncertainty_of_twenty_readings() -> None:
    readings = [96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
                100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72]  # fmt: skip
    mean = mean_of(readings)
    assert mean.value == pytest.approx(100.145, abs=5e-4)
    assert mean.deviation == pytest.approx(1.489, abs=1.5e-3)
    assert mean.standard_uncertainty == pytest.approx(0.333, abs=5e-4)
    assert mean.degrees_of_freedom == 19
