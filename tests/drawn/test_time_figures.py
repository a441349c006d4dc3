"""The bars of time: where an instant stands on the axis, what bounds it, and that a wild claim stretches nothing."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest

from verifier.report.time_figures import TimeAxis, TimeBar, TimeMark, axis_of, sign, time_bar, time_scale

NOON = datetime(2026, 5, 13, 12, 0, tzinfo=UTC)


def hours(number: float) -> datetime:
    return NOON + timedelta(hours=number)


def bar(low: float | None, high: float | None, *marks: TimeMark, below="clock", above="stamp") -> TimeBar:
    return TimeBar(
        None if low is None else hours(low),
        "none" if low is None else below,
        None if high is None else hours(high),
        "none" if high is None else above,
        marks,
        "said & done",
    )


def spans(svg: str) -> list[tuple[float, float]]:
    """Left and right end of each filled bar, in px of the figure."""
    found = ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}rect")
    return [
        (float(r.get("x", 0)), float(r.get("x", 0)) + float(r.get("width", 0)))
        for r in found
        if r.get("fill-opacity")
    ]


def test_a_bracket_stands_where_its_instants_are():
    axis = TimeAxis(hours(0), hours(10))
    ((left, right),) = spans(time_bar(bar(2, 7), axis, width=116.0))
    assert (left, right) == (pytest.approx(8 + 20.0), pytest.approx(8 + 70.0))


def test_what_nothing_bounds_is_no_bar_but_an_arrow_to_the_edge():
    svg = time_bar(bar(None, 5), TimeAxis(hours(0), hours(10)), width=116.0)
    assert spans(svg) == []
    assert re.search(r"M8\.0 17\.0H58\.0' .*stroke-dasharray", svg)


def test_a_claim_far_off_stays_at_the_edge_and_stretches_nothing():
    wild = TimeMark("camera", hours(-9000), doubted=True)
    plain, beside = bar(1, 3), bar(1, 3, wild)
    assert axis_of([plain]) == axis_of([beside])
    fair = axis_of([bar(1, 3, TimeMark("GPS", hours(0), doubted=False))])
    assert fair is not None
    assert fair.start < hours(0)
    axis = axis_of([beside])
    assert axis is not None
    xs = [float(x) for x in re.findall(r"M(-?[\d.]+) 10\.5L", time_bar(beside, axis))]
    assert xs == [8.0]


def test_an_axis_needs_an_instant_and_is_never_without_length():
    assert axis_of([bar(None, None)]) is None
    axis = axis_of([bar(None, 2)])
    assert axis is not None
    assert axis.end - axis.start >= timedelta(minutes=20)
    assert axis.start < hours(2) < axis.end


@pytest.mark.parametrize("below", ["stamp", "unvouched", "clock"])
def test_each_kind_of_end_has_a_shape_of_its_own(below):
    axis = TimeAxis(hours(0), hours(10))
    others = {
        time_bar(bar(2, 7, below=kind), axis) for kind in ("stamp", "unvouched", "clock") if kind != below
    }
    assert time_bar(bar(2, 7, below=below), axis) not in others
    assert (
        len({sign(kind) for kind in ("stamp", "unvouched", "clock", "none", "camera", "GPS", "doubted")}) == 7
    )


def test_figures_are_sound_xml_and_say_in_words_what_they_show():
    axis = TimeAxis(hours(0), hours(10))
    for svg in (time_bar(bar(1, 2), axis), time_scale(axis, ("a<b", "c", "d&e"))):
        title = ElementTree.fromstring(svg).find("{http://www.w3.org/2000/svg}title")
        assert title is not None
        assert title.text in ("said & done", "a<b to d&e")
