"""Sizes of bars from their outlines: round bars drawn by the laws of light, and whole mats with planted wrong bars.

The brightness of a round bar is Lambert's cosine law (sun) and half a sky over half a deck (grey sky), both textbook, from
memory; nothing of the scene renderer is used here.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from verifier.vision.bars.diameters import (
    Outline,
    bar_sizes,
    diameter_of,
    silhouette,
)
from verifier.vision.learned import name_of_outlines
from verifier.vision.outlines import Across, outline_widths

FINE = 20


def bar_rows(width_px: float, *, light: str, deck: float, steel: float, blur_px: float, noise: float = 1.0):
    """Blocks across a round bar, 0.6 px a column, and the column of its middle."""
    rng = np.random.default_rng(int(width_px * 100))
    x = (np.arange(81 * FINE) / FINE - 40.0) * 0.6
    u = x / (width_px / 2)
    on = np.abs(u) < 1
    up = np.sqrt(np.clip(1 - u**2, 0, None))
    if light == "sky":
        shade = steel * ((1 + up) / 2 + deck * (1 - up) / 2)
    else:
        towards = np.array([0.5, 0.87])
        shade = steel * (0.25 + np.clip(u * towards[0] + up * towards[1], 0, None))
    line = np.where(on, shade, deck)
    stored = 255 * np.clip(gaussian_filter1d(line, blur_px / 0.6 * FINE), 0, 1) ** (1 / 2.2)
    columns = stored.reshape(81, FINE).mean(axis=1)
    rows = columns[None, :, None] + rng.normal(0, noise, (30, 81, 3))
    return rows.astype(np.float32), np.full(30, 40.0 - 0.5 / FINE)


@pytest.mark.parametrize("guess", [0.8, 1.0, 1.25])
@pytest.mark.parametrize("blur_px", [0.7, 1.3])
@pytest.mark.parametrize(
    ("light", "deck", "steel"),
    [("sky", 0.25, 0.1), ("sky", 0.4, 0.15), ("sun", 0.4, 0.2), ("sun", 0.12, 0.3)],
)
@pytest.mark.parametrize("width_px", [8.0, 14.0, 20.0])
def test_rims_of_a_round_bar_are_found_as_well_as_stated(width_px, light, deck, steel, blur_px, guess):
    rows, middle = bar_rows(width_px, light=light, deck=deck, steel=steel, blur_px=blur_px)
    first = guess * width_px
    (found,) = outline_widths([Across(rows, middle, first / 0.6, first)])
    assert abs(guess * found.relative - 1.0) < max(0.03, 2 * found.u_relative)


@pytest.mark.parametrize("guess_px", [8.0, 12.0, 20.0])
def test_where_nothing_is_to_be_seen_the_guess_is_not_taken_for_knowledge(guess_px):
    """Noise alone says nothing of a width; a doubt of a tenth would be what the guess was good for in the training."""
    rows = (120 + np.random.default_rng(3).normal(0, 6, (30, 81, 3))).astype(np.float32)
    (found,) = outline_widths([Across(rows, np.full(30, 40.0), guess_px / 0.6, guess_px)])
    assert found.u_relative > 0.3


def test_the_same_rows_give_the_same_width_whatever_is_read_beside_them():
    bar, other = (
        Across(*bar_rows(width_px, light="sun", deck=0.3, steel=0.2, blur_px=1.0), width_px / 0.6, width_px)
        for width_px in (12.0, 20.0)
    )
    (alone,) = outline_widths([bar])
    assert outline_widths([bar]) == (alone,)
    first, _, last = outline_widths([bar, other, bar])
    assert first.relative == last.relative == pytest.approx(alone.relative, rel=1e-5)
    assert len(name_of_outlines()) == 8


def outlines(*diameters_mm: float, shift: float = 0.0, u_mm: float = 0.25) -> list[Outline]:
    return [Outline(d * silhouette().ratio * np.exp(shift), u_mm) for d in diameters_mm]


def firsts(layers, series="metric"):
    return [[bar.chances[0].nominal_mm for bar in layer] for layer in bar_sizes(layers, series)]


def test_a_shift_that_all_outlines_share_is_seen_through():
    """Both layers 8 % narrow: on its own the one of 12 mm at 11.05 could be none; together they are 8 and 12."""
    found = firsts([outlines(*[8] * 7, shift=-0.08), outlines(*[12] * 8, shift=-0.08)])
    assert found == [[8] * 7, [12] * 8]


def test_a_wrong_bar_in_a_layer_still_shows():
    found = firsts([outlines(12, 12, 12, 10, 12, 12, 12), outlines(*[10] * 6)])
    assert found[0] == [12, 12, 12, 10, 12, 12, 12]


def test_several_wrong_bars_side_by_side_still_show():
    assert firsts([outlines(10, 10, 10, 8, 8, 8, 10), outlines(*[10] * 6)])[0] == [10, 10, 10, 8, 8, 8, 10]


def test_shadows_against_some_bars_do_not_make_the_layer_thicker():
    widened = outlines(8.1, 9.4, 8.0, 10.4, 7.9, 8.0, 9.0, 8.2)
    assert firsts([widened, outlines(*[12] * 8)])[0] == [8] * 8


def test_half_way_between_two_sizes_neither_is_certain():
    chances = bar_sizes([outlines(*[9.0] * 6, u_mm=0.4)], "metric")[0][0].chances
    assert chances[0].probability < 0.9
    assert {c.nominal_mm for c in chances[:2]} == {8.0, 10.0}


def test_inch_sizes_are_told_apart():
    assert firsts([outlines(*[12.7] * 6), outlines(*[15.9] * 6)], "astm") == [[12.7] * 6, [15.9] * 6]


def test_a_diameter_carries_the_doubt_about_ribs():
    d, u = diameter_of(Outline(12.0 * silhouette().ratio, 0.1))
    assert d == pytest.approx(12.0)
    assert u > 12.0 * silhouette().u_ratio


def test_many_bars_read_badly_alike_are_no_better_known_than_one():
    """Dim light or blur moves all rims of a layer together: sixteen bars read to 7 % leave the size 5 % away possible."""
    layer = [Outline(11.4 * silhouette().ratio, 0.8)] * 16
    chances = {c.nominal_mm: c.probability for c in bar_sizes([layer], "metric")[0][0].chances}
    assert max(chances, key=chances.__getitem__) == 12.0
    assert chances[10.0] > 0.05


def test_a_size_is_stated_only_where_it_is_twice_as_likely_as_all_else():
    clear, open_size = (
        bar_sizes([[Outline(w, 0.4)] * 6], "metric")[0][0] for w in (12.0 * silhouette().ratio, 9.2)
    )
    assert clear.stated_mm == 12.0
    assert open_size.chances[0].probability < 2 / 3
    assert open_size.stated_mm is None


def test_the_size_of_its_layer_is_not_stated_for_a_bar_that_looks_otherwise():
    """One outline of 25 mm among bars of 12: another size, or no outline of this bar; no 12 is stated on the neighbours' word."""
    sizes = bar_sizes([outlines(12, 12, 12, 25, 12, 12, 12, u_mm=0.5)], "metric")[0]
    assert [s.stated_mm for s in sizes[:3] + sizes[4:]] == [12.0] * 6
    assert sizes[3].stated_mm != 12.0
    assert {c.nominal_mm for c in sizes[3].chances[:2]} == {12.0, 25.0}


def test_what_widens_a_whole_photo_does_not_make_its_bars_thicker():
    """Blur: both layers are read 10 % too wide and poorly so; 6 and 10 are as possible as 6.6 and 11 are near to 8 and 12."""
    upper, lower = bar_sizes(
        [outlines(*[10.0] * 9, shift=0.1, u_mm=0.6), outlines(*[6.0] * 7, shift=0.1, u_mm=0.36)], "metric"
    )
    assert all(s.chances[0].nominal_mm == 10.0 or s.stated_mm is None for s in upper)
    assert all(s.chances[0].nominal_mm == 6.0 or s.stated_mm is None for s in lower)
