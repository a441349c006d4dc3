"""The file of tape readings: decoded, split and written, with nothing guessed that could be guessed wrong."""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from verifier.errors import BadInput

COLUMNS: dict[str, tuple[str, ...]] = {
    "element": ("mark", "panel"),
    "layer": (),
    "what": ("measurand", "quantity"),
    "n_gaps": ("gaps", "number_of_gaps"),
    "reading_mm": ("reading", "value_mm"),
    "reading_2_mm": ("reading_2",),
    "reading_3_mm": ("reading_3",),
    "reading_4_mm": ("reading_4",),
    "reading_5_mm": ("reading_5",),
    "instrument": ("tape",),
    "person": ("by", "name"),
    "time": ("date_time", "taken_at"),
    "spot": (),
    "index": ("gap", "gap_number"),
    "remark": ("remarks", "note"),
    "confirmed": (),
}
"""Heading of each column, in the order of the template, with other spellings that are read too."""
REQUIRED = ("element", "what", "reading_mm", "instrument", "person", "time")
"""Columns that the heading must have."""
READING_COLUMNS = tuple(name for name in COLUMNS if name.startswith("reading"))
MAX_BYTES = 5_000_000
MAX_ROWS = 20_000
_SEPARATORS = {";": "semicolon", ",": "comma", "\t": "tab"}
_HEADING_SIGNS = str.maketrans("()[]-_.", "       ")
_HOW_TO_SAVE = (
    "Save it from the spreadsheet as 'CSV UTF-8' and try again. Its heading needs the columns "
    f"{', '.join(REQUIRED)}."
)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the file.

    Attributes:
        number: Counted from 1 without the heading; empty rows count.
        line: Line of the file that it starts on, counted from 1.
        cells: Text by column name, stripped; absent where the row ends earlier.
        surplus: Cells beyond the last heading.
    """

    number: int
    line: int
    cells: Mapping[str, str]
    surplus: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """A decoded file.

    Attributes:
        separator: What separates its cells: ``;``, ``,`` or a tab.
        rows: All rows with anything in them.
    """

    separator: str
    rows: tuple[Row, ...]


def decode(data: bytes, name: str) -> str:
    """Turn the bytes of a file into text.

    Args:
        data: The file as received.
        name: File name, for messages.

    Returns:
        Its text, without byte-order mark.

    Raises:
        BadInput: If it is empty, too large, a spreadsheet, or in an encoding that its bytes don't declare.
    """
    if not data.strip():
        raise BadInput("The file is empty.", where=name, todo=_HOW_TO_SAVE)
    if len(data) > MAX_BYTES:
        raise BadInput(
            f"The file has {len(data) / 1e6:.1f} MB; at most {MAX_BYTES / 1e6:.0f} MB are read.",
            where=name,
            todo="Readings of one pour fit in far less. Is it the right file?",
        )
    if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise BadInput("This is a spreadsheet file, not CSV.", where=name, todo=_HOW_TO_SAVE)
    if data.startswith((b"\xff\xd8", b"\x89PNG", b"%PDF")):
        raise BadInput(
            "This is a picture or a PDF, not CSV.", where=name, todo="Readings come as a CSV file."
        )
    encoding = "utf-16" if data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise BadInput(
            f"Line {line} holds a letter in an encoding that the file does not declare, so a name could be misread.",
            where=name,
            todo=_HOW_TO_SAVE,
        ) from error
    if "\0" in text:
        raise BadInput("The file holds zero bytes; it is no text file.", where=name, todo=_HOW_TO_SAVE)
    return text


def split(text: str, name: str) -> Table:
    """Split a file's text into rows by its heading.

    The separator is the one that makes the heading readable; a line ``sep=;`` as some spreadsheets write it is
    understood. Quotes follow RFC 4180.

    Args:
        text: The whole file.
        name: File name, for messages.

    Returns:
        Rows with their cells by column name.

    Raises:
        BadInput: If the heading can't be read: the message names the unknown or missing columns.

    Source:
        RFC 4180 (quotes and line ends).
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    skipped = 0
    declared = None
    if lines and lines[0].strip().lower().startswith("sep="):
        declared, skipped = lines[0].strip()[4:] or "\t", 1
    while skipped < len(lines) and not lines[skipped].strip(" ;,\t"):
        skipped += 1
    if skipped == len(lines):
        raise BadInput("The file has no heading and no rows.", where=name, todo=_HOW_TO_SAVE)
    heading = lines[skipped]
    separator = declared if declared in _SEPARATORS else max(_SEPARATORS, key=heading.count)
    reader = csv.reader(io.StringIO("\n".join(lines[skipped:]), newline=""), delimiter=separator, strict=True)
    try:
        names = _columns(next(reader), name, separator)
        rows: list[Row] = []
        line = skipped + reader.line_num + 1
        for number, cells in enumerate(reader, start=1):
            if any(cell.strip() for cell in cells):
                rows.append(_row(number, line, names, [cell.strip() for cell in cells]))
            line = skipped + reader.line_num + 1
    except csv.Error as error:
        raise BadInput(
            f"Line {skipped + reader.line_num}: {error}.",
            where=name,
            todo="A quotation mark is opened and not closed there, or stands inside a cell. Put it right.",
        ) from error
    if len(rows) > MAX_ROWS:
        raise BadInput(
            f"The file has {len(rows)} rows; at most {MAX_ROWS} are read.", where=name, todo="Split it."
        )
    if not rows:
        raise BadInput("The file has a heading and no rows.", where=name, todo="Enter at least one reading.")
    return Table(separator, tuple(rows))


