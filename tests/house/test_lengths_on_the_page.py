"""Lengths on the page: millimetres or inches by the pour's setting, converted before they are rounded, the unit always there."""

from __future__ import annotations

import pytest

from ui.parts import lengths
from verifier.metrology.measurement import Measurand
from verifier.rules.requirement import Requirement, Source


def asked(lower: float | None, upper: float | None, unit: str = "mm") -> Requirement:
    return Requirement.model_validate(
        {
            "key": "S1/B1/single-gap",
            "element": "S1",
            "layer": "B1",
            "rule": "single-gap",
            "measurand": Measurand.SINGLE_GAP,
            "asks": "each gap",
            "lower": lower,
            "upper": upper,
            "unit": unit,
            "sources": (Source(kind="drawing", document="drawing", clause="S1", status="as drawn"),),
        }
    )


# One inch is 25.4 mm exactly: NIST Special Publication 811 (2008), appendix B.8. Two digits of the doubt: JCGM 100:2008, 7.2.6.
@pytest.mark.parametrize(
    ("value", "doubt", "units", "said"),
    [
        (254.0, 2.54, "mm", "254.0 ± 2.5 mm"),
        (254.0, 2.54, "inch", "10.00 ± 0.10 in"),
        (203.2, 0.0, "inch", "8 in"),
        (150.4, 1.1, "inch", "5.921 ± 0.043 in"),
    ],
)
def test_a_length_is_converted_and_then_rounded(value, doubt, units, said):
    assert lengths.length(value, doubt, units) == said


@pytest.mark.parametrize(
    ("low", "high", "units", "said"),
    [
        (130.0, 170.0, "mm", "130 to 170 mm"),
        (177.8, 228.6, "inch", "7 to 9 in"),
        (None, 436.33, "mm", "at most 436.3 mm"),
        (None, 457.2, "inch", "at most 18 in"),
        (25.4, None, "inch", "at least 1 in"),
        (None, None, "inch", "no limit"),
    ],
)
def test_limits_carry_their_unit(low, high, units, said):
    assert lengths.limits(asked(low, high), units) == said


def test_a_drawn_value_has_no_more_digits_than_anybody_reads():
    assert lengths.exact(150.0, "mm", "inch") == "5.906 in"
    assert lengths.exact(150.0, "mm", "mm") == "150 mm"
    assert lengths.exact(6, "count", "inch") == "6"


def test_a_count_has_no_unit_and_is_never_converted():
    assert lengths.limits(asked(6, 6, "count"), "inch") == "6 to 6"
    assert lengths.result(6, 0, "count", "inch") == "6"
    assert lengths.shown(6.0, "count", "inch") == 6.0


def test_the_limit_of_a_spacing_that_stands_for_steel_says_so():
    """More steel is a smaller spacing: 'least steel at most 436 mm' would read the wrong way round."""
    least = asked(None, 436.3).model_copy(update={"rule": "least-steel"})
    assert least.rule_words == "mean spacing for the least steel"
    assert asked(130, 170).rule_words == "single gap"
