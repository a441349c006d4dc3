"""The rounds on a phone: an answer a touch, a defect from found to seen again, a hold point under its passphrase, a reload."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from browser_page import PHONE, SAMPLE, Serve, Visit, keep, settled

from verifier.pipeline.inspection.rounds import rounds_of
from verifier.rounds.answers import Answer, Word
from verifier.rounds.items import Group, load_list
from verifier.rounds.setting import Person, usual_setting
from verifier.rounds.state import RoundState, open_at_start, state_of_round
from verifier.rounds.walk import next_open, of_group, walk_of

NOW = datetime.fromisoformat("2026-05-13T16:00:00+02:00")
PEOPLE = (
    Person(name="foreman-1", roles=("foreman",)),  # type: ignore[arg-type]  # pydantic reads the word
    Person(name="engineer-1", roles=("contractor's engineer",)),  # type: ignore[arg-type]
)


def stands(*answers: Answer) -> tuple[RoundState, tuple[Any, ...]]:
    checklist, setting = load_list(), usual_setting()
    state = state_of_round(
        checklist, answers, (), NOW, number=2, revision="A", people=PEOPLE, setting=setting
    )
    at_start = open_at_start(checklist, answers, (), NOW, people=PEOPLE, setting=setting)
    return state, walk_of(checklist, state, at_start, answers)


def answer(item: str, word: Word, minutes: int = -60, **more: Any) -> Answer:
    at = NOW + timedelta(minutes=minutes)
    return Answer(item=item, round=2, word=word, by="engineer-1", at=at, remark="seen so", **more)


def test_a_walk_tells_what_stands_what_waits_and_what_is_a_defect() -> None:
    _, walk = stands()
    assert {w.stands for w in walk} == {"not looked at"}
    assert not any(w.item.is_release for w in walk)
    assert len({w.item.id for w in walk}) == len(walk)
    plain_item = next(w.item for w in walk if w.item.evidence == ("yes_no",))
    other = next(w.item for w in walk if w.item.id != plain_item.id and w.item.group is plain_item.group)
    _, walk = stands(answer(plain_item.id, Word.CONFORMING), answer(other.id, Word.NOT_CONFORMING))
    by_id = {w.item.id: w for w in walk}
    assert by_id[plain_item.id].stands == "stands"
    assert by_id[other.id].stands == "defect"
    assert [w.item.id for w in of_group(walk, None)] == [other.id]
    assert {w.item.group for w in of_group(walk, Group.FORMWORK)} == {Group.FORMWORK}
    unsure = answer(plain_item.id, Word.CANNOT_TELL, minutes=-30)
    _, walk = stands(answer(plain_item.id, Word.CONFORMING), unsure)
    assert next(w for w in walk if w.item.id == plain_item.id).stands == "waits"
    assert next(w for w in walk if w.item.id == plain_item.id).said[0] == unsure  # newest first


def test_the_next_open_item_comes_after_this_one_and_then_from_the_front() -> None:
    _, walk = stands()
    ids = [w.item.id for w in walk]
    assert next_open(walk, None) == ids[0]
    assert next_open(walk, ids[0]) == ids[1]
    assert next_open(walk, ids[-1]) == ids[0]
    assert next_open((), None) is None


@pytest.fixture
def deck(as_found: Path, tmp_path: Path) -> Path:
    place = Path(shutil.copytree(as_found, tmp_path / "L2-east"))
    (place / "rounds.toml").write_text(
        '[[person]]\nname = "foreman-1"\nroles = ["foreman", "surveyor", "service trade"]\n', encoding="utf-8"
    )
    return place


def remark(page: Any) -> Any:
    """The field for a remark, once only one is drawn: while a person changes, the old one stands a moment beside the new."""
    field = ".st-key-round-item textarea"
    page.wait_for_function(f"document.querySelectorAll({field!r}).length === 1")
    return page.locator(field)


def pick(page: Any, label: str, option: str) -> None:
    page.get_by_label(label, exact=True).first.click()
    page.get_by_role("option", name=option).first.click()
    settled(page)


@pytest.mark.browser
def test_a_round_is_walked_on_a_phone(serve: Serve, visit: Visit, deck: Path) -> None:
    url = serve(deck)
    page = visit(f"{url}rounds?round=2&part=general", PHONE)
    pick(page, "Who are you?", "engineer-1")
    title = page.locator(".st-key-round-item h2").inner_text()
    remark(page).fill("Rubbish at the column")
    remark(page).blur()
    settled(page)
    page.reload()  # what was typed and not sent is there again
    page.wait_for_selector(".st-key-round-item h2")
    settled(page)
    assert page.locator(".st-key-round-item h2").inner_text() == title
    assert remark(page).input_value() == "Rubbish at the column"
    keep(page, "phone-round-item")
    page.get_by_role("button", name="No", exact=True).click()
    page.get_by_text("In the record").wait_for()
    settled(page)
    assert page.locator(".st-key-round-item h2").inner_text() != title  # the next open item is there
    item = title.split(" ")[0]
    said = [a for a in rounds_of(deck).answers if a.item == item]
    assert [(a.word, a.remark) for a in said] == [(Word.NOT_CONFORMING, "Rubbish at the column")]
    page.get_by_role("button", name="Does not apply").click()  # without a reason nothing is recorded
    page.get_by_text("needs a remark that says why").wait_for()
    assert len(rounds_of(deck).answers) == 1

    page.get_by_text("Defects (1)").click()
    settled(page)
    page.get_by_role("button", name="It was put right").click()
    page.get_by_text("a new photo of the place is asked for").wait_for()
    page.set_input_files("input[type=file] >> nth=0", str(SAMPLE / "photos" / "s2-spot2-shaken.jpg"))
    page.get_by_text("kept; goes into the record with the answer").wait_for()
    page.reload()
    page.get_by_text("kept; goes into the record with the answer").wait_for()
    settled(page)
    keep(page, "phone-round-put-right")
    page.get_by_role("button", name="It was put right").click()
    page.get_by_text("In the record").wait_for()
    settled(page)
    repaired = rounds_of(deck).answers[-1]
    assert (repaired.item, repaired.word, len(repaired.photos)) == (item, Word.PUT_RIGHT, 1)
    assert page.get_by_text("Defects (1)").count() == 0  # it waits to be seen again


@pytest.mark.browser
def test_two_people_walk_two_rounds_at_once(serve: Serve, visit: Visit, deck: Path) -> None:
    url = serve(deck)
    foreman = visit(f"{url}rounds?round=1&part=general", PHONE)
    engineer = visit(f"{url}rounds?round=2&part=general", PHONE)
    pick(foreman, "Who are you?", "foreman-1")
    pick(engineer, "Who are you?", "engineer-1")
    for page in (foreman, engineer):
        page.get_by_role("button", name="Can't tell").click()
    for page in (foreman, engineer):
        page.get_by_text("In the record").wait_for()
    assert sorted((a.by, a.round) for a in rounds_of(deck).answers) == [("engineer-1", 2), ("foreman-1", 1)]
