"""Sentences that the program's core writes, in another language.

The core writes English and knows of no other: what stands in a record must not depend on who looks at it. The page looks up
what it shows. A catalogue holds pairs of one English sentence and its like, both with the same numbered gaps; a sentence is
recognised by its fixed words, and what fills a gap is looked up in its turn or stays as it is. What isn't known stays English
as a whole, so nobody reads half a sentence.
"""

from __future__ import annotations

import re
import string
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cache, lru_cache
from importlib.resources import files
from itertools import takewhile
from typing import Final

from ui.words.template import WORD, Template, fixed_words, template

LONGEST: Final = 4000
"""Longer texts are documents and no sentences; they are not looked up. [characters]"""
DEEPEST: Final = 6
"""So deep may what fills a gap have gaps of its own."""
KEPT: Final = 20_000
"""So many sentences of all readers are remembered."""
MARK_WORDS: Final = 3
"""A name that nobody knows, such as a mark with its layer, has no more words than this; more are a sentence."""
_JOINTS: Final = ("; ", ", or ", ", ", " and ", " or ")
_SENTENCE_END: Final = re.compile(r"(?<=[.!?]) +(?=[A-Z0-9\"'(])")
_END: Final = re.compile(rf"{_SENTENCE_END.pattern}|; ")
_COMMA_OR_END: Final = re.compile(rf"{_END.pattern}|, ")


class Catalogue:
    """All sentences of one language, ready to be looked up.

    Args:
        pairs: The other language by English, both with gaps ``{0}``, ``{1}`` ...
    """

    def __init__(self, pairs: Mapping[str, str]) -> None:
        self._exact: dict[str, str] = {}
        by_word: defaultdict[str, list[Template]] = defaultdict(list)
        templates = []
        for english, other in pairs.items():
            made = template(english, other)
            if made.gaps:
                templates.append(made)
            else:
                self._exact[made.fixed[0]] = other.format()
        count: defaultdict[str, int] = defaultdict(int)
        for made in templates:
            for word in fixed_words(made):
                count[word] += 1
        for made in sorted(templates, key=lambda t: -t.weight):
            rarest = min(fixed_words(made), key=lambda word: (count[word], word), default="")
            by_word[rarest].append(made)
        self._by_word: dict[str, tuple[Template, ...]] = {word: tuple(all_) for word, all_ in by_word.items()}
        self._met: dict[tuple[str, int], str | None] = {}

    def told(self, text: str) -> str | None:
        """Say a text in the language of this catalogue.

        Args:
            text: A sentence of the core, or several one after the other.

        Returns:
            The same in the other language; None if it isn't known as a whole.
        """
        if len(text) > LONGEST:
            return None
        if "\n" not in text:
            return self._told(text, 0)
        lines = [(line, line.lstrip()) for line in text.split("\n")]
        told = [bare and self._told(bare, 0) for _, bare in lines]
        if None in told:
            return None
        return "\n".join(
            line[: len(line) - len(bare)] + str(said) for (line, bare), said in zip(lines, told, strict=True)
        )

    def _told(self, text: str, depth: int) -> str | None:
        if depth > DEEPEST or not text.strip():
            return None
        key = text, depth
        if key not in self._met:
            if len(self._met) >= KEPT:
                self._met.clear()
            self._met[key] = said = self._as_it_is(text, depth) or self._capital(text, depth)
            return said
        return self._met.get(key)

    def _as_it_is(self, text: str, depth: int) -> str | None:
        exact = self._exact.get(text)
        if exact is not None:
            return exact
        matches = list(self._matches(text))
        for end in (_COMMA_OR_END, _END):
            for one, found in matches:
                if not _too_much(one, found, end):
                    return self._filled(one, found, depth)
        row = self._in_a_row(text, depth) or self._list(text, depth)
        if row is not None:
            return row
        if matches:
            return self._filled(*matches[0], depth)
        return self._without_stop(text, depth) or self._of_a_place(text, depth)

    def _matches(self, text: str) -> Iterator[tuple[Template, dict[int, str]]]:
        words = dict.fromkeys([*WORD.findall(text), ""])
        near = {id(t): t for word in words for t in self._by_word.get(word, ())}
        for one in sorted(near.values(), key=lambda t: -t.weight):
            found = one.fills(text, self._exact)
            if found is not None:
                yield one, found

    def _filled(self, one: Template, found: Mapping[int, str], depth: int) -> str:
        said = []
        for fixed, name, _, kept in string.Formatter().parse(one.other):
            said.append(fixed)
            if name is not None:
                fills = found[int(name)]
                said.append(fills if kept else self._gap(fills, depth + 1))
        return "".join(said)

    def _gap(self, text: str, depth: int) -> str:
        known = self._told(text, depth)
        if known is not None:
            return known
        name, bracket, inside = text.removesuffix(")").partition(" (")
        bracketed = bool(bracket) and text.endswith(")") and depth <= DEEPEST
        known = self._told(name, depth + 1) if bracketed and ")" not in inside else None
        if known is not None:
            return f"{known} ({self._gap(inside, depth + 1)})"
        for joint in _JOINTS:
            parts = re.split(rf"{joint}(?![^()]*\))", text)
            if len(parts) > 1 and depth <= DEEPEST:
                return self._exact.get(joint, joint).join(self._gap(part, depth + 1) for part in parts)
        return f"{self._gap(name, depth + 1)} ({self._gap(inside, depth + 1)})" if bracketed else text

    def _in_a_row(self, text: str, depth: int) -> str | None:
        """Several sentences one after the other, each known: as many as are known together are taken together."""
        cuts = [m.span() for m in _SENTENCE_END.finditer(text)]
        for start, end in reversed(cuts):
            first = self._one(text[:start], depth)
            if first is not None:
                rest = self._told(text[end:], depth + 1)
                if rest is not None:
                    return f"{first} {rest}"
        return None

    def _one(self, text: str, depth: int) -> str | None:
        exact = self._exact.get(text)
        if exact is not None:
            return exact
        for one, found in self._matches(text):
            if not _too_much(one, found, _SENTENCE_END):
                return self._filled(one, found, depth)
        return self._of_a_place(text, depth)

    def _without_stop(self, text: str, depth: int) -> str | None:
        """A sentence that is known without its full stop, as one that the core joined from parts."""
        if not text.endswith(".") or text.endswith(".."):
            return None
        known = self._told(text[:-1], depth + 1)
        return None if known is None else known.removesuffix(".") + "."

    def _list(self, text: str, depth: int) -> str | None:
        """Parts in a row, each known."""
        for joint in _JOINTS:
            parts = text.split(joint)
            known = (
                [*takewhile(bool, (self._one(part, depth + 1) for part in parts))] if len(parts) > 1 else []
            )
            if len(known) == len(parts):
                return self._exact.get(joint, joint).join(map(str, known))
        return None

    def _of_a_place(self, text: str, depth: int) -> str | None:
        """A sentence behind the name of what it is about: ``S1, T1: the gap ...``."""
        place, colon, rest = text.partition(": ")
        if not colon or depth > DEEPEST:
            return None
        name = self._told(place, depth + 1) or (place if len(place.split()) <= MARK_WORDS else None)
        known = None if name is None else self._told(rest, depth + 1)
        return None if known is None else f"{name}: {known}"

    def _capital(self, text: str, depth: int) -> str | None:
        """A phrase that is known in small letters, at the start of a sentence."""
        if not text[0].isupper() or text[1:2].isupper():
            return None
        known = self._as_it_is(text[0].lower() + text[1:], depth + 1) if depth < DEEPEST else None
        return None if known is None else known[0].upper() + known[1:]


