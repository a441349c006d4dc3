"""What a call-out is made of: its signs made plain, the patterns of its parts, and a place that moves along it."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

# One drawing's sign is another's letter; each is replaced by one character, so that a position stays a position.
SIGNS = {
    "Ø": "øØΦφϕⲪΦФф⌀∅ɸ𝜙𝛷⍉",
    "-": "‐‑‒–—―−﹣－⁃",
    "x": "×✕✖⨯хХ*",
    '"': "”“″＂",
    "'": "’‘′＇",
    "@": "＠",
    "#": "＃♯",
    "/": "∕⁄／",
}
PLAIN = {sign: plain for plain, signs in SIGNS.items() for sign in signs}

ANY_CASE = re.IGNORECASE | re.ASCII
"""ASCII: a figure of another script is a sign that was not made plain, and is refused like any other."""

LISTS = {"metric": "metric size", "astm": "ASTM size", "csa": "Canadian size"}

LETTER_BAR = re.compile(r"(HD|[TYHRND])\s*(\d+)(?![\d.])", ANY_CASE)
SIGN_BAR = re.compile(r"Ø\s*(\d+)(?![\d.])(?:\s*mm\b)?", ANY_CASE)
HASH_BAR = re.compile(r"(?:#|no\.?(?![a-z]))\s*(\d+)(?![\d.])", ANY_CASE)
AFTER_BAR = re.compile(r"(\d+)\s*(?:mm)?\s*(?:dia\b\.?|diameter\b|Ø(?!\s*\d))", ANY_CASE)
CANADIAN_BAR = re.compile(r"(\d+)M(?![A-Z\d])", ANY_CASE)
COUNT = re.compile(r"\((\d+)\)\s*|(\d+)\s*(?:(-|x|nos?\b\.?|pcs\b\.?)\s*)?", ANY_CASE)
BETWEEN = re.compile(r"\s*(@|/|-|at\b)\s*", ANY_CASE)
MARK_THEN_SPACING = re.compile(r"(\d{1,4}[a-z]?)\s*[-@/]\s*(?=\d)", ANY_CASE)
MARK_ALONE = re.compile(r"(0\d{1,3}[a-z]?)(?=\s|$|\+)", ANY_CASE)
FEET = re.compile(r"(\d+)\s*'\s*-?\s*(?:(\d+(?:\.\d+)?)\s*\")?", re.ASCII)
INCHES = re.compile(
    r"(?:(\d+)[\s-])?(\d+)/(\d+)\s*(?:\"|in(?:ch(?:es)?)?\b\.?)|(\d+(?:\.\d+)?)\s*(?:\"|''|in(?:ch(?:es)?)?\b\.?)",
    ANY_CASE,
)
METRIC = re.compile(r"(\d+(?:\.\d+)?)\s*(mm\b|cm\b)?", ANY_CASE)
CENTRES = re.compile(
    r"\s*(?:c\s*/\s*c|c-c|o\s*/\s*c|o\.\s*c\.?|oc|ctc|cent(?:re|er)s?|ctrs?|crs|cts)(?![a-z])\.?",
    ANY_CASE,
)
LEGS = re.compile(r"\s*(\d+)\s*-?\s*(?:l|legs?|legged)(?![a-z\d])\.?", ANY_CASE)
LEGS_FIRST = re.compile(r"\s*(\d+)\s*-?\s*(?:l|legs?|legged)(?:\s+|\s*-\s*)(?=\S)", ANY_CASE)
LAYER = re.compile(r"\s*([BT][12])(?![a-z\d])", ANY_CASE)
PLUS = re.compile(r"\s*\+\s*", re.ASCII)


@dataclass(slots=True)
class Scanner:
    """A place in the text that moves on as patterns are found."""

    text: str
    at: int = 0

    def take(self, pattern: re.Pattern[str]) -> re.Match[str] | None:
        """Move past a pattern if it stands here.

        Args:
            pattern: What to look for.

        Returns:
            What was found, or None.
        """
        found = pattern.match(self.text, self.at)
        if found is not None:
            self.at = found.end()
        return found

    @property
    def rest(self) -> str:
        """The text from here on."""
        return self.text[self.at :]


def plain_text(text: str) -> str:
    """Replace each sign by its plain twin, one character for one, so that a position stays a position.

    Args:
        text: A call-out as given.

    Returns:
        Text of the same length.
    """
    out = []
    for character in text:
        plain = PLAIN.get(character)
        if plain is None:
            folded = unicodedata.normalize("NFKC", character)
            plain = " " if character.isspace() else folded if len(folded) == 1 else character
        out.append(plain)
    return "".join(out)
