"""Every figure of a code of practice carries its clause and how well it is known, in the file and when it is used."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel

from verifier.codes import Limit, known_codes, load_code
from verifier.codes.limit import Provision
from verifier.codes.load import CODE_FILES

DATA = Path(__file__).parents[2] / "verifier" / "codes" / "data"
FILES = sorted(DATA.glob("*.toml"))
KNOWN = {"read", "from memory", "disagreement noted", "common practice"}


def unsourced(node: Any, path: str = "", *, sourced: bool = False) -> list[str]:
    """Paths of figures that no table around them gives a clause and a status."""
    if isinstance(node, dict):
        here = sourced or {"clause", "status"} <= set(node)
        return [bad for key, value in node.items() for bad in unsourced(value, f"{path}.{key}", sourced=here)]
    if isinstance(node, list):
        return [
            bad for i, value in enumerate(node) for bad in unsourced(value, f"{path}[{i}]", sourced=sourced)
        ]
    return [path] if isinstance(node, int | float) and not sourced else []


def statuses(node: Any) -> list[str]:
    if isinstance(node, dict):
        own = [node["status"]] if isinstance(node.get("status"), str) else []
        return own + [status for value in node.values() for status in statuses(value)]
    return [status for value in node for status in statuses(value)] if isinstance(node, list) else []


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_every_figure_has_a_clause_and_a_status(file: Path) -> None:
    table = tomllib.loads(file.read_text(encoding="utf-8"))
    assert unsourced(table) == []
    found = statuses(table)
    assert found
    assert set(found) <= KNOWN


def test_a_disagreement_is_told() -> None:
    def silent(node: Any, path: str) -> list[str]:
        if isinstance(node, dict):
            bad = [path] if node.get("status") == "disagreement noted" and not node.get("note") else []
            return bad + [b for key, value in node.items() for b in silent(value, f"{path}.{key}")]
        return [b for value in node for b in silent(value, path)] if isinstance(node, list) else []

    assert [
        bad for file in FILES for bad in silent(tomllib.loads(file.read_text(encoding="utf-8")), file.name)
    ] == []


def provisions(node: object) -> list[Provision]:
    if isinstance(node, BaseModel):
        own = [node] if isinstance(node, Provision) else []
        return own + [p for _, value in node for p in provisions(value)]
    if isinstance(node, dict):
        return [p for value in node.values() for p in provisions(value)]
    return [p for value in node for p in provisions(value)] if isinstance(node, tuple) else []


@pytest.mark.parametrize("title", known_codes())
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_every_loaded_provision_names_its_edition(title: str, units: str) -> None:
    found = provisions(load_code(title, units=units))
    assert len(found) > 15
    assert all(provision.edition for provision in found)


@pytest.mark.parametrize("title", known_codes())
def test_exposures_of_the_head_are_those_of_the_cover_table(title: str) -> None:
    code = load_code(title)
    rule = code.cover
    match rule.form:
        case "by exposure":
            listed = [set(rule.table)]
        case "by member":
            listed = [{row.exposure for row in rule.rows}]
        case "by structural class":
            listed = [set(row) for row in rule.table.values()] + [
                set(rule.class_changes.high_strength_from_mpa)
            ]
        case "by strength":
            listed = [set(rule.rows)]
    assert all(names == set(code.code.exposures) for names in listed)


def test_every_code_file_is_loaded() -> None:
    assert len(known_codes()) == len(CODE_FILES) == len(set(known_codes()))


def test_a_limit_tells_its_source_in_one_line() -> None:
    told = Limit(300, "mm", "26.3.3 b 1", "IS 456:2000", "read").source
    assert told == "IS 456:2000, 26.3.3 b 1 (read)"


def test_one_table_written_in_three_places_is_the_same() -> None:
    code = load_code("EN 1992-1-1:2004")
    assert code.minimum.slab.tension == code.minimum.beam.tension == code.lap.tension
