"""A pour written as pour.toml: what an importer read, in the file that people edit from then on."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from verifier.drawing.bars import number
from verifier.drawing.pour import Pour

BESIDE = "# Written from a schedule or a model. Compare with the drawing before use; the drawing governs.\n"


def pour_text(pour: Pour) -> str:
    """Write a pour as TOML.

    Args:
        pour: The pour.

    Returns:
        Text that reads back to an equal pour; values that are the built-in ones are left out.
    """
    table = pour_table(pour)
    out = [BESIDE, *_section("pour", table["pour"])]
    for name in ("slab", "beam", "drop", "upstand", "spot"):
        out += [entry_text(name, entry) for entry in table.get(name, [])]
    out += ["\n[people]\n", *(_line(key, value) for key, value in table["people"].items())]
    return "".join(out)


def entry_text(name: str, entry: dict[str, Any]) -> str:
    """Write one entry of a list of tables.

    Args:
        name: ``slab``, ``beam``, ``drop``, ``upstand`` or ``spot``.
        entry: Its keys and values, tables inside it written on one line each.

    Returns:
        TOML.
    """
    return f"\n[[{name}]]\n" + "".join(_line(key, value) for key, value in entry.items())


def pour_table(pour: Pour) -> dict[str, Any]:
    """Turn a pour into the plain table that pour.toml holds.

    Args:
        pour: The pour.

    Returns:
        Keys and values as ``pour_from_table`` takes them; built-in values are left out.
    """
    dumped = pour.model_dump(exclude_defaults=True, exclude_none=True)
    for plural, name in (
        ("slabs", "slab"),
        ("beams", "beam"),
        ("drops", "drop"),
        ("upstands", "upstand"),
        ("spots", "spot"),
    ):
        if plural in dumped:
            dumped[name] = dumped.pop(plural)
    return dumped


def _section(name: str, table: dict[str, Any]) -> list[str]:
    """Values first, tables after them: TOML would else put a value into the table before it."""
    plain = [_line(key, value) for key, value in table.items() if not isinstance(value, dict)]
    inner = [_section(f"{name}.{key}", value) for key, value in table.items() if isinstance(value, dict)]
    return [f"\n[{name}]\n", *plain, *(line for lines in inner for line in lines)]


def _line(key: str, value: Any) -> str:
    if key == "layers" and value and isinstance(value[0], dict):
        rows = "".join(f"  {_value(layer)},\n" for layer in value)
        return f"{key} = [\n{rows}]\n"
    return f"{key} = {_value(value)}\n"


def _value(value: Any) -> str:
    if isinstance(value, str):
        # JSON and TOML escape alike, but for the delete character that TOML wants escaped.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(inner) for inner in value) + "]"
    return number(value)
