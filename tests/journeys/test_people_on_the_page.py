"""The site engineer and the reviewer on the real page, on phone and desk, in headless Chromium with real storage."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from browser_page import DESK, PHONE, SAMPLE, Serve, Visit, keep, settled

from verifier.pipeline.people.acting import Act
from verifier.pipeline.review.reviewing import say
from verifier.pipeline.review.said import About, AskedSpot, Remark, review_of
from verifier.store import sha256_of

pytestmark = pytest.mark.browser


def choose(page: Any, label: str, option: str) -> None:
    page.get_by_label(label, exact=True).first.click()
    page.get_by_role("option", name=option, exact=True).click()


def page_options(page: Any) -> list[str]:
    """What can be pointed at on the photo of the finding that is opened."""
    page.get_by_label("Point at one value on the photo", exact=True).first.click()
    names = page.get_by_role("option").all_inner_texts()
    page.keyboard.press("Escape")
    return list(names)


def test_the_site_engineer_sees_what_is_missing_sends_photos_and_reads_each_verdict(
    serve: Serve, visit: Visit, pour: Path, tmp_path: Path
) -> None:
    broken = tmp_path / "broken.jpg"
    broken.write_text("this is no photo")
    page = visit(serve(pour), PHONE)
    page.get_by_text("No-go", exact=True).wait_for()
    page.get_by_text("What is next").wait_for()
    assert "2 of 4" in page.inner_text("body")
    assert "S1 B1, spot 3:" in page.inner_text("body")
    keep(page, "phone-to-do")
    page.set_input_files(
        "input[type=file]",
        [broken, SAMPLE / "photos" / "s2-spot3.jpg", SAMPLE / "photos" / "s1-spot3-corrected.jpg"],
    )
    page.get_by_role("button", name="Send photos").click()
    page.get_by_text("counts for S2, spot 3").wait_for()
    page.get_by_text("counts for S1, spot 3").wait_for()
    page.get_by_text("not taken; the other photos went on").wait_for()
    page.get_by_text(
        "3 of 4"
    ).first.wait_for()  # each verdict shows first, then the whole pour is checked again
    settled = "[data-test-script-state=notRunning]"
    page.wait_for_selector(settled)
    assert "S1 B1, spot 3:" not in page.inner_text("body")
    keep(page, "phone-photos-sent")
    page.reload()
    page.wait_for_selector("h1")
    page.get_by_text("3 of 4").first.wait_for()


def test_a_reading_typed_survives_a_reload_is_asked_about_undone_and_sent(
    serve: Serve, visit: Visit, pour: Path
) -> None:
    page = visit(serve(pour), PHONE)

    def type_reading(value: str) -> None:
        page.get_by_label("Reading, mm", exact=True).fill(value)
        page.get_by_label("Reading, mm", exact=True).press("Enter")
        page.get_by_role("button", name="Add this reading").click()

    type_reading("75")  # 75 cm over five gaps, read as mm
    page.get_by_text("please look again").wait_for()
    keep(page, "phone-reading-asked")
    page.get_by_role("button", name="Let me correct it").click()
    page.get_by_text("please look again").wait_for(state="hidden")
    type_reading("748")
    page.get_by_text("Typed, not yet sent: 1").wait_for()
    page.reload()
    page.get_by_text("Typed, not yet sent: 1").wait_for()
    type_reading("752")
    page.get_by_text("Typed, not yet sent: 2").wait_for()
    keep(page, "phone-readings-typed")
    page.get_by_role("button", name="Undo the last one").click()
    page.get_by_text("Typed, not yet sent: 1").wait_for()
    page.get_by_role("button", name="Send readings").click()
    page.get_by_text("Typed, not yet sent").wait_for(state="hidden")
    from verifier.pipeline.folder.evidence import evidence_in

    sent = evidence_in(pour, ("S1", "S2")).tapes[-1]
    assert sent.name.startswith("typed-")
    text = sent.path.read_text(encoding="utf-8-sig")
    assert ",748," in text
    assert ",752," not in text


def test_the_reviewer_goes_from_the_worst_finding_to_the_pixels_and_measures(
    serve: Serve, visit: Visit, as_found: Path
) -> None:
    url = serve(as_found)
    page = visit(f"{url}findings", DESK, "text=to settle")
    assert "non-conforming" in page.inner_text("body").split("Open this finding")[0]
    keep(page, "desk-findings")
    page.get_by_role("button", name="Open this finding").first.click()
    page.wait_for_url("**finding=**")
    page.get_by_text("agreed for the project").first.wait_for()
    page.get_by_text("What a deviation does").first.wait_for()
    page.locator("[data-testid=stImage] img").first.wait_for()
    keep(page, "desk-finding-opened")
    choose(page, "Point at one value on the photo", page_options(page)[1])
    page.wait_for_url("**gap=**")
    page.get_by_text("from above, grid of 100 mm").wait_for(state="hidden")
    page.locator("[data-testid=stImage] img").first.wait_for()
    keep(page, "desk-finding-gap-on-the-photo")
    linked = page.url
    page.goto(linked)
    page.locator("[data-testid=stImage] img").first.wait_for()
    assert page.url == linked  # a link leads to the same finding and the same gap
    page.get_by_text("See it on the photo").first.click()
    page.get_by_text("s1-spot3-as-found.jpg").first.wait_for()
    page.locator("[data-testid=stImage] img").first.wait_for()
    assert re.search(r"photo=[0-9a-f]{16}", page.url)
    keep(page, "desk-photo")
    page.get_by_text("from above, grid of 100 mm").click()
    page.wait_for_url("**way=above**")
    keep(page, "desk-photo-from-above")
    page.get_by_text("measure in it").click()
    sheet = page.locator(".sheet")
    sheet.locator("img").wait_for()
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
    box = sheet.bounding_box()
    page.mouse.click(box["x"] + 0.35 * box["width"], box["y"] + 0.4 * box["height"])
    page.mouse.click(box["x"] + 0.55 * box["width"], box["y"] + 0.5 * box["height"])
    said = page.get_by_text(re.compile(r"^\d+(\.\d)? ± \d+(\.\d)? mm$"))
    said.wait_for()
    before = said.inner_text()
    keep(page, "desk-measured")
    page.locator(".point").first.focus()
    for _ in range(3):
        page.keyboard.press("Shift+ArrowLeft")
    page.get_by_text(before, exact=True).wait_for(state="hidden")
    said.wait_for()
    longer = float(said.inner_text().split(" ")[0]) - float(before.split(" ")[0])
    assert 5 < longer < 60  # thirty pixels of a photo with about 0.7 mm a pixel, mostly along the line


def test_the_reviewer_goes_through_findings_by_keys_filters_sorts_and_links(
    serve: Serve, visit: Visit, as_found: Path
) -> None:
    page = visit(f"{serve(as_found)}findings?show=all&order=place&rule=single-gap&element=S2", DESK)
    page.get_by_role("button", name="Open this finding").first.wait_for()
    shown = [t.split(":")[0] for t in page.locator("strong").all_inner_texts() if t.startswith("S")]
    assert shown
    assert all(t.startswith("S2") for t in shown)
    assert shown == sorted(shown)
    keep(page, "desk-findings-filtered")
    page.get_by_role("button", name="Open this finding").first.click()
    page.wait_for_url("**finding=**")
    page.locator("h1", has_text=shown[0]).wait_for()
    settled(page)
    page.locator("h1").click()
    page.keyboard.press("Alt+ArrowRight")
    page.locator("h1", has_text=shown[1]).wait_for()
    settled(page)
    page.keyboard.press("Alt+ArrowLeft")
    page.locator("h1", has_text=shown[0]).wait_for()
    page.wait_for_url("**order=place**")
    page.wait_for_url("**rule=single-gap**")
    settled(page)
    page.keyboard.press("Alt+ArrowUp")
    page.get_by_role("button", name="Tables for a spreadsheet").wait_for()
    page.wait_for_url(lambda address: "finding=" not in address)


def test_the_reviewer_on_a_phone_opens_the_worst_finding(serve: Serve, visit: Visit, as_found: Path) -> None:
    page = visit(f"{serve(as_found)}findings", PHONE, "text=to settle")
    page.get_by_role("button", name="Open this finding").first.click()
    page.locator("[data-testid=stImage] img").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
    keep(page, "phone-finding-opened")


def test_a_pour_in_inches_is_shown_in_inches(serve: Serve, visit: Visit, pour: Path) -> None:
    toml = (pour / "pour.toml").read_text(encoding="utf-8")
    (pour / "pour.toml").write_text(toml.replace("[pour]", '[pour]\nunits = "inch"', 1), encoding="utf-8")
    page = visit(f"{serve(pour)}findings?show=all&rule=single-gap", DESK, "text=Open this finding")
    assert re.search(r"\d\.\d+ ± 0\.\d+ in\b", page.inner_text("body"))
    assert not re.search(r"\d ± \d\S* mm\b", page.inner_text("body"))
    keep(page, "desk-findings-inches")


def test_the_reviewer_says_what_is_doubted_where_it_is_seen(serve: Serve, visit: Visit, pour: Path) -> None:
    page = visit(f"{serve(pour)}photos?way=remarks", DESK, ".sheet img")
    box = page.locator(".sheet").bounding_box()
    page.mouse.click(box["x"] + 0.4 * box["width"], box["y"] + 0.3 * box["height"])
    page.locator(".point:visible").wait_for()
    page.get_by_label("Your words").first.fill("Is this bar tied? ![x](http://elsewhere.example/x.png)")
    page.get_by_role("button", name="Remark", exact=True).click()
    page.get_by_text("Is this bar tied? ![x](http://elsewhere.example/x.png)", exact=True).wait_for()
    note = page.locator(".note")
    note.wait_for()
    keep(page, "desk-photo-remark")
    number = note.inner_text()
    page.get_by_text("ask for a further spot", exact=True).click()
    page.get_by_label("Name of the further spot").fill("9")
    page.get_by_label("Your words").first.fill("Corner beside the shaft")
    page.get_by_role("button", name="Ask for it", exact=True).click()
    settled(page)
    page.get_by_text("send it back", exact=True).click()
    settled(page)
    page.get_by_label("Passphrase of your key", exact=True).fill("not the right one")
    page.get_by_label("Your words").first.fill("Blocks are missing")
    page.get_by_role(
        "button", name="Send back", exact=True
    ).click()  # straight from the words: the touch counts
    page.get_by_text("Not recorded", exact=True).wait_for()
    settled(page)
    assert page.get_by_label("Passphrase of your key", exact=True).input_value() == ""
    page.reload()
    page.get_by_text("send it back", exact=True).click()
    page.get_by_label("Passphrase of your key", exact=True).wait_for()
    settled(page)
    assert (
        page.get_by_label("Your words").first.input_value() == "Blocks are missing"
    )  # nothing typed is lost
    assert page.get_by_label("Passphrase of your key", exact=True).input_value() == ""
    keep(page, "desk-photo-send-back-refused")
    review = review_of(pour)
    assert [type(e.word).__name__ for e in review.entries] == ["Remark", "AskedSpot"]
    assert str(review.entries[0].seq) == number
    assert review.asked_spots[0].spot == "9"
    assert not [url for url in page.asked if "elsewhere" in url]
    engineer = visit(serve(pour), PHONE)
    engineer.get_by_text("S1", exact=False).first.wait_for()
    engineer.goto(f"{serve(pour)}photos")
    engineer.get_by_text("Answer", exact=True).first.click()
    engineer.get_by_label("Your words").first.fill("Tied now.")
    engineer.get_by_role("button", name="Answer", exact=True).click()
    engineer.get_by_text(f"Tied now. (record {number})").wait_for()
    keep(engineer, "phone-photo-answered")


def test_the_reviewer_keeps_an_own_measurement(serve: Serve, visit: Visit, pour: Path) -> None:
    page = visit(f"{serve(pour)}photos?way=points", DESK, ".sheet img")
    box = page.locator(".sheet").bounding_box()
    page.mouse.click(box["x"] + 0.35 * box["width"], box["y"] + 0.4 * box["height"])
    page.mouse.click(box["x"] + 0.55 * box["width"], box["y"] + 0.5 * box["height"])
    page.get_by_label("What you measured").fill("two gaps beside the board")
    page.get_by_role("button", name="Put it into the record as mine").click()
    page.get_by_text("two gaps beside the board:", exact=False).first.wait_for()
    keep(page, "desk-own-measurement")
    (entry,) = review_of(pour).entries
    assert entry.person == "reviewer-1"


def test_two_people_on_one_pour_see_each_others_work(serve: Serve, visit: Visit, pour: Path) -> None:
    url = serve(pour)
    engineer, reviewer = visit(url, PHONE), visit(f"{url}photos", DESK)
    assert "s2-spot3.jpg" not in reviewer.inner_text("body")
    engineer.set_input_files("input[type=file]", [SAMPLE / "photos" / "s2-spot3.jpg"])
    engineer.get_by_role("button", name="Send photos").click()
    engineer.get_by_text("counts for S2, spot 3").wait_for()
    reviewer.get_by_role("button", name="›").click()
    reviewer.get_by_text("s1-spot2.jpg").first.wait_for()
    for _ in range(6):
        reviewer.get_by_role("button", name="›").click()
        settled(reviewer)
    reviewer.get_by_text("s2-spot3.jpg").first.wait_for()


def test_the_third_person_reads_the_record_and_takes_it_away(
    serve: Serve, visit: Visit, as_found: Path, tmp_path: Path
) -> None:
    page = visit(f"{serve(as_found)}timeline?part=take", DESK)
    page.get_by_role("button", name="Sealed bundle for a third person").wait_for()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Sealed bundle for a third person").click()
    bundle = tmp_path / "bundle.zip"
    taken.value.save_as(bundle)
    from verifier.pipeline.sealing.recording import audit_bundle

    assert audit_bundle(bundle).alarms == ()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Tables for a spreadsheet").click()
    assert taken.value.suggested_filename == "L2-east.xlsx"


@pytest.mark.parametrize(("size", "name"), [(PHONE, "phone"), (DESK, "desk")])
def test_every_view_fits_its_screen(
    serve: Serve, visit: Visit, as_found: Path, size: tuple[int, int], name: str
) -> None:
    url = serve(as_found)
    for view in ("", "findings?show=all", "photos", "photos?way=points", "decision", "timeline"):
        page = visit(url + view, size)
        page.wait_for_timeout(500)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size[0], view
        small = page.evaluate(
            "[...document.querySelectorAll('button, a')].filter(e => e.offsetParent && e.offsetHeight < 24 && !e.matches('[data-testid=stSkipToContent]'))"
            ".map(e => e.outerHTML.slice(0, 120))"
        )
        assert small == [], view  # WCAG 2.2, 2.5.8: targets of at least 24 by 24 px
        nameless = page.evaluate(
            "[...document.querySelectorAll('img')].filter(e => !e.hasAttribute('alt')).length"
        )
        assert nameless == 0, view
        keep(page, f"{name}-{re.sub('[^a-z]+', '-', view) or 'to-do'}")


def test_foreign_text_neither_runs_nor_fetches(
    serve: Serve, visit: Visit, pour: Path, tmp_path: Path
) -> None:
    hostile = "<script>window.ran=1</script>![x](http://evil.invalid/x.png)"
    turned = "spot\u202egpj.3tops-1s.jpg"
    toml = (pour / "pour.toml").read_text(encoding="utf-8")
    toml = toml.replace('title = "Level 2, east bay"', f"title = '{hostile}'")
    (pour / "pour.toml").write_text(toml, encoding="utf-8")
    names = [
        f"{hostile.replace('/', '')}<img src=x onerror=window.ran=1>.jpg",
        turned,
        "[a](javascript:ran=1).jpg",
    ]
    (pour / "photos").mkdir(exist_ok=True)
    for number, name in enumerate(names):
        (pour / "photos" / name).write_text(f"no photo {number}", encoding="utf-8")
    says = f"{hostile} [press](javascript:window.ran=1) \u202egpj.exe <img src=//evil.invalid/y.png>"
    photo = sha256_of(SAMPLE / "photos" / "s1-spot1.jpg")
    about = About(original_sha256=photo, point_px=(300.0, 300.0), element="S1", spot="1")
    act = Act("reviewer-1", datetime.now().astimezone())
    say(pour, Remark(text=says, about=about), act)
    say(pour, AskedSpot(element="S1", spot="77", text=says, original_sha256=photo), act)
    url = serve(pour)
    for view in (
        "",
        f"photos?photo={photo[:16]}",
        f"photos?photo={photo[:16]}&way=remarks",
        "photos",
        "findings",
        "decision",
        "timeline",
        "timeline?part=story&kind=remark",
        "timeline?part=changed",
    ):
        page = visit(url + view, DESK)
        page.wait_for_timeout(600)
        elsewhere = [
            a for a in page.asked if not a.startswith((url, url.replace("http", "ws"), "data:", "blob:"))
        ]
        assert elsewhere == []
        body = page.inner_text("body")
        assert page.evaluate("window.ran") is None
        assert [asked for asked in page.asked if "evil" in asked or "javascript" in asked] == []
        assert "\u202e" not in body
        assert (
            page.evaluate(
                "[...document.querySelectorAll('a')].filter(a => a.href.startsWith('javascript')).length"
            )
            == 0
        )
        if view != "photos":
            assert "window.ran=1" in body
        if not view.startswith("photos"):
            assert "<script>" in body  # shown as what it is
    keep(page, "desk-foreign-text")
