"""The plan against geometry known beforehand: scale, places to touch, spots inside odd outlines."""

from __future__ import annotations

import re

import pytest

from verifier.report.plan import TOUCH_PX, PlanElement, PlanSpot, plan

L_SHAPE = ((0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (3.0, 2.0), (3.0, 4.0), (0.0, 4.0))


def spots(count: int) -> tuple[PlanSpot, ...]:
    return tuple(PlanSpot(str(i), "missing") for i in range(1, count + 1))


def corners(svg: str) -> list[tuple[float, float]]:
    points = re.search(r"<polygon points='([^']+)'", svg)
    assert points is not None
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in points[1].split())]


def test_both_directions_have_one_scale() -> None:
    drawn = corners(plan([PlanElement("S1", L_SHAPE, spots(4))]).svg)
    per_m = (drawn[1][0] - drawn[0][0]) / 6.0
    for (x, y), (mx, my) in zip(drawn, L_SHAPE, strict=True):
        assert x - drawn[0][0] == pytest.approx(per_m * mx, abs=0.11)
        assert drawn[0][1] - y == pytest.approx(
            per_m * my, abs=0.11
        )  # y up on the drawing, down on the screen


def test_spots_lie_inside_an_outline_with_a_corner_cut_out() -> None:
    figure = plan([PlanElement("S1", L_SHAPE, spots(5))])
    box = next(t for t in figure.touches if t.spot is None)
    for t in (t for t in figure.touches if t.spot is not None):
        x = (t.left + t.width / 2 - box.left) / box.width * 6.0
        y = 4.0 - (t.top + t.height / 2 - box.top) / box.height * 4.0
        assert 0 < x < 6, t.spot
        assert 0 < y < (2 if x > 3 else 4), t.spot


def test_a_spot_with_a_place_of_its_own_is_drawn_there() -> None:
    figure = plan([PlanElement("S1", L_SHAPE, (PlanSpot("1", "missing", at_m=(1.5, 1.0)),))])
    box, spot = figure.touches
    assert (spot.left + spot.width / 2 - box.left) / box.width == pytest.approx(1.5 / 6.0)
    assert (spot.top + spot.height / 2 - box.top) / box.height == pytest.approx(3.0 / 4.0)


def test_a_thin_beam_is_wide_enough_for_a_thumb_and_lies_over_its_panels() -> None:
    beam = PlanElement("B3", ((0.0, 0.0), (6.0, 0.0), (6.0, 0.23), (0.0, 0.23)), spots(2), narrow=True)
    figure = plan([beam, PlanElement("S1", L_SHAPE, spots(4))], width=360)
    whole = next(t for t in figure.touches if (t.element, t.spot) == ("B3", None))
    height = float(re.search(r"viewBox='0 0 360 (\d+)'", figure.svg)[1])  # type: ignore[index]  # every figure has one
    assert whole.height * height >= TOUCH_PX - 1
    assert [t.element for t in figure.touches].index("S1") < [t.element for t in figure.touches].index("B3")


def test_spots_too_small_for_a_thumb_are_left_to_the_element() -> None:
    panels = [PlanElement(f"S{i}", tuple((x + 6.5 * i, y) for x, y in L_SHAPE), spots(6)) for i in range(8)]
    figure = plan(panels)
    assert figure.crowded
    assert all(t.spot is None for t in figure.touches)
    assert not plan(panels[:1]).crowded


def test_a_mark_from_elsewhere_stays_text() -> None:
    figure = plan([PlanElement("<script>x</script>", L_SHAPE, spots(1))])
    assert "<script" not in figure.svg
