"""Readings become measurements whose stated doubt is neither too small nor padded."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from verifier.errors import BadInput
from verifier.metrology.conformity import Decision, Limits, assess
from verifier.metrology.measurement import Measurand, Measurement
from verifier.tape.instruments import Instrument, Register, check_caution, instrument_data, read_register
from verifier.tape.measure import measurement_of
from verifier.tape.plausibility import questions_about
from verifier.tape.reading import Expectation, TapeReading

SHA = "0" * 64
TAPE = Instrument(id="tape-1", kind="tape", tape_class="II", length_m=5, hook=True, checked=date(2026, 3, 2))


def reading(*values: float, what: Measurand = Measurand.SINGLE_GAP, **given: object) -> TapeReading:
    fixed = {"row": 3, "element": "S1", "layer": "B1", "person": "engineer-1", "taken_at": "2026-05-13T16:30"}
    gaps = {"n_gaps": 1} if what is Measurand.SINGLE_GAP else {}
    return TapeReading.model_validate(
        {**fixed, **gaps, "what": what, "readings": values, "instrument": "tape-1", "spot": "2", **given}
    )


def measured(*values: float, tool: Instrument | None = TAPE, **given: object) -> Measurement:
    return measurement_of(reading(*values, **given), tool, original_sha256=SHA, original_name="tape.csv")  # type: ignore[arg-type]


def test_a_single_gap_is_not_divided_and_a_stretch_is() -> None:
    single = measured(152.0)
    stretch = measured(752.0, 753.0, what=Measurand.MEAN_SPACING, n_gaps=5)
    assert (single.value, single.stretch_gaps) == (152.0, 1)
    assert (stretch.value, stretch.stretch_gaps) == (pytest.approx(150.5), 5)
    assert stretch.standard_uncertainty < single.standard_uncertainty / 4


def test_the_chain_back_to_the_row_is_kept() -> None:
    found = measured(152.0, index=4)
    assert (found.trace.original_sha256, found.trace.original_name, found.trace.row) == (SHA, "tape.csv", 3)
    assert (found.element, found.layer, found.spot, found.index) == ("S1", "B1", "2", 4)
    assert (found.person, found.taken_at, found.by) == ("engineer-1", "2026-05-13T16:30", "tape")
    assert found.method == "tape: tape-1"


def test_a_count_is_exact_and_made_by_eye() -> None:
    found = measured(12.0, what=Measurand.BAR_COUNT, tool=None, instrument=None)
    assert (found.value, found.standard_uncertainty, found.unit, found.by) == (12.0, 0.0, "count", "count")


def test_another_instrument_than_the_one_named_is_a_mistake_of_the_caller() -> None:
    other = TAPE.model_copy(update={"id": "tape-2"})
    with pytest.raises(ValueError, match="was read with tape-1"):
        measured(152.0, tool=other)
    with pytest.raises(ValueError, match="was read with tape-1"):
        measured(152.0, tool=None)


@given(st.floats(50, 3000), st.integers(2, 8))
def test_more_gaps_and_more_readings_never_add_doubt(length: float, n: int) -> None:
    one = measured(length)
    several = measured(*[length] * n)
    divided = measured(length, what=Measurand.MEAN_SPACING, n_gaps=n)
    assert several.standard_uncertainty <= one.standard_uncertainty
    assert divided.standard_uncertainty == pytest.approx(one.standard_uncertainty / n)


def test_readings_that_scatter_raise_the_doubt() -> None:
    calm = measured(150.0, 150.0)
    rough = measured(148.0, 152.0)
    assert rough.standard_uncertainty > 1.2 * calm.standard_uncertainty


@pytest.mark.parametrize("repeats", [1, 2, 4])
def test_the_true_gap_lies_inside_the_stated_interval(repeats: int) -> None:
    """4,000 readings drawn from the error model that the limits describe: class and rounding even, hand normal."""
    draw = np.random.default_rng(31 + repeats)
    inside = 0
    hand = instrument_data()["repeatability"]["one_reading_mm"]["tape"]
    for _ in range(4000):
        true = draw.uniform(120, 250)
        tape = draw.uniform(-0.7, 0.7) + true * 11.5e-6 * draw.uniform(-20, 20)
        values = np.round(true + tape + draw.normal(0, hand, repeats))
        found = measured(*(float(v) for v in values))
        inside += abs(found.value - true) <= found.expanded_uncertainty
    assert 0.94 < inside / 4000 < 0.99


CALIPER = Instrument(id="tape-1", kind="caliper", graduation_mm=0.1)
T10 = Limits(9.0, 11.0)


@pytest.mark.parametrize(
    ("read_mm", "conforms"),
    [
        pytest.param(9.65, True, id="between the ribs of a T10"),
        pytest.param(9.0, False, id="over the ribs of a T8: must not pass as a T10"),
        pytest.param(8.8, False, id="over the lower ribs of a T8"),
        pytest.param(11.5, False, id="between the ribs of a T12"),
    ],
)
def test_a_caliper_knows_that_bars_have_ribs(read_mm: float, conforms: bool) -> None:
    found = measured(read_mm, what=Measurand.BAR_DIAMETER, tool=CALIPER)
    assert (assess(found.value, found.standard_uncertainty, T10).decision is Decision.CONFORMING) is conforms


def test_the_size_rolled_on_the_bar_is_no_measurement_and_has_no_doubt() -> None:
    mark = Register().find("rolled-mark")
    assert mark is not None
    found = measured(10.0, what=Measurand.BAR_DIAMETER, instrument="rolled-mark", tool=mark)
    assert (found.value, found.standard_uncertainty, found.by) == (10.0, 0.0, "tape")
    assert check_caution(mark, date(2026, 5, 13)) == ""


# --------------------------------------------------------------------------------------------- questions

DRAWN = [
    Expectation(what=Measurand.MEAN_SPACING, element="S1", layer="B1", drawing_value=150),
    Expectation(what=Measurand.MEAN_SPACING, layer="B2", drawing_value=200),
    Expectation(what=Measurand.COVER, drawing_value=20),
]


@pytest.mark.parametrize(
    ("asked", "guess"),
    [
        pytest.param(reading(15.0), "150 mm if it was read in cm", id="centimetres"),
        pytest.param(reading(5.9), "149.86 mm if it was read in inch", id="inches"),
        pytest.param(reading(0.15), "150 mm if it was read in m", id="metres"),
        pytest.param(reading(750.0), "150 mm each if it spans 5 gaps", id="five gaps entered as one"),
        pytest.param(
            reading(152.0, what=Measurand.MEAN_SPACING, n_gaps=5),
            "152 mm each if it spans 1 gap",
            id="one as five",
        ),
        pytest.param(
            reading(75.0, what=Measurand.MEAN_SPACING, n_gaps=5),
            "150 mm per gap over 5 if it was read in cm",
            id="stretch",
        ),
        pytest.param(reading(2.0, what=Measurand.COVER), "20 mm if it was read in cm", id="cover in cm"),
        pytest.param(reading(15.0, layer="B2"), "150 mm if it was read in cm", id="layer of any element"),
    ],
)
def test_a_slip_is_asked_about_with_what_it_may_have_been(asked: TapeReading, guess: str) -> None:
    (question,) = questions_about(asked, DRAWN)
    assert guess in question.guesses
    assert guess in question.asks
    assert "confirmed" in question.asks


@pytest.mark.parametrize("value", [75.0, 120.0, 150.0, 212.0, 300.0, 450.0])
def test_bad_steel_is_no_slip_and_is_not_questioned_away(value: float) -> None:
    assert questions_about(reading(value), DRAWN) == ()


def test_without_a_drawing_value_a_general_range_is_used() -> None:
    (question,) = questions_about(reading(15.0))
    assert "general range" in question.expected
    assert questions_about(reading(150.0)) == ()


def test_a_confirmed_reading_is_not_asked_about_again() -> None:
    assert questions_about(reading(15.0, confirmed=True), DRAWN) == ()


def test_repeats_of_different_gaps_are_asked_about() -> None:
    assert questions_about(reading(150.0, 152.0), DRAWN) == ()
    (question,) = questions_about(reading(150.0, 171.0), DRAWN)
    assert question.about == "repeats"
    assert "own row" in question.asks or "a row each" in question.asks


# --------------------------------------------------------------------------------------------- register


def test_a_register_is_read_and_found_whatever_the_capital_letters() -> None:
    register = read_register(
        '[[instrument]]\nid = "Yellow 7"\nkind = "tape"\nclass = "II"\nlength_m = 5\nhook = true\nchecked = 2026-03-02\n'
    )
    found = register.find(" yellow 7 ")
    assert found is not None
    assert (found.tape_class, found.hook, found.checked) == ("II", True, date(2026, 3, 2))
    assert register.find("tape-9") is None
    assert register.nearest("yelow7") == "Yellow 7"
    assert {"tape-I", "tape-II", "tape-III", "steel-rule", "cover-gauge", "caliper"} <= set(Register().ids)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[[instrument]", "no TOML"),
        ("[tape]\nid = 1", "Only"),
        ('[[instrument]]\nid = "a"\nkind = "tape"', "needs its class"),
        ('[[instrument]]\nid = "a"\nkind = "caliper"\nclass = "I"', "nothing else has one"),
        ('[[instrument]]\nid = "a"\nkind = "laser"', "instrument 1, kind"),
        ('[[instrument]]\nid = "a"\nkind = "tape"\nclass = "IV"', "instrument 1, class"),
        ('[[instrument]]\nid = "a"\nkind = "tape"\nclass = "I"\ncolour = "red"', "instrument 1, colour"),
        ('[[instrument]]\nid = "a"\nkind = "tape"\nclass = "I"\ngraduation_mm = 0', "graduation_mm"),
        (
            '[[instrument]]\nid = "a"\nkind = "caliper"\n[[instrument]]\nid = "A"\nkind = "caliper"',
            "given twice",
        ),
    ],
)
def test_a_wrong_register_names_instrument_and_key(text: str, says: str) -> None:
    with pytest.raises(BadInput, match=says) as refused:
        read_register(text, "instruments.toml")
    assert refused.value.where == "instruments.toml"


@pytest.mark.parametrize(
    ("checked", "says"),
    [
        (date(2026, 3, 2), ""),
        (None, "not known"),
        (date(2025, 5, 1), "365 days"),
        (date(2026, 6, 1), "after this reading"),
    ],
)
def test_an_unchecked_instrument_is_said_so(checked: date | None, says: str) -> None:
    caution = check_caution(TAPE.model_copy(update={"checked": checked}), date(2026, 5, 13))
    assert says in caution
    assert bool(caution) is bool(says)
