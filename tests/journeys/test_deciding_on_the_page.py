"""From an account to a signed release: own key, introduction, acceptance, head held outside, refusal; in headless Chromium."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser_page import DESK, PHONE, SHOTS, served, settled
from taped_pour import PASSPHRASE, taped_pour, with_accounts

from verifier.pipeline.approval.decided import decided
from verifier.record.ledger import Ledger

pytestmark = pytest.mark.browser
KEY_WORDS = "another row of garden words"
PEOPLE = ("engineer-1", "reviewer-1", "eor-1")


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("deciding") / "pours"
    taped_pour(home / "L2-east")
    taped_pour(home / "L2-west", wide_at="3")
    with_accounts(home, *PEOPLE)
    return home


@pytest.fixture(scope="module")
def settings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the page keeps the keys that are made on it."""
    return tmp_path_factory.mktemp("settings")


@pytest.fixture(scope="module")
def url(home: Path, settings: Path) -> Iterator[str]:
    with served(home, settings) as address:
        yield address


@pytest.fixture
def enter(chromium: Any, url: str) -> Iterator[Any]:
    visits = []

    def go(person: str, path: str, size: tuple[int, int] = DESK) -> Any:
        visit = chromium.new_context(viewport={"width": size[0], "height": size[1]}, accept_downloads=True)
        visits.append(visit)
        page = visit.new_page()
        page.set_default_timeout(30_000)
        page.goto(url + path)
        page.get_by_label("Name").fill(person)
        page.get_by_label("Passphrase").fill(PASSPHRASE)
        page.get_by_role("button", name="Log in").click()
        page.wait_for_selector("h1")
        page.wait_for_selector("[data-test-script-state=notRunning]")
        return page

    yield go
    for visit in visits:
        visit.close()


def keep(page: Any, name: str) -> None:
    SHOTS.mkdir(exist_ok=True)
    page.wait_for_timeout(300)
    height = page.evaluate("document.querySelector('[data-testid=stMain]').scrollHeight")
    size = page.viewport_size
    page.set_viewport_size({"width": size["width"], "height": min(height, 6000)})
    page.screenshot(path=SHOTS / f"{name}.png")
    page.set_viewport_size(size)


def sign(page: Any, button: str, words: str = KEY_WORDS) -> None:
    page.get_by_label("Passphrase of your key", exact=True).last.fill(words)
    page.get_by_role("button", name=button).click()


def kinds(folder: Path) -> list[str]:
    ledger = Ledger.open(folder)
    found = [r.type for r in ledger.records()]
    ledger.close()
    return found


def make_key(page: Any, account: str = PASSPHRASE, again: str = KEY_WORDS) -> None:
    page.get_by_label("Passphrase of your key").fill(KEY_WORDS)
    page.get_by_label("The same once more").fill(again)
    page.get_by_label("Passphrase of your account").fill(account)
    page.get_by_role("button", name="Make my key").click()


def test_a_release_from_the_first_key_to_the_document(enter: Any, home: Path, tmp_path: Path) -> None:
    pour = home / "L2-east"
    reviewer = enter("reviewer-1", "decision?pour=L2-east")
    reviewer.get_by_text("You have no key in this record yet").wait_for()
    keep(reviewer, "desk-no-key")
    make_key(reviewer, again="something else entirely")
    reviewer.get_by_text("The two passphrases differ").wait_for()
    make_key(reviewer, account="not the account's words")
    reviewer.get_by_text("don't belong together").wait_for()
    assert "key.enrol" not in kinds(pour)
    make_key(reviewer)
    reviewer.get_by_text("It is in the record: you can sign.").wait_for()

    engineer_of_record = enter("eor-1", "decision?pour=L2-east", PHONE)
    make_key(engineer_of_record)
    engineer_of_record.get_by_text("Your key waits for somebody").wait_for()
    keep(engineer_of_record, "phone-key-waits")
    reviewer.reload()
    reviewer.get_by_role("button", name="Introduce this person").wait_for()
    keep(reviewer, "desk-introduce")
    reviewer.get_by_label("Passphrase of your key").first.fill(KEY_WORDS)
    reviewer.get_by_role("button", name="Introduce this person").click()
    reviewer.get_by_text("The person is in the record and can sign.").wait_for()

    page = engineer_of_record
    page.reload()
    page.get_by_text("Present head").wait_for()
    keep(page, "phone-head-to-keep")
    head = re.search(r"Present head: (\S+)", page.inner_text("body"))
    assert head is not None
    page.get_by_label("The head that you keep").fill(head[1][:-1] + ("A" if head[1][-1] != "A" else "B"))
    page.get_by_role("button", name="Read what a release would say").click()
    page.get_by_text("does not continue the head").wait_for()
    page.get_by_label("The head that you keep").fill(head[1].lower().replace("-", " "))
    page.get_by_role("button", name="Read what a release would say").click()
    page.get_by_text("RELEASE OF A POUR").wait_for()
    page.reload()  # the text that was read is still there
    page.get_by_text("RELEASE OF A POUR").wait_for()
    keep(page, "phone-release-text")
    sign(page, "Release and sign", "not the right words at all")
    page.get_by_text("passphrase doesn't open this key").wait_for()
    assert "release" not in kinds(pour)
    sign(page, "Release and sign")
    page.get_by_text("The release is in the record").wait_for()
    keep(page, "phone-released")
    assert kinds(pour)[-1] == "release"
    with page.expect_download() as got:
        page.get_by_role("button", name="Release document (PDF)").click()
    assert Path(got.value.path()).read_bytes().startswith(b"%PDF")


