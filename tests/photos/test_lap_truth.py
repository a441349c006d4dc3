"""Laps in a rendered photo against its exact truth: two pieces of one line, whose axes say how far they run side by side.

Where the axis of a first piece runs on further than its picture, by a fault of the renderer, ``overrun_mm`` says by how much:
counted on the photo's mask, which tells for each pixel what it shows, along that axis to the last pixel of an upper bar.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from verifier.vision.measure import measure_file

LAPS = Path(__file__).parent / "laps"


@pytest.fixture(scope="module")
def truth():
    """Pieces of bars by line, and the map from stored to upright pixels."""
    told = json.loads((LAPS / "site_0302.json").read_text())
    lines = {}
    for bar in told["bars"]:
        lines.setdefault((bar["family"], bar["line"]), []).append(bar)
    return lines, np.array(told["stored_to_upright"])


@pytest.fixture(scope="module")
def layers():
    """Layers as measured."""
    return measure_file((LAPS / "site_0302.jpg").read_bytes(), "site_0302.jpg").layers


@pytest.fixture(scope="module")
def laps(layers):
    """Laps as measured."""
    return [bar.lap for layer in layers for bar in layer.bars if bar.lap is not None]


def line_of(lap, truth):
    """The line that a lap lies on: its axis passes nearest to both ends and the middle of the lap."""
    lines, upright = truth

    def away(bar, px):
        axis = np.c_[np.array(bar["axis_px"]), np.ones(len(bar["axis_px"]))] @ upright.T
        start, step = axis[:-1], np.diff(axis, axis=0)
        along = ((px - start) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-9)
        return np.linalg.norm(start + np.clip(along, 0, 1)[:, None] * step - px, axis=1).min()

    ends = np.array(lap.from_px), np.array(lap.to_px)
    places = (*ends, sum(ends) / 2)
    return min(lines, key=lambda line: sum(min(away(bar, px) for bar in lines[line]) for px in places))


def lapped_mm(pieces):
    """How far the pictures of two pieces run side by side along their common direction."""
    axes = [np.array(bar["axis_mm"]) for bar in pieces]
    way = (axes[0][-1] - axes[0][0]) / np.linalg.norm(axes[0][-1] - axes[0][0])
    spans = [sorted((float(axis[0] @ way), float(axis[-1] @ way))) for axis in axes]
    overrun = sum(bar.get("overrun_mm", 0.0) for bar in pieces)
    return min(high for _, high in spans) - max(low for low, _ in spans) - overrun


def test_every_lap_that_is_told_is_one(laps, truth):
    assert all(len(truth[0][line_of(lap, truth)]) == 2 for lap in laps)


def test_all_laps_are_told_whose_bars_go_on_alone_to_either_side_for_a_hand_or_more(laps, truth):
    """Counted on the truth: of the upper lines 6 to 13 both pieces are seen alone along 130 mm and more."""
    told = {line_of(lap, truth) for lap in laps}
    assert told >= {("upper", line) for line in range(6, 14)}


def test_every_length_that_is_stated_holds_the_true_one_inside_its_interval(laps, truth):
    stated = [lap for lap in laps if lap.length_mm is not None]
    assert len(stated) >= 3
    for lap in stated:
        true_mm = lapped_mm(truth[0][line_of(lap, truth)])
        assert abs(lap.length_mm - true_mm) <= lap.expanded_uncertainty_mm
        assert lap.expanded_uncertainty_mm < 0.15 * true_mm


def test_the_lap_under_the_board_has_no_length(laps, truth):
    """The board lies on the ends of lines 10 and 11."""
    for lap in laps:
        if line_of(lap, truth) in {("upper", 10), ("upper", 11)}:
            assert lap.length_mm is None


def test_a_gap_that_is_not_measured_is_marked_between_its_bars_and_not_beyond_their_ends(layers):
    marked = [np.array(one.outline_px) for layer in layers for one in layer.refused if len(one.bars) == 2]
    assert marked
    for first_a, last_a, last_b, first_b in marked:
        along, across = last_a + last_b - first_a - first_b, first_b + last_b - first_a - last_a
        assert abs(along @ across) < 0.3 * np.linalg.norm(along) * np.linalg.norm(across)
        assert np.ptp(
            [np.linalg.norm(last_a - first_a), np.linalg.norm(last_b - first_b)]
        ) < 0.3 * np.linalg.norm(along)
