"""The third person, years later, on phone and desk: what was when, what is proven, what changed, and what to take away."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path
from typing import Any

import pytest
from browser_page import DESK, PHONE, Serve, Visit, keep, settled
from disputed_pour import disputed_pour
from stamp_authority import make_authority
from test_access import faults

from verifier.record.audit import HOLDS, OPEN, audit
from verifier.record.audit.tree import read_head, read_proof
from verifier.record.merkle import leaf_hash, root_from_inclusion

pytestmark = pytest.mark.browser
PARTS = ("originals", "story", "proven", "changed", "take")


@pytest.fixture(scope="module")
def disputed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("disputed") / "L2-east"
    disputed_pour(place, make_authority(tmp_path_factory.mktemp("tsa") / "a"))
    return place


def taken(page: Any, button: str, to: Path) -> Path:
    with page.expect_download() as found:
        page.get_by_role("button", name=button, exact=True).first.click()
    found.value.save_as(to)
    return to


@pytest.mark.parametrize(("size", "name"), [(PHONE, "phone"), (DESK, "desk")])
def test_each_side_of_the_record(
    serve: Serve, visit: Visit, disputed: Path, size: tuple[int, int], name: str
) -> None:
    """Every side fits the screen, says what it must, and keeps to WCAG as far as axe-core can judge, in both languages."""
    says = {
        "originals": ("time stamp over its record", "claimed; contradicts the bracket", "claimed; doubtful"),
        "story": ("a scale board was issued for this pour", "the pour was checked as a whole"),
        "proven": ("Are the bytes intact?", "not proven", "What no record can prove", "staged scene"),
        "changed": ("Verdicts that changed", "was not judged", "Added: "),
        "take": ("Sealed bundle for a third person", "The story as a PDF", "Bundle of this element"),
    }
    for part in PARTS:
        page = visit(f"{serve(disputed)}timeline?part={part}", size)
        settled(page)
        if part == "proven" and page.get_by_role("button", name="Check everything now").count():
            page.get_by_text("This device has not joined the record.").wait_for()
            page.get_by_role("button", name="Check everything now").click()
            page.get_by_text("Are the bytes intact?").wait_for()
            settled(page)
        text = page.inner_text("[data-testid=stMain]")
        assert [s for s in says[part] if s not in text] == [], part
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], part
        assert faults(page) == [], part
        keep(page, f"{name}-record-{part}")
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.goto(f"{serve(disputed)}timeline?part={part}&language=de")
        page.wait_for_selector("h1")
        settled(page)
        assert page.evaluate("document.documentElement.lang") == "de"
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], part
        assert faults(page) == [], part


GERMAN = ("", "findings?finding=S1/B1/single-gap/1", "decision", "rounds", "timeline?part=proven")
ENGLISH = re.compile(r"\b(the|and|of|with|are|is|not|by|or|has)\b")
"""Small words of English that German does not have."""
OTHERS = re.compile(r"Skip to main content|pre-pour meeting of \S+, item \d|a test of the steel alone")
"""Words that are not ours: of the library that draws the page, and of the people of the pour."""


def test_on_the_german_page_nothing_is_left_in_english(serve: Serve, visit: Visit, disputed: Path) -> None:
    """What the core wrote - reasons, findings, facts of the audit, items of the rounds - stands in German on every view."""
    for view in GERMAN:
        page = visit(f"{serve(disputed)}{view}{'&' if '?' in view else '?'}language=de", PHONE)
        settled(page)
        shown = OTHERS.sub("", page.inner_text("body"))
        assert [line for line in shown.splitlines() if ENGLISH.search(line)] == [], view


def test_the_choice_stays_in_the_address(serve: Serve, visit: Visit, disputed: Path) -> None:
    page = visit(f"{serve(disputed)}timeline?element=S2", DESK)
    settled(page)
    text = page.inner_text("[data-testid=stMain]")
    assert "s2-spot1.jpg" in text
    assert "s1-spot1.jpg" not in text
    page.get_by_text("What happened", exact=True).click()
    settled(page)
    assert re.search(r"part=story.*element=S2|element=S2.*part=story", page.url)
    page.get_by_label("Kind", exact=True).click()
    page.get_by_role("option", name="a photo was received", exact=True).click()
    settled(page)
    page.reload()
    settled(page)
    text = page.inner_text("[data-testid=stMain]")
    assert "a photo was received" in text
    assert "a requirement was compared" not in text
    assert "kind=photo" in page.url


def test_a_head_held_outside_is_compared(serve: Serve, visit: Visit, disputed: Path) -> None:
    page = visit(f"{serve(disputed)}timeline?part=take", DESK)
    settled(page)
    short = re.search(r"\d+(-[A-Z2-7]{4}){4}", page.inner_text("[data-testid=stMain]"))
    assert short is not None
    size, _, rest = short[0].partition("-")
    for held, says in (
        (short[0], "belong to this record"),
        (f"{size}-AAAA{rest[4:]}", "contradicts this record"),
    ):
        page = visit(f"{serve(disputed)}timeline?part=proven", DESK)
        settled(page)
        again = page.get_by_role("button", name="Check everything now")
        if again.count():
            again.click()
            settled(page)
        page.get_by_role("textbox", name="A head held outside, in its short form").fill(held)
        page.keyboard.press("Enter")
        page.get_by_text(says).first.wait_for()


def test_what_is_taken_away_holds_without_the_page(
    serve: Serve, visit: Visit, disputed: Path, tmp_path: Path
) -> None:
    """The part of one element, one photo's proof, and the story: each checked by something else than the page."""
    page = visit(f"{serve(disputed)}timeline?part=take", PHONE)
    settled(page)
    whole = taken(page, "Sealed bundle for a third person", tmp_path / "whole.zip")
    part = taken(page, "Bundle of this element", tmp_path / "s1.zip")
    story = taken(page, "The story as a PDF", tmp_path / "story.pdf")
    assert story.read_bytes().startswith(b"%PDF-1.7")
    for bundle, chain in ((whole, HOLDS), (part, OPEN)):
        outcome = audit(bundle)
        assert outcome.alarms == ()
        assert next(f.state for f in outcome.facts if f.topic == "chain") == chain
    with zipfile.ZipFile(whole) as archive:
        names = [n.partition("/")[2] for n in archive.namelist()]
        ledger = archive.read(next(n for n in archive.namelist() if n.endswith("data/ledger.jsonl")))
    assert [n for n in names if n.startswith("data/derived/record-6-s1-spot1-")]
    page = visit(f"{serve(disputed)}timeline", DESK)
    settled(page)
    page.get_by_text("Take this photo away").first.click()
    proof = taken(page, "Proof of its record", tmp_path / "one.tlog-proof").read_text(encoding="utf-8")
    note = proof.split("\n\n", 1)[1]
    head, found = read_head(note), read_proof(proof, note)
    assert head is not None
    assert found is not None
    index, hashes = found
    line = ledger.split(b"\n")[index]
    assert b"s1-spot1.jpg" in line
    assert root_from_inclusion(leaf_hash(line), index, head.size, hashes) == head.root
    assert b"s1-spot1" not in proof.encode()
