"""Reads the data files of the codes. Knows their shape, never a rule."""

from __future__ import annotations

import difflib
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from pydantic import ValidationError

from verifier.codes.code import Code
from verifier.errors import BadInput
from verifier.wording import counted

Units = Literal["mm", "inch"]

CODE_FILES = ("is456_2000.toml", "aci318_19.toml", "en1992_1_1_2004.toml", "as3600_2018.toml")
MM_PER_INCH = 25.4


@cache
def known_codes() -> tuple[str, ...]:
    """Name the codes that have a data file.

    Returns:
        Titles with edition.
    """
    return tuple(str(_table(name)["code"]["title"]) for name in CODE_FILES)


@cache
def load_code(title: str, *, units: Units = "mm") -> Code:
    """Load a code of practice.

    Args:
        title: Title with edition, for example ``IS 456:2000``.
        units: Which figures to take where a document has a metric and an inch edition.

    Returns:
        All values of the code and of its companion on execution tolerances, each with clause and status.

    Raises:
        BadInput: If the code is not known, or its data file lacks a key or has one too many.
    """
    titles = known_codes()
    if title not in titles:
        near = difflib.get_close_matches(title, titles, n=1, cutoff=0.0)
        raise BadInput(
            f'The code "{title}" is not known.',
            where="code",
            todo=f'Nearest is "{near[0]}". Known are: {", ".join(titles)}.',
        )
    name = CODE_FILES[titles.index(title)]
    table = _edition(_table(name), units)
    for companion in table["code"].get("companions", []):
        rest = {key: value for key, value in _edition(_table(companion), units).items() if key != "code"}
        table = _joined(table, rest, companion)
    try:
        return Code.model_validate(_in_units(table, "mm" if units == "mm" else "in"))
    except ValidationError as error:
        first = error.errors()[0]
        raise BadInput(
            f"{first['msg']} ({counted(error.error_count(), 'fault')} in all).",
            where=f"{name}, {'.'.join(map(str, first['loc']))}",
            todo="Restore the data file of the installed version, or correct this key.",
        ) from error


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads(files("verifier.codes").joinpath(f"data/{name}").read_text(encoding="utf-8"))


def _edition(table: dict[str, Any], units: Units) -> dict[str, Any]:
    """Stamp a document's title into its entries; where it has a metric edition of its own, that title in mm."""
    head = table["code"]
    title = head.get("title_metric", head["title"]) if units == "mm" else head["title"]
    return {key: _stamped(value, title) for key, value in table.items()}


def _stamped(node: Any, edition: str) -> Any:
    """Write the document's title into every entry that has a clause."""
    if isinstance(node, list):
        return [_stamped(item, edition) for item in node]
    if not isinstance(node, dict):
        return node
    inner = {key: _stamped(value, edition) for key, value in node.items()}
    return inner | {"edition": edition} if "clause" in inner else inner


def _joined(first: dict[str, Any], second: dict[str, Any], name: str) -> dict[str, Any]:
    """Lay the companion's entries beside the code's; the same entry in both would be two rules for one thing."""
    out = dict(first)
    for key, value in second.items():
        if key not in out:
            out[key] = value
        elif isinstance(value, dict) and "clause" not in value and "clause" not in out[key]:
            out[key] = _joined(out[key], value, name)
        else:
            raise BadInput(
                f'"{key}" stands in the code and in its companion.',
                where=name,
                todo="Keep it in one of the two files.",
            )
    return out


def _in_units(node: Any, unit: str) -> Any:
    """Replace each pair of a metric and an inch figure by the one asked for. Keys in ``_mm`` are turned into mm."""
    if isinstance(node, list):
        return [_in_units(item, unit) for item in node]
    if not isinstance(node, dict):
        return node
    out = {}
    for key, value in node.items():
        if isinstance(value, dict) and set(value) == {"mm", "in"}:
            length = unit == "in" and key.endswith("_mm")
            out[key] = round(value[unit] * MM_PER_INCH, 6) if length else value[unit]
        else:
            out[key] = _in_units(value, unit)
    return out
