"""Facts that any site engineer of the trade knows. Common practice, no source, unless the test names one."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from verifier.codes.cover import nominal_cover
from verifier.codes.load import load_code
from verifier.concrete.order_check import same_grade
from verifier.concrete.supply import supply_figures
from verifier.rounds.items import Point, Role, load_list

PRACTICE = pytest.mark.source("common practice, no source")


@pytest.mark.source("IS 456:2000, table 16 (and common practice): 20 mm for slabs in mild exposure")
def test_a_slab_in_mild_exposure_has_20_mm_of_cover():
    code = load_code("IS 456:2000")
    assert nominal_cover(code.cover, member="slab", exposure="mild", bar_mm=16, strength_mpa=25).value == 20


@PRACTICE
def test_the_plant_is_told_one_to_two_days_before():
    notice = supply_figures().notice
    assert (timedelta(hours=notice.value), timedelta(hours=notice.longest)) == (
        timedelta(days=1),
        timedelta(days=2),
    )
    assert notice.status == "common practice"
    assert datetime(2026, 6, 2, tzinfo=UTC) - timedelta(hours=notice.value) == datetime(
        2026, 6, 1, tzinfo=UTC
    )


@PRACTICE
def test_m25_on_the_drawing_is_ordered_as_m25():
    assert same_grade("M25", "M25")
    assert not same_grade("M20", "M25")
    mix = load_list().find("RC-01")
    assert (mix.point, mix.closes) == (Point.HOLD, Role.CONTRACTORS_ENGINEER)
    assert "grade ordered equals grade drawn" in mix.limit


@PRACTICE
def test_chairs_hold_the_top_mat_above_the_bottom_mat():
    chairs = load_list().find("CV-07")
    assert "between the mats" in chairs.item
    assert "12 mm" in chairs.limit
