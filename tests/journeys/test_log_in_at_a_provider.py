"""Log-in through an identity provider: linked people come in under their name, others are told who links them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from browser_page import DESK, SHOTS, free_port, served
from taped_pour import taped_pour

from verifier.accounts.file import changed
from verifier.pipeline.people.pours import accounts_of

pytestmark = pytest.mark.browser
pytest.importorskip("authlib", reason="needs streamlit[auth]")
pytest.importorskip("httpx", reason="needs streamlit[auth]")
from small_provider import Provider, provider  # noqa: E402 - needs what is asked for above

SECRETS = """[auth]
redirect_uri = "http://localhost:{port}/oauth2callback"
cookie_secret = "a secret of this test only, long enough"
client_id = "page"
client_secret = "between page and provider"
server_metadata_url = "{url}/.well-known/openid-configuration"
"""


@pytest.fixture(scope="module")
def at_provider() -> Iterator[Provider]:
    with provider() as running:
        yield running


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("provider") / "pours"
    taped_pour(home / "L2-east")
    accounts_of(home).link("reviewer-1", "reviewer@example.org", datetime.now().astimezone())
    return home


@pytest.fixture(scope="module")
def url(home: Path, at_provider: Provider, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    own, port = tmp_path_factory.mktemp("own"), free_port()
    (own / ".streamlit").mkdir()
    (own / ".streamlit" / "secrets.toml").write_text(
        SECRETS.format(port=port, url=at_provider.url), encoding="utf-8"
    )
    with served(home, tmp_path_factory.mktemp("settings"), port, HOME=str(own)) as address:
        yield address


@pytest.fixture
def page(chromium: Any) -> Iterator[Any]:
    visit = chromium.new_context(viewport={"width": DESK[0], "height": DESK[1]})
    page = visit.new_page()
    page.set_default_timeout(30_000)
    yield page
    visit.close()


def log_in(page: Any, url: str) -> None:
    page.goto(f"{url}findings?pour=L2-east")
    page.get_by_text("What you do here stands under your name.").wait_for()
    assert "S1" not in page.inner_text("body")
    page.get_by_role("button", name="Log in").click()


def test_somebody_linked_comes_in_and_goes_idle(
    page: Any, url: str, at_provider: Provider, home: Path
) -> None:
    at_provider.claims = {"sub": "17", "email": "reviewer@example.org", "email_verified": True}
    log_in(page, url)
    page.get_by_text("Logged in: reviewer-1").wait_for()
    page.reload()
    page.get_by_text("Logged in: reviewer-1").wait_for()
    with changed(accounts_of(home).path) as db:
        db.execute("UPDATE visit SET seen = seen - 7200")
    page.reload()
    page.get_by_text("Nothing has happened here for a while").wait_for()


@pytest.mark.parametrize(
    "claims",
    [
        {"sub": "18", "email": "reviewer@example.org", "email_verified": False},
        {"sub": "18", "email": "reviewer@example.org"},
        {"sub": "19", "email": "stranger@example.org", "email_verified": True},
    ],
    ids=["address not proven", "nothing said of the address", "not linked"],
)
def test_others_stay_outside_and_read_what_is_to_be_linked(
    page: Any, url: str, at_provider: Provider, claims: dict[str, Any]
) -> None:
    at_provider.claims = claims
    log_in(page, url)
    page.get_by_text("Nobody here is linked to this log-in").wait_for()
    told = page.inner_text("body")
    proven = claims.get("email_verified") is True
    assert (claims["email"] if proven else f"{at_provider.url} {claims['sub']}") in told
    assert "S1" not in told
    SHOTS.mkdir(exist_ok=True)
    page.screenshot(path=SHOTS / "desk-not-linked.png")
