"""Bar schedules as spreadsheets, read into a pour. Every cell at fault is named."""

from __future__ import annotations

import difflib
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from verifier.drawing.fault import Fault
from verifier.drawing.pour import Pour
from verifier.drawing.read import LISTS, DrawingFaults, pour_from_table
from verifier.drawing.schedule_columns import POUR, SHEETS, Column
from verifier.drawing.schedule_write import EXPLAINED_ROW, NONE, explanation_of
from verifier.errors import BadInput

LARGEST_UNPACKED = 50_000_000
LARGEST_ROWS = 5_000


def read_schedule(path: Path) -> Pour:
    """Read the drawing values of a pour from a spreadsheet of the form that ``write_schedule`` makes.

    Args:
        path: The .xlsx file.

    Returns:
        The pour, checked as pour.toml is.

    Raises:
        DrawingFaults: If any cell can't be used; it lists all of them by sheet and cell.
        BadInput: If the file is no spreadsheet of this form.
    """
    book = _open(path)
    reading = _Reading()
    for name in book.sheetnames:
        if name not in ("pour", *SHEETS):
            near = difflib.get_close_matches(name, ["pour", *SHEETS], n=1, cutoff=0.0)
            reading.faults.append(
                Fault(f"sheet {name}", None, "is not a sheet of a schedule", f'nearest is "{near[0]}"')
            )
    if "pour" not in book.sheetnames:
        raise BadInput(
            "There is no sheet named pour.", where=str(path), todo="Start from a written schedule."
        )
    table: dict[str, Any] = {"pour": reading.pour(book["pour"])}
    rows = {
        name: list(reading.rows(book[name], columns)) if name in book.sheetnames else []
        for name, columns in SHEETS.items()
    }
    table |= _assembled(rows, table["pour"], reading)
    try:
        pour = pour_from_table(table, where=str(path))
    except DrawingFaults as error:
        raise DrawingFaults(
            [*reading.faults, *map(reading.with_cell, error.faults)], where=str(path)
        ) from error
    if reading.faults:
        raise DrawingFaults(reading.faults, where=str(path))
    return pour


def _open(path: Path) -> Workbook:
    try:
        with zipfile.ZipFile(path) as packed:
            unpacked = sum(part.file_size for part in packed.infolist())
        if unpacked > LARGEST_UNPACKED:
            raise BadInput(
                f"The file unpacks to {unpacked // 1_000_000} MB; up to {LARGEST_UNPACKED // 1_000_000} MB are read.",
                where=str(path),
                todo="Keep one pour in a schedule.",
            )
        return load_workbook(path, keep_links=False)
    except FileNotFoundError as error:
        raise BadInput("There is no such file.", where=str(path), todo="Check the name.") from error
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, OSError, AttributeError) as error:
        raise BadInput(
            "This is no .xlsx spreadsheet that can be opened.",
            where=str(path),
            todo="Save it as .xlsx and try again.",
        ) from error


@dataclass(frozen=True, slots=True)
class _Row:
    """Values of one row under their keys, and the cell that each came from."""

    entry: dict[Any, Any]
    places: dict[str, str]


@dataclass(slots=True)
class _Reading:
    """Faults found so far, and where each key came from."""

    faults: list[Fault] = field(default_factory=list)
    cells: dict[str, str] = field(default_factory=dict)

    def pour(self, sheet: Worksheet) -> dict[str, Any]:
        """The sheet pour: a row for each key."""
        out: dict[str, Any] = {}
        columns = {column.header: column for column in POUR}
        self.merged(sheet)
        for row in sheet.iter_rows(min_row=2):
            for beside in row[3:]:  # column C holds explanations
                if beside.value is not None:
                    self.unknown(
                        sheet, beside.coordinate, beside.value, ["a key in column A, its value in B"]
                    )
            key, cell = row[0].value, row[1]
            if key is None and cell.value is None:
                continue
            if not isinstance(key, str) or key not in columns:
                self.unknown(sheet, row[0].coordinate, key, list(columns))
                continue
            value = self.value(sheet, cell, columns[key])
            if value is not None:
                _put(out, columns[key].path, value)
                self.cells["pour." + _dotted(columns[key].path)] = f"{sheet.title}!{cell.coordinate}"
        return out

    def rows(self, sheet: Worksheet, columns: Sequence[Column]) -> Iterator[_Row]:
        """Every filled row below the headings and their explanations."""
        headed: dict[int, Column] = {}
        self.merged(sheet)
        for cell in sheet[1]:
            column = next((column for column in columns if column.header == cell.value), None)
            if column is not None and column in headed.values():
                self.faults.append(
                    Fault(
                        f"{sheet.title}!{cell.coordinate}", cell.value, "is there twice", "one column of it"
                    )
                )
            elif column is not None:
                headed[cell.column or 0] = column
            elif cell.value is not None:
                self.unknown(sheet, cell.coordinate, cell.value, [column.header for column in columns])
        if sheet.max_row > LARGEST_ROWS:
            self.faults.append(
                Fault(f"sheet {sheet.title}", sheet.max_row, "has too many rows", f"up to {LARGEST_ROWS}")
            )
            return
        for row in sheet.iter_rows(min_row=2):
            explained = row[0].row == EXPLAINED_ROW and row[0].value == explanation_of(columns)
            if explained or all(cell.value is None for cell in row):
                continue
            yield self.row(sheet, row, headed)

    def row(self, sheet: Worksheet, row: Sequence[Any], headed: dict[int, Column]) -> _Row:
        """One row; each cell is remembered with the key that its value will stand at."""
        out = _Row({}, {})
        for cell in row:
            column = headed.get(cell.column)
            if column is None:
                if cell.value is not None:
                    self.unknown(sheet, cell.coordinate, cell.value, ["a heading in row 1 above it"])
                continue
            value = self.value(sheet, cell, column)
            if value is not None:
                _put(out.entry, column.path, value)
                out.places[_dotted(column.path)] = f"{sheet.title}!{cell.coordinate}"
        return out

    def place(self, row: _Row, prefix: str) -> None:
        """Note where the values of a row will stand in pour.toml."""
        self.cells |= {prefix + key: cell for key, cell in row.places.items()}

    def value(self, sheet: Worksheet, cell: Any, column: Column) -> Any:
        """The value of a cell as pour.toml would hold it; a formula is refused, since its value is not in the cell."""
        where = f"{sheet.title}!{cell.coordinate}"
        value = cell.value
        if value is None or (isinstance(value, str) and not value.strip()):
            return None
        if cell.data_type in ("f", "e"):
            wrong = "holds a formula" if cell.data_type == "f" else "holds a spreadsheet error"
            self.faults.append(Fault(where, str(value), wrong, "the value itself"))
            return None
        if column.kind == "names":
            return [name.strip() for name in str(value).split(",")]
        if column.kind == "numbers":
            return _numbers(value)
        if column.kind == "time" and isinstance(value, str):
            try:
                return datetime.fromisoformat(value.strip())
            except ValueError:
                return value
        if column.kind == "whole" and isinstance(value, float) and value.is_integer():
            return int(value)
        if column.kind == "text" and isinstance(value, int | float) and column.header != "lap":
            return str(value)
        return value

    def merged(self, sheet: Worksheet) -> None:
        """Name merged cells: only the first of them holds a value, the others would be read as empty."""
        for area in sheet.merged_cells.ranges:
            self.faults.append(
                Fault(f"{sheet.title}!{area}", None, "are merged cells", "a value in each cell")
            )

    def unknown(self, sheet: Worksheet, cell: str, found: object, valid: list[str]) -> None:
        near = difflib.get_close_matches(str(found), valid, n=1, cutoff=0.0)[0]
        self.faults.append(Fault(f"{sheet.title}!{cell}", found, "is not known", f'nearest is "{near}"'))

    def with_cell(self, fault: Fault) -> Fault:
        """The same fault with the cell that its key came from, where there is one."""
        bare = _without_number(fault.key)
        place = next((cell for key, cell in self.cells.items() if key == bare), None)
        return fault if place is None else replace(fault, key=f"{place} ({fault.key})")


