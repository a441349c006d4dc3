"""Rounds of a pour: which items there are, who passes them, what reopens them.

The rules are common practice of the trade; no published source gives them. Point types follow road-authority inspection plans
and BS 5975, independence IBC chapter 17.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from verifier.rounds.answers import (
    Answer,
    Happened,
    Happening,
    HoldReleased,
    PutRight,
    RoundSigned,
    Value,
    WitnessTold,
    Word,
)
from verifier.rounds.independence import may_release
from verifier.rounds.items import CheckList, Group, Point, Role, Status, load_list
from verifier.rounds.reopening import ReleaseGranted, release_valid, reopened_by
from verifier.rounds.setting import Person, usual_setting
from verifier.rounds.state import RoundState, state_of_round

PRACTICE = pytest.mark.source("common practice, no source")
LIST = load_list()
SETTING = usual_setting()
MON = datetime(2026, 6, 1, 10, 0, tzinfo=UTC)
PEOPLE = (
    Person(
        name="foreman-1", roles=(Role.FOREMAN,), firm="builder", built=(Group.REINFORCEMENT, Group.FORMWORK)
    ),
    Person(name="foreman-2", roles=(Role.FOREMAN,), firm="builder"),
    Person(name="engineer-1", roles=(Role.CONTRACTORS_ENGINEER,), firm="builder"),
    Person(name="engineer-2", roles=(Role.CONTRACTORS_ENGINEER,), firm="builder"),
    Person(name="tw-1", roles=(Role.TEMPORARY_WORKS,), firm="falsework"),
    Person(name="inspector-1", roles=(Role.INDEPENDENT_INSPECTOR,), firm="inspection"),
    Person(name="inspector-2", roles=(Role.INDEPENDENT_INSPECTOR,), firm="builder"),
    Person(name="eor-1", roles=(Role.ENGINEER_OF_RECORD,), firm="design"),
)


def photo(number: int) -> str:
    return f"{number:064x}"


def one(item_id: str) -> CheckList:
    return CheckList(title="one item", edition="1", item=(LIST.find(item_id),))


def answer(item_id, number=2, by="engineer-1", hours=0.0, word=Word.CONFORMING, photos=(1,), **more):
    return Answer(
        item=item_id, round=number, word=word, by=by, at=MON + timedelta(hours=hours),
        photos=tuple(photo(p) for p in photos), **more,
    )  # fmt: skip


def look(checklist, answers, events=(), hours=48.0, number=2) -> RoundState:
    return state_of_round(
        checklist, answers, events, MON + timedelta(hours=hours), number=number, revision="C", people=PEOPLE, setting=SETTING
    )  # fmt: skip


def granted(**changes) -> ReleaseGranted:
    fields = {
        "pour": "L2", "revision": "C", "list_version": LIST.version, "last_round_signed_at": MON,
        "by": "eor-1", "at": MON + timedelta(hours=1),
    }  # fmt: skip
    return ReleaseGranted(**(fields | changes))


def valid(release, events=(), hours=20.0, pour="L2", revision="C"):
    return release_valid(
        release, LIST, events, MON + timedelta(hours=hours), pour=pour, revision=revision, people=PEOPLE, setting=SETTING
    )  # fmt: skip


@PRACTICE
def test_the_list_covers_five_groups_in_a_hundred_items_each_with_reason_and_way_of_checking():
    assert len(LIST.item) == 100
    assert {i.group for i in LIST.item} == set(Group)
    assert all(len(i.why) > 3 and len(i.how) > 5 and i.source for i in LIST.item)
    held = {i.id for i in LIST.item if i.point is Point.HOLD}
    assert held == {"FW-17", "RB-01", "RB-22", "RB-24", "SV-01", "SV-08", "JT-08", "RC-01", "RC-14"}
    practice = [i for i in LIST.item if i.status is Status.COMMON_PRACTICE]
    assert practice
    assert len(practice) < 50


@PRACTICE
def test_three_rounds_and_twenty_four_hours_are_the_usual_setting():
    assert [r.number for r in SETTING.round] == [1, 2, 3]
    assert (SETTING.validity_hours, SETTING.very_late_hours, SETTING.notice_hours) == (24, 72, 24)


@PRACTICE
def test_chairs_stand_between_the_two_mats_about_one_metre_apart():
    chairs = LIST.find("CV-07")
    assert (chairs.high, chairs.unit, chairs.status) == (1000.0, "mm", Status.COMMON_PRACTICE)
    wide = answer("CV-07", value=Value(value=1300, unit="mm"))
    assert look(one("CV-07"), [wide]).open[0].why == ("1300 mm is over its limit 1000 mm",)


@PRACTICE
def test_case_k_rain_and_a_services_man_end_a_release_that_is_still_inside_its_24_hours():
    rain = Happened(what=Happening.RAIN, at=MON + timedelta(hours=8), by="engineer-1")
    services = Happened(
        what=Happening.OTHER_TRADE, at=MON + timedelta(hours=21), by="engineer-1", trade="electrical",
        items=("RB-04", "CV-01"),
    )  # fmt: skip
    found = valid(granted(), [rain, services], hours=23.5)
    assert not found.valid
    assert found.ends_at == MON + timedelta(hours=24)
    assert not any("start is later" in reason for reason in found.reasons)
    opened = set(found.reopened)
    assert {"CL-01", "CL-02", "CL-03", "CL-04", "FW-09", "FW-10", "JT-03", "JT-04", "AS-06"} <= opened
    assert {"SV-01", "SV-02", "SV-06", "RB-04", "CV-01"} <= opened
    assert not {"SV-12", "SV-13", "RB-05", "FW-17", "RC-01"} & opened
    assert valid(granted(), (), hours=23.5).valid
    after = granted(last_round_signed_at=MON + timedelta(hours=22), at=MON + timedelta(hours=22.5))
    assert valid(after, [rain, services], hours=23.5).valid


@PRACTICE
@pytest.mark.parametrize(
    ("what", "opened", "kept"),
    [
        (Happening.RAIN, {"CL-01", "CL-04", "FW-09", "FW-10", "JT-03", "JT-04", "AS-06"}, {"CL-05", "FW-11"}),
        (Happening.WIND, {"FW-12", "FW-17"}, {"FW-11", "CL-01"}),
        (Happening.FROST, {"CL-04", "RC-11"}, {"CL-01"}),
        (Happening.LATE_START, {"CL-01", "CL-05", "FW-10", "FW-16", "CV-07"}, {"FW-17", "FW-09", "RB-04"}),
        (Happening.PROP_MOVED, {"FW-10", "FW-17"}, {"FW-09"}),
        (Happening.IMPACT, {"FW-05", "FW-11", "FW-13", "FW-16"}, {"FW-10", "FW-14"}),
        (Happening.OTHER_SUPPLY, {"RC-01", "RC-06"}, {"RC-07"}),
        (Happening.POUR_STOPPED, {"JT-01", "JT-08", "CL-01"}, {"RB-04"}),
        (Happening.VERY_LATE_START, {"RB-04", "FW-17"}, set()),
    ],
)
def test_what_each_event_reopens(what, opened, kept):
    found = set(reopened_by(Happened(what=what, at=MON, by="engineer-1"), LIST).items)
    assert opened <= found
    assert not kept & found


@PRACTICE
def test_an_event_that_does_not_name_what_it_touched_reopens_all_that_it_could_have_touched():
    revision = reopened_by(Happened(what=Happening.NEW_REVISION, at=MON, by="engineer-1"), LIST)
    assert len(revision.items) == 100
    named = Happened(what=Happening.NEW_REVISION, at=MON, by="engineer-1", items=("RB-05",))
    assert reopened_by(named, LIST).items == ("RB-05",)
    trade = set(reopened_by(Happened(what=Happening.OTHER_TRADE, at=MON, by="engineer-1"), LIST).items)
    assert trade == {i.id for i in LIST.item if i.id[:2] in ("SV", "RB", "CV", "CL")}


@PRACTICE
def test_a_release_holds_for_one_pour_one_revision_one_list_and_one_day():
    assert valid(granted(), hours=24.0).valid
    late = valid(granted(), hours=24.1)
    assert not late.valid
    assert "CV-07" in late.reopened
    assert "RB-04" not in late.reopened
    assert "RB-04" in valid(granted(), hours=97.0).reopened
    assert "revision" in valid(granted(), revision="D").reasons[0]
    assert "pour" in valid(granted(), pour="L3").reasons[0]
    assert "version" in valid(granted(list_version="0" * 64)).reasons[0]
    assert not valid(granted(), hours=0.5).valid


@PRACTICE
def test_only_the_engineer_of_record_who_did_not_build_or_check_releases():
    assert "not named as engineer of record" in valid(granted(by="engineer-1")).reasons[0]
    assert may_release("eor-1", LIST, [], [], PEOPLE, setting=SETTING) == ()
    repair = PutRight(item="RB-04", by="eor-1", at=MON)
    assert "repaired" in may_release("eor-1", LIST, [], [repair], PEOPLE, setting=SETTING)[0]
    checked = answer("CL-01", by="eor-1")
    assert "earlier round" in may_release("eor-1", LIST, [checked], [], PEOPLE, setting=SETTING)[0]


@PRACTICE
def test_an_item_without_answer_is_not_looked_at_and_open():
    state = look(one("RB-03"), [])
    assert [(o.word, o.who) for o in state.open] == [(Word.NOT_LOOKED_AT, (Role.CONTRACTORS_ENGINEER,))]
    assert not state.complete


@PRACTICE
def test_answers_bring_what_the_item_asks_for():
    assert look(one("RB-03"), [answer("RB-03")]).open == ()
    assert "photo" in look(one("RB-03"), [answer("RB-03", photos=())]).open[0].why[0]
    assert "measured value" in look(one("RB-04"), [answer("RB-04")]).open[0].why[0]
    assert "document" in look(one("SV-01"), [answer("SV-01")]).open[0].why[0]


@PRACTICE
@pytest.mark.parametrize(
    ("item_id", "value", "why"),
    [
        ("RB-09", Value(value=950, unit="mm", planned=1000), None),
        ("RB-09", Value(value=949, unit="mm", planned=1000), "-51 mm is under its limit -50 mm"),
        ("RB-09", Value(value=1051, unit="mm", planned=1000), "51 mm is over its limit 50 mm"),
        ("RB-09", Value(value=950, unit="mm"), "drawing value is missing"),
        ("RB-09", Value(value=95, unit="cm", planned=100), "the value is in cm"),
        ("CV-01", Value(value=22, unit="mm"), "neither list nor answer has a limit"),
        ("CV-03", Value(value=22, unit="mm", low=20, high=30, limit_source="IS 456:2000, 12.3.2"), None),
        (
            "CV-03",
            Value(value=19, unit="mm", low=20, high=30, limit_source="IS 456:2000, 12.3.2"),
            "under its limit 20",
        ),
        (
            "CV-06",
            Value(value=1100, unit="mm", high=1200, limit_source="said on site"),
            "over its limit 1000",
        ),
    ],
)
def test_a_value_beyond_its_limit_or_without_one_never_closes_an_item(item_id, value, why):
    told = " ".join(w for o in look(one(item_id), [answer(item_id, value=value)]).open for w in o.why)
    if why is None:
        assert told == ""
    else:
        assert why in told


@PRACTICE
def test_nobody_passes_above_round_one_what_he_built():
    assert look(one("FW-06"), [answer("FW-06", number=1, by="foreman-1")], number=1).open == ()
    repair = PutRight(item="CL-01", by="engineer-1", at=MON - timedelta(hours=2))
    seen = answer("CL-01")
    state = look(one("CL-01"), [seen], [repair])
    assert "can't pass it above the first round" in state.open[0].why[0]
    assert state.open[0].not_by == ("engineer-1",)


@PRACTICE
def test_one_person_does_not_answer_an_item_in_two_rounds():
    both = (
        *PEOPLE,
        Person(name="two-posts", roles=(Role.CONTRACTORS_ENGINEER, Role.ENGINEER_OF_RECORD)),
    )  # fmt: skip
    answers = [answer("CL-01", by="two-posts"), answer("CL-01", number=3, by="two-posts", hours=1)]
    state = state_of_round(
        one("CL-01"), answers, [], MON + timedelta(hours=2), number=3, revision="C", people=both, setting=SETTING
    )  # fmt: skip
    assert "earlier round" in state.open[0].why[0]
    small = SETTING.model_copy(update={"two_posts_allowed": True})
    state = state_of_round(
        one("CL-01"), answers, [], MON + timedelta(hours=2), number=3, revision="C", people=both, setting=small
    )  # fmt: skip
    assert state.open == ()


@pytest.mark.source("IBC, 1703.1.1 and 1704 (agency independent of the contractor)")
def test_an_inspector_of_the_builders_firm_is_not_independent():
    assert look(one("CL-01"), [answer("CL-01", number=3, by="inspector-1")], number=3).open == ()
    state = look(one("CL-01"), [answer("CL-01", number=3, by="inspector-2")], number=3)
    assert "belongs to builder" in state.open[0].why[0]


@PRACTICE
def test_a_defect_is_put_right_and_seen_again_with_a_new_photo_by_whom_the_item_demands():
    item = one("RB-21")
    seen = answer("RB-21", word=Word.NOT_CONFORMING, remark="two links missing", photos=(1,))
    assert look(item, [seen]).open[0].word is Word.NOT_CONFORMING
    again = answer("RB-21", hours=2, photos=(2,), by="engineer-2")
    assert "nothing says that it was put right" in look(item, [seen, again]).open[0].why[0]
    repair = PutRight(item="RB-21", by="foreman-1", at=MON + timedelta(hours=1))
    assert look(item, [seen, again], [repair]).open == ()
    old_photo = answer("RB-21", hours=2, photos=(1,), by="engineer-2")
    assert "new photo" in look(item, [seen, old_photo], [repair]).open[0].why[0]
    last = look(
        item,
        [seen, again, answer("RB-21", number=3, by="inspector-1", hours=3, photos=(3,))],
        [repair],
        number=3,
    )
    assert last.open == ()


@PRACTICE
def test_a_repair_found_in_the_third_round_opens_second_and_third_at_that_place():
    item = one("RB-21")
    second = answer("RB-21")
    third = answer(
        "RB-21", number=3, by="inspector-1", hours=1, place="C2", word=Word.NOT_CONFORMING, remark="link open"
    )
    repair = PutRight(item="RB-21", by="foreman-1", at=MON + timedelta(hours=2), place="C2")
    assert [o.place for o in look(item, [second, third], [repair]).open] == ["C2"]
    assert look(item, [second, third], [repair], number=3).open[0].who[0] is Role.CONTRACTORS_ENGINEER
    seen_again = answer("RB-21", hours=3, place="C2", photos=(5,))
    assert look(item, [second, third, seen_again], [repair]).open == ()


@PRACTICE
def test_the_engineer_of_record_alone_decides_and_a_reason_is_needed():
    decided = answer("RB-21", word=Word.DECIDED, by="eor-1", remark="two links added beside, see sketch")
    assert look(one("RB-21"), [decided]).open == ()
    assert (
        "only the engineer of record"
        in look(one("RB-21"), [decided.model_copy(update={"by": "engineer-1"})]).open[0].why[0]
    )
    with pytest.raises(ValueError, match="needs a remark"):
        answer("RB-21", word=Word.DOES_NOT_APPLY)


@PRACTICE
def test_a_later_event_opens_a_closed_item_again_until_it_is_seen_once_more():
    rain = Happened(what=Happening.RAIN, at=MON + timedelta(hours=8), by="engineer-1")
    state = look(one("CL-01"), [answer("CL-01")], [rain])
    assert "rain" in state.open[0].why[0]
    assert look(one("CL-01"), [answer("CL-01"), answer("CL-01", hours=9, photos=(2,))], [rain]).open == ()
    assert look(one("CL-01"), [answer("CL-01")], [rain], hours=7).open == ()


@pytest.mark.source("BS 5975-1:2024, 13.1.4 (who may release a hold point)")
def test_a_hold_point_stands_until_its_own_post_releases_it_in_writing():
    item = one("FW-17")
    sure = answer("FW-17", documents=(photo(9),), by="tw-1")
    assert look(item, [sure]).holds_not_released[0].who is Role.TEMPORARY_WORKS
    release = HoldReleased(item="FW-17", by="tw-1", at=MON + timedelta(hours=1))
    assert look(item, [sure], [release]).holds_not_released == ()
    assert look(item, [sure], [release.model_copy(update={"by": "engineer-1"})]).holds_not_released
    assert look(item, [], [release]).holds_not_released[0].why == "released before anybody had looked at it"
    moved = Happened(what=Happening.PROP_MOVED, at=MON + timedelta(hours=2), by="foreman-2")
    assert "prop" in look(item, [sure], [release, moved]).holds_not_released[0].why


@pytest.mark.source("BS 5975:2019, 14.1.2 note (witness points)")
def test_a_missed_witness_point_is_written_as_such():
    item = one("RB-21")
    told = WitnessTold(
        item="RB-21", told="eor-1", by="engineer-1", at=MON, for_time=MON + timedelta(hours=30)
    )
    assert look(item, []).witness[0].says == "not told"
    assert look(item, [], [told], hours=20).witness[0].says == "told, time to come"
    absent = told.model_copy(update={"at": MON + timedelta(hours=31), "attended": False})
    assert look(item, [], [told, absent]).witness[0].says == "invited, did not attend"
    short = told.model_copy(update={"for_time": MON + timedelta(hours=12)})
    assert look(item, [], [short]).witness[0].says == "told too late"


@PRACTICE
def test_a_signature_stands_only_for_its_list_its_revision_and_what_it_has_seen():
    item = one("CL-01")
    sign = RoundSigned(
        round=2, by="engineer-1", at=MON + timedelta(hours=1), list_version=item.version, revision="C"
    )
    assert look(item, [answer("CL-01")], [sign]).complete
    assert not look(item, [answer("CL-01")], [sign.model_copy(update={"revision": "B"})]).complete
    assert not look(item, [answer("CL-01")], [sign.model_copy(update={"by": "foreman-2"})]).complete
    assert not look(item, [answer("CL-01", hours=2)], [sign]).complete
    rain = Happened(what=Happening.RAIN, at=MON + timedelta(hours=3), by="engineer-1")
    state = look(item, [answer("CL-01"), answer("CL-01", hours=4, photos=(2,))], [sign, rain])
    assert state.open == ()
    assert state.signed_by is None


@PRACTICE
def test_what_happens_at_the_very_moment_of_an_answer_or_signature_counts_against_it():
    rain = Happened(what=Happening.RAIN, at=MON, by="engineer-1")
    assert "rain" in look(one("CL-01"), [answer("CL-01")], [rain]).open[0].why[0]
    assert not valid(granted(), [rain]).valid
    item = one("FW-17")
    sure = answer("FW-17", documents=(photo(9),), by="tw-1")
    release = HoldReleased(item="FW-17", by="tw-1", at=MON + timedelta(hours=1))
    moved = Happened(what=Happening.PROP_MOVED, at=MON + timedelta(hours=1), by="foreman-2")
    assert look(item, [sure], [release, moved]).holds_not_released
    bad = answer("RB-21", word=Word.NOT_CONFORMING, remark="link open")
    same_time = answer("RB-21", photos=(2,), by="engineer-2")
    assert look(one("RB-21"), [bad, same_time]).open


@PRACTICE
def test_a_repair_before_the_defect_was_seen_is_not_its_repair():
    early = PutRight(item="RB-21", by="foreman-1", at=MON - timedelta(hours=1))
    bad = answer("RB-21", word=Word.NOT_CONFORMING, remark="link open")
    again = answer("RB-21", hours=2, photos=(2,), by="engineer-2")
    assert "nothing says that it was put right" in look(one("RB-21"), [bad, again], [early]).open[0].why[0]


@PRACTICE
def test_a_defect_does_not_vanish_by_saying_that_the_item_does_not_apply():
    bad = answer("RB-21", word=Word.NOT_CONFORMING, remark="link open")
    gone = answer(
        "RB-21", hours=2, word=Word.DOES_NOT_APPLY, remark="no joint here", photos=(2,), by="engineer-2"
    )
    assert "nothing says that it was put right" in look(one("RB-21"), [bad, gone]).open[0].why[0]
    assert look(one("RB-21"), [gone]).open == ()


@PRACTICE
def test_a_repair_waits_for_the_eye_of_the_post_that_closes_the_item():
    item = one("RB-24")  # cantilever top steel: the engineer of record closes it
    bad = answer("RB-24", word=Word.NOT_CONFORMING, remark="150 mm short", value=None)
    repair = PutRight(item="RB-24", by="foreman-1", at=MON + timedelta(hours=1))
    long = Value(value=1500, unit="mm", planned=1500)
    second = answer("RB-24", hours=2, photos=(2,), value=long, by="engineer-2")
    third = answer("RB-24", number=3, hours=3, photos=(3,), value=long, by="inspector-1")
    written = [bad, second, third]
    assert look(item, written, [repair]).open == ()
    waits = look(item, written, [repair], number=3).open[0]
    assert waits.who[0] is Role.ENGINEER_OF_RECORD
    assert "not yet seen again by the engineer of record" in waits.why[0]
    seen = answer("RB-24", number=3, hours=4, photos=(4,), value=long, by="eor-1")
    assert look(item, [*written, seen], [repair], number=3).open == ()


@PRACTICE
def test_a_hold_point_is_not_released_by_its_fixer_nor_against_a_later_answer():
    item = one("FW-17")
    sure = answer("FW-17", documents=(photo(9),), by="tw-1")
    release = HoldReleased(item="FW-17", by="tw-1", at=MON + timedelta(hours=3))
    doubt = answer("FW-17", number=3, hours=4, word=Word.CANNOT_TELL, by="inspector-1")
    assert (
        look(item, [sure, doubt], [release]).holds_not_released[0].why == "a later answer speaks against it"
    )
    repair = PutRight(item="FW-17", by="tw-1", at=MON + timedelta(hours=1))
    again = answer("FW-17", hours=2, documents=(photo(9),), photos=(5,), by="engineer-1")
    assert (
        look(item, [again], [repair, release]).holds_not_released[0].why == "tw-1 did or repaired this work"
    )


@PRACTICE
def test_a_round_is_signed_by_one_who_built_nothing_and_for_the_list_in_use():
    item = one("CL-01")
    sign = RoundSigned(
        round=2, by="engineer-1", at=MON + timedelta(hours=2), list_version=item.version, revision="C"
    )
    other_repair = PutRight(item="CL-01", place="S9", by="engineer-1", at=MON - timedelta(hours=1))
    state = look(item, [answer("CL-01", by="engineer-2")], [sign, other_repair])
    assert state.not_signed_because == "engineer-1 carried out part of the work"
    old = look(item, [answer("CL-01")], [sign.model_copy(update={"list_version": "0" * 64})])
    assert old.not_signed_because == "it was signed with another version of the list"


@PRACTICE
def test_an_engineer_of_record_who_built_can_not_release():
    builder = Person(name="eor-2", roles=(Role.ENGINEER_OF_RECORD,), built=(Group.FORMWORK,))
    found = release_valid(
        granted(by="eor-2"), LIST, [], MON + timedelta(hours=2),
        pour="L2", revision="C", people=[*PEOPLE, builder], setting=SETTING,
    )  # fmt: skip
    assert "can't release it" in found.reasons[0]
    fixed = answer("CL-01", number=3, word=Word.PUT_RIGHT, by="eor-1")
    assert "repaired part of the work" in may_release("eor-1", LIST, [fixed], [], PEOPLE, setting=SETTING)[0]


@PRACTICE
def test_the_answer_put_right_is_a_repair_by_its_writer():
    bad = answer("CL-01", word=Word.NOT_CONFORMING, remark="wire on the deck")
    fixed = answer("CL-01", hours=1, word=Word.PUT_RIGHT, by="engineer-1", photos=(2,))
    assert "waits to be seen again" in look(one("CL-01"), [bad, fixed]).open[0].why[0]
    self_passed = answer("CL-01", hours=2, photos=(3,), by="engineer-1")
    assert "can't pass it" in look(one("CL-01"), [bad, fixed, self_passed]).open[0].why[0]
    assert look(one("CL-01"), [bad, fixed, answer("CL-01", hours=2, photos=(3,), by="engineer-2")]).open == ()
