"""Every test run keeps two rules: published checks name their source, and each source is counted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

PUBLISHED = Path(__file__).parent / "published"
checks_per_source: Counter[str] = Counter()


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Pictures that are kept go into a folder of the tests, never among the tester's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    unsourced = []
    for item in items:
        if PUBLISHED not in item.path.parents:
            continue
        marker = item.get_closest_marker("source")
        if marker is None or not marker.args:
            unsourced.append(item.nodeid)
        else:
            checks_per_source[str(marker.args[0]).split(",")[0].split(";")[0]] += 1
    if unsourced:
        raise pytest.UsageError(
            "tests/published: each test names where its expected value comes from, "
            f"@pytest.mark.source(...). Missing on: {', '.join(unsourced[:10])}"
        )


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Take the counts over from a worker process: each of them collects every test, the one that waits for them none."""
    if not checks_per_source:
        checks_per_source.update(getattr(node, "workeroutput", {}).get("checks_per_source", {}))


def pytest_sessionfinish(session: pytest.Session) -> None:
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["checks_per_source"] = dict(checks_per_source)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if checks_per_source:
        terminalreporter.write_sep("-", "checks against published sources")
        for source, count in sorted(checks_per_source.items()):
            terminalreporter.write_line(f"{count:4d}  {source}")
