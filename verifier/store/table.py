"""Lines of a CSV file with a row of headings: every line is read or named, none is skipped or bent into shape."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from verifier.errors import BadInput

_SEPARATORS = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its number in the file, its cells by heading without blanks at their ends, and what is wrong with its shape."""

    number: int
    cells: dict[str, str]
    wrong: str


@dataclass(frozen=True, slots=True)
class Table:
    """All filled lines below the headings. ``separator`` is what stands between cells."""

    separator: str
    lines: tuple[Line, ...]


def table_text(data: bytes, *, where: str) -> str:
    """Decode a file that people made with a spreadsheet.

    Args:
        data: The file.
        where: Its name, for the message.

    Returns:
        The text, without a byte order mark.

    Raises:
        BadInput: If it is not UTF-8; no character is ever replaced.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        kind = "It is a workbook" if data.startswith(b"PK") else f"Line {line} is not written in UTF-8"
        raise BadInput(f"{kind}.", where=where, todo="Save it as CSV in UTF-8 and give it again.") from error


def table_of(text: str, *, where: str, known: Collection[str], needed: Sequence[str], most: int) -> Table:
    """Read the lines of a CSV file.

    Args:
        text: Headings in the first line; commas, semicolons or tabs between cells.
        where: Name of the file, for errors.
        known: Headings that may stand there.
        needed: Those that must.
        most: Most lines taken.

    Returns:
        The lines with their numbers; empty lines are left out.

    Raises:
        BadInput: If it is empty, too long, or a heading is missing, unknown or there twice.
    """
    length = len(text.splitlines())
    if not 1 <= length <= most:
        raise BadInput(
            "It is empty." if length == 0 else f"It has {length} lines.",
            where=where,
            todo=f"Give a line of headings and up to {most} lines.",
        )
    first = text.lstrip("\ufeff").splitlines()[0]
    separator = max(_SEPARATORS, key=first.count)
    reader = csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=""), delimiter=separator)
    names = [name.strip() for name in next(reader, [])]
    _check_headings(names, known, needed, where)
    lines = []
    for row in reader:
        cells = [cell.strip() for cell in row]
        if not any(cells):
            continue
        wrong = ""
        if len(cells) > len(names) and any(cells[len(names) :]):
            wrong = f"it has {len(cells)} cells, the headings are {len(names)}"
        lines.append(Line(reader.line_num, dict(zip(names, cells, strict=False)), wrong))
    return Table(separator, tuple(lines))


def _check_headings(names: Sequence[str], known: Collection[str], needed: Sequence[str], where: str) -> None:
    told = {
        "missing": [name for name in needed if name not in names],
        "unknown": [name or "(empty)" for name in names if name not in known],
        "there twice": sorted({name for name in names if name and names.count(name) > 1}),
    }
    if any(told.values()):
        says = "; ".join(f"{word}: {', '.join(found)}" for word, found in told.items() if found)
        raise BadInput(
            f"The headings don't fit ({says}).", where=f"{where}, line 1", todo=f"Use {', '.join(known)}."
        )