def test_a_deviation_is_accepted_in_writing_and_a_refusal_keeps_its_draft(enter: Any, home: Path) -> None:
    pour = home / "L2-west"
    reviewer = enter("reviewer-1", "decision?pour=L2-west")
    make_or_use(reviewer)
    assert reviewer.get_by_role("radio", name="accept a deviation").count() == 0
    reviewer.get_by_text("until then it can't be released").wait_for()
    reviewer.get_by_text("refuse", exact=True).click()
    reviewer.get_by_label("Why the pour is refused").fill("<b>edge form</b> is loose")
    reviewer.get_by_label("Why the pour is refused").blur()
    settled(reviewer)
    reviewer.reload()
    reviewer.get_by_label("Why the pour is refused").wait_for()
    settled(reviewer)
    assert reviewer.get_by_label("Why the pour is refused").input_value() == "<b>edge form</b> is loose"
    straight_from_the_words_to_the_button(
        reviewer, "Why the pour is refused", " in axis C", "Refuse and sign"
    )
    reviewer.get_by_text("The refusal is in the record.").wait_for()
    assert kinds(pour)[-1] == "refusal"
    assert decided(pour)[0].reason == "<b>edge form</b> is loose in axis C"
    keep(reviewer, "desk-refused")

    page = enter("eor-1", "decision?pour=L2-west")
    make_or_use(page)
    page.get_by_text("Your key waits for somebody").wait_for()
    reviewer.reload()
    reviewer.get_by_role("button", name="Introduce this person").wait_for()
    reviewer.get_by_label("Passphrase of your key").first.fill(KEY_WORDS)
    reviewer.get_by_role("button", name="Introduce this person").click()
    reviewer.get_by_text("The person is in the record and can sign.").wait_for()
    page.reload()
    page.get_by_text("accept a deviation", exact=True).click()
    fields = page.get_by_label("Why it may stay as it is")
    fields.first.wait_for()
    for n in range(fields.count()):
        fields.nth(n).fill("checked by calculation 7")
        fields.nth(n).blur()
        settled(page)
    keep(page, "desk-accept")
    straight_from_the_words_to_the_button(
        page, "Why it may stay as it is", ", sheet 3", "Sign what is accepted"
    )
    page.get_by_text("The acceptance is in the record.").wait_for()
    page.get_by_text("Accepted in writing by eor-1").first.wait_for()
    assert "acceptance" in kinds(pour)
    assert any((one.reason or "").endswith("calculation 7, sheet 3") for one in decided(pour))
    keep(page, "desk-accepted")


def straight_from_the_words_to_the_button(page: Any, label: str, more: str, button: str) -> None:
    """The passphrase first, then more words, and from the last letter to the button: the touch that leaves them must count."""
    page.get_by_label("Passphrase of your key", exact=True).last.fill(KEY_WORDS)
    settled(page)
    page.get_by_label(label).last.press("Control+End")
    page.keyboard.type(more)
    page.get_by_role("button", name=button).click()


def make_or_use(page: Any) -> None:
    """The key from the other pour is there already if that test ran before."""
    page.get_by_text("in this record").first.wait_for()
    if page.get_by_role("button", name="Make my key known here").count():
        page.get_by_label("Passphrase of your key").fill(KEY_WORDS)
        page.get_by_label("Passphrase of your account").fill(PASSPHRASE)
        page.get_by_role("button", name="Make my key known here").click()
    else:
        make_key(page)
    page.get_by_text("Your key", exact=False).first.wait_for()


