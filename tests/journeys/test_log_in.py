"""Who comes in: wrong and right passphrases, the wait, the idle visit with what was typed, two people at once, views by role."""

from __future__ import annotations

import re
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser_page import DESK, PHONE, SHOTS, served
from taped_pour import PASSPHRASE, taped_pour, with_accounts

from ui.entrance import way_on
from ui.parts.visits import COOKIE
from verifier.accounts.file import changed
from verifier.accounts.waits import FREE_TRIES
from verifier.pipeline.people.pours import accounts_of

pytestmark = pytest.mark.browser
PEOPLE = ("engineer-1", "reviewer-1", "eor-1", "reader-1", "stranger-1")


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("log-in") / "pours"
    taped_pour(home / "L2-east", people='reader = ["reader-1"]\n')
    taped_pour(home / "L2-west", wide_at="3")
    with_accounts(home, *PEOPLE)
    return home


@pytest.fixture(scope="module")
def url(home: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(home, tmp_path_factory.mktemp("settings"), VERIFIER_IDLE_MINUTES="30") as address:
        yield address


@pytest.fixture
def person(chromium: Any) -> Iterator[Any]:
    visits = []

    def go(size: tuple[int, int] = DESK) -> Any:
        visits.append(chromium.new_context(viewport={"width": size[0], "height": size[1]}))
        page = visits[-1].new_page()
        page.set_default_timeout(30_000)
        return page

    yield go
    for visit in visits:
        visit.close()


def log_in(page: Any, name: str, passphrase: str = PASSPHRASE) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Passphrase").fill(passphrase)
    page.get_by_role("button", name="Log in").click()


def settled(page: Any) -> str:
    page.wait_for_selector("h1")
    page.wait_for_selector("[data-test-script-state=notRunning]")
    page.wait_for_timeout(400)
    return str(page.inner_text("body"))


def keep(page: Any, name: str) -> None:
    SHOTS.mkdir(exist_ok=True)
    page.screenshot(path=SHOTS / f"{name}.png")


def row(page: Any) -> list[str]:
    return [text.strip() for text in page.locator(".st-key-views a").all_inner_texts()]


def test_nothing_but_the_form_is_given_out_without_a_visit(url: str) -> None:
    def status(path: str, **headers: str) -> int:
        class Stay(urllib.request.HTTPRedirectHandler):
            def redirect_request(self, *_: Any, **__: Any) -> None:
                return None

        try:
            request = urllib.request.Request(url + path, headers=headers)
            return int(urllib.request.build_opener(Stay).open(request).status)
        except urllib.error.HTTPError as error:
            return int(error.code)

    page = {"Accept": "text/html"}
    assert status("", **page) == status("findings?pour=L2-east", **page) == 303
    assert status("media/0000.jpg") == status("_stcore/upload_file/a/b") == status("component/x/y.js") == 401
    assert status("", **page, Cookie=f"{COOKIE}=made-up") == 303
    assert status("_stcore/stream") in (401, 403, 404)
    assert status("log-in") == 200
    assert status("_stcore/health") == 200
    german = urllib.request.Request(f"{url}log-in", headers={"Accept-Language": "de-CH,de;q=0.9"})
    with urllib.request.urlopen(german) as form:
        assert "Anmelden" in form.read().decode()
    with urllib.request.urlopen(f"{url}log-in") as form:
        assert form.headers["X-Frame-Options"] == "DENY"
        assert "default-src 'none'" in form.headers["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("asked", "way"),
    [
        ("/findings?pour=L2-east", "/findings?pour=L2-east"),
        ("//evil.example/x", "/"),
        ("/\\evil.example", "/"),
        ("https://evil.example", "/"),
        ("javascript:alert(1)", "/"),
        ("/log-in", "/"),
        ("/a\r\nSet-Cookie: x=y", "/"),
        ("", "/"),
    ],
)
def test_the_way_on_stays_on_this_page(asked: str, way: str) -> None:
    assert way_on(asked) == way


def test_a_form_sent_from_another_page_is_refused(url: str) -> None:
    body = f"name=reviewer-1&passphrase={PASSPHRASE.replace(' ', '+')}".encode()
    for headers in ({}, {"Origin": "https://evil.example"}, {"Origin": "null"}):
        with pytest.raises(urllib.error.HTTPError, match="403") as refused:
            urllib.request.urlopen(urllib.request.Request(f"{url}log-in", body, headers))
        assert "Set-Cookie" not in refused.value.headers


def test_wrong_then_right_and_back_to_the_address_that_was_asked_for(person: Any, url: str) -> None:
    page = person(PHONE)
    page.goto(f"{url}findings?pour=L2-east&show=all")
    keep(page, "phone-log-in")
    log_in(page, "reviewer-1", "not the right words")
    page.get_by_role("alert").wait_for()
    known = page.get_by_role("alert").inner_text()
    keep(page, "phone-log-in-wrong")
    log_in(page, "<b>nobody</b>", "not the right words")
    page.get_by_role("alert").wait_for()
    assert page.get_by_role("alert").inner_text() == known
    assert page.get_by_label("Name").input_value() == "<b>nobody</b>"
    log_in(page, "reviewer-1")
    assert "Level 2, east bay" in settled(page)
    assert re.search(r"/findings\?.*show=all", page.url)
    cookie = next(c for c in page.context.cookies() if c["name"] == COOKIE)
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Lax")
    page.reload()
    assert "Logged in: reviewer-1" in settled(page)


def test_too_many_wrong_tries_wait_whether_the_name_is_known_or_not(person: Any, url: str) -> None:
    told = []
    for name in ("stranger-1", "nobody-9"):
        page = person()
        page.goto(url)
        for _ in range(FREE_TRIES):
            log_in(page, name, "not the right words")
            page.get_by_role("alert").wait_for()
        log_in(page, name)
        page.get_by_role("alert").get_by_text("Too many wrong tries").wait_for()
        told.append(re.sub(r"\d\d:\d\d:\d\d", "TIME", page.get_by_role("alert").inner_text()))
        keep(page, "desk-log-in-wait")
    assert told[0] == told[1]


def test_each_role_comes_to_its_work_and_sees_its_views(person: Any, url: str) -> None:
    seen = {}
    for name in ("engineer-1", "reviewer-1", "reader-1"):
        page = person()
        page.goto(f"{url}?pour=L2-east")
        log_in(page, name)
        settled(page)
        seen[name] = (re.sub(r"\?.*", "", page.url.removeprefix(url)), row(page))
    assert [seen[n][0] for n in seen] == ["missing", "findings", "timeline"]
    assert "To do" in seen["engineer-1"][1]
    assert "To do" not in seen["reader-1"][1]


def test_only_own_pours_are_listed_and_no_other_opens(person: Any, url: str) -> None:
    page = person()
    page.goto(url)
    log_in(page, "reader-1")
    text = settled(page)
    assert text.count("Waits for") == 1
    assert "Pours of other people in this folder: 1." in text
    keep(page, "desk-pours")
    page.goto(f"{url}findings?pour=L2-west")
    text = settled(page)
    assert "not among the people of this pour" in text
    assert "S1" not in text


def test_the_list_of_pours_tells_answer_and_what_waits_and_leads_in(person: Any, url: str) -> None:
    page = person(PHONE)
    page.goto(url)
    log_in(page, "eor-1")
    text = settled(page)
    assert "No-go" in text
    assert "Go with conditions" in text
    assert "S1 B1, spot 3: Mean spacing, non-conforming" in text
    keep(page, "phone-pours")
    page.get_by_role("button", name="Open this pour").last.click()
    page.wait_for_url(re.compile("findings.*pour="))
    page.reload()
    settled(page)
    assert re.search("findings.*pour=", page.url)


def test_an_idle_visit_asks_again_and_keeps_what_was_typed(person: Any, url: str, home: Path) -> None:
    page = person(PHONE)
    page.goto(f"{url}missing?pour=L2-east")
    log_in(page, "engineer-1")
    settled(page)
    field = page.get_by_label("Reading, mm", exact=True)
    field.fill("752")
    with changed(accounts_of(home).path) as db:  # as if half an hour had passed
        db.execute("UPDATE visit SET seen = seen - 3600")
    page.get_by_role("button", name="Add this reading").click()
    page.get_by_text("Still you?").wait_for()
    keep(page, "phone-still-you")
    assert page.get_by_label("Reading, mm", exact=True).count() == 0
    page.get_by_label("Passphrase").fill("not the right words")
    page.get_by_role("button", name="Go on").click()
    page.get_by_text("don't belong together").wait_for()
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Go on").click()
    page.get_by_label("Reading, mm", exact=True).wait_for()
    assert page.get_by_label("Reading, mm", exact=True).input_value() == "752"
    page.get_by_role("button", name="Add this reading").click()
    page.get_by_text("Typed, not yet sent: 1").wait_for()
    page.get_by_role("button", name="Undo the last one").click()


def test_logging_out_ends_the_visit_for_the_cookie_too(person: Any, url: str) -> None:
    page = person()
    page.goto(f"{url}findings?pour=L2-east")
    log_in(page, "reviewer-1")
    settled(page)
    page.get_by_role("button", name="Log out").click()
    page.get_by_text("You are not logged in any more").wait_for()
    page.goto(f"{url}findings?pour=L2-east")
    page.get_by_label("Passphrase").wait_for()
    assert "/log-in" in page.url


def test_two_people_at_once_on_one_pour(person: Any, url: str, home: Path) -> None:
    engineer, reviewer = person(PHONE), person()
    engineer.goto(f"{url}missing?pour=L2-west")
    log_in(engineer, "engineer-1")
    reviewer.goto(f"{url}findings?pour=L2-west")
    log_in(reviewer, "reviewer-1")
    assert "No-go" in settled(engineer)
    assert "No-go" in settled(reviewer)
    field = engineer.get_by_label("Reading, mm", exact=True)
    field.fill("751")
    field.press("Enter")
    engineer.get_by_role("button", name="Add this reading").click()
    engineer.get_by_text("Typed, not yet sent: 1").wait_for()
    reviewer.goto(f"{url}missing?pour=L2-west")
    text = settled(reviewer)
    assert "Logged in: reviewer-1" in text
    assert "Typed, not yet sent" not in text  # everybody types for themselves
    engineer.get_by_role("button", name="Send readings").click()
    engineer.get_by_text("Typed, not yet sent").wait_for(state="hidden")
    assert "Logged in: engineer-1" in settled(engineer)
    from verifier.pipeline.folder.evidence import evidence_in

    assert evidence_in(home / "L2-west", ("S1", "S2")).tapes[-1].person == "engineer-1"