def _too_much(one: Template, found: Mapping[int, str], end: re.Pattern[str]) -> bool:
    """Whether a gap would hold more than one sentence, of which each is better looked up by itself."""
    return any(end.search(gap) for number, gap in found.items() if number not in one.own)


@cache
def catalogue(language: str) -> Catalogue | None:
    """The catalogue of a language.

    Args:
        language: As BCP 47 names it.

    Returns:
        The catalogue; None for a language without one, such as that in which the core writes.
    """
    pairs = pairs_of(language)
    return (
        Catalogue({english: other for room in pairs.values() for english, other in room.items()})
        if pairs
        else None
    )


def pairs_of(language: str) -> dict[str, dict[str, str]]:
    """Read all files of a language.

    Args:
        language: As BCP 47 names it.

    Returns:
        Pairs of English and the language, by the room of the core that writes them.
    """
    folder = files("ui.words") / language
    if not folder.is_dir():
        return {}
    found = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    return {f.name.removesuffix(".toml"): tomllib.loads(f.read_text("utf-8")) for f in found}


@lru_cache(maxsize=KEPT)
def said_in(language: str, text: str) -> str:
    """Say a sentence of the core in a language.

    Args:
        language: As BCP 47 names it.
        text: What the core wrote; never a text of somebody else.

    Returns:
        The same in that language; unchanged where it isn't known.
    """
    book = catalogue(language)
    return text if book is None else book.told(text) or text
