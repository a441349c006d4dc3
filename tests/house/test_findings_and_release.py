"""The logic of findings and of the decision: above all, nothing near a limit may ever come out as conforming."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from verifier.metrology.conformity import DecisionRule
from verifier.metrology.measurement import Measurand, Measurement, Trace
from verifier.release.decision import decide
from verifier.release.reason import Reason
from verifier.rules.agreement import agreements
from verifier.rules.coverage import Coverage
from verifier.rules.finding import Finding, find
from verifier.rules.placing import SeenLayer, still_standing, trade_layers
from verifier.rules.requirement import Requirement, Source

AT = datetime(2026, 5, 13, 17, 0, tzinfo=UTC)


def measured(value: float, u: float = 1.0, **more: Any) -> Measurement:
    fields: dict[str, Any] = {
        "measurand": Measurand.SINGLE_GAP,
        "value": value,
        "standard_uncertainty": u,
        "unit": "mm",
        "element": "S1",
        "layer": "B1",
        "spot": "1",
        "by": "photo",
        "method": "drawn",
        "method_version": "1",
        "taken_at": "2026-05-13T16:00:00+02:00",
        "trace": Trace(original_sha256="a" * 64, original_name="a.jpg"),
    }
    return Measurement.model_validate(fields | more)


def photo(name: str) -> Trace:
    return Trace(original_sha256=name * 64, original_name=f"{name}.jpg")


def asked(lower: float | None = 130.0, upper: float | None = 170.0, **more: Any) -> Requirement:
    fields: dict[str, Any] = {
        "key": "S1/B1/single-gap",
        "element": "S1",
        "layer": "B1",
        "rule": "single-gap",
        "measurand": Measurand.SINGLE_GAP,
        "asks": "each gap 150 mm, 20 mm either way",
        "lower": lower,
        "upper": upper,
        "nominal": 150.0,
        "sources": (Source(kind="project", document="pour.toml", clause="tolerance", status="agreed"),),
    }
    return Requirement.model_validate(fields | more)


def found(values: list[float], u: float = 1.0, **more: Any) -> Finding:
    gaps = [measured(v, u, index=i) for i, v in enumerate(values, start=1)]
    return find(asked(), gaps, spot="1", rule=DecisionRule(), **more)


@pytest.mark.parametrize(
    ("values", "u", "verdict"),
    [
        ([150.0], 1.0, "conforming"),
        ([168.0], 1.0, "conforming"),  # two standard uncertainties inside: 0.977
        ([168.4], 1.0, "inconclusive"),  # 1.6 inside: 0.945
        ([170.0], 1.0, "inconclusive"),
        ([170.0], 0.001, "inconclusive"),
        ([171.6], 1.0, "inconclusive"),
        ([171.7], 1.0, "non_conforming"),
        ([131.0], 1.0, "inconclusive"),
        ([128.0], 1.0, "non_conforming"),
        ([150.0], 30.0, "inconclusive"),  # a useless measurement decides nothing
        ([150.0, 150.0, 209.0], 1.0, "non_conforming"),  # the worst gap decides
        ([168.2], 1.0, "conforming"),  # alone: 0.964
        ([168.2, 168.2], 1.0, "inconclusive"),  # twice the same chance to be wrong: 0.928
    ],
)
def test_the_worst_gap_decides_and_every_gap_counts_as_a_chance_to_be_wrong(
    values: list[float], u: float, verdict: str
) -> None:
    assert found(values, u).verdict == verdict


def test_nothing_within_its_guard_band_is_ever_called_conforming() -> None:
    """Swept over values, uncertainties and numbers of gaps: conforming only where each gap alone would be."""
    for value, u, count in itertools.product(
        [128 + 0.25 * i for i in range(180)], [0.1, 0.5, 1.0, 3.0, 12.0], [1, 2, 10]
    ):
        finding = found([value] * count, u)
        if finding.verdict == "conforming":
            assert 130 + 1.64 * u <= value <= 170 - 1.64 * u
        if not 130 <= value <= 170:
            assert finding.verdict != "conforming"


def test_a_length_that_claims_to_be_exact_decides_nothing() -> None:
    finding = found([150.0], 0.0)
    assert finding.verdict == "inconclusive"
    assert "no length is exact" in finding.blocked_by


def test_a_finding_without_measurements_is_open_and_says_how_to_measure() -> None:
    finding = find(
        asked(by_tape=True, rule="block-pitch", measurand=Measurand.BLOCK_PITCH),
        [],
        spot=None,
        rule=DecisionRule(),
    )
    assert (finding.verdict, finding.measured, finding.probability_low) == ("inconclusive", False, None)
    assert "block pitch" in finding.next_step


def test_a_bar_size_is_never_sent_to_the_tape() -> None:
    asked_size = asked(rule="diameter", measurand=Measurand.BAR_DIAMETER)
    finding = find(asked_size, [], spot=None, rule=DecisionRule())
    assert "rolled-mark" in finding.next_step
    assert "several gaps" not in finding.next_step


def test_the_next_step_names_the_gap_to_tape() -> None:
    finding = found([150.0, 168.6, 150.0], 2.5)
    assert finding.verdict == "inconclusive"
    assert "gap 2" in finding.next_step


def mean(value: float, u: float, by: str, gaps: int, **more: Any) -> Measurement:
    return measured(value, u, measurand=Measurand.MEAN_SPACING, by=by, stretch_gaps=gaps, **more)


def test_photo_and_tape_that_contradict_each_other_are_found() -> None:
    agreeing = agreements([mean(150.2, 0.5, "photo", 8), mean(149.8, 0.3, "tape", 8, trace=photo("b"))])
    assert [a.agrees for a in agreeing] == [True]
    apart = agreements([mean(150.2, 0.5, "photo", 8), mean(153.8, 0.3, "tape", 8, trace=photo("b"))])
    assert [a.agrees for a in apart] == [False]
    elsewhere = mean(153.8, 0.3, "tape", 8, spot="2", trace=photo("b"))
    assert agreements([mean(150.2, 0.5, "photo", 8), elsewhere]) == ()


def test_a_tape_over_fewer_gaps_is_given_the_scatter_of_the_gaps() -> None:
    gaps = [measured(v, index=i) for i, v in enumerate([140.0, 160.0, 145.0, 155.0])]
    same = agreements([*gaps, mean(150.0, 0.3, "photo", 4), mean(153.0, 0.3, "tape", 4, trace=photo("b"))])
    fewer = agreements([*gaps, mean(150.0, 0.3, "photo", 4), mean(153.0, 0.3, "tape", 2, trace=photo("b"))])
    assert (same[0].agrees, fewer[0].agrees) == (False, True)


def test_a_blocked_finding_can_not_conform() -> None:
    assert found([150.0], 0.5, blocked_by="photo and tape differ").verdict == "inconclusive"


@pytest.mark.parametrize(
    ("seen", "drawn", "mat", "names"),
    [
        ([("only", "upper"), ("only", "lower")], {"B1", "B2"}, None, ("B2", "B1")),
        ([("only", "upper"), ("only", "lower")], {"T1", "T2"}, None, ("T1", "T2")),
        ([("only", "upper"), ("only", "lower")], {"B1", "B2", "T1", "T2"}, None, (None, None)),
        ([("only", "upper"), ("only", "lower")], {"B1", "B2", "T1", "T2"}, "top", ("T1", "T2")),
        (
            [("near", "upper"), ("near", "lower"), ("far", "upper"), ("far", "lower")],
            {"B1", "B2", "T1", "T2"},
            None,
            ("T1", "T2", "B2", "B1"),
        ),
        ([("only", "upper")], {"B1", "B2"}, None, (None,)),  # one layer alone: its position can't be told
        ([("only", "upper")], {"B1"}, None, ("B1",)),
        ([("only", "upper"), ("only", "upper")], {"B1", "B2"}, None, (None, None)),
        ([("near", "upper"), ("far", "upper"), ("far", "lower")], {"B1", "B2"}, None, (None, "B2", "B1")),
    ],
)
def test_layers_are_named_by_position_or_not_at_all(
    seen: list[tuple[str, str]], drawn: set[str], mat: Any, names: tuple[str | None, ...]
) -> None:
    got, remarks = trade_layers([SeenLayer(m, p) for m, p in seen], drawn, mat=mat)
    assert got == names
    assert bool(remarks) == (None in names)


def shot(name: str, values: list[float], at: str | None) -> list[Measurement]:
    return [measured(v, index=i, trace=photo(name), taken_at=at) for i, v in enumerate(values)]


def test_the_newest_photo_of_a_spot_takes_the_place_of_the_older_one_which_stays_visible() -> None:
    old = shot("a", [150.0, 209.0, 150.0], "2026-05-13T16:00:00+02:00")
    new = shot("b", [150.0, 151.0, 152.0], "2026-05-13T18:00:00+02:00")
    standing, gone, remarks = still_standing([*new, *old], least_gaps=3)
    assert list(standing) == new
    assert [s.measurement for s in gone] == old
    assert {s.by_name for s in gone} == {"b.jpg"}
    assert not remarks


@pytest.mark.parametrize(
    ("values", "at"),
    [
        ([150.0], "2026-05-13T18:00:00+02:00"),  # a glance at one good gap
        ([150.0, 150.0, 150.0], None),  # no time
        ([150.0, 150.0, 150.0], "2026-05-13T18:00:00"),  # no zone
    ],
)
def test_a_wide_zone_is_not_hidden_by_a_photo_that_proves_less(values: list[float], at: str | None) -> None:
    old = shot("a", [150.0, 209.0, 150.0], "2026-05-13T16:00:00+02:00")
    standing, gone, remarks = still_standing([*old, *shot("b", values, at)], least_gaps=3)
    assert not gone
    assert remarks
    assert any(m.value == 209.0 for m in standing)


def test_a_taped_spacing_of_the_earlier_state_goes_with_it_but_cover_stays() -> None:
    old = shot("a", [150.0, 209.0, 150.0], "2026-05-13T16:00:00+02:00")
    new = shot("b", [150.0, 151.0, 152.0], "2026-05-13T18:00:00+02:00")
    tape = mean(170.0, 0.3, "tape", 3, taken_at="2026-05-13T16:20:00+02:00", trace=photo("c"))
    cover = measured(
        21.0, by="tape", measurand=Measurand.COVER, taken_at="2026-05-13T16:20:00+02:00", trace=photo("c")
    )
    standing, gone, _ = still_standing([*old, *new, tape, cover], least_gaps=3)
    assert tape in [s.measurement for s in gone]
    assert cover in standing


def covered(*missing: str) -> Coverage:
    return Coverage(
        element="S1",
        layer="B1",
        asked=4,
        asked_by="",
        there=("1", "2", "3", "4")[: 4 - len(missing)],
        missing=missing,
    )


def reason(weight: Any, kind: str = "not-done") -> Reason:
    return Reason(key=kind, room="rounds", weight=weight, kind=kind, says="it is so", clears="do it")


GOOD, BAD, NEAR = found([150.0]), found([209.0]), found([169.5])
OPEN = find(
    asked(by_tape=True, rule="block-pitch", measurand=Measurand.BLOCK_PITCH),
    [],
    spot=None,
    rule=DecisionRule(),
)


@pytest.mark.parametrize(
    ("findings", "coverage", "further", "answer"),
    [
        ([GOOD], [covered()], [], "go_with_conditions"),  # the engineer of record has not signed
        ([GOOD], [covered()], [reason("condition")], "go_with_conditions"),
        ([GOOD, OPEN], [covered()], [], "go_with_conditions"),
        ([GOOD, BAD], [covered()], [], "no_go"),
        ([GOOD, NEAR], [covered()], [], "no_go"),
        ([GOOD], [covered("4")], [], "no_go"),
        ([GOOD], [covered()], [reason("stops")], "no_go"),
        ([GOOD], [covered()], [reason("caution", "to-know")], "go_with_conditions"),
        ([OPEN], [covered()], [], "no_go"),  # nothing measured
        ([], [], [], "no_go"),
    ],
)
def test_the_answer_follows_from_the_reasons(
    findings: list[Finding], coverage: list[Coverage], further: list[Reason], answer: str
) -> None:
    decision = decide(
        findings=findings, coverage=coverage, engineer_of_record=["eor-1"], at=AT, further=further
    )
    assert decision.answer == answer
    assert all(r.clears for r in (*decision.reasons, *decision.conditions))
    assert "does not replace the engineer of record" in decision.statement


def test_reasons_come_worst_first() -> None:
    worse = find(asked(), [measured(240.0)], spot="2", rule=DecisionRule())
    decision = decide(
        findings=[NEAR, BAD, worse], coverage=[covered("3", "4")], engineer_of_record=["eor-1"], at=AT
    )
    kinds = [r.kind for r in decision.reasons]
    assert kinds == ["non-conforming", "non-conforming", "not-decided", "not-covered"]
    assert decision.reasons[0].about == (worse.key,)


def test_an_engineer_of_record_who_is_not_named_is_a_condition() -> None:
    decision = decide(findings=[GOOD], coverage=[covered()], engineer_of_record=[], at=AT)
    assert any("No engineer of record is named" in c.says for c in decision.conditions)


@pytest.mark.parametrize(("hours", "caution"), [(12, False), (30, True), (-1, True)])
def test_an_answer_that_does_not_reach_the_planned_start_says_so(hours: int, caution: bool) -> None:
    decision = decide(
        findings=[GOOD],
        coverage=[covered()],
        engineer_of_record=["eor-1"],
        at=AT,
        planned_start=AT + timedelta(hours=hours),
    )
    assert bool(decision.cautions) is caution


def test_a_decision_needs_a_moment_with_a_zone() -> None:
    with pytest.raises(ValueError, match="zone"):
        decide(findings=[], coverage=[], engineer_of_record=[], at=datetime(2026, 5, 13))  # noqa: DTZ001 - the point


def gap_and_clear(*seen: tuple[float, float]) -> list[Finding]:
    """Gaps of one layer at one spot, each with its standard uncertainty: the tolerance and the clear distance."""
    clear = asked(lower=35.0, upper=None, rule="clear-distance", key="S1/B1/clear-distance")
    gaps = [measured(v, u, index=i) for i, (v, u) in enumerate(seen, start=1)]
    return [
        find(asked(), gaps, spot="1", rule=DecisionRule()),
        find(clear, gaps, spot="1", rule=DecisionRule()),
    ]


@pytest.mark.parametrize(
    ("value", "answer"),
    [
        (
            130.5,
            "go_with_conditions",
        ),  # perhaps narrower than agreed, surely not too wide, clear distance kept
        (127.0, "no_go"),  # surely narrower than agreed
        (169.5, "no_go"),  # perhaps too wide
    ],
)
def test_a_gap_that_may_only_be_too_narrow_is_for_the_engineer_of_record(value: float, answer: str) -> None:
    findings = gap_and_clear((value, 1.0))
    decision = decide(findings=findings, coverage=[covered()], engineer_of_record=["eor-1"], at=AT)
    assert decision.answer == answer
    assert findings[0].verdict != "conforming"


def test_without_a_known_clear_distance_even_a_narrow_gap_stops() -> None:
    decision = decide(
        findings=gap_and_clear((130.5, 1.0))[:1], coverage=[covered()], engineer_of_record=["eor-1"], at=AT
    )
    assert decision.answer == "no_go"


@pytest.mark.parametrize(
    ("gaps", "answer", "conditions"),
    [
        ([(150.0, 1.0), (165.0, 4.0)], "go_with_conditions", {"blunt"}),  # at the rim, likely right: tape it
        ([(130.5, 1.0), (165.0, 4.0)], "go_with_conditions", {"blunt", "narrow"}),
        ([(150.0, 1.0), (172.0, 4.0)], "no_go", set()),  # at the rim, likely too wide
        ([(169.5, 1.0), (165.0, 4.0)], "no_go", set()),  # a sharp one may be too wide
        ([(165.0, 4.0), (150.0, 8.0)], "no_go", set()),  # nothing sharp at all
    ],
)
def test_a_gap_seen_too_bluntly_is_to_be_taped_before_concrete(
    gaps: list[tuple[float, float]], answer: str, conditions: set[str]
) -> None:
    findings = gap_and_clear(*gaps)
    decision = decide(findings=findings, coverage=[covered()], engineer_of_record=["eor-1"], at=AT)
    assert decision.answer == answer
    assert {c.key.rsplit("/", 1)[-1] for c in decision.conditions} - {"engineer-of-record"} == conditions
    assert "conforming" not in {f.verdict for f in findings if f.requirement.rule == "single-gap"}


def test_a_narrow_verdict_is_given_by_the_finding_alone() -> None:
    """The weight of a reason never changes a verdict: what is not decided stays not decided."""
    decision = decide(
        findings=gap_and_clear((130.5, 1.0)), coverage=[covered()], engineer_of_record=["eor-1"], at=AT
    )
    assert [c.kind for c in decision.conditions] == ["not-decided", "to-sign"]
