"""What may never happen in the rounds, whatever is written: bad news or an event closes nothing, a stranger passes nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from verifier.rounds.answers import (
    Answer,
    Happened,
    Happening,
    HoldReleased,
    PutRight,
    RoundSigned,
    Value,
    Word,
)
from verifier.rounds.items import CheckList, Evidence, Group, Role, load_list
from verifier.rounds.setting import Person, usual_setting
from verifier.rounds.standing import against_concrete, all_rounds
from verifier.rounds.state import open_at_start, state_of_round

LIST = load_list()
SETTING = usual_setting()
START = datetime(2026, 6, 1, 6, 0, tzinfo=UTC)
PEOPLE = (
    Person(name="foreman-1", roles=(Role.FOREMAN, Role.SERVICE_TRADE), built=(Group.REINFORCEMENT,)),
    Person(name="engineer-1", roles=(Role.CONTRACTORS_ENGINEER,), firm="builder"),
    Person(name="tw-1", roles=(Role.TEMPORARY_WORKS,)),
    Person(name="inspector-1", roles=(Role.INDEPENDENT_INSPECTOR,), firm="other"),
    Person(name="eor-1", roles=(Role.ENGINEER_OF_RECORD,)),
)
NAMES = [p.name for p in PEOPLE] + ["stranger"]
IDS = ("RB-03", "CL-01", "FW-17", "JT-08")
SMALL = CheckList(title="some items", edition="1", item=tuple(LIST.find(i) for i in IDS))

answers = st.builds(
    Answer,
    item=st.sampled_from(IDS),
    round=st.integers(1, 3),
    place=st.sampled_from(["whole pour", "S1"]),
    word=st.sampled_from(list(Word)),
    by=st.sampled_from(NAMES),
    at=st.integers(0, 40).map(lambda h: START + timedelta(hours=h)),
    photos=st.integers(0, 5).map(lambda n: (f"{n:064x}",)),
    documents=st.just(("d" * 64,)),
    remark=st.just("as seen"),
)
repairs = st.builds(
    PutRight,
    item=st.sampled_from(IDS),
    by=st.sampled_from(NAMES),
    at=st.integers(0, 40).map(lambda h: START + timedelta(hours=h)),
)
happened = st.builds(
    Happened,
    what=st.sampled_from(list(Happening)),
    by=st.just("engineer-1"),
    at=st.integers(0, 40).map(lambda h: START + timedelta(hours=h)),
)
END = START + timedelta(hours=41)


def open_keys(some_answers, events, number=2) -> set[tuple[str, str]]:
    state = state_of_round(
        SMALL, some_answers, events, END, number=number, revision="A", people=PEOPLE, setting=SETTING
    )
    return {(o.item, o.place) for o in state.open}


def open_items(some_answers, events, number=2) -> set[str]:
    return {item for item, _ in open_keys(some_answers, events, number)}


@given(st.lists(answers, max_size=12), st.lists(repairs, max_size=3), happened, st.integers(1, 3))
@settings(max_examples=150, deadline=None)
def test_an_event_never_closes_an_item(some, events, event, number):
    assert open_items(some, events, number) <= open_items(some, [*events, event], number)


@given(st.lists(answers, max_size=12), st.lists(repairs, max_size=3), answers, st.integers(1, 3))
@settings(max_examples=150, deadline=None)
def test_a_last_bad_answer_always_leaves_its_item_open(some, events, bad, number):
    last = bad.model_copy(update={"word": Word.NOT_CONFORMING, "at": END, "round": number})
    if number in SMALL.find(last.item).rounds:
        assert (last.item, last.place) in open_keys([*some, last], events, number)


@given(
    st.lists(answers.map(lambda a: a.model_copy(update={"by": "stranger"})), max_size=12), st.integers(1, 3)
)
@settings(max_examples=100, deadline=None)
def test_a_stranger_closes_nothing(some, number):
    assert open_items(some, [], number) == {i.id for i in SMALL.of_round(number)}


@given(st.lists(answers, max_size=10), st.lists(repairs, max_size=3), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_the_order_of_writing_down_does_not_matter_where_times_differ(some, events, random):
    distinct = {a.at: a for a in some}
    shuffled = list(distinct.values())
    random.shuffle(shuffled)
    assert open_keys(list(distinct.values()), events) == open_keys(shuffled, events)


def whole_pour() -> tuple[list[Answer], list]:
    """Answers and signatures of a pour in which all is well, with one hundred different items."""
    by = {1: "foreman-2", 2: "engineer-1", 3: "inspector-1"}
    written, events = [], []
    for item in LIST.item:
        value = None
        if Evidence.VALUE in item.evidence:
            bounded = {} if item.has_limit else {"low": 0, "high": 10, "limit_source": "drawing"}
            middle = 0.0 if item.low is not None else (item.high or 5.0)
            value = Value(value=middle, unit=item.unit, planned=0, **bounded)
        for number in item.rounds:
            at = START + timedelta(hours=number)
            if item.within_h_of_start:
                at = START + timedelta(hours=9.5)
            written.append(
                Answer(
                    item=item.id,
                    round=number,
                    word=Word.CONFORMING,
                    by=by[number],
                    at=at,
                    value=value,
                    photos=(f"{len(written):064x}",),
                    documents=("d" * 64,),
                )
            )
        if item.point == "hold":
            post = {
                Role.TEMPORARY_WORKS: "tw-1",
                Role.CONTRACTORS_ENGINEER: "engineer-1",
                Role.ENGINEER_OF_RECORD: "eor-1",
            }
            events.append(
                HoldReleased(
                    item=item.id, by=post.get(item.closes, "inspector-1"), at=START + timedelta(hours=4)
                )
            )
    for number, name in by.items():
        at = START + timedelta(hours=5)
        events.append(RoundSigned(round=number, by=name, at=at, list_version=LIST.version, revision="A"))
    return written, events


EVERYBODY = (*PEOPLE, Person(name="foreman-2", roles=(Role.FOREMAN,)))


def standing(written, events, hours=9.0, revision="A"):
    at = START + timedelta(hours=hours)
    states = all_rounds(LIST, written, events, at, revision=revision, people=EVERYBODY, setting=SETTING)
    return against_concrete(states, LIST)


def test_a_pour_in_which_all_is_well_has_nothing_against_it():
    assert standing(*whole_pour()) == ()


@pytest.mark.parametrize("index", range(9))
def test_each_hold_point_that_is_not_released_stands_against_concrete(index):
    written, events = whole_pour()
    holds = [e for e in events if isinstance(e, HoldReleased)]
    left = holds[index]
    found = standing(written, [e for e in events if e is not left])
    expected = [] if LIST.find(left.item).is_release else [f"hold-{left.item}"]
    assert [s.key for s in found] == expected


@pytest.mark.parametrize("item_id", [i.id for i in LIST.item])
def test_each_item_that_was_not_looked_at_stands_against_concrete(item_id):
    written, events = whole_pour()
    item = LIST.find(item_id)
    found = standing([a for a in written if a.item != item_id], events)
    if item.within_h_of_start or item.is_release:
        assert not any(item_id in s.key for s in found if s.kind == "not done")
    else:
        assert {s.key for s in found if s.kind == "not done"} == {
            f"round-{n}-{item_id}-whole pour" for n in item.rounds
        }


def test_a_new_revision_and_rain_stand_against_concrete():
    written, events = whole_pour()
    assert {s.kind for s in standing(written, events, revision="B")} == {"not signed"}
    rain = Happened(what=Happening.RAIN, at=START + timedelta(hours=8), by="engineer-1")
    kinds = [s.kind for s in standing(written, [*events, rain])]
    assert {"not done", "not signed"} == set(kinds)
    bad = written[20].model_copy(
        update={"word": Word.NOT_CONFORMING, "at": START + timedelta(hours=6), "remark": "r"}
    )
    assert standing([*written, bad], events)[0].kind == "not conforming"


def test_the_last_look_is_taken_within_an_hour_of_the_start():
    written, events = whole_pour()

    def at_start(hours: float) -> set[str]:
        start = START + timedelta(hours=hours)
        return {
            o.item for o in open_at_start(LIST, written, events, start, people=EVERYBODY, setting=SETTING)
        }

    assert at_start(10.0) == set()
    assert at_start(10.5) == set()
    assert at_start(10.6) == {"FW-16", "CL-05"}
    assert at_start(9.0) == {"FW-16", "CL-05"}