@pytest.mark.skipif(shutil.which("ssh-keygen") is None, reason="needs ssh-keygen")
def test_a_release_signed_on_an_own_machine_is_handed_in(
    enter: Any, home: Path, settings: Path, tmp_path: Path
) -> None:
    """The private key never comes to the page; here it is the same file only because the test has one machine."""
    pour = home / "L2-east"
    page = enter("eor-1", "decision?pour=L2-east")
    page.get_by_text("it stands until").first.wait_for()
    page.get_by_text("Release once more").click()
    page.get_by_text("Present head").first.wait_for()
    page.get_by_text("The head as a code and as a file").click()
    with page.expect_download() as taken:
        page.get_by_role("button", name="The head as a file").click()
    shutil.copy(taken.value.path(), tmp_path / "head.txt")
    page.set_input_files("input[type=file]", tmp_path / "head.txt")
    page.get_by_text("head.txt").wait_for()
    page.get_by_role("button", name="Read what a release would say").click()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Take your file of heads back").click()
    kept = Path(taken.value.path()).read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["origin"] for line in kept] == ["pour-record/L2-east"] * len(kept)
    assert len(kept) == 2, "the head taken down, and the one that the record has by now"
    page.get_by_text("on my own machine", exact=True).click()
    with page.expect_download() as got:
        page.get_by_role("button", name="Download the text").click()
    text = tmp_path / "release.txt"
    shutil.copy(got.value.path(), text)
    keep(page, "desk-sign-elsewhere")
    key = tmp_path / "eor-1"
    shutil.copy(settings / "verifier" / "keys" / "eor-1", key)
    key.chmod(0o600)
    subprocess.run(["ssh-keygen", "-p", "-q", "-P", KEY_WORDS, "-N", "", "-f", key], check=True)
    subprocess.run(["ssh-keygen", "-q", "-Y", "sign", "-f", key, "-n", "pour-release", text], check=True)
    before = kinds(pour).count("release")
    page.set_input_files("input[type=file]", tmp_path / "release.txt.sig")
    page.get_by_role("button", name="Hand in the signature").click()
    page.get_by_text("The release is in the record").wait_for()
    assert kinds(pour).count("release") == before + 1


def test_the_site_engineer_reads_who_decides_and_signs_nothing(enter: Any) -> None:
    page = enter("engineer-1", "decision?pour=L2-west", PHONE)
    page.get_by_text("These may decide on this pour: reviewer-1, eor-1").wait_for()
    assert page.get_by_label("Passphrase of your key").count() == 0


def test_with_the_keyboard_alone_from_the_log_in_to_a_signed_refusal(
    chromium: Any, url: str, home: Path
) -> None:
    page = chromium.new_page(viewport={"width": DESK[0], "height": DESK[1]})
    page.set_default_timeout(30_000)
    page.goto(f"{url}decision?pour=L2-east")
    press = page.keyboard
    press.type("reviewer-1")  # the name has the focus
    press.press("Tab")
    press.type(PASSPHRASE)
    press.press("Enter")
    page.get_by_text("Your key in this record").wait_for()
    page.wait_for_selector("[data-test-script-state=notRunning]")

    def tab_to(text: str) -> None:
        for _ in range(120):
            press.press("Tab")
            here = page.evaluate(
                "() => { const e = document.activeElement;"
                " return (e.getAttribute('aria-label') || e.innerText || ''); }"
            )
            if here.strip().startswith(text):  # the page as a whole can have the focus, too
                return
        raise AssertionError(f"the keyboard does not reach {text!r}")

    tab_to("release")
    press.press("ArrowRight")
    if page.get_by_label("Why the pour is refused").count() == 0:
        press.press("Space")
    page.get_by_label("Why the pour is refused").wait_for()
    tab_to("Why the pour is refused")
    press.type("edge form is loose")
    # Leaving the text draws the view again, and this makes it check the pour anew: what is typed meanwhile must stay.
    (home / "L2-east" / "note.txt").write_text("seen from the crane", encoding="utf-8")
    tab_to("Passphrase of your key")
    press.type(KEY_WORDS, delay=15)
    before = kinds(home / "L2-east").count("refusal")
    tab_to("Refuse and sign")
    press.press("Enter")
    page.get_by_text("The refusal is in the record.").wait_for()
    assert kinds(home / "L2-east").count("refusal") == before + 1
    page.close()
