"""One sentence of a catalogue: its fixed words, its gaps, and how it reads in the other language."""

from __future__ import annotations

import re
import string
from collections.abc import Container, Sequence
from dataclasses import dataclass
from typing import Final

WORD: Final = re.compile(r"[A-Za-z]{2,}")
NUMBER: Final = re.compile(r"\d+(\.\d+)?")


@dataclass(frozen=True, slots=True)
class Template:
    """One sentence with numbered gaps, and how it reads in the other language.

    Attributes:
        fixed: The English text before, between and after the gaps.
        gaps: The number of each gap, in the order of the English sentence.
        other: The other language, with the same gaps. One written ``{0!s}`` is a name and never looked up; one written
            ``{0!r}`` holds a person's own words, which may look like a sentence of ours and are shown as they stand; one
            written ``{0!a}`` is a number, so that "3 records" is one and "engineer of record" is not.
        own: Gaps that hold a person's own words.
        counts: Gaps that hold a number.
        weight: How many letters are fixed: a sentence is taken for the template that fixes most of it.
    """

    fixed: tuple[str, ...]
    gaps: tuple[int, ...]
    other: str
    own: frozenset[int]
    counts: frozenset[int]
    weight: int

    def fills(self, text: str, known: Container[str] = ()) -> dict[int, str] | None:
        """Tell what fills the gaps if a text is this sentence.

        Args:
            text: Any text.
            known: Phrases that are known as a whole: one before nothing but a blank is taken in full.

        Returns:
            Text by number of the gap, each as short as can be; None if this is another sentence.
        """
        first, *rest = self.fixed
        if not text.startswith(first):
            return None
        if not rest:
            return {} if text == first else None
        found: dict[int, str] = {}
        at = len(first)
        for gap, part in zip(self.gaps[:-1], rest[:-1], strict=True):
            end = text.find(part, at)
            if part == " ":
                ends = (m.start() for m in re.finditer(" ", text[at:]))
                end = max((at + n for n in ends if text[at : at + n] in known), default=end)
            if end < 0 or found.setdefault(gap, text[at:end]) != text[at:end]:
                return None
            at = end + len(part)
        end = len(text) - len(rest[-1])
        if end < at or not text.endswith(rest[-1]):
            return None
        if found.setdefault(self.gaps[-1], text[at:end]) != text[at:end]:
            return None
        return found if all(NUMBER.fullmatch(found[gap]) for gap in self.counts) else None


def template(english: str, other: str) -> Template:
    """Read one pair of a catalogue.

    Args:
        english: The English sentence with gaps ``{0}``, ``{1}`` ...
        other: The same in the other language.

    Returns:
        The template.
    """
    fixed, gaps = [""], []
    for text, name, _, _ in string.Formatter().parse(english):
        fixed[-1] += text
        if name is not None:
            gaps.append(int(name))
            fixed.append("")
    kept = {int(name): how for _, name, _, how in string.Formatter().parse(other) if name}
    own = frozenset(gap for gap, how in kept.items() if how == "r")
    counts = frozenset(gap for gap, how in kept.items() if how == "a")
    return Template(tuple(fixed), tuple(gaps), other, own, counts, sum(len(part) for part in fixed))


def fixed_words(made: Template) -> Sequence[str]:
    """Whole words of the fixed text: one that touches a gap may be a part of a longer one.

    Args:
        made: The template.

    Returns:
        The words, in order.
    """
    found = []
    last = len(made.fixed) - 1
    for number, part in enumerate(made.fixed):
        inner = part if number == last else re.sub(r"[A-Za-z]+$", "", part)
        inner = inner if number == 0 else re.sub(r"^[A-Za-z]+", "", inner)
        found += WORD.findall(inner)
    return found
