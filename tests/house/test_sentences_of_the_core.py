"""What the core writes has its German, so that nobody reads a page half in one language and half in another."""

from __future__ import annotations

import ast
import re
import string
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest
from core_sentences import CORE, counted_things, sentences

import ui
from ui.words import LANGUAGES
from ui.words.sentences import Catalogue, catalogue, pairs_of
from verifier.codes.cited import Known
from verifier.rounds.items import load_list
from verifier.rounds.reopening import reopening_table
from verifier.rounds.setting import usual_setting

UI = Path(ui.__file__).parent
FIGURES = [p for room in ("concrete", "formwork") for p in sorted((CORE / room / "data").glob("*.toml"))]
COMMAND = re.compile(r"\bverifier [a-z]|(?<![\w-])--[a-z]|\b(FOLDER|PHOTO|BUNDLE|NAME)\b")
OTHER = [name for name in LANGUAGES if pairs_of(name)]


def gaps(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("language", OTHER)
@pytest.mark.parametrize("room", sorted(sentences()))
def test_every_sentence_of_a_room_is_in_the_catalogue(room: str, language: str) -> None:
    known = {english for pairs in pairs_of(language).values() for english in pairs}
    missing = [f"{where}: {text}" for text, where in sentences()[room].items() if text not in known]
    assert missing == []


def test_no_sentence_for_the_page_names_a_command() -> None:
    """Who stands on the deck has no terminal; what only a terminal tells stands in ``command``."""
    told = {text: where for room in sentences().values() for text, where in room.items()}
    assert [f"{where}: {t}" for t, where in told.items() if COMMAND.search(t)] == []
    translated = [(name, t) for name in OTHER for pairs in pairs_of(name).values() for t in pairs.items()]
    assert len(translated) > 1000
    assert [pair for _, pair in translated if COMMAND.search(pair[1]) and not COMMAND.search(pair[0])] == []


@pytest.mark.parametrize("language", OTHER)
def test_every_word_of_the_check_list_is_in_the_catalogue(language: str) -> None:
    """A title, a reason or a limit of an item; a source may be known as a whole, or names clauses only."""
    book = catalogue(language)
    assert book is not None
    items, setting = load_list().item, usual_setting()
    asked = {
        *(text for i in items for text in (i.item, i.why, i.how, i.limit, i.closes, i.status, *i.trades)),
        *(i.disagreement for i in items if i.disagreement),
        *(text for r in setting.round for text in (r.title, r.signs, *r.roles)),
        *(rule.say for rule in reopening_table().values()),
    }
    assert [text for text in sorted(asked) if book.told(text) is None] == []


@pytest.mark.parametrize("language", OTHER)
@pytest.mark.parametrize("path", FIGURES, ids=lambda p: f"{p.parts[-3]}/{p.name}")
def test_every_source_and_note_of_a_figure_is_in_the_catalogue(path: Path, language: str) -> None:
    """A source is known as a whole wherever it holds words besides the name and number of a standard."""
    book = catalogue(language)
    assert book is not None
    read = tomllib.loads(path.read_text("utf-8"))
    asked = {text for text in _cited(read) if re.search(r"(?<![A-Za-z])[a-z]{2,}", text)}
    asked |= {line for lines in read.get("order", {}).values() if isinstance(lines, list) for line in lines}
    assert [text for text in sorted(asked) if book.told(text) is None] == []
    assert [s for s in get_args(Known) if book.told(f"IS 456:2000, 9 ({s})") is None] == []


def _cited(table: object) -> Iterator[str]:
    if isinstance(table, dict):
        if "standard" in table:
            yield f"{table['standard']}, {table['clause']}"
            yield table.get("note", "")
        for inner in table.values():
            yield from _cited(inner)
    elif isinstance(table, list):
        for inner in table:
            yield from _cited(inner)


@pytest.mark.parametrize("language", OTHER)
def test_a_pair_has_the_same_gaps_and_is_said_one_way(language: str) -> None:
    said: dict[str, str] = {}
    for room, pairs in pairs_of(language).items():
        for english, other in pairs.items():
            assert gaps(other) == gaps(english), f"{room}: {english}"
            assert said.setdefault(english, other) == other, f"{room}: {english} is said in two ways"


def numbers(text: str) -> list[str]:
    """Every number, without those of the gaps, powers of units and what stands inside a name."""
    bare = re.sub(r"\{\d+(![sra])?\}|(?<=m)[23]\b|(?<=yd)3", " ", text)
    return sorted(re.findall(r"(?<![\w.])\d+(?:[.,]\d+)*", bare))


@pytest.mark.parametrize("language", OTHER)
def test_a_number_is_the_same_in_both_languages(language: str) -> None:
    """A limit that lost a digit on its way into the other language would be read as a limit."""
    pairs = [pair for room in pairs_of(language).values() for pair in room.items()]
    assert [pair for pair in pairs if numbers(pair[0]) != numbers(pair[1])] == []


@pytest.mark.parametrize("language", OTHER)
def test_every_pair_is_found_among_all_others(language: str) -> None:
    """No pair is hidden by another one whose fixed words it shares: each sentence, filled in, is said by its own pair."""
    book = catalogue(language)
    assert book is not None
    for room, pairs in pairs_of(language).items():
        for english, other in pairs.items():
            fills = [str(n) if f"{{{n}!a}}" in other else f"Q{n}" for n in range(len(gaps(english)))]
            told = re.sub(r"\{(\d+)(?:![rsa])?\}", r"{\1}", other)
            assert book.told(english.format(*fills)) == told.format(*fills), f"{room}: {english}"


@pytest.mark.parametrize("language", OTHER)
def test_only_a_number_counts_things(language: str) -> None:
    """ "{0} record" is one of three records and not the end of "engineer of record"."""
    pairs = {english: other for room in pairs_of(language).values() for english, other in room.items()}
    assert [one for one in sorted(counted_things()) if one in pairs and "{0!a}" not in pairs[one]] == []


def test_people_of_a_round_are_named_in_german() -> None:
    book = catalogue("de")
    assert book is not None
    said = book.told("independent inspector or engineer of record")
    assert said == "unabhängiger Prüfer oder Tragwerksplaner"


def test_the_core_writes_sentences_that_can_be_collected() -> None:
    """The list above must not be empty because nothing was found."""
    found = sentences()
    assert "{0}. Does not conform." in found["release"]
    assert sum(map(len, found.values())) > 1000


BOOK = Catalogue(
    {
        " and ": " und ",
        "upper layer": "obere Lage",
        "{0} is missing.": "{0} fehlt.",
        "Take it again.": "Neu aufnehmen.",
        "{0} items": "{0} Punkte",
        "gap {0} is below {1} mm": "unter {1} mm liegt Feld {0}",
        "gap {0} is below {1} mm at {2}": "an {2} liegt Feld {0} unter {1} mm",
        "{0} says: '{1}'.": "{0!s} sagt: '{1!s}'.",
        "{0} sent it back: {1}": "{0!s} hat es zurückgegeben: {1!r}",
        "in braces {{{0}}}": "in Klammern {{{0}}}",
        "{0} record": "{0!a} Eintrag",
    }
)


@pytest.mark.parametrize(
    ("english", "other"),
    [
        ("upper layer", "obere Lage"),
        ("Upper layer", "Obere Lage"),
        ("upper layer and upper layer", "obere Lage und obere Lage"),
        ("upper layer and S1 is missing.", "obere Lage und S1 fehlt."),
        ("gap 3 is below 140 mm", "unter 140 mm liegt Feld 3"),
        ("gap 3 is below 140 mm at upper layer", "an obere Lage liegt Feld 3 unter 140 mm"),
        ("S1, T1: gap 3 is below 140 mm.", "S1, T1: unter 140 mm liegt Feld 3."),
        ("upper layer is missing. Take it again.", "obere Lage fehlt. Neu aufnehmen."),
        ("upper layer; 3 items", "obere Lage; 3 Punkte"),
        ("upper layer says: 'upper layer'.", "upper layer sagt: 'upper layer'."),
        ("Ann sent it back: No. Take it again.", "Ann hat es zurückgegeben: No. Take it again."),
        ("in braces {4}", "in Klammern {4}"),
        ("1 record", "1 Eintrag"),
        ("upper layer\n  3 items\n", "obere Lage\n  3 Punkte\n"),
        ("S1 (upper layer), B2 is missing.", "S1 (obere Lage), B2 fehlt."),
    ],
)
def test_a_sentence_is_said_in_the_other_language(english: str, other: str) -> None:
    assert BOOK.told(english) == other


@pytest.mark.parametrize(
    "foreign",
    [
        "",
        " ",
        "engineer of record",
        "IMG_0001.jpg",
        "nothing known",
        "Take it again. And something that nobody knows.",
        "gap 3 is below 140",
        "items",
        "x" * 100_000,
    ],
)
def test_what_is_not_known_as_a_whole_is_left_alone(foreign: str) -> None:
    assert BOOK.told(foreign) is None


def test_english_is_shown_as_the_core_wrote_it() -> None:
    assert catalogue("en") is None
    assert catalogue("no such language") is None


TOLD = {
    "asks", "blocked_by", "caution", "clears", "next_step", "not_signed_because", "say", "says", "statement", "todo", "why", "wrong",
}  # fmt: skip
"""Names under which the core hands sentences to the page."""
TYPED = {("log_now.py", "entry.says"), ("closing_forms.py", "q.says")}
"""Words of a person under one of these names, which nobody translates."""


@pytest.mark.parametrize("path", sorted(UI.rglob("*.py")), ids=lambda p: str(p.relative_to(UI)))
def test_what_the_core_says_is_shown_in_the_readers_language(path: Path) -> None:
    wrong: list[str] = []

    def look(node: ast.AST, *, shown: bool, said: bool) -> None:
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func)
            shown |= name.startswith("plain.")
            said |= name in ("words.said", "words.opening", "len") or (
                name == "map" and ast.unparse(node.args[0]) == "words.said"
            )
        if isinstance(node, ast.GeneratorExp | ast.ListComp):
            said |= "words.said(" in ast.unparse(node.elt)
        if isinstance(node, ast.Subscript):  # a key picks one of the page's own words
            look(node.value, shown=shown, said=said)
            return
        bare = isinstance(node, ast.Attribute) and node.attr in TOLD and shown and not said
        if bare and (path.name, ast.unparse(node)) not in TYPED:
            wrong.append(f"line {node.lineno}: {ast.unparse(node)}")
        for child in ast.iter_child_nodes(node):
            look(child, shown=shown, said=said)

    look(ast.parse(path.read_text("utf-8")), shown=False, said=False)
    assert wrong == []


def test_a_lookup_costs_little() -> None:
    """Some thousand sentences stand on one view of a large pour; each template is tried only where one of its words occurs."""
    book = catalogue("de")
    assert book is not None
    text = "S1 B1, spot 3: single gap 171.2 ± 1.1 mm, asked 130 to 170 mm. Does not conform."
    tried = sum(1 for _ in book._matches(text))
    near = {id(t) for word in re.findall(r"[A-Za-z]{2,}", text) for t in book._by_word.get(word, ())}
    assert tried <= len(near) < 60
