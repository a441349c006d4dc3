"""A forecast from a CSV file. What can't be read is named line by line; nothing is skipped."""

from __future__ import annotations

from datetime import datetime

from pydantic import ValidationError

from verifier.concrete.evaporation import Hour
from verifier.errors import BadInput, fault_in_words
from verifier.store.table import Line, table_of

LARGEST_FORECAST_LINES = 2_000
NEEDED = ("at", "air_c", "humidity_percent", "wind_km_h")
UNITS = "air and concrete in C, humidity in %, wind in km/h (m/s x 3.6), rain in mm"


def read_forecast(text: str, *, where: str) -> tuple[Hour, ...]:
    """Read a forecast from CSV.

    Args:
        text: Heading with the names of `Hour` (``at``, ``air_c``, ``humidity_percent``, ``wind_km_h``, maybe ``rain_mm``,
            ``rain_chance_percent``, ``concrete_c``), then one line per hour; commas, semicolons or tabs between cells. A
            decimal comma is read where commas don't part the cells.
        where: Name of the file, for errors.

    Returns:
        Hours in the order of the file.

    Raises:
        BadInput: If a heading or a line can't be read, or an hour is there twice; all faulty lines are named.
    """
    table = table_of(
        text, where=where, known=tuple(Hour.model_fields), needed=NEEDED, most=LARGEST_FORECAST_LINES
    )
    hours: list[Hour] = []
    faults: list[str] = []
    seen: dict[datetime, int] = {}
    for line in table.lines:
        try:
            hour = _hour(line, decimal_comma=table.separator != ",")
        except BadInput as error:
            faults.append(f"line {line.number}: {error.wrong.removesuffix('.')}")
            continue
        if hour.at in seen:
            faults.append(
                f"line {line.number}: {hour.at:%Y-%m-%d %H:%M %z} stands in line {seen[hour.at]}, too"
            )
        seen.setdefault(hour.at, line.number)
        hours.append(hour)
    if faults or not hours:
        raise BadInput(
            f"{'; '.join(faults) or 'There is no line below the headings'}.",
            where=where,
            todo=f"Correct these lines; units: {UNITS}.",
        )
    return tuple(hours)


def _hour(line: Line, *, decimal_comma: bool) -> Hour:
    if line.wrong:
        hint = "" if decimal_comma else "; with a decimal comma part the cells by semicolons"
        raise BadInput(f"{line.wrong}{hint}", where="line", todo="")
    cells = {name: value for name, value in line.cells.items() if value}
    if decimal_comma:
        cells = {n: v if n == "at" else v.replace(",", ".", 1) for n, v in cells.items()}
    try:
        return Hour.model_validate(cells)
    except ValidationError as error:
        told = "; ".join(_told(str(e["loc"][0]), e["type"], fault_in_words(e), cells) for e in error.errors())
        raise BadInput(told, where="line", todo="") from error


def _told(name: str, kind: str, says: str, cells: dict[str, str]) -> str:
    """What is wrong with one cell, in the words of the one who filled it in."""
    if kind == "missing":
        return f"{name} is empty"
    if kind == "timezone_aware":
        return (
            f'at: "{cells[name]}" has no time zone, write for example {cells[name].replace(" ", "T")}+02:00'
        )
    if kind.startswith("datetime"):
        return f'at: "{cells[name]}" is no time, write it as 2026-05-14T06:00+02:00'
    return f'{name} "{cells.get(name, "")}": {says}'
