"""JCGM 106:2012: conformance probability and the risk of false acceptance.

Example 9.5.4 is read from a published reproduction; the examples of section 7 are from memory, their arithmetic redone.
"""

from __future__ import annotations

import math

import pytest
from scipy import integrate, optimize, stats

from verifier.metrology.conformity import DecisionRule, Limits, conformance_probability, guard_band


@pytest.mark.source("JCGM 106:2012, section 7 (from memory, recalculated)")
@pytest.mark.parametrize(
    ("value", "doubt", "limits", "expected"),
    [
        pytest.param(-5.47, 0.05, Limits(upper=-5.40), 0.9192, id="diode breakdown voltage"),
        pytest.param(509.7, 8.6, Limits(lower=490.0), 0.9890, id="burst pressure"),
        pytest.param(13.6, 1.8, Limits(12.5, 16.3), 0.6626, id="viscosity of an oil"),
    ],
)
def test_conformance_probability(value: float, doubt: float, limits: Limits, expected: float) -> None:
    assert conformance_probability(value, doubt, limits) == pytest.approx(expected, abs=5e-4)


@pytest.mark.source("JCGM 106:2012, section 8, speed example (from memory, recalculated)")
def test_a_measured_speed_of_107_exceeds_100_with_999_in_a_thousand() -> None:
    # Relative standard uncertainty 2 %: 107 km/h is just enough, 106 is not.
    for speed, certain in ((107.0, True), (106.0, False)):
        exceeds = 1.0 - conformance_probability(speed, 0.02 * speed, Limits(upper=100.0))
        assert (exceeds >= 0.999) is certain


@pytest.mark.source("JCGM 106:2012, section 7, one-sided quantiles")
@pytest.mark.parametrize(("level", "z"), [(0.95, 1.645), (0.975, 1.960), (0.99, 2.326), (0.999, 3.09)])
def test_guard_band_is_the_quantile_times_the_doubt(level: float, z: float) -> None:
    assert guard_band(1.0, DecisionRule(conforming_at=level)) == pytest.approx(z, abs=5e-4)


class TestBearings:
    """9.5.4: run-out of bearings, gamma with shape 4 and scale 1/4, upper limit 2, measured with u = 0.25."""

    prior = stats.gamma(4, scale=0.25)
    upper = 2.0
    doubt = 0.25

    def false_acceptance(self, acceptance_limit: float) -> float:
        # P(reading below the limit | true value) is the conformance probability with both changed over.
        def accepted_though_bad(true: float) -> float:
            return float(self.prior.pdf(true)) * conformance_probability(
                true, self.doubt, Limits(upper=acceptance_limit)
            )

        return float(integrate.quad(accepted_though_bad, self.upper, self.upper + 10 * self.doubt)[0])

    @pytest.mark.source("JCGM 106:2012, 9.5.4")
    def test_without_a_test_424_in_ten_thousand_are_out(self) -> None:
        assert self.prior.sf(self.upper) == pytest.approx(0.0424, abs=5e-5)

    @pytest.mark.source("JCGM 106:2012, 9.5.4")
    def test_with_simple_acceptance_80_in_ten_thousand_are_accepted_though_out(self) -> None:
        assert self.false_acceptance(self.upper) == pytest.approx(0.0080, abs=5e-5)

    @pytest.mark.source("JCGM 106:2012, 9.5.4")
    def test_acceptance_limit_for_one_in_a_thousand(self) -> None:
        limit = optimize.brentq(lambda a: self.false_acceptance(a) - 0.001, 1.0, 2.0)
        assert limit == pytest.approx(1.672, abs=1.5e-3)


@pytest.mark.source("Normal distribution tables; 10 mm rod example, N(10, 0.4)")
@pytest.mark.parametrize(
    ("value", "limits", "out"),
    [
        (10.0, Limits(9.0, 11.0), 0.01242),
        (10.0, Limits(upper=11.0), 0.00621),
        (10.0, Limits(lower=9.0), 0.00621),
        (10.5, Limits(9.0, 11.0), 0.10574),
    ],
)
def test_share_outside_the_limits(value: float, limits: Limits, out: float) -> None:
    assert 1.0 - conformance_probability(value, 0.4, limits) == pytest.approx(out, abs=1e-5)


@pytest.mark.source("ILAC-G8:09/2019, table 1 (greatest risk of false acceptance by guard band)")
@pytest.mark.parametrize(
    ("band_in_expanded", "stated_risk", "normal_tail"),
    [
        pytest.param(0.0, 0.50, 0.5, id="simple acceptance"),
        pytest.param(0.83, 0.05, 0.04846, id="ISO 14253-1 default"),
        pytest.param(1.0, 0.025, 0.02275, id="w = U"),
        pytest.param(1.5, 0.0016, 0.00135, id="3 sigma"),
        pytest.param(3.0, 1e-6, 9.87e-10, id="6 sigma"),
    ],
)
def test_a_value_at_the_acceptance_limit_keeps_the_stated_risk(
    band_in_expanded: float, stated_risk: float, normal_tail: float
) -> None:
    doubt, limit = 1.0, 100.0
    value = limit - band_in_expanded * 2.0 * doubt
    risk = 1.0 - conformance_probability(value, doubt, Limits(upper=limit))
    assert risk <= stated_risk
    assert risk == pytest.approx(normal_tail, rel=5e-3)


@pytest.mark.source("ILAC-G8:09/2019, 4.2; ISO 14253-1:2017, default 95 %")
def test_the_default_guard_band_is_083_times_the_expanded_uncertainty() -> None:
    assert guard_band(1.0) / 2.0 == pytest.approx(0.83, abs=0.01)
    assert math.isclose(guard_band(3.0), 3.0 * guard_band(1.0))
