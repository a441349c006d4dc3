"""The order of a pour as a file that people fill in: a draft from drawing and code, each field as typed, and the sheet it makes."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, MutableMapping
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError
from tomlkit.items import InlineTable

from verifier.concrete.order import OrderSheet
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, faults_of
from verifier.pipeline.concreting.order_draft import order_draft
from verifier.pipeline.concreting.ordering import TRUCK_M3, quantities_of, samples_of
from verifier.pipeline.folder.versions import ORDER_FILE

RATE_M3_PER_H = 12.0
HEAD = "# Order of concrete for one pour.\n"


def write_order_draft(
    folder: Path, *, truck_m3: float = TRUCK_M3, rate_m3_per_h: float = RATE_M3_PER_H
) -> Path:
    """Write order.toml with what drawing and code already say; a person fills in the rest.

    Args:
        folder: The pour folder.
        truck_m3: What one truck brings. [m3]
        rate_m3_per_h: Rate at which the gang can place. [m3/h]

    Returns:
        The file.

    Raises:
        BadInput: If there is an order file already, or the drawing values can't be used.
    """
    path = folder / ORDER_FILE
    pour = read_pour(folder)
    found = quantities_of(folder, truck_m3=truck_m3)
    text = order_draft(pour, found, samples_of(folder, truck_m3=truck_m3), rate_m3_per_h)
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise BadInput(
            "There is an order file already; it was left as it is.",
            where=str(path),
            todo="Edit it, then look at what stands against it.",
            command=f"verifier order {folder}",
        ) from error
    return path


def written_order(folder: Path) -> dict[str, Any]:
    """Read the fields of order.toml as they stand, complete or not.

    Args:
        folder: The pour folder.

    Returns:
        The table; empty while there is no order file.

    Raises:
        BadInput: If it is not TOML.
    """
    path = folder / ORDER_FILE
    if not path.is_file():
        return {}
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BadInput(
            f"It is not readable TOML: {error}.", where=str(path), todo="Correct the line named."
        ) from error


def keep_order(folder: Path, changes: Mapping[str, Any]) -> None:
    """Write changed fields into order.toml, in one step: what is typed is kept, complete or not, and so is all else in the file.

    Args:
        folder: The pour folder.
        changes: Field -> value; a dotted name is a field of a table, as ``placing.pump``. None takes the field out.

    Raises:
        BadInput: If the file that is there is not TOML, or a field is wanted inside something that is no table.
    """
    path = folder / ORDER_FILE
    written_order(folder)
    document = tomlkit.parse(path.read_text(encoding="utf-8") if path.is_file() else HEAD)
    for name, value in changes.items():
        *tables, last = name.split(".")
        target: MutableMapping[str, Any] = document
        for table in tables:
            target = target.setdefault(table, tomlkit.table())
            if not isinstance(target, MutableMapping):
                raise BadInput(
                    f"{table} is no table.",
                    where=str(path),
                    todo=f"Write it as [{table}] with its fields below.",
                )
        if value is None:
            target.pop(last, None)
        else:
            target[last] = _inline(value) if isinstance(value, Mapping) else value
    fresh = path.with_suffix(".new")
    fresh.write_text(tomlkit.dumps(document), encoding="utf-8")
    fresh.replace(path)


def _inline(table: Mapping[str, Any]) -> InlineTable:
    """A small table on one line, as the draft has it."""
    line = tomlkit.inline_table()
    line.update(table)
    return line


def sheet_in(folder: Path) -> OrderSheet | None:
    """Read the order as it is filled in, sent or not.

    Args:
        folder: The pour folder.

    Returns:
        The sheet, or None while there is no order file.

    Raises:
        BadInput: If a field is missing or wrong; all are named.
    """
    path = folder / ORDER_FILE
    if not path.is_file():
        return None
    table = written_order(folder)
    pour = read_pour(folder)
    known = {"pour": pour.pour.id, "ordered_at": None, "confirmation": None}
    try:
        return OrderSheet.model_validate(table | known)
    except ValidationError as error:
        raise BadInput(f"{_unfilled(error)}.", where=str(path), todo="Fill in these fields.") from error


def _unfilled(error: ValidationError) -> str:
    """Fields left empty in one list, and every other fault in its own words."""
    empty = [".".join(map(str, e["loc"])) for e in error.errors() if e["type"] == "string_too_short"]
    told = [
        part for part in faults_of(error).split("; ") if not any(part.startswith(f"{n}: ") for n in empty)
    ]
    return "; ".join([*([f"Still empty: {', '.join(empty)}"] if empty else []), *told])
