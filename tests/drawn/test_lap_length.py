"""Laps and their length: two drawn bars side by side, each ending where the drawing says; and no length where an end is hidden."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from verifier.metrology.measurement import COVERAGE_FACTOR_95
from verifier.vision.bars.bar_strips import Strip
from verifier.vision.bars.fit_bars import EdgeFit
from verifier.vision.bars.lap_ends import lap_ends, length_u_mm
from verifier.vision.bars.laps import find_lap
from verifier.vision.bars.trace_bars import BarTrack

STEP_MM, WIDTH_MM = 0.6, 10.0
BLOCK_MM, SHORT_MM = 24.0, 6.0
TRACK = BarTrack((0.0, 0.0, 0.0), ((-700.0, 700.0),), 1.0, 900.0, 0.0, 20.0)


def strip_of(bars, block_mm=BLOCK_MM, *, noise=0.05, seed=1):
    """Bars given by middle, from, to; a block that a bar ends in shows it by the share that it fills."""
    rng = np.random.default_rng(seed)
    s = np.arange(-700.0, 700.0, block_mm) + block_mm / 2
    offsets = (np.arange(101) - 50) * STEP_MM
    edge, label = np.abs(rng.normal(0, noise, (len(s), 101))), np.zeros((len(s), 101))
    for middle, begins, ends in bars:
        there = np.clip((ends - s) / block_mm + 0.5, 0, 1) * np.clip((s - begins) / block_mm + 0.5, 0, 1)
        for side in (-1, 1):
            near = np.exp(-0.5 * ((offsets - middle - side * WIDTH_MM / 2) / 0.8) ** 2)
            edge = np.maximum(edge, there[:, None] * near)
        label = np.maximum(label, there[:, None] * (np.abs(offsets - middle) < WIDTH_MM / 2))
    rows = np.zeros((*edge.shape, 3), np.float32)
    return Strip(s, STEP_MM, 1.0, 1.0, np.minimum(edge, 1.0), label, rows)


def lapped(first_ends_mm, second_starts_mm, *, apart_mm=12.0):
    """Two bars of a lap, each running out of the strip at its other end."""
    return [(-6.0, -9999.0, first_ends_mm), (apart_mm - 6.0, second_starts_mm, 9999.0)]


def lap_of(strip: Strip):
    none = np.zeros(0)
    return find_lap(
        strip, TRACK, EdgeFit((-6.0, 0.0, 0.0), np.eye(3), none, none, none, 1.0, 0.6, True), WIDTH_MM
    )


@pytest.mark.parametrize("length_mm", [150.0, 250.0, 320.0, 405.0, 480.0])
@pytest.mark.parametrize("start_mm", [-330.0, -150.0, -61.0])
@pytest.mark.parametrize("apart_mm", [10.5, 12.0, 16.0])
def test_the_length_of_a_lap_lies_inside_its_interval(start_mm, length_mm, apart_mm):
    bars = lapped(start_mm + length_mm, start_mm, apart_mm=apart_mm)
    lap = lap_of(strip_of(bars))
    assert lap is not None
    ends = lap_ends(strip_of(bars, SHORT_MM, noise=0.1), lap, WIDTH_MM)
    u_mm = length_u_mm(ends)
    assert u_mm is not None
    assert abs(ends[1].s_mm - ends[0].s_mm - length_mm) <= COVERAGE_FACTOR_95 * u_mm
    assert u_mm < 12.0


def test_the_bars_of_a_lap_may_lie_either_way():
    bars = [(6.0, -9999.0, 200.0), (-6.0, -150.0, 9999.0)]
    lap = lap_of(strip_of(bars))
    assert lap is not None
    assert lap.before > lap.after


@pytest.mark.parametrize(
    "bars",
    [
        [(-6.0, -9999.0, 9999.0)],
        [(-6.0, -9999.0, 9999.0), (6.0, -9999.0, 9999.0)],
        [(-6.0, -9999.0, 9999.0), (6.0, -150.0, 9999.0)],
        [(-6.0, -9999.0, 9999.0), (6.0, -150.0, 200.0)],
        [(-6.0, -9999.0, -100.0), (-6.0, 100.0, 9999.0)],
        [(-6.0, -9999.0, -100.0), (6.0, 100.0, 9999.0)],
    ],
    ids=[
        "one bar",
        "a shadow all along",
        "a shadow that begins",
        "an offcut beside it",
        "a bar covered in the middle",
        "two bars that do not meet",
    ],
)
def test_what_is_no_lap_is_not_told_as_one(bars):
    assert lap_of(strip_of(bars)) is None


def test_no_lap_is_told_where_one_bar_goes_on_out_of_the_picture():
    assert lap_of(strip_of(lapped(900.0, 300.0))) is None


def ends_of(change):
    """Both ends of a lap from -150 to 200 mm, its short blocks changed."""
    bars = lapped(200.0, -150.0)
    return lap_ends(change(strip_of(bars, SHORT_MM)), lap_of(strip_of(bars)), WIDTH_MM)


def test_an_end_that_something_lies_on_gives_no_length_and_says_so():
    def covered(strip):
        edge, label = strip.edge.copy(), strip.label.copy()
        under = (strip.s_mm > 120.0) & (strip.s_mm < 300.0)
        edge[under], label[under] = 0.1, 0.0
        return replace(strip, edge=edge, label=label)

    ends = ends_of(covered)
    assert [end.why for end in ends] == ["clear", "covered"]
    assert length_u_mm(ends) is None


def test_an_end_under_the_board_where_there_are_no_blocks_says_so():
    def without(strip):
        keep = (strip.s_mm < 150.0) | (strip.s_mm > 330.0)
        return replace(
            strip,
            s_mm=strip.s_mm[keep],
            edge=strip.edge[keep],
            label=strip.label[keep],
            rows=strip.rows[keep],
        )

    assert [end.why for end in ends_of(without)] == ["clear", "covered"]


def test_an_end_where_labels_and_edges_disagree_is_not_clear():
    def longer(strip):
        label = strip.label.copy()
        beyond = (strip.s_mm > 200.0) & (strip.s_mm < 290.0)
        label[beyond, 30:51] = 1.0
        return replace(strip, label=label)

    assert [end.why for end in ends_of(longer)] == ["clear", "unclear"]