def _numbers(value: object) -> object:
    """Whole numbers with commas between them, or the word for no number; anything else is left for the drawing to refuse."""
    if isinstance(value, int | float):
        return [int(value)] if float(value).is_integer() else value
    parts = [part.strip() for part in str(value).split(",")]
    if parts == [NONE]:
        return []
    return [int(part) for part in parts] if all(part.isdecimal() for part in parts) else value


def _assembled(rows: dict[str, list[_Row]], head: dict[str, Any], reading: _Reading) -> dict[str, Any]:
    """Lay layers, corners and openings into their slabs, and people into their roles."""
    slabs: dict[Any, dict[Any, Any]] = {row.entry.get("mark"): row.entry for row in rows["slab"]}
    for name in ("slab", "beam", "drop", "upstand"):
        for row in rows[name]:
            reading.place(row, f'{name} "{row.entry.get("mark")}".')
    for number, row in enumerate(rows["spot"], 1):
        reading.place(row, f"spot[{number}].")
    for name, key in (("layer", "layers"), ("outline", "outline_m"), ("opening", "openings_m")):
        for row in rows[name]:
            mark = row.entry.pop("mark", None)
            if mark not in slabs:
                allowed = ", ".join(map(str, slabs)) or "a mark of the sheet slab"
                reading.faults.append(
                    Fault(row.places.get("mark", f"sheet {name}"), mark, "is the mark of no slab", allowed)
                )
                continue
            entries = slabs[mark].setdefault(key, [])
            entries.append(row.entry if name == "layer" else _list(row, len(SHEETS[name]) - 1))
            dot = "." if name == "layer" else ""
            reading.place(row, f'slab "{mark}".{key}[{len(entries)}]{dot}')
    if rows["fence"]:
        head.setdefault("site", {})["fence"] = [_list(row, 2) for row in rows["fence"]]
    people: dict[str, list[Any]] = {}
    for row in rows["people"]:
        people.setdefault(str(row.entry.get("role")), []).append(row.entry.get("person"))
    out: dict[str, Any] = {name: [row.entry for row in rows[name]] for name in LISTS}
    out["people"] = people
    return {name: value for name, value in out.items() if value}


def _list(row: _Row, length: int) -> list[Any]:
    return [row.entry.get(place) for place in range(length)]


def _put(entry: dict[Any, Any], path: Sequence[str | int], value: Any) -> None:
    *steps, last = path
    node: Any = entry
    for step, following in zip(steps, path[1:], strict=True):
        node = node.setdefault(step, [] if isinstance(following, int) else {})
    if isinstance(node, list) and isinstance(last, int):
        node.extend([None] * (last + 1 - len(node)))
        node[last] = value
    else:
        node[last] = value


def _dotted(path: Sequence[str | int]) -> str:
    steps = (f"[{step + 1}]" if isinstance(step, int) else f".{step}" for step in path)
    return "".join(steps).removeprefix(".")


def _without_number(key: str) -> str:
    """``slab[1] "S1".size_m`` and ``slab "S1".size_m`` name the same place."""
    head, quote, rest = key.partition(' "')
    return head.partition("[")[0] + quote + rest if quote else key
