"""Acceptance of results, strength gain, curing: IS 456, ACI 318, EN 206, EN 1992-1-1, EN 13670."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from verifier.concrete.cubes import (
    aci318_acceptance,
    assumed_deviation_mpa,
    en206_continuous,
    en206_identity,
    en206_initial,
    is456_acceptance,
    is456_mean_limit_mpa,
    sample_result_mpa,
)
from verifier.concrete.curing import (
    CuringEntry,
    aci318_curing,
    curing_state,
    en13670_curing,
    is456_curing,
)
from verifier.concrete.doubt import strength_part
from verifier.concrete.sampling import en206_samples
from verifier.errors import BadInput, Refusal

MONDAY = datetime(2026, 6, 1, 14, 0, tzinfo=UTC)


@pytest.mark.source("IS 456:2000 with amendment 3, table 11")
@pytest.mark.parametrize(("fck", "s", "limit"), [(30, 1.5, 33.0), (30, 5.0, 34.0), (25, 4.0, 28.5)])
def test_mean_limit_of_is_456(fck, s, limit):
    assert is456_mean_limit_mpa(fck, s) == limit


@pytest.mark.source("IS 456:2000, first print, table 11")
def test_mean_limit_of_the_first_print():
    assert is456_mean_limit_mpa(30, 1.5, first_print=True) == 34
    assert is456_acceptance(30, [35, 35, 35, 26.5], deviation_mpa=1.5).verdict == "not met"
    assert is456_acceptance(30, [35, 37, 35, 26.5], deviation_mpa=1.5, first_print=True).each_limit_mpa == 26


@pytest.mark.source("IS 456:2000, table 8; target mean by IS 10262: M25 asks for 31.6")
@pytest.mark.parametrize(("fck", "s"), [(15, 3.5), (20, 4.0), (25, 4.0), (30, 5.0)])
def test_assumed_deviation(fck, s):
    assert assumed_deviation_mpa(fck) == s
    assert 25 + 1.65 * assumed_deviation_mpa(25) == pytest.approx(31.6)


@pytest.mark.source("IS 456:2000 with amendment 3, table 11")
def test_groups_of_four_do_not_overlap():
    good = [29, 29, 29, 29]
    assert is456_acceptance(25, good).verdict == "met"
    assert is456_acceptance(25, [*good, 24]).verdict == "not yet judged"
    assert is456_acceptance(25, [*good, 21.9]).verdict == "not met"
    assert is456_acceptance(25, [29, 29, 29, 26.9]).verdict == "not met"
    assert is456_acceptance(25, [32, 32, 32, 26, 26, 32, 32, 32]).verdict == "met"


@pytest.mark.source("IS 456:2000, 15.4")
def test_a_cube_off_by_more_than_15_percent_spoils_its_sample():
    assert sample_result_mpa([27, 28, 29]) == pytest.approx(28)
    assert sample_result_mpa([20, 28, 29]) is None
    with pytest.raises(BadInput, match="A sample has 3 cubes"):
        sample_result_mpa([27, 28])


@pytest.mark.source("ACI 318-19, 26.12.3.1, from memory")
def test_any_three_consecutive_tests_count_in_aci_318():
    assert aci318_acceptance(25, [24, 26]).verdict == "not yet judged"
    assert aci318_acceptance(25, [26, 26, 26, 22.9]).verdict == "not met"
    assert aci318_acceptance(40, [41, 41, 41]).each_limit_mpa == 36.0
    assert aci318_acceptance(40, [46, 46, 35.9]).verdict == "not met"


@pytest.mark.source("EN 206:2013, 8.2.1.3 and annex B, from memory")
def test_en_206():
    assert en206_initial(25, [29, 29, 29]).verdict == "met"
    assert en206_initial(25, [29, 29, 28.9]).verdict == "not met"
    assert en206_initial(25, [36, 36, 20.9]).verdict == "not met"
    assert en206_initial(25, [29, 29]).verdict == "not yet judged"
    assert en206_identity(25, [21]).verdict == "met"
    assert en206_identity(25, [25, 26]).verdict == "not met"
    assert en206_identity(25, [26, 26, 26, 26]).verdict == "met"
    assert en206_identity(25, [26.9] * 5).verdict == "not met"
    assert en206_samples(900, certified=True, continuous=True).samples == 3
    with pytest.raises(BadInput, match="7 results"):
        en206_identity(25, [30] * 7)


@pytest.mark.source("EN 206:2013, 8.2.1.3 (mean over fck + 1.48 sigma); band of s15 0.63 to 1.37 read")
def test_en_206_continuous():
    even = [30 + (-1) ** i * 2.0 for i in range(15)]
    assert en206_continuous(25, even, 2.0).mean_limit_mpa == pytest.approx(27.96)
    assert en206_continuous(25, even, 2.0).verdict == "met"
    assert en206_continuous(27.2, even, 2.0).verdict == "not met"
    assert en206_continuous(25, even[:14], 2.0).verdict == "not yet judged"
    assert "find sigma anew" in en206_continuous(20, even, 4.0).why[0]


@pytest.mark.source("EN 1992-1-1:2004, 3.1.2(6)")
@pytest.mark.parametrize(("age", "part"), [(1, 0.342), (3, 0.598), (7, 0.779), (14, 0.902), (28, 1.0)])
def test_strength_gain_of_normal_cement(age, part):
    assert round(strength_part(age, "N"), 3) == part


@pytest.mark.source("EN 1992-1-1:2004, 3.1.2(6): s is 0.20, 0.25, 0.38")
def test_rapid_cement_is_ahead_of_slow():
    assert strength_part(3, "R") > strength_part(3, "N") > strength_part(3, "S")


@pytest.mark.source("IS 456:2000, 13.5.1")
@pytest.mark.parametrize(
    ("blended", "hot", "days"), [(False, False, 7), (True, False, 10), (False, True, 10), (True, True, 14)]
)
def test_case_f_curing_days(blended, hot, days):
    need = is456_curing(blended=blended, hot_dry=hot)
    assert need.days == days
    assert (MONDAY + timedelta(days=need.days)).day == 1 + days


@pytest.mark.source("ACI 318-19, 26.5.3, from memory")
def test_aci_curing():
    assert (aci318_curing(high_early=False).days, aci318_curing(high_early=True).days) == (7, 3)


@pytest.mark.source("EN 13670:2009, annex F, from memory")
def test_en_13670_curing():
    found = en13670_curing(2, 18, 0.4)
    assert not isinstance(found, Refusal)
    assert found.days == 2.5
    for (klass, celsius, ratio), days in {
        (2, 7, 0.2): 11,
        (2, 30, 0.6): 1,
        (3, 20, 0.5): 2,
        (4, 20, 0.2): 12,
        (1, 2, 0.1): 0.5,
    }.items():
        need = en13670_curing(klass, celsius, ratio)
        assert not isinstance(need, Refusal)
        assert need.days == days
    assert isinstance(en13670_curing(4, 8, 0.4), Refusal)
    assert isinstance(en13670_curing(2, 4, 0.4), Refusal)


def look(day: float, found="wet", **more) -> CuringEntry:
    return CuringEntry(at=MONDAY + timedelta(days=day), found=found, by="engineer-1", **more)


@pytest.mark.source("US federal guide specification: a bad day lengthens curing by a day")
def test_a_dry_day_lengthens_curing_and_a_day_without_a_look_is_not_taken_as_good():
    need = is456_curing(blended=False, hot_dry=False)
    good = [look(d + 0.5) for d in range(7)]
    assert curing_state(need, MONDAY, good, MONDAY + timedelta(days=7)).done
    dry = [look(d + 0.5) for d in range(7) if d != 3] + [look(3.5, "dry", put_right=True)]
    week = curing_state(need, MONDAY, dry, MONDAY + timedelta(days=7))
    assert not week.done
    assert week.ends_at == MONDAY + timedelta(days=8)
    assert curing_state(need, MONDAY, [*dry, look(7.5)], MONDAY + timedelta(days=8)).done
    gone = curing_state(need, MONDAY, good[:6], MONDAY + timedelta(days=7))
    assert (len(gone.days_without_entry), gone.done) == (1, False)
    left = [*good[:6], look(6.5, "dry")]
    assert not curing_state(need, MONDAY, [*left, look(7.5)], MONDAY + timedelta(days=8)).done
