"""The list of items as a spreadsheet, for a firm that edits it at a desk. Cells are text, never formulas."""

from __future__ import annotations

import io
import zipfile
from typing import Any

from openpyxl import Workbook, load_workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils.exceptions import IllegalCharacterError
from openpyxl.worksheet.worksheet import Worksheet
from pydantic import ValidationError

from verifier.errors import BadInput, faults_of
from verifier.rounds.items import CheckItem, CheckList

COLUMNS = tuple(CheckItem.model_fields)
LISTS = frozenset({"methods", "evidence", "rounds", "trades"})
YES_NO = frozenset({"by_sample", "is_release"})
WIDE = frozenset({"item", "why", "how", "limit", "source"})
SHEET = "items"
TITLE_ROWS = (("title", 1), ("edition", 2))
HEADING_ROW = 4
LARGEST_BYTES = 4_000_000
LARGEST_UNPACKED_BYTES = 40_000_000
LARGEST_ROWS = 2_000
_NO_TEXT = {"f": "holds a formula", "e": "holds a spreadsheet error", "d": "holds a date"}
"""Kinds of cells, as the workbook marks them, that are no text of their own."""


def to_sheet(checklist: CheckList) -> bytes:
    """Write a list as a spreadsheet.

    Every cell is stored as text with its quote mark, so that an entry that begins with ``=``, ``+``, ``-`` or ``@`` is shown
    and never calculated.

    Args:
        checklist: The list.

    Returns:
        The bytes of an Office Open XML workbook (ISO/IEC 29500).

    Raises:
        BadInput: If an entry holds a character that a spreadsheet can't carry.
    """
    book = Workbook()
    sheet: Any = book.active
    sheet.title = SHEET
    for key, row in TITLE_ROWS:
        _put(sheet.cell(row, 1), key)
        _put(sheet.cell(row, 2), getattr(checklist, key))
    for column, name in enumerate(COLUMNS, start=1):
        heading = sheet.cell(HEADING_ROW, column)
        _put(heading, name)
        heading.font = Font(bold=True)
        sheet.column_dimensions[heading.column_letter].width = 40 if name in WIDE else 14
    for row, item in enumerate(checklist.item, start=HEADING_ROW + 1):
        for column, (name, value) in enumerate(item.model_dump(mode="json").items(), start=1):
            _put(sheet.cell(row, column), _as_text(name, value))
    sheet.freeze_panes = sheet.cell(HEADING_ROW + 1, 2)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _put(cell: Any, text: str) -> None:
    try:
        cell.value = text
    except IllegalCharacterError as error:
        raise BadInput(
            "The entry holds a character that a spreadsheet can't carry.",
            where=f"cell {cell.coordinate}",
            todo="Take it out of the list.",
        ) from error
    cell.data_type = "s"
    cell.number_format = "@"
    cell.quotePrefix = True
    cell.alignment = Alignment(wrap_text=True, vertical="top")


