"""Every language of the page says the same things: the same names, keys and gaps to fill."""

from __future__ import annotations

import re
import string
from pathlib import Path

import pytest

import ui
from ui import words
from ui.words import LANGUAGES, english


def said(book):
    return {name: value for name, value in vars(book).items() if name.isupper()}


def texts(value):
    """All texts of a word, in order, each with the key that it stands under."""
    if isinstance(value, str):
        return {"": value}
    items = value.items() if isinstance(value, dict) else enumerate(value)
    return {f"{key}/{inner}": text for key, part in items for inner, text in texts(part).items()}


def gaps(text):
    return sorted((name, spec) for _, name, spec, _ in string.Formatter().parse(text) if name is not None)


@pytest.mark.parametrize("language", [name for name in LANGUAGES if name != "en"])
def test_a_language_says_all_that_english_says(language):
    ours, theirs = said(english), said(LANGUAGES[language])
    assert sorted(theirs) == sorted(ours)
    for name, value in ours.items():
        assert type(theirs[name]) is type(value), name
        mine, other = texts(value), texts(theirs[name])
        assert list(other) == list(mine), name
        for key, text in mine.items():
            assert gaps(other[key]) == gaps(text), f"{name}{key}"
            assert other[key].strip(), f"{name}{key}"


def test_outside_a_visit_the_page_speaks_english():
    assert words.language() == "en"
    assert words.TITLE == english.TITLE


def test_a_word_that_is_missing_is_an_error_and_not_a_blank():
    with pytest.raises(AttributeError):
        _ = words.NO_SUCH_WORD


def test_every_word_that_is_asked_for_exists():
    """The type checker can't see a missing one: words are looked up by name, in the reader's language."""
    sources = (p for p in Path(ui.__file__).parent.rglob("*.py") if p.parent.name != "words")
    asked = {
        (p.name, name)
        for p in sources
        for name in re.findall(r"\bwords\.([A-Z][A-Z_]*)\b", p.read_text("utf-8"))
    }
    assert {(file, name) for file, name in asked if not hasattr(words, name)} == set()
