"""Laps in a rendered photo against its exact truth: two pieces of one line, whose axes say how far they run side by side."""

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
def laps():
    """Laps as measured."""
    measured = measure_file((LAPS / "site_0302.jpg").read_bytes(), "site_0302.jpg")
    return [bar.lap for layer in measured.layers for bar in layer.bars if bar.lap is not None]


def line_at(px, truth):
    """The line whose axis passes nearest to a pixel of the upright photo."""
    lines, upright = truth

    def away(bar):
        axis = np.c_[np.array(bar["axis_px"]), np.ones(len(bar["axis_px"]))] @ upright.T
        start, step = axis[:-1], np.diff(axis, axis=0)
        along = ((px - start) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-9)
        return np.linalg.norm(start + np.clip(along, 0, 1)[:, None] * step - px, axis=1).min()

    return min(lines, key=lambda line: min(away(bar) for bar in lines[line]))


def lapped_mm(pieces):
    """How far two pieces run side by side along their common direction."""
    axes = [np.array(bar["axis_mm"]) for bar in pieces]
    way = (axes[0][-1] - axes[0][0]) / np.linalg.norm(axes[0][-1] - axes[0][0])
    spans = [sorted((float(axis[0] @ way), float(axis[-1] @ way))) for axis in axes]
    return min(high for _, high in spans) - max(low for low, _ in spans)


def middle(lap):
    return (np.array(lap.from_px) + np.array(lap.to_px)) / 2


def test_every_lap_that_is_told_is_one(laps, truth):
    assert len(laps) >= 3
    assert all(len(truth[0][line_at(middle(lap), truth)]) == 2 for lap in laps)


def test_every_length_that_is_stated_holds_the_true_one_inside_its_interval(laps, truth):
    stated = [lap for lap in laps if lap.length_mm is not None]
    assert stated
    for lap in stated:
        true_mm = lapped_mm(truth[0][line_at(middle(lap), truth)])
        assert abs(lap.length_mm - true_mm) <= lap.expanded_uncertainty_mm
        assert lap.expanded_uncertainty_mm < 0.2 * true_mm