def _as_text(name: str, value: Any) -> str:
    if value is None:
        return ""
    if name in LISTS:
        return "; ".join(str(part) for part in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return repr(value) if isinstance(value, float) else str(value)


def from_sheet(data: bytes, *, where: str) -> CheckList:
    """Read a list back from a spreadsheet.

    Args:
        data: Bytes of the workbook.
        where: Name of the file, for errors.

    Returns:
        The checked list.

    Raises:
        BadInput: If it is no workbook, is far too large, holds formulas, lacks a column or an item is not complete. All faults
            are named with their row.
    """
    sheet = _sheet(_open(data, where), where)
    if sheet.max_row > LARGEST_ROWS:
        raise BadInput(
            f"It has {sheet.max_row} rows, the most is {LARGEST_ROWS}.",
            where=where,
            todo="Take empty rows out.",
        )
    _check_cells(sheet, where)
    rows = [
        ["" if cell.value is None else str(cell.value).strip() for cell in row] for row in sheet.iter_rows()
    ]
    head = rows[HEADING_ROW - 1] if len(rows) >= HEADING_ROW else []
    names = [name for name in head if name]
    missing, unknown = set(COLUMNS) - set(names), set(names) - set(COLUMNS)
    if missing or unknown or len(names) != len(set(names)):
        told = [
            f"{word}: {', '.join(sorted(found))}"
            for word, found in (("missing", missing), ("unknown", unknown))
            if found
        ]
        raise BadInput(
            f"The headings in row {HEADING_ROW} don't fit ({'; '.join(told) or 'one is there twice'}).",
            where=where,
            todo="Export the list and edit that file; keep its row of headings.",
        )
    titles = {key: rows[row - 1][1] if len(rows[row - 1]) > 1 else "" for key, row in TITLE_ROWS}
    items, faults = [], []
    for number, row in enumerate(rows[HEADING_ROW:], start=HEADING_ROW + 1):
        if not any(row):
            continue
        try:
            items.append(CheckItem.model_validate(_entry(dict(zip(head, row, strict=True)))))
        except ValidationError as error:
            faults.append(f"row {number}: {faults_of(error)}")
    if faults:
        raise BadInput(
            f"{'. '.join(faults)}.", where=where, todo="Correct these rows; nothing was taken over."
        )
    try:
        return CheckList(**titles, item=tuple(items))
    except ValidationError as error:
        raise BadInput(
            f"{faults_of(error)}.", where=where, todo="Correct this; nothing was taken over."
        ) from error


def _open(data: bytes, where: str) -> Workbook:
    fault = ""
    if len(data) > LARGEST_BYTES:
        fault = f"It has {len(data)} bytes, the most is {LARGEST_BYTES}."
    else:
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as packed:
                unpacked = sum(entry.file_size for entry in packed.infolist())
            if unpacked <= LARGEST_UNPACKED_BYTES:
                return load_workbook(io.BytesIO(data))
            fault = f"It unpacks to {unpacked} bytes, the most is {LARGEST_UNPACKED_BYTES}."
        except Exception as error:  # any parser error: a damaged workbook is told, it never ends the program
            fault = f"It is not a workbook that can be read ({type(error).__name__})."
    raise BadInput(fault, where=where, todo="Save it as .xlsx and try again.")


def _sheet(book: Workbook, where: str) -> Any:
    """The sheet of items: the one of that name, or the first. Another one that is filled is never passed over in silence."""
    sheets = [sheet for sheet in book.worksheets if isinstance(sheet, Worksheet)]
    if not sheets:
        raise BadInput("It has no sheet with cells.", where=where, todo="Export the list and edit that file.")
    chosen = next((sheet for sheet in sheets if sheet.title == SHEET), sheets[0])
    others = [
        sheet.title
        for sheet in sheets
        if sheet is not chosen and any(cell.value is not None for row in sheet.iter_rows() for cell in row)
    ]
    if others:
        raise BadInput(
            f"Only the sheet {chosen.title} is read, and {', '.join(others)} is filled, too.",
            where=where,
            todo="Move its items there, or take the sheet out.",
        )
    return chosen


def _check_cells(sheet: Any, where: str) -> None:
    """Name every cell that holds no text or number of its own, or stands where no heading is."""
    widest = max((cell.column for cell in sheet[HEADING_ROW] if cell.value is not None), default=0)
    faults = [
        f"{sheet.title}!{area}: cells are merged"
        for area in sheet.merged_cells.ranges
        if area.max_row >= HEADING_ROW
    ]
    for row in sheet.iter_rows():
        for cell in row:
            wrong = _NO_TEXT.get(cell.data_type, "")
            if not wrong and cell.value is not None and cell.row > HEADING_ROW and cell.column > widest:
                wrong = "has no heading above it"
            if wrong:
                faults.append(f"{sheet.title}!{cell.coordinate}: {wrong}")
    if faults:
        raise BadInput(
            f"{'. '.join(faults)}.",
            where=where,
            todo="Write text or number into a cell of its own; nothing was taken over.",
        )


def _entry(row: dict[str, str]) -> dict[str, Any]:
    """Turn the texts of a row into what the model takes; empty cells take the default of the model."""
    entry: dict[str, Any] = {}
    for name, text in row.items():
        if not name or not text:
            continue
        if name in LISTS:
            entry[name] = [part.strip() for part in text.split(";") if part.strip()]
        elif name in YES_NO:
            entry[name] = {"yes": True, "no": False}.get(text.lower(), text)
        else:
            entry[name] = text
    return entry
