"""Rounds that are walked but not signed, on a phone: a defect closed with a new photo, hold points, a witness, the signature."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from browser_page import PHONE, SAMPLE, keep, served, settled

from verifier.cli.moved import ending_now, moved_sample
from verifier.cli.story import begin, play, steps
from verifier.pipeline.inspection.rounds import rounds_of
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey, enrol_person
from verifier.record.keys import device_signer
from verifier.rounds.answers import HoldReleased, RoundSigned, WitnessTold, Word

pytestmark = pytest.mark.browser
WORDS = "four plain garden words"


@pytest.fixture(scope="module")
def settings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("settings")


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory, settings: Path) -> Path:
    """The sample moved to now: every round has been answered, only the first is signed, no hold point is released."""
    home = tmp_path_factory.mktemp("rounds")
    place, now = home / "L2-east", datetime.now().astimezone()
    place.mkdir()
    sample = moved_sample(SAMPLE, home / "sample", ending_now(steps(SAMPLE)[2].at, now))
    begin(place, sample)
    step = steps(sample)[2]
    walks = tuple(w.model_copy(update={"signs": w.number == 1}) for w in step.walk)
    play(
        place,
        sample,
        step.model_copy(update={"walk": walks, "hold": (), "enrol": ()}),
        device_signer(home / "key"),
    )
    keys = settings / "verifier" / "keys"
    keys.mkdir(parents=True)
    first = OwnKey(keys / "reviewer-1", WORDS)
    enrol_person(place, "reviewer-1", (), first, Act("reviewer-1", now))
    enrol_person(
        place, "engineer-1", (), OwnKey(keys / "engineer-1", WORDS), Act("engineer-1", now), by=first
    )
    return place


@pytest.fixture(scope="module")
def url(walked: Path, settings: Path) -> Iterator[str]:
    with served(walked, settings) as address:
        yield address


def pick(page: Any, label: str, option: str) -> None:
    page.get_by_label(label, exact=True).first.click()
    page.get_by_role("option", name=option).first.click()
    page.wait_for_url(f"**who={option}**")
    settled(page)


def answered(page: Any, button: str, photo: str) -> None:
    """Choose a photo and answer with it."""
    page.set_input_files("input[type=file] >> nth=0", str(SAMPLE / "photos" / photo))
    page.get_by_text("kept; goes into the record with the answer").wait_for()
    settled(page)
    page.get_by_role("button", name=button).click()
    page.get_by_text("kept; goes into the record with the answer").wait_for(state="detached")
    page.get_by_text("In the record").first.wait_for()
    settled(page)


def phone(page: Any) -> None:
    """Back to the size of a phone after a picture of the whole view."""
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    settled(page)


def test_a_witness_is_told_a_hold_point_released_and_the_round_signed(
    visit: Any, url: str, walked: Path
) -> None:
    page = visit(f"{url}rounds?round=2&who=engineer-1", PHONE)
    page.get_by_text("Hold points not released").wait_for()
    keep(page, "phone-rounds-before-signing")
    phone(page)

    page.get_by_text("Witness points (").click()
    page.get_by_label("Who was told").fill("inspector of the owner")
    page.get_by_role("button", name="They were told").click()
    page.get_by_text("It is in the record.").wait_for()
    settled(page)
    told = [e for e in rounds_of(walked).events if isinstance(e, WitnessTold)]
    assert [(e.told, e.by, e.attended) for e in told] == [("inspector of the owner", "engineer-1", None)]
    assert told[0].for_time > datetime.now().astimezone()

    def release(item: str, words: str) -> None:
        form = page.locator(f".st-key-hold-{item}-passphrase")
        if not form.is_visible():
            page.get_by_text("Release this hold point").first.click()
        form.locator("input").fill(words)
        page.get_by_role("button", name="Release this hold point").first.click()

    first = "FW-17"
    release(first, "not the right words")
    page.get_by_text("passphrase doesn't open this key").wait_for()
    keep(page, "phone-hold-point-refused")
    phone(page)
    assert not [e for e in rounds_of(walked).events if isinstance(e, HoldReleased)]
    release(first, WORDS)
    page.locator(f".st-key-hold-{first}-passphrase").wait_for(state="detached")
    settled(page)
    released = [e for e in rounds_of(walked).events if isinstance(e, HoldReleased)]
    assert [(e.item, e.by) for e in released] == [(first, "engineer-1")]

    page.get_by_role("button", name="Sign this round").click()
    page.get_by_text("signed by engineer-1").first.wait_for()
    keep(page, "phone-round-signed")
    signed = [e for e in rounds_of(walked).events if isinstance(e, RoundSigned) and e.round == 2]
    assert [e.by for e in signed] == ["engineer-1"]


def test_a_defect_is_closed_with_a_new_photo_and_seen_again_by_another(
    visit: Any, url: str, walked: Path
) -> None:
    reviewer = visit(f"{url}rounds?round=3&who=reviewer-1&part=general&item=CL-01", PHONE)
    reviewer.locator(".st-key-round-item h2").get_by_text("CL-01").wait_for()
    reviewer.locator(".st-key-round-item textarea").fill("Sawdust in the corner")
    reviewer.locator(".st-key-round-item textarea").blur()
    settled(reviewer)
    reviewer.get_by_role("button", name="No", exact=True).click()
    reviewer.get_by_text("In the record").wait_for()
    settled(reviewer)
    page = visit(f"{url}?element=S1", PHONE)
    page.get_by_text("What is next", exact=True).wait_for()
    keep(page, "phone-defect-on-top")
    phone(page)
    page.get_by_role("link", name="Go to the rounds").first.click()
    page.wait_for_url("**rounds**")
    settled(page)
    page.locator(".st-key-round-item h2").get_by_text("CL-01").wait_for()
    keep(page, "phone-defect-opened")
    phone(page)
    pick(page, "Who are you?", "foreman-1")
    page.get_by_role("button", name="It was put right").click()
    page.get_by_text("a new photo of the place is asked for").wait_for()
    answered(page, "It was put right", "s1-spot1.jpg")
    keep(page, "phone-defect-put-right")
    repaired = rounds_of(walked).answers[-1]
    assert (repaired.item, repaired.word, repaired.by) == ("CL-01", Word.PUT_RIGHT, "foreman-1")
    assert len(repaired.photos) == 1
    # The one who closes this item sees it again, then the last round does; each with a photo of the same place.
    phone(page)
    page.goto(f"{url}rounds?round=3&who=engineer-1&item=CL-01")
    page.get_by_text("waits to be seen again").wait_for()
    keep(page, "phone-defect-seen-again")
    phone(page)
    answered(page, "Yes, conforms", "s1-spot2.jpg")
    reviewer.goto(f"{url}rounds?round=3&who=reviewer-1&item=CL-01")
    reviewer.locator(".st-key-round-item h2").get_by_text("CL-01").wait_for()
    settled(reviewer)
    answered(reviewer, "Yes, conforms", "s1-spot4.jpg")
    seen = rounds_of(walked).answers[-1]
    assert (seen.item, seen.word, seen.by) == ("CL-01", Word.CONFORMING, "reviewer-1")
    state = next(s for s in rounds_of(walked).states(datetime.now().astimezone()) if s.number == 3)
    assert [o for o in state.open if o.item == "CL-01"] == []
