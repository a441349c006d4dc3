"""Each view in German: what the core wrote for the sample pour is said in German as a whole, on the screen and in the tables."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from test_views import said, view

from ui import words
from ui.words import sentences
from verifier.drawing.read import read_pour
from verifier.errors import BadInput

VIEWS = ("missing", "findings", "photos", "decision", "rounds", "concrete", "pour_log", "closing", "timeline")
ENGLISH = re.compile(r"\b(the|and|of|with|are|is|not|by|or)\b")
"""Small words of English that German does not have."""
NAMES = re.compile(
    r"pre-pour meeting of \S+, item \d|Society of Construction Law|Dispute? and Disruption Protocol"
)
"""What a person of the project wrote, and titles, which stay as they are."""


def in_german(test: object, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """Run a view in German; the answer is each sentence of the core that it showed, with what it showed for it."""
    shown: dict[str, str] = {}
    real = sentences.said_in

    def heard(language: str, text: str) -> str:
        shown[text] = real(language, text)
        return shown[text]

    monkeypatch.setattr(sentences, "said_in", heard)
    test.session_state[words.CHOSEN] = "de"
    assert not test.run().exception
    return shown


@pytest.mark.parametrize("name", VIEWS)
def test_a_view_says_all_that_the_core_wrote_in_german(
    name: str, monkeypatch: pytest.MonkeyPatch, as_found: Path
) -> None:
    shown = in_german(view(monkeypatch, as_found, name), monkeypatch)
    half = {text: told for text, told in shown.items() if ENGLISH.search(NAMES.sub("", told))}
    assert half == {}
    if name in ("missing", "decision", "rounds", "closing"):
        assert sum(text != told for text, told in shown.items()) > 10


@pytest.mark.parametrize("part", ["story", "proven", "changed"])
def test_the_record_is_told_in_german(part: str, monkeypatch: pytest.MonkeyPatch, as_found: Path) -> None:
    test = view(monkeypatch, as_found, "timeline")
    test.query_params["part"] = part
    shown = in_german(test, monkeypatch)
    assert {text: told for text, told in shown.items() if ENGLISH.search(told)} == {}


def test_a_finding_and_its_sources_are_told_in_german(
    monkeypatch: pytest.MonkeyPatch, as_found: Path
) -> None:
    test = view(monkeypatch, as_found, "findings")
    test.query_params["finding"] = "S1/B1/single-gap/3"
    in_german(test, monkeypatch)
    text = said(test)
    assert "S1 B1, Stelle 3" in text
    assert "für das Projekt vereinbart" in text
    assert "Stahlfläche" in text
    assert "unter 0.1 %" in text


BROKEN = """
[pour]
id = "P1"
title = "x"
code = "IS 456:2001"
exposure = "mild"
planned_start = 2026-05-14
slmp = 5
[people]
site_engineer = "a"
[[slab]]
mark = "S1"
thickness_mm = "150"
layer = [{layer = "B1", callout = "T10@"}]
"""


def test_what_is_wrong_with_drawing_values_is_told_in_german(tmp_path: Path) -> None:
    (tmp_path / "pour.toml").write_text(BROKEN, encoding="utf-8")
    with pytest.raises(BadInput) as met:
        read_pour(tmp_path)
    told = sentences.said_in("de", met.value.wrong)
    assert told.count("Erlaubt: ") == met.value.wrong.count("Allowed: ") > 4
    assert "Allowed" not in told
    assert "Schlüssel" in sentences.said_in("de", met.value.todo)
