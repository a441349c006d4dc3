"""Every view against WCAG 2.2 A and AA, and good practice beyond it, as far as axe-core can judge it, on phone and desk.

axe-core is the open checker of accessibility rules that comes with the package axe-playwright-python; it finds what a machine
can find. What it can't see (order, words, sense) is looked at by people.
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from browser_page import DESK, PHONE, Serve
from taped_pour import taped_pour, with_accounts

from ui.parts.navigation import VIEWS

pytestmark = pytest.mark.browser
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

NOT_HELD = {
    "heading-order": "advice and no rule of WCAG: sections are Streamlit's subheaders, which are of the third level",
    "presentation-role-conflict": "the drop field of Streamlit's file uploader, whose parts can't be reached from here",
}
"""Rule -> why it is not held."""


def faults(page: Any) -> list[str]:
    """What axe-core finds, one line each: rule, element, reason."""
    # Evaluated by the driver and not as a script of the page, which the page's own rules would forbid.
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8"))
    result = page.evaluate("rules => axe.run(document, {runOnly: rules})", RULES)
    assert len(result["passes"]) > 5  # it has really looked
    return [
        f"{v['id']}: {node['target']}: {node['failureSummary'].splitlines()[-1].strip()} {node['html'][:160]}"
        for v in result["violations"]
        if v["id"] not in NOT_HELD
        for node in v["nodes"]
    ]


@pytest.fixture(scope="module")
def several(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("several") / "pours"
    taped_pour(home / "L2-east")
    taped_pour(home / "L2-west", wide_at="3")
    return home


@pytest.fixture(scope="module")
def guarded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("guarded") / "pours"
    taped_pour(home / "L2-east")
    with_accounts(home, "reviewer-1")
    return home


@pytest.mark.parametrize("name", [v.name for v in VIEWS if v.of_pour])
def test_a_view_of_a_pour(serve: Serve, chromium: Any, as_found: Path, name: str) -> None:
    page = opened(chromium, serve(as_found) + name, PHONE)
    assert faults(page) == []
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
    page.wait_for_timeout(300)
    assert faults(page) == []
    page.close()


def test_the_list_of_pours_and_a_decision_with_nobody_logged_in(
    serve: Serve, chromium: Any, several: Path
) -> None:
    for path in ("pours", "decision?pour=L2-west"):
        page = opened(chromium, serve(several) + path, PHONE)
        assert "Nobody logs in on this page" in page.inner_text("body")
        assert faults(page) == []
        page.close()


def test_the_log_in_form_before_and_after_a_wrong_try(serve: Serve, chromium: Any, guarded: Path) -> None:
    page = chromium.new_page(viewport={"width": PHONE[0], "height": PHONE[1]})
    page.goto(serve(guarded))
    for _ in range(2):
        assert faults(page) == []
        page.get_by_label("Name").fill("reviewer-1")
        page.get_by_label("Passphrase").fill("wrong")
        page.get_by_role("button").click()
        page.get_by_role("alert").wait_for()
    page.close()


def opened(chromium: Any, url: str, size: tuple[int, int]) -> Any:
    page = chromium.new_page(viewport={"width": size[0], "height": size[1]})
    page.set_default_timeout(45_000)
    page.goto(url)
    page.wait_for_selector("h1")
    page.wait_for_selector("[data-test-script-state=notRunning]")
    page.wait_for_timeout(500)
    return page
