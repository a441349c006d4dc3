"""A number of things that a person reads has behind it the word that fits it: 1 photo, 2 photos.

Common practice of writing; no source.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

from core_sentences import CORE, template

from ui.words import english
from verifier.wording import counted

_THINGS = (
    "bags|bars|batches|boards|characters|conditions|cubes|days|entries|faults|files|findings|gaps|hours|items|loads|"
    "minutes|originals|people|photos|pictures|pours|pumps|readings|reasons|records|results|rows|runs|samples|"
    "signatures|specimens|spots|trucks|values|vibrators"
)
_MANY = re.compile(rf"(?<!of )\{{\w+\}}(?: [a-z]+)? (?:{_THINGS})\b")
"""A gap and behind it several things; what follows "of" is a whole, as in 1 of 41 records."""

NEVER_ONE = {
    "one has words of its own": {
        " over the widest {0} neighbouring gaps",
        "{0} batches",
        "{0} photos are called {1}: {2}.",
        "{0} values",
        "needs at least {0} characters",
        "needs at least {0} entries",
    },
    "one is allowed, so that it is not told, or more than a limit": {
        "It has {0} characters; at most {1} are read.",
        "It has {0} rows, the most is {1}.",
        "The file has {0} rows; at most {1} are read.",
        "{0} bars: {1} to {2} are allowed.",
        "{0} batches are given.",
        "{0} results are given.",
    },
    "a limit of the program or of the project": {
        "No device's clock contradicts a time stamp by more than {0} minutes.",
        "The last check of {0} ({1}) is more than {2} days old.",
        "The passphrase has fewer than {0} different characters.",
        "They are kept here until you send them, {days} days at most, also after a reload and in another tab.",
        "Write at most {0} characters into a field.",
        "{0}: the newest photo {1} shows fewer than {2} gaps, so it does not replace the older ones: all count.",
        "{0} photos wait to be sent already.",
        "{runs} runs with uneven travel, breakdowns and pump stops. How uneven is a setting of the project, no forecast.",
    },
    "a figure of a standard or handbook": {
        "A sample has {0} cubes, given: {1}.",
        "At most {0} bags high, crosswise above {1}, {2} bags wide, {3} mm off walls, on boards {4} mm off the floor. {5}",
        "The oldest bags are {0} days old: test before use, and not at all with lumps.",
    },
    "a fraction": {"written {0} days after the pour, so it can't be {1} old"},
    "several in every bundle": {
        "All {0} files have the sums in the manifests (SHA-256 and SHA-512).",
    },
    "no number stands in the gap": {
        "record {0}: {1} sealed records 1 to {2}",
        "{0}/{1} is not read: {2} files are.",
    },
    "a line that people signed, which must be found as it was": {
        "head held outside: {0} records, root {1}",
    },
    "eight at least": {"profile of {0} from {1} photos, {2} x {3} px"},
}
"""Sentences in which several may stand behind a number, and why."""


def _written() -> Iterator[str]:
    for path in sorted(CORE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.JoinedStr):
                yield template(node)
    for name in dir(english):
        yield from _texts(getattr(english, name))


def _texts(word: object) -> Iterator[str]:
    if isinstance(word, dict):
        for inner in word.values():
            yield from _texts(inner)
    elif isinstance(word, str):
        yield word


def test_one_thing_is_said_as_one() -> None:
    """Each is counted by ``counted``, or says its number behind a colon, or stands above with the reason."""
    found = {text for text in _written() if _MANY.search(text)}
    kept = set().union(*NEVER_ONE.values())
    assert sorted(found - kept) == [], "these can say: 1 photos"
    assert sorted(kept - found) == [], "these are no longer written"


def test_counted() -> None:
    assert [counted(n, "photo") for n in (0, 1, 2)] == ["0 photos", "1 photo", "2 photos"]
    assert [counted(n, "entry", "entries") for n in (1, 3)] == ["1 entry", "3 entries"]
