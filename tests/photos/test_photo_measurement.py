"""Rendered photos with exact truth, measured from their bytes: bars, layers, gaps, intervals, refusals.

The photos are rendered and invented. Validation only: nothing is trained or set by them.
"""

import json

import numpy as np
import pytest
from photo_truth import RENDERED, Score, Truth, score

from verifier.vision.measure import METHOD_VERSION, measure_file, measure_photo

PLAIN = ("plain_0304", "plain_0305", "plain_0308")
SITE = ("site_0301", "site_0304", "site_0307")
HARD = ("hard_0303", "hard_0310")


@pytest.fixture(scope="module")
def measured():
    """Every photo once."""
    out = {}
    for name in PLAIN + SITE + HARD:
        truth = Truth(name)
        out[name] = (truth, measure_file(truth.photo.read_bytes(), truth.photo.name))
    return out


def total(measured, names) -> Score:
    out = Score()
    for name in names:
        truth, measurement = measured[name]
        assert measurement.usable, (name, measurement.refusals)
        out.add(score(truth, measurement))
    return out


@pytest.mark.parametrize(
    ("names", "recall", "precision", "error_mm", "p95_mm", "median_u_mm"),
    [(PLAIN, 0.98, 0.98, 1.5, 4.0, 3.5), (SITE, 0.9, 0.95, 2.0, 5.0, 5.0), (HARD, 0.85, 0.95, 2.5, 7.0, 8.0)],
    ids=["plain", "site", "hard"],
)
def test_bars_and_gaps_against_truth(measured, names, recall, precision, error_mm, p95_mm, median_u_mm):
    got = total(measured, names)
    assert got.found >= recall * got.wanted
    assert got.right >= precision * got.reported
    assert got.layer_right >= 0.97 * got.right
    assert len(got.gaps) >= 0.6 * got.found
    assert got.errors_mm.mean() <= error_mm
    assert np.percentile(got.errors_mm, 95) <= p95_mm
    assert np.median([g[1] for g in got.gaps]) <= median_u_mm


def test_true_gaps_lie_inside_the_stated_intervals(measured):
    assert total(measured, PLAIN + SITE + HARD).inside >= 0.9


def test_a_gap_far_out_of_tolerance_is_never_conforming(measured):
    """Decision at 95 % with limits of 10 % or 15 mm about the drawn spacing; a slip of more than 5 mm must show."""
    for error, u, true, drawn in total(measured, PLAIN + SITE + HARD).gaps:
        limit = max(0.1 * drawn, 15.0)
        if abs(true - drawn) > limit + 5.0:
            # 95 % of a normal curve beyond the limit on one side: 1.645 standard uncertainties.
            assert abs(true + error - drawn) > limit - 1.645 * u / 1.96


def test_measurement_names_its_original_and_its_method(measured):
    _, measurement = measured[PLAIN[0]]
    text = json.loads(measurement.model_dump_json())
    assert len(text["photo"]["sha256"]) == 64
    assert (text["photo"]["width_px"], text["photo"]["height_px"]) == (2400, 1800)
    assert text["method"]["version"] == METHOD_VERSION
    assert text["method"]["labels"] != "none"
    assert text["board"]["number"] == 1
    for layer in text["layers"]:
        for gap in layer["gaps"]:
            combined = sum(c["standard_uncertainty"] ** 2 for c in gap["budget"]) ** 0.5
            assert gap["expanded_uncertainty_mm"] == pytest.approx(1.96 * combined, rel=0.01)


def test_every_refusal_says_what_to_do():
    black = np.zeros((900, 1200, 3), np.uint8)
    measurement = measure_photo(black, name="black.png", sha256="0" * 64)
    assert not measurement.usable
    assert measurement.refusals[0].reason == "no-board"
    assert "Lay the board" in measurement.refusals[0].say


def test_the_rendered_photos_stay_few_and_small():
    photos = list(RENDERED.glob("*.jpg"))
    assert len(photos) <= 8
    assert sum(p.stat().st_size for p in photos) < 9e6
