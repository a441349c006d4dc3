"""Between deck and desk: handed over for review, asked back, answered with a new photo; in headless Chromium."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from browser_page import DESK, PHONE, SAMPLE, Serve, Visit, keep, settled

from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.enrolling import OwnKey, enrol_person
from verifier.pipeline.review.reviewing import say, send_back
from verifier.pipeline.review.said import About, AskedSpot, Remark, SentBack, review_of
from verifier.store import sha256_of

pytestmark = pytest.mark.browser


def asked_back(pour: Path) -> int:
    """A remark on a place of a photo, a further spot, and an item sent back under the reviewer's key."""
    act = Act("reviewer-1", datetime.now().astimezone())
    photo = sha256_of(SAMPLE / "photos" / "s1-spot1.jpg")
    about = About(original_sha256=photo, point_px=(900.0, 700.0), element="S1", spot="1")
    say(pour, Remark(text="Is this bar tied?", about=about), act)
    say(pour, AskedSpot(element="S2", spot="9", text="Corner beside the shaft"), act)
    key = OwnKey(pour.parent / "reviewer-1", "four plain garden words")
    enrol_person(pour, "reviewer-1", (), key, act)
    word = SentBack(
        text="No block is seen here.", about=about.model_copy(update={"point_px": (1200.0, 500.0)})
    )
    return send_back(pour, word, act, key.opened())


def test_what_the_reviewer_wants_stands_on_top_and_one_touch_answers_it(
    serve: Serve, visit: Visit, pour: Path
) -> None:
    back = asked_back(pour)
    page = visit(serve(pour), PHONE)
    page.get_by_text("The reviewer wants this from you: 3").wait_for()
    first = page.locator(f".st-key-wanted-{back}")
    first.locator("[data-testid=stImage] img").wait_for()
    top = page.get_by_text("The reviewer wants this from you: 3").bounding_box()["y"]
    assert top < page.get_by_text("What is next", exact=True).bounding_box()["y"]
    keep(page, "phone-wanted-by-the-reviewer")
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    first.locator("input[type=file]").set_input_files(SAMPLE / "photos" / "s1-spot4.jpg")
    page.get_by_text("Answered; it waits for reviewer-1 to look at it again.").wait_for()
    page.get_by_text("The reviewer wants this from you: 2").wait_for()
    keep(page, "phone-answered-with-a-photo")
    (answer,) = [e for e in review_of(pour).entries if getattr(e.word, "answers", None) == back]
    assert answer.person == "engineer-1"
    assert answer.word.about.original_sha256 == sha256_of(SAMPLE / "photos" / "s1-spot4.jpg")


def test_a_pour_is_handed_over_seen_in_the_queue_and_taken_back(
    serve: Serve, visit: Visit, pour: Path
) -> None:
    url = serve(pour.parent)
    page = visit(f"{url}missing?pour={pour.name}", PHONE)
    page.get_by_label("What the reviewer should know").fill("Access from the north")
    page.get_by_role("button", name="Hand over for review").click()
    page.get_by_role("button", name="Take it back").wait_for()
    keep(page, "phone-handed-over")
    desk = visit(f"{url}pours", DESK)
    desk.get_by_text("Handed over for review by engineer-1").wait_for()
    desk.get_by_text("Access from the north").wait_for()
    keep(desk, "desk-queue-handed-over")
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    settled(page)
    page.get_by_label("Why it is taken back").fill("A bar was moved")
    page.get_by_role("button", name="Take it back").click()
    page.get_by_text("Taken back from review by engineer-1").wait_for()
    desk.goto(f"{url}findings?pour={pour.name}")
    desk.get_by_text("Taken back from review by engineer-1").wait_for()
    keep(desk, "desk-findings-taken-back")
