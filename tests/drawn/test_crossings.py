"""Upper and lower layer told apart by which bars go through where they cross, in drawn pictures whose labels can't tell.

The truth is what was drawn last: a bar painted over another hides it, in the picture as on the deck.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drawn_mat import CELL_PX, Drawing, draw, layer

from verifier.vision.bars.crossings import upper_lead
from verifier.vision.bars.read_mats import BarMaps, Card, find_mats, read_mats, seek_mats


def drawing(upper_deg, seed, **how):
    rng = np.random.default_rng(seed)
    upper = layer(upper_deg, 8.5, 10.0, 180.0, rng, count=8)
    lower = layer(130.0 - upper_deg, 18.5, 10.0, 150.0, rng, count=8)
    return Drawing(upper, lower, seed=seed, **how)


def read(one, *, lean):
    """Layers as read with labels that say of every bar alike how far it leans to the true layer, 1, or to the other, -1."""
    picture, (upper, lower, centre) = draw(one)
    none = np.zeros_like(upper)
    own, other = (1 + lean) / 2, (1 - lean) / 2
    maps = BarMaps(
        own * upper + other * lower, own * lower + other * upper, none, none, centre, (CELL_PX, CELL_PX)
    )
    sought = seek_mats(
        maps, picture.shape[1::-1], one.camera, Card((0.0, 0.0), (1.0, 1.0), 3.0), reach_mm=600.0
    )
    found = find_mats(sought)
    return picture, found, read_mats(picture, one.camera, found, sought.card).near


@pytest.mark.parametrize("lean", [0.3, -0.1, -0.3])
@pytest.mark.parametrize("upper_deg", [20.0, 110.0])
@pytest.mark.parametrize("how", [{"lit_side": 0.6, "shadow_mm": 14.0}, {"blur_px": 1.6, "noise": 8.0}])
def test_the_bars_that_go_through_are_the_upper_ones_whatever_weak_labels_say(upper_deg, how, lean):
    one = drawing(upper_deg, seed=5, **how)
    _, _, (upper, lower) = read(one, lean=lean)
    assert (upper.position, lower.position) == ("upper", "lower")
    for seen, true in ((upper, one.upper), (lower, one.lower)):
        off = np.degrees(seen.axes.direction_rad) - true.direction_deg
        assert abs((off + 90) % 180 - 90) < 2.0
    assert upper.axes.height_mm < lower.axes.height_mm


def test_each_layer_leads_by_as_much_as_the_other_lags():
    one = drawing(20.0, seed=6)
    picture, _, (upper, lower) = read(one, lean=1.0)
    lead = upper_lead(picture, one.camera, upper, lower)
    assert lead > 0.2
    assert upper_lead(picture, one.camera, lower, upper) == pytest.approx(-lead, abs=0.05)


def test_layers_that_are_not_seen_to_cross_say_nothing():
    one = drawing(20.0, seed=6)
    picture, _, (upper, lower) = read(one, lean=1.0)
    apart = replace(lower, bars=tuple(replace(b, seen_s_mm=(5000.0, 5100.0)) for b in lower.bars))
    assert upper_lead(picture, one.camera, upper, apart) == 0.0
