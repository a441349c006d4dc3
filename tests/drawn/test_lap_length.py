"""The length of a lap: two drawn bars side by side, each ending where the drawing says; and no length where an end is hidden."""

from __future__ import annotations

import numpy as np
import pytest

from verifier.metrology.measurement import COVERAGE_FACTOR_95
from verifier.vision.bars.bar_strips import Strip
from verifier.vision.bars.fit_bars import EdgeFit
from verifier.vision.bars.laps import find_lap
from verifier.vision.bars.trace_bars import BarTrack

STEP_MM, BLOCK_MM, WIDTH_MM = 0.6, 24.0, 10.0


def strip_of(first_ends_mm: float, second_starts_mm: float, *, seen=(-700.0, 700.0), noise=0.05, seed=1):
    """Two bars 12 mm apart; a block that a bar ends in shows it by half."""
    rng = np.random.default_rng(seed)
    s = np.arange(seen[0], seen[1], BLOCK_MM) + BLOCK_MM / 2
    offsets = (np.arange(101) - 50) * STEP_MM
    edge, label = np.abs(rng.normal(0, noise, (len(s), 101))), np.zeros((len(s), 101))
    for middle, there in (
        (-6.0, np.clip((first_ends_mm - s) / BLOCK_MM + 0.5, 0, 1)),
        (6.0, np.clip((s - second_starts_mm) / BLOCK_MM + 0.5, 0, 1)),
    ):
        for side in (-1, 1):
            near = np.exp(-0.5 * ((offsets - middle - side * WIDTH_MM / 2) / 0.8) ** 2)
            edge = np.maximum(edge, there[:, None] * near)
        label = np.maximum(label, there[:, None] * (np.abs(offsets - middle) < WIDTH_MM / 2))
    rows = np.zeros((*edge.shape, 3), np.float32)
    return Strip(s, STEP_MM, 1.0, 1.0, np.minimum(edge, 1.0), label, rows)


def lap_of(strip: Strip):
    track = BarTrack((0.0, 0.0, 0.0), ((-700.0, 700.0),), 1.0, 900.0, 0.0, 20.0)
    none = np.zeros(0)
    single = EdgeFit((0.0, 0.0, 0.0), np.eye(3), none, none, none, 1.0, 0.3, False)
    return find_lap(strip, track, single, WIDTH_MM)


@pytest.mark.parametrize("length_mm", [250.0, 320.0, 405.0, 480.0])
@pytest.mark.parametrize("start_mm", [-330.0, -150.0, -61.0])
def test_the_length_of_a_lap_lies_inside_its_interval(start_mm, length_mm):
    lap = lap_of(strip_of(start_mm + length_mm, start_mm))
    assert lap is not None
    assert lap.length_u_mm is not None
    error = lap.to_s_mm - lap.from_s_mm - length_mm
    assert abs(error) <= COVERAGE_FACTOR_95 * lap.length_u_mm
    assert lap.length_u_mm < 30.0


def test_no_length_is_stated_where_an_end_is_out_of_the_picture():
    lap = lap_of(strip_of(900.0, 300.0))
    assert lap is None or lap.length_u_mm is None


def test_no_length_is_stated_where_an_end_is_hidden():
    strip = strip_of(200.0, -150.0)
    hidden = (strip.s_mm > 60.0) & (strip.s_mm < 420.0)
    strip.edge[hidden] = 0.3
    lap = lap_of(strip)
    assert lap is None or lap.length_u_mm is None
