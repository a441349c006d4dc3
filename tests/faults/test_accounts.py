"""Accounts: wrong tries wait longer and longer, unknown names look like known ones, visits end, the file is closed to others."""

from __future__ import annotations

import io
import sqlite3
import statistics
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from verifier.accounts.book import Book, Limits, Visit
from verifier.accounts.file import FILE
from verifier.accounts.waits import FREE_TRIES, LONGEST_WAIT, MOST_TRIES, wait_after
from verifier.cli import main
from verifier.errors import BadInput

AT = datetime(2026, 5, 13, 18, 0, tzinfo=UTC)
GOOD = "four plain garden words"


@pytest.fixture
def book(tmp_path: Path) -> Book:
    book = Book(tmp_path / FILE)
    book.add("reviewer-1", GOOD, AT)
    return book


def wrong(book: Book, name: str, times: int, at: datetime = AT) -> list[datetime | None]:
    return [book.try_passphrase(name, "not the right words", at).again for _ in range(times)]


def test_the_right_passphrase_comes_in_and_no_other(book: Book) -> None:
    assert book.try_passphrase("reviewer-1", GOOD, AT).name == "reviewer-1"
    assert book.try_passphrase(" reviewer-1 ", GOOD, AT).name == "reviewer-1"
    for name, words in (("reviewer-1", GOOD.upper()), ("Reviewer-1", GOOD), ("nobody-1", GOOD), ("", "")):
        assert book.try_passphrase(name, words, AT).name is None


def test_waits_double_and_end_at_the_longest() -> None:
    waits = [wait_after(n) for n in range(MOST_TRIES + 1)]
    assert not any(waits[:FREE_TRIES])
    assert waits[FREE_TRIES : FREE_TRIES + 3] == [timedelta(seconds=s) for s in (30, 60, 120)]
    assert waits == sorted(waits)
    assert waits[-1] == LONGEST_WAIT


def test_after_wrong_tries_even_the_right_one_waits_and_then_counts(book: Book) -> None:
    assert wrong(book, "reviewer-1", FREE_TRIES)[-1] == AT + timedelta(seconds=30)
    early = book.try_passphrase("reviewer-1", GOOD, AT + timedelta(seconds=29))
    assert (early.name, early.again) == (None, AT + timedelta(seconds=30))
    assert book.try_passphrase("reviewer-1", GOOD, AT + timedelta(seconds=30)).name == "reviewer-1"
    assert wrong(book, "reviewer-1", 1, AT + timedelta(minutes=1)) == [None]  # counted from nothing again


def test_an_unknown_and_a_stopped_name_get_the_same_answers(book: Book) -> None:
    book.add("reviewer-2", GOOD, AT)
    book.stop("reviewer-2", AT)
    known, unknown, stopped = (
        wrong(book, n, FREE_TRIES + 2) for n in ("reviewer-1", "nobody-1", "reviewer-2")
    )
    assert known == unknown == stopped
    assert book.try_passphrase("reviewer-2", GOOD, AT + timedelta(hours=1)).name is None


def test_an_unknown_name_takes_as_long_as_a_known_one(book: Book) -> None:
    def took(name: str) -> float:
        start = time.perf_counter()
        book.try_passphrase(name, "not the right words", AT + timedelta(days=2))
        return time.perf_counter() - start

    took("warm-up")
    pairs = [(took("reviewer-1"), took(f"nobody-{n}")) for n in range(4)]
    known, unknown = (statistics.median(times) for times in zip(*pairs, strict=True))
    # Without the work of the hash an unknown name would answer in a small part of the time.
    assert 0.5 < unknown / known < 2


def test_a_hundred_wrong_tries_shut_the_account_until_it_is_set_anew(book: Book) -> None:
    at = AT
    with sqlite3.connect(book.path) as db:  # as if it had gone on for a day
        book.try_passphrase("reviewer-1", "not the right words", at)
        db.execute("UPDATE tries SET failed = ?", (MOST_TRIES,))
    assert book.try_passphrase("reviewer-1", GOOD, at + timedelta(days=3)).name is None
    book.add("reviewer-1", GOOD, at + timedelta(days=3))
    assert book.try_passphrase("reviewer-1", GOOD, at + timedelta(days=3)).name == "reviewer-1"