def _row(number: int, line: int, names: list[str], cells: list[str]) -> Row:
    surplus = tuple(cell for cell in cells[len(names) :] if cell)
    return Row(number, line, dict(zip(names, cells, strict=False)), surplus)


def _columns(heading: list[str], name: str, separator: str) -> list[str]:
    spelled = {spelling: column for column, others in COLUMNS.items() for spelling in (column, *others)}
    found: list[str] = []
    unknown: list[str] = []
    for cell in heading:
        plain = "_".join(cell.lower().translate(_HEADING_SIGNS).split())
        column = spelled.get(plain)
        if column is None and plain:
            near = difflib.get_close_matches(plain, spelled, n=1, cutoff=0.0)[0]
            unknown.append(f"'{cell.strip()}' (nearest: {spelled[near]})")
        found.append(column or "")
    while found and found[-1] == "" and not heading[len(found) - 1].strip():
        found.pop()  # separators at the end of the heading, as spreadsheets leave them
    twice = sorted({c for c in found if c and found.count(c) > 1})
    missing = [c for c in REQUIRED if c not in found]
    faults = [
        *([f"unknown column {', '.join(unknown)}"] if unknown else []),
        *([f"column {', '.join(twice)} given twice"] if twice else []),
        *([f"missing column {', '.join(missing)}"] if missing else []),
        *(["a column without a name"] if "" in found and not unknown else []),
    ]
    if faults:
        raise BadInput(
            f"The heading can't be read ({_SEPARATORS[separator]}-separated): {'; '.join(faults)}.",
            where=f"{name}, heading",
            todo=f"Use these names: {', '.join(COLUMNS)}; needed are {', '.join(REQUIRED)}.",
        )
    return found


def csv_of(rows: Iterable[Mapping[str, str]]) -> bytes:
    """Write readings as a file: what a person typed becomes an original like any other.

    Args:
        rows: Text by column name; unknown names are refused.

    Returns:
        CSV with commas, quotes where needed, UTF-8 with byte-order mark so that spreadsheets show every letter.

    Raises:
        ValueError: If a row has a column that the file doesn't know.

    Source:
        RFC 4180.
    """
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, fieldnames=list(COLUMNS), restval="", lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        writer.writerow(row)
    return b"\xef\xbb\xbf" + out.getvalue().encode("utf-8")


def template() -> bytes:
    """Write an empty file with headings and two rows that show how it is filled.

    Returns:
        CSV as `csv_of` writes it.
    """
    return csv_of(
        [
            {
                "element": "S1",
                "layer": "B1",
                "what": "mean_spacing",
                "n_gaps": "5",
                "reading_mm": "752",
                "reading_2_mm": "751",
                "instrument": "tape-II",
                "person": "engineer-1",
                "time": "2026-05-13 16:30",
                "spot": "1",
                "remark": "example: over five gaps, read twice",
            },
            {
                "element": "S1",
                "layer": "B2",
                "what": "single_gap",
                "n_gaps": "1",
                "reading_mm": "203",
                "instrument": "tape-II",
                "person": "engineer-1",
                "time": "2026-05-13 16:31",
                "spot": "1",
                "index": "3",
                "remark": "example: the third gap at this spot",
            },
        ]
    )
