"""Props and back-props taken away step by step: loads and capacities of published calculations."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from verifier.errors import BadInput
from verifier.formwork.area_loads import area_load, load_rule
from verifier.formwork.back_props import Floor, back_prop_load_kn, back_propping
from verifier.formwork.propping import PropsPlaced, floors_propped
from verifier.formwork.removal import NewSlab, removal_plan, share_of_strength

SLAB_280 = "published falsework calculation of a 280 mm slab: 9.28 from above, 8.25 of its own, 13.5 allowed"
SLAB_225 = (
    "published back-propping calculation of a 225 mm slab to BS 5975: 9.125 kN/m2 in use, 85 % of its strength, "
    "7.75625 allowed, 13.75 with the fresh slab on it, 5.99375 too much"
)
L1 = Floor(name="L1", own_load_kn_m2=8.25, capacity_kn_m2=13.5)
L0 = Floor(name="L0", own_load_kn_m2=8.25, capacity_kn_m2=13.5)


def slab(shown: float | None = None, *, on_it: float = 1.5, service: float = 12.0) -> NewSlab:
    own = area_load(280, load_rule("BS 5975")).concrete_kn_m2
    return NewSlab(
        name="S1",
        own_load_kn_m2=own,
        on_it_kn_m2=on_it,
        service_load_kn_m2=service,
        strength_mpa=30,
        shown_mpa=shown,
    )


@pytest.mark.source(SLAB_280)
def test_back_props_taken_first_would_leave_17_53_on_a_floor_of_13_5() -> None:
    plan = removal_plan(slab(25), [L1, L0], 9.28)
    assert [s.props_under for s in plan.steps] == ["S1", "L1"]
    below = plan.steps[1]
    assert below.out_of_turn_kn_m2 is not None
    assert round(below.out_of_turn_kn_m2, 2) == 17.53
    assert round(below.out_of_turn_kn_m2 - L1.capacity_kn_m2, 2) == 4.03
    assert not below.out_of_turn_holds
    assert (below.carries_kn_m2, below.holds) == (8.25, "holds")


@pytest.mark.source(SLAB_280)
def test_props_stand_under_the_last_floor_only_where_it_can_not_carry_all() -> None:
    assert [s.props_under for s in removal_plan(slab(25), [L1], 9.28).steps] == ["S1", "L1"]
    strong = L1.model_copy(update={"capacity_kn_m2": 17.6})
    assert [s.props_under for s in removal_plan(slab(25), [strong], 9.28).steps] == ["S1"]


@pytest.mark.source(SLAB_225)
def test_a_slab_at_85_percent_of_its_strength_may_carry_85_percent_of_its_design_load() -> None:
    assert 9.125 * share_of_strength(25.5, 30) == pytest.approx(7.75625)
    lower = Floor(name="S1", own_load_kn_m2=5.625, capacity_kn_m2=7.75625)
    assert 8.125 + lower.own_load_kn_m2 - lower.capacity_kn_m2 == pytest.approx(5.99375)
    assert back_propping(8.125, [lower], 45).left_kn_m2 == pytest.approx(5.99375)
    plan = removal_plan(slab(25), [lower], 8.125)
    assert plan.steps[1].out_of_turn_kn_m2 == pytest.approx(13.75)
    assert not plan.steps[1].out_of_turn_holds
    assert back_prop_load_kn(2.4375, 1.8) == pytest.approx(7.8975)


@pytest.mark.source(
    "proportion of the published 225 mm calculation; 10 MPa of BS 8110-1:1997, 6.2.6.3, from memory"
)
@pytest.mark.parametrize(
    ("shown", "on_it", "needs", "holds"),
    [
        (None, 1.5, 21.95, "not known"),  # 30 x (7.28 + 1.5) / 12
        (21.9, 1.5, 21.95, "does not hold"),
        (22.0, 1.5, 21.95, "holds"),
        (18.2, 0.0, 18.2, "holds"),
        (40.0, 4.8, 30.2, "does not hold"),  # 12.08 of 12: no strength helps
    ],
)
def test_the_new_slab_is_freed_by_the_strength_its_load_needs(
    shown: float | None, on_it: float, needs: float, holds: str
) -> None:
    first = removal_plan(slab(shown, on_it=on_it), [L1, L0], 9.28).steps[0]
    assert first.holds == holds
    assert first.needs_mpa == pytest.approx(needs, abs=0.01)


@pytest.mark.source("BS 8110-1:1997, 6.2.6.3, from memory: 10 MPa at least")
def test_a_light_load_still_asks_for_10_mpa() -> None:
    first = removal_plan(slab(9.9, on_it=0.0, service=40.0), [L1], 9.28).steps[0]
    assert (first.needs_mpa, first.holds) == (10.0, "does not hold")


@pytest.mark.source("equilibrium")
def test_a_design_load_that_leaves_out_the_slab_itself_is_asked_about() -> None:
    with pytest.raises(BadInput, match=r"5 kN/m2 in use is less than its own 7\.28"):
        removal_plan(slab(25, service=5.0), [L1], 9.28)


@pytest.mark.source("ACI 347R-14, removal and reshoring")
def test_each_plan_defers_to_designer_and_engineer_of_record() -> None:
    told = " ".join(removal_plan(slab(25), [L1], 9.28).cautions)
    assert "belongs to its designer" in told
    assert "engineer of record says when props go" in told


@pytest.mark.source("ACI 347R-14, removal and reshoring: the newest slab first, then floor by floor")
@pytest.mark.parametrize(("shown", "below"), [(None, "waits"), (15.0, "waits"), (25.0, "holds")])
def test_nothing_below_looks_free_while_the_slab_above_is_not(shown: float | None, below: str) -> None:
    assert removal_plan(slab(shown), [L1, L0], 9.28).steps[1].holds == below


NOON = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)


def placed(grid_m: float, *, taken_at: datetime | None = None) -> PropsPlaced:
    return PropsPlaced(
        floor="L1", spacing_x_m=grid_m, spacing_y_m=grid_m, prop_kn=25, placed_at=NOON, taken_at=taken_at
    )


@pytest.mark.source(SLAB_280 + "; 25 kN props, grid chosen 2.3 m, 21.42 kN printed with 4.05 for 4.03")
def test_back_props_of_one_floor_are_held_against_what_goes_down_from_it() -> None:
    below = back_propping(9.28, [L1, L0], 25)
    (none,) = floors_propped(below, [], None)
    assert (none.floor, none.state) == ("L1", "not written")
    assert none.passed_down_kn_m2 == pytest.approx(4.03)
    (stand,) = floors_propped(below, [placed(2.3)], None)
    assert (stand.state, round(stand.load_kn or 0, 2)) == ("stand", 21.32)
    (far,) = floors_propped(below, [placed(2.5)], None)
    assert far.state == "do not hold", "sqrt(25 / 4.03) = 2.49 m"


@pytest.mark.source(SLAB_280 + ": 17.53 on a floor of 13.5 where they go first; ACI 347R-14 (order)")
def test_back_props_taken_before_the_new_slab_is_freed_are_told() -> None:
    below = back_propping(9.28, [L1, L0], 25)
    later = NOON + timedelta(days=3)
    for freed_at, state in (
        (None, "taken too early"),
        (later + timedelta(hours=1), "taken too early"),
        (later - timedelta(hours=1), "taken away"),
    ):
        (floor,) = floors_propped(below, [placed(2.3, taken_at=later)], freed_at)
        assert floor.state == state
        assert ("17.53 of 13.50" in floor.says) == (state == "taken too early")


@pytest.mark.source("common practice, no source: a floor that no load is given for is told, not passed over")
def test_back_props_under_a_floor_without_a_load_are_not_judged() -> None:
    (floor,) = floors_propped(None, [placed(2.3)], None)
    assert (floor.load_kn, floor.passed_down_kn_m2) == (None, None)
    assert "No load is given for L1" in floor.says


@pytest.mark.source(SLAB_280 + "; ACI 347R-14 (order): a step taken frees the next one")
def test_the_order_of_removal_goes_on_from_what_was_taken() -> None:
    waits = removal_plan(slab(), [L1, L0], 9.28).steps[1]
    assert waits.holds == "waits", "the strength of the new slab is not shown"
    steps = removal_plan(slab(), [L1, L0], 9.28, placed=["L0"], done={"S1": NOON}).steps
    assert [(s.props_under, s.holds, s.done_at) for s in steps[1:]] == [
        ("L1", "holds", None),
        ("L0", "holds", None),
    ]
    assert steps[0].done_at == NOON