def test_many_tries_at_once_are_no_way_around_the_wait(book: Book) -> None:
    answers: list[datetime | None] = []
    threads = [
        threading.Thread(target=lambda: answers.extend(wrong(book, "reviewer-1", 1))) for _ in range(12)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 12
    with sqlite3.connect(book.path) as db:
        assert (
            db.execute("SELECT failed FROM tries").fetchone()[0] == FREE_TRIES
        )  # the others were not even looked at


def test_tries_of_made_up_names_do_not_pile_up(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("verifier.accounts.book.MOST_NAMES", 3)
    monkeypatch.setattr("verifier.accounts.book.fits", lambda kept, words: False)
    wrong(book, "reviewer-1", 2)
    for n in range(9):
        wrong(book, f"nobody-{n}", 1, AT + timedelta(seconds=n))
    with sqlite3.connect(book.path) as db:
        assert db.execute("SELECT COUNT(*), MAX(failed) FROM tries").fetchone() == (4, 2)


def test_a_visit_is_open_then_idle_then_goes_on_then_is_over(book: Book) -> None:
    limits = Limits()
    token = book.begin("reviewer-1", AT)
    idle = AT + limits.idle + timedelta(seconds=1)
    assert book.visit(token, AT + limits.idle) == Visit("reviewer-1", "open")
    assert book.visit(token, idle) == Visit("reviewer-1", "idle")
    assert book.go_on(token, "not the right words", idle).name is None
    assert book.visit(token, idle) == Visit("reviewer-1", "idle")
    assert book.go_on(token, GOOD, idle).name == "reviewer-1"
    assert book.visit(token, idle) == Visit("reviewer-1", "open")
    assert book.visit(token, AT + limits.whole + timedelta(seconds=1), used=True) is None


def test_use_keeps_a_visit_open_and_asking_does_not(book: Book) -> None:
    token = book.begin("reviewer-1", AT)
    for minutes in (20, 40, 60):
        assert book.visit(token, AT + timedelta(minutes=minutes), used=True) == Visit("reviewer-1", "open")
    book.visit(token, AT + timedelta(minutes=80))
    assert book.visit(token, AT + timedelta(minutes=91)) == Visit("reviewer-1", "idle")


def test_stopping_new_passphrase_and_leaving_end_visits(book: Book) -> None:
    first, second = book.begin("reviewer-1", AT), book.begin("reviewer-1", AT)
    book.end(first)
    assert book.visit(first, AT) is None
    assert book.visit(second, AT) is not None
    book.add("reviewer-1", "five other plain garden words", AT)
    assert book.visit(second, AT) is None
    third = book.begin("reviewer-1", AT)
    book.stop("reviewer-1", AT)
    assert book.visit(third, AT) is None
    assert book.visit("made-up", AT) is None


def test_neither_passphrase_nor_token_nor_a_name_tried_stands_in_the_file(book: Book) -> None:
    token = book.begin("reviewer-1", AT)
    book.try_passphrase("my secret typed as a name", "x", AT)
    data = book.path.read_bytes()
    assert b"reviewer-1" in data
    for text in (GOOD, token, "my secret typed as a name"):
        assert text.encode() not in data


def test_the_file_is_its_owners_alone(book: Book) -> None:
    assert book.path.stat().st_mode & 0o777 == 0o600
    book.path.chmod(0o644)
    with pytest.raises(BadInput, match="Others may read"):
        book.listed()


def test_a_damaged_file_lets_nobody_in(tmp_path: Path) -> None:
    book = Book(tmp_path / FILE)
    book.path.write_bytes(b"this is no database" * 100)
    book.path.chmod(0o600)
    assert book.begun
    with pytest.raises(BadInput, match="can't be read"):
        book.try_passphrase("reviewer-1", GOOD, AT)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("short", "15 to 200"),
        ("a" * 40, "different"),
        ("reviewer-1 reviewer-1", "own name"),
        ("x" * 201, "201 characters"),
    ],
)
def test_a_poor_passphrase_is_refused(tmp_path: Path, words: str, told: str) -> None:
    with pytest.raises(BadInput, match=told):
        Book(tmp_path / FILE).add("reviewer-1", words, AT)
    assert not (tmp_path / FILE).exists()


def test_an_identity_is_one_persons_and_ends_with_the_account(book: Book) -> None:
    book.link("eor-1", "eor@example.org", AT)
    assert book.person_of("eor@example.org") == "eor-1"
    with pytest.raises(BadInput, match="another person's"):
        book.link("reviewer-1", "eor@example.org", AT)
    book.stop("eor-1", AT)
    assert book.person_of("eor@example.org") is None
    assert [(a.name, a.stopped is None, a.passphrase) for a in book.listed()] == [
        ("eor-1", False, False),
        ("reviewer-1", True, True),
    ]


def test_the_commands_of_accounts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def call(*arguments: str, typed: str = "") -> tuple[int, str]:
        monkeypatch.setattr("sys.argv", ["verifier", "account", *arguments])
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return int(ended.value.code or 0), told.out + told.err

    here = str(tmp_path)
    assert call("list", here)[1].startswith("There are no accounts")
    add = ("add", here, "--person", "engineer-1", "--passphrase-file", "-")
    assert call(*add, typed="short\n")[0] == 2
    code, told = call(*add, typed=f"{GOOD}\n")
    assert (code, "asks everybody to log in" in told, GOOD in told) == (0, True, False)
    assert Book(tmp_path / FILE).try_passphrase("engineer-1", GOOD, AT).name == "engineer-1"
    assert call("link", here, "--person", "engineer-1", "--identity", "e1@example.org")[0] == 0
    assert "by passphrase and e1@example.org" in call("list", here)[1]
    assert call("disable", here, "--person", "engineer-1")[0] == 0
    assert "stopped" in call("list", here)[1]
    assert call("disable", here, "--person", "engineer-1")[0] == 2
    assert call("list", str(tmp_path / "nowhere"))[0] == 2
