"""A forecast from a CSV file. What can't be read is named line by line; nothing is skipped."""

from __future__ import annotations

import csv
import io

from pydantic import ValidationError

from verifier.concrete.weather import Hour
from verifier.errors import BadInput

LARGEST_FORECAST_LINES = 2_000


def read_forecast(text: str, *, where: str) -> tuple[Hour, ...]:
    """Read a forecast from CSV.

    Args:
        text: Heading with the names of `Hour` (``at``, ``air_c``, ``humidity_percent``, ``wind_km_h``, maybe ``rain_mm``,
            ``rain_chance_percent``, ``concrete_c``), then one line per hour; commas or semicolons.
        where: Name of the file, for errors.

    Returns:
        Hours in the order of the file.

    Raises:
        BadInput: If a heading or a line can't be read; all faulty lines are named.
    """
    lines = text.lstrip("\ufeff").splitlines()
    if not lines or len(lines) > LARGEST_FORECAST_LINES:
        raise BadInput(
            f"It has {len(lines)} lines.",
            where=where,
            todo=f"Give a heading and up to {LARGEST_FORECAST_LINES} lines.",
        )
    comma = ";" if lines[0].count(";") > lines[0].count(",") else ","
    reader = csv.DictReader(io.StringIO("\n".join(lines)), delimiter=comma)
    names = [name.strip() for name in reader.fieldnames or []]
    unknown = [name for name in names if name not in Hour.model_fields]
    missing = [n for n in ("at", "air_c", "humidity_percent", "wind_km_h") if n not in names]
    if unknown or missing:
        raise BadInput(
            f"Headings missing: {', '.join(missing) or 'none'}; unknown: {', '.join(unknown) or 'none'}.",
            where=where,
            todo=f"Use {', '.join(Hour.model_fields)}.",
        )
    reader.fieldnames = names
    hours, faults = [], []
    for number, row in enumerate(reader, start=2):
        entry = {
            name: value.strip() for name, value in row.items() if isinstance(value, str) and value.strip()
        }
        try:
            hours.append(Hour.model_validate(entry))
        except ValidationError as error:
            told = "; ".join(f"{'.'.join(map(str, e['loc']))}: {e['msg']}" for e in error.errors())
            faults.append(f"line {number}: {told}")
    if faults or not hours:
        raise BadInput(
            f"{'. '.join(faults) or 'There is no line'}.", where=where, todo="Correct these lines."
        )
    return tuple(hours)
