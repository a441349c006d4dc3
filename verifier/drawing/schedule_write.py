"""The drawing values of a pour as a spreadsheet to edit: every sheet with headings, explanations and what is known."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from verifier.drawing.pour import Pour
from verifier.drawing.schedule_columns import POUR, SHEETS, Column
from verifier.drawing.toml_text import pour_table
from verifier.errors import BadInput

NONE = "none"
EXPLAINED_ROW = 2
HEADING = Font(bold=True)
SAID = Font(italic=True, color="FF555555")
BAND = PatternFill("solid", fgColor="FFE8EEF4")


def write_schedule(pour: Pour, path: Path) -> None:
    """Write the drawing values of a pour as a spreadsheet to edit.

    Args:
        pour: The pour; its values fill the sheets.
        path: The .xlsx file to write; it must not exist.

    Raises:
        BadInput: If there is a file already; it is left as it is.
    """
    if path.exists():
        raise BadInput(
            "There is a file of this name already; it was left as it is.",
            where=str(path),
            todo="Choose another name.",
        )
    table = pour_table(pour)
    book = Workbook()
    book.remove(book.worksheets[0])
    _write_pour(book.create_sheet("pour"), table["pour"])
    for name, columns in SHEETS.items():
        _write_rows(book.create_sheet(name), columns, _entries(table, name))
    book.save(path)


def explanation_of(columns: Sequence[Column]) -> str:
    """What stands below the first heading of a sheet.

    Args:
        columns: Columns of the sheet.

    Returns:
        The explanation of its first column, by which the row is known when it is read.
    """
    return columns[0].say or "(what the columns hold; this row is not read)"


def _entries(table: dict[str, Any], name: str) -> list[dict[Any, Any]]:
    """Rows of one sheet from the plain table."""
    slabs = table.get("slab", [])
    if name == "layer":
        return [{"mark": slab["mark"], **layer} for slab in slabs for layer in slab["layers"]]
    if name in ("outline", "opening"):
        key = "outline_m" if name == "outline" else "openings_m"
        return [
            {"mark": slab["mark"], **dict(enumerate(part))} for slab in slabs for part in slab.get(key, ())
        ]
    if name == "fence":
        return [dict(enumerate(corner)) for corner in table["pour"].get("site", {}).get("fence", ())]
    if name == "people":
        return [
            {"role": role, "person": person} for role, names in table["people"].items() for person in names
        ]
    return list(table.get(name, []))


def _write_pour(sheet: Worksheet, head: dict[str, Any]) -> None:
    for number, title in enumerate(("key", "value", "explanation"), 1):
        _head(sheet, number, title, 34 if number < 3 else 60)
    for number, column in enumerate(POUR, 2):
        _text(sheet.cell(number, 1), column.header)
        _cell(sheet.cell(number, 2), _get(head, column.path))
        _text(sheet.cell(number, 3), column.say, font=SAID)
    sheet.freeze_panes = "A2"


def _write_rows(sheet: Worksheet, columns: Sequence[Column], entries: list[dict[Any, Any]]) -> None:
    for number, column in enumerate(columns, 1):
        _head(sheet, number, column.header, max(12, len(column.header) + 3))
        _text(sheet.cell(EXPLAINED_ROW, number), column.say, font=SAID)
    for row, entry in enumerate(entries, EXPLAINED_ROW + 1):
        for number, column in enumerate(columns, 1):
            _cell(sheet.cell(row, number), _get(entry, column.path))
    _text(sheet.cell(EXPLAINED_ROW, 1), explanation_of(columns), font=SAID)
    sheet.freeze_panes = "A3"


def _head(sheet: Worksheet, number: int, title: str, width: int) -> None:
    cell = sheet.cell(1, number)
    _text(cell, title, font=HEADING)
    cell.fill = BAND
    sheet.column_dimensions[get_column_letter(number)].width = width


def _cell(cell: Any, value: Any) -> None:
    if isinstance(value, datetime):
        _text(cell, value.isoformat())
    elif isinstance(value, list | tuple):
        _text(cell, ", ".join(map(str, value)) or NONE)
    elif isinstance(value, str):
        _text(cell, value)
    elif value is not None:
        cell.value = value


def _text(cell: Any, text: str, *, font: Font | None = None) -> None:
    """Write text as text: a name that starts like a formula must neither be one nor become one when edited."""
    if not text:
        return
    cell.value = text
    cell.data_type = "s"
    if text[0] in "=+-@\t\r":
        cell.quotePrefix = True
    if font is not None:
        cell.font = font


def _get(entry: Any, path: Sequence[str | int]) -> Any:
    for step in path:
        if isinstance(entry, dict):
            entry = entry.get(step)
        elif isinstance(entry, list | tuple) and isinstance(step, int) and step < len(entry):
            entry = entry[step]
        else:
            return None
    return entry
