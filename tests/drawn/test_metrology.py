"""Properties that must hold for every number, and the decision tested as such by drawing readings."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.metrology.agreement import agreement, mean_of
from verifier.metrology.budget import (
    combine,
    coverage_factor,
    effective_degrees_of_freedom,
    rectangular,
    result_text,
    rounded,
)
from verifier.metrology.conformity import (
    Decision,
    DecisionRule,
    Limits,
    assess,
    conformance_probability,
    guard_band,
)

NUMBER = st.floats(-1e6, 1e6)
DOUBT = st.floats(1e-3, 1e3)
NOT_FINITE = [math.nan, math.inf, -math.inf]


@given(NUMBER, DOUBT, NUMBER, st.floats(0, 1e3))
def test_inside_below_and_above_share_all_the_probability(
    value: float, doubt: float, low: float, width: float
) -> None:
    inside = conformance_probability(value, doubt, Limits(low, low + width))
    below = conformance_probability(value, doubt, Limits(upper=low))
    above = conformance_probability(value, doubt, Limits(lower=low + width))
    assert 0.0 <= inside <= 1.0
    assert inside + below + above == pytest.approx(1.0, abs=1e-9)


@given(NUMBER, DOUBT, st.floats(-5, 5))
def test_moving_towards_the_allowed_side_never_lowers_the_probability(
    limit: float, doubt: float, z: float
) -> None:
    nearer = conformance_probability(limit + z * doubt, doubt, Limits(lower=limit))
    further = conformance_probability(limit + (z + 0.1) * doubt, doubt, Limits(lower=limit))
    assert further >= nearer - 1e-12


@given(NUMBER, DOUBT)
def test_a_value_on_its_limit_is_never_decided_while_there_is_doubt(limit: float, doubt: float) -> None:
    assert assess(limit, doubt, Limits(lower=limit)).decision is Decision.INCONCLUSIVE
    assert assess(limit, doubt, Limits(upper=limit)).decision is Decision.INCONCLUSIVE


@pytest.mark.parametrize(
    ("count", "limits", "decision"),
    [
        (12, Limits(lower=12), Decision.CONFORMING),
        (11, Limits(lower=12), Decision.NON_CONFORMING),
        (12, Limits(upper=12), Decision.CONFORMING),
        (13, Limits(12, 12), Decision.NON_CONFORMING),
    ],
)
def test_a_count_is_decided_without_doubt_and_its_limit_counts_as_kept(
    count: int, limits: Limits, decision: Decision
) -> None:
    assert assess(count, 0.0, limits).decision is decision


def test_far_tails_keep_their_digits() -> None:
    both_on_one_side = conformance_probability(0.0, 1.0, Limits(10.0, 11.0))
    assert both_on_one_side == pytest.approx(7.6198e-24, rel=1e-3)  # normal tail beyond 10, tabulated


def test_no_good_value_is_refused_and_no_bad_one_accepted_more_often_than_the_rule_says() -> None:
    seed = np.random.default_rng(8)
    doubt, limit = 2.0, 25.0
    bad = limit - 0.01 + doubt * seed.standard_normal(4000)  # true value just below the least allowed
    wrongly_conforming = (
        sum(assess(r, doubt, Limits(lower=limit)).decision is Decision.CONFORMING for r in bad) / 4000
    )
    assert 0.04 < wrongly_conforming < 0.06


def test_the_rule_is_kept_with_the_decision_and_can_be_changed() -> None:
    strict = DecisionRule(0.999, 0.001)
    assert assess(102.0, 1.0, Limits(lower=100.0)).decision is Decision.CONFORMING
    found = assess(102.0, 1.0, Limits(lower=100.0), strict)
    assert found.decision is Decision.INCONCLUSIVE
    assert found.rule is strict


@pytest.mark.parametrize("bad", NOT_FINITE)
def test_numbers_that_are_none_are_refused_everywhere(bad: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        conformance_probability(bad, 1.0, Limits(lower=0.0))
    with pytest.raises(ValueError, match="finite"):
        conformance_probability(0.0, bad, Limits(lower=0.0))
    with pytest.raises(ValueError, match="leave a side open"):
        Limits(lower=bad)
    with pytest.raises(ValueError, match="can't compare"):
        agreement(bad, 1.0, 1.0, 1.0)
    with pytest.raises(ValueError, match="finite"):
        mean_of([1.0, bad])
    with pytest.raises(ValueError, match="finite"):
        rectangular(bad)
    with pytest.raises(ValueError, match="finite"):
        rounded(bad, 1.0)
    with pytest.raises(ValueError, match="finite"):
        rounded(1.0, bad)
    with pytest.raises(ValueError, match="finite"):
        guard_band(bad)


def test_limits_and_rules_that_mean_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="at least one limit"):
        Limits()
    with pytest.raises(ValueError, match="lies above"):
        Limits(2.0, 1.0)
    with pytest.raises(ValueError, match=r"conforming_at is 0\.4"):
        DecisionRule(conforming_at=0.4)
    with pytest.raises(ValueError, match=r"non_conforming_at is 0\.5"):
        DecisionRule(non_conforming_at=0.5)
    with pytest.raises(ValueError, match="positive number is needed"):
        conformance_probability(1.0, -1.0, Limits(lower=0.0))
    with pytest.raises(ValueError, match="degrees of freedom"):
        coverage_factor(0.95, 0.5)
    with pytest.raises(ValueError, match="degrees of freedom"):
        effective_degrees_of_freedom([(1.0, 0.0)])


def test_two_exact_values_agree_only_when_equal() -> None:
    assert agreement(12, 0, 12, 0).agrees
    assert agreement(12, 0, 13, 0).e_n == -math.inf
    assert not agreement(12, 0, 13, 0).agrees


def test_one_reading_says_nothing_about_scatter() -> None:
    mean = mean_of([150.0])
    assert (mean.value, mean.deviation, mean.degrees_of_freedom) == (150.0, 0.0, 0)
    with pytest.raises(ValueError, match="at least one"):
        mean_of([])


def test_a_contribution_known_exactly_leaves_infinite_degrees_of_freedom() -> None:
    assert effective_degrees_of_freedom([(1.0, math.inf), (2.0, math.inf)]) == math.inf
    assert effective_degrees_of_freedom([(3.0, 7.0)]) == pytest.approx(7.0)


@given(st.lists(DOUBT, min_size=1, max_size=6))
def test_a_combined_doubt_is_at_least_the_largest_and_at_most_the_sum(doubts: list[float]) -> None:
    assert max(doubts) * (1 - 1e-12) <= combine(doubts) <= sum(doubts) * (1 + 1e-12)


@given(NUMBER, st.floats(1e-6, 1e6))
def test_print_keeps_two_digits_same_decimals_and_loses_at_most_five_percent(
    value: float, expanded: float
) -> None:
    shown, doubt = rounded(value, expanded)
    exact = Decimal(repr(expanded))
    assert len(Decimal(doubt).normalize().as_tuple().digits) <= 2
    assert Decimal(doubt) >= exact * Decimal("0.95")
    assert Decimal(doubt) <= exact * Decimal("1.06")
    assert Decimal(shown).as_tuple().exponent == Decimal(doubt).as_tuple().exponent
    step = Decimal(10) ** (Decimal(doubt).adjusted() - 1)
    assert abs(Decimal(shown) - Decimal(repr(value))) <= step / 2


@pytest.mark.parametrize(
    ("value", "expanded", "text"),
    [
        (150.4321, 1.0962, "150.4 ± 1.1 mm"),
        (150.45, 9.96, "150 ± 10 mm"),
        (148.25, 0.25, "148.25 ± 0.25 mm"),
        (1504.0, 120.0, "1500 ± 120 mm"),
        (-0.004, 0.21, "0.00 ± 0.21 mm"),
        (150.0, 0.0, "150 mm"),
    ],
)
def test_results_read_as_a_person_writes_them(value: float, expanded: float, text: str) -> None:
    assert result_text(value, expanded) == text


def test_a_count_is_printed_bare() -> None:
    assert result_text(12.0, 0.0, "count") == "12"


def test_numpy_numbers_print_like_plain_ones() -> None:
    assert rounded(np.float64(1.25), np.float64(0.5)) == ("1.25", "0.50")
