"""What is typed or chosen and not yet sent: in two tabs of one person, after a reload, and by the keyboard alone."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from browser_page import DESK, PHONE, SAMPLE, Serve, Visit, keep, settled

from ui.parts import visits
from ui.parts.kept_text import joined
from verifier.pipeline.folder.evidence import evidence_in

pytestmark = pytest.mark.browser


def test_two_texts_are_put_together_and_each_stands_once() -> None:
    assert joined("north side", "crane until nine") == "north side\n\ncrane until nine"
    assert joined("north side, crane until nine", "crane until nine") == "north side, crane until nine"
    assert joined("crane", "crane until nine") == "crane until nine"
    assert joined("axis 4", "axis 5", "; ") == "axis 4; axis 5"


def test_a_passphrase_is_never_put_aside_with_what_was_typed(monkeypatch: pytest.MonkeyPatch) -> None:
    state: dict[str, object] = {
        "text-eor-1-refusal": "edge form is loose",
        f"refuse{visits.SECRET}": "four plain garden words",
        "reading-gaps": 5,
        "send": True,
    }
    monkeypatch.setattr(visits, "st", SimpleNamespace(session_state=state))
    visits._keep_typed()
    for key in [
        k for k in state if k != "_typed-before"
    ]:  # an idle visit shows none of these fields: Streamlit drops them
        del state[key]
    visits._give_back_typed()
    assert state == {"text-eor-1-refusal": "edge form is loose", "reading-gaps": 5}


def test_one_person_in_two_tabs_loses_nothing_in_either(serve: Serve, visit: Visit, pour: Path) -> None:
    one, other = visit(serve(pour), PHONE), visit(serve(pour), PHONE)  # both open before anything is typed

    def reading(page: Any, value: str) -> None:
        page.get_by_label("Reading, mm", exact=True).fill(value)
        page.get_by_label("Reading, mm", exact=True).press("Enter")
        page.get_by_role("button", name="Add this reading").click()
        page.get_by_text("Typed, not yet sent").wait_for()
        settled(page)

    def says(page: Any, text: str) -> None:
        page.get_by_label("What the reviewer should know").fill(text)
        page.get_by_label("What the reviewer should know").blur()
        settled(page)

    reading(one, "748")
    reading(other, "752")
    says(one, "Access from the north")
    says(other, "Crane until nine")
    field = other.get_by_label("What the reviewer should know")
    assert field.input_value() == "Crane until nine\n\nAccess from the north"
    reading(one, "750")
    for page in (one, other):
        page.reload()
        page.get_by_text("Typed, not yet sent: 3").wait_for()
        settled(page)
        kept = page.get_by_label("What the reviewer should know").input_value()
        assert kept == "Crane until nine\n\nAccess from the north"
    keep(other, "phone-two-tabs")
    one.get_by_role("button", name="Send readings").click()
    one.get_by_text("Typed, not yet sent").wait_for(state="hidden")
    text = evidence_in(pour, ("S1", "S2")).tapes[-1].path.read_text(encoding="utf-8-sig")
    assert all(f",{value}," in text for value in (748, 752, 750))


def test_photos_chosen_and_not_sent_stay_and_can_be_left_out(serve: Serve, visit: Visit, pour: Path) -> None:
    page = visit(serve(pour), PHONE)
    names = ("s2-spot3.jpg", "s1-spot3-corrected.jpg", "s2-spot4-overcast.jpg")
    page.set_input_files("input[type=file]", [SAMPLE / "photos" / name for name in names])
    page.get_by_text("Chosen, not sent: 3").wait_for()
    keep(page, "phone-photos-chosen")
    assert len(evidence_in(pour, ("S1", "S2")).photos) == 7  # what only waits is no evidence
    page.reload()
    page.get_by_text("Chosen, not sent: 3").wait_for()
    settled(page)
    page.get_by_text("Which ones", exact=True).click()
    page.get_by_role("button", name="Leave out", exact=True).last.wait_for()
    settled(page)
    other = visit(serve(pour), PHONE)  # a second tab shows the same, and what was left out is gone in both
    other.get_by_text("Chosen, not sent: 3").wait_for()
    page.get_by_role("button", name="Leave out", exact=True).last.click()
    page.get_by_text("Chosen, not sent: 2").wait_for()
    settled(page)
    keep(page, "phone-photos-chosen-listed")
    other.get_by_role("button", name="Send photos (3)").click()
    other.get_by_text("All answered: 2").wait_for()
    settled(other)
    assert other.get_by_text("Chosen, not sent").count() == 0
    sent = [photo.name for photo in evidence_in(pour, ("S1", "S2")).photos[7:]]
    assert sorted(sent) == sorted(names[:2])


def test_points_are_typed_by_who_works_with_the_keyboard_alone(
    serve: Serve, visit: Visit, as_found: Path
) -> None:
    page = visit(f"{serve(as_found)}photos?way=points", DESK, ".sheet img")
    page.get_by_text("Type the points").click()
    for label, value in (("Point 1, x, px", "840"), ("Point 1, y, px", "720"), ("Point 2, x, px", "1320")):
        page.get_by_label(label, exact=True).fill(value)
    page.get_by_role("button", name="Set these points").click()
    page.get_by_text("Fill in every number first").wait_for()
    page.get_by_label("Point 2, y, px", exact=True).fill("900")
    page.get_by_role("button", name="Set these points").click()
    said = page.get_by_text(re.compile(r"^\d+(\.\d)? ± \d+(\.\d)? mm$"))
    said.wait_for()
    page.get_by_text("(840, 720) - (1320, 900) px", exact=False).wait_for()
    assert page.locator(".point:visible").count() == 2
    keep(page, "desk-points-typed")
