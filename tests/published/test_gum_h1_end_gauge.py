"""JCGM 100:2008 (GUM), annex H.1: calibration of an end gauge. Lengths in nm."""

from __future__ import annotations

import math

import pytest

from verifier.metrology.budget import (
    combine,
    coverage_factor,
    effective_degrees_of_freedom,
    expand,
    rounded,
    triangular,
)

LENGTH = 50_000_623.0
DIFFERENCE = 215.0
CONTRIBUTIONS = {  # sensitivity times standard uncertainty, and degrees of freedom
    "standard": (25.0, 18.0),
    "difference": (9.7, 25.6),
    "difference of expansion": (LENGTH * 0.1 * 0.58e-6, 50.0),
    "difference of temperature": (LENGTH * 11.5e-6 * 0.029, 2.0),
}


def combined_nm() -> float:
    return combine([u for u, _ in CONTRIBUTIONS.values()])


@pytest.mark.source("JCGM 100:2008, H.1.4")
def test_combined_standard_uncertainty_is_32_nm() -> None:
    assert combined_nm() == pytest.approx(31.71, abs=0.05)
    assert round(combined_nm()) == 32


@pytest.mark.source("JCGM 100:2008, H.1.6")
def test_effective_degrees_of_freedom_are_16() -> None:
    degrees = effective_degrees_of_freedom(list(CONTRIBUTIONS.values()))
    assert math.floor(degrees) == 16


@pytest.mark.source("JCGM 100:2008, H.1.6")
def test_expanded_uncertainty_at_99_percent_is_93_nm() -> None:
    degrees = effective_degrees_of_freedom(list(CONTRIBUTIONS.values()))
    assert coverage_factor(0.99, degrees) == pytest.approx(2.92, abs=0.005)
    assert expand(combined_nm(), 0.99, degrees) == pytest.approx(93, abs=0.5)


@pytest.mark.source("JCGM 100:2008, H.1.5")
def test_the_result_is_printed_as_the_guide_prints_it() -> None:
    assert rounded(LENGTH + DIFFERENCE, 92.6) == ("50000838", "93")


@pytest.mark.source("JCGM 100:2008, H.1.7")
def test_second_order_terms_raise_it_to_34_nm() -> None:
    # Products of two doubts: expansion of the standard with temperature difference, difference of expansion
    # with temperature (11.7 nm and 1.7 nm in the guide).
    second_order = (LENGTH * 0.58e-6 * 0.41, LENGTH * 1.2e-6 * 0.029)
    assert second_order == pytest.approx((11.7, 1.7), abs=0.3)
    assert round(combine([combined_nm(), *second_order])) == 34


@pytest.mark.source("JCGM 100:2008, table G.2")
@pytest.mark.parametrize(
    ("degrees", "probability", "factor"),
    [
        (1, 0.95, 12.71),
        (2, 0.95, 4.30),
        (5, 0.95, 2.57),
        (10, 0.95, 2.23),
        (20, 0.95, 2.09),
        (50, 0.95, 2.01),
        (math.inf, 0.95, 1.960),
        (16, 0.99, 2.92),
        (math.inf, 0.99, 2.576),
        (math.inf, 0.6827, 1.000),
    ],
)
def test_quantiles_of_the_t_distribution(degrees: float, probability: float, factor: float) -> None:
    assert coverage_factor(probability, degrees) == pytest.approx(factor, abs=0.005)


@pytest.mark.source("JCGM 100:2008, 4.4.6")
def test_a_temperature_between_96_and_104_most_likely_in_the_middle() -> None:
    # The guide's example: limits 96 and 104 degrees, triangular: 4/sqrt(6) = 1.6.
    assert triangular(4.0) == pytest.approx(1.6, abs=0.05)
