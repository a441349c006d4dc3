"""pour.toml in, a checked pour out. All faults of a file are gathered and reported once."""

from __future__ import annotations

import copy
import difflib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from verifier.drawing.agree import faults_of_pour
from verifier.drawing.by_code import faults_of_code
from verifier.drawing.fault import Fault
from verifier.drawing.fit import faults_of_cover
from verifier.drawing.pour import Added, Beam, Heading, People, Pour, Slab, Spot
from verifier.errors import BadInput

LARGEST_BYTES = 2_000_000
TABLES = ("pour", "people")
LISTS = ("slab", "beam", "drop", "upstand", "spot")

Part = TypeVar("Part", bound=BaseModel)


class DrawingFaults(BadInput):
    """Everything that is wrong with a file of drawing values.

    Args:
        faults: All of them, in the order of the file.
        where: The file.
    """

    def __init__(self, faults: Iterable[Fault], *, where: str) -> None:
        self.faults = tuple(faults)
        count = "1 value" if len(self.faults) == 1 else f"{len(self.faults)} values"
        lines = "".join(f"\n  {fault.text}" for fault in self.faults)
        super().__init__(
            f"{count} can't be used:{lines}\n",
            where=where,
            todo="Correct the keys named and read the file again.",
        )


@dataclass(slots=True)
class _Reading:
    """Faults found so far, and the units that a bare spacing is read in."""

    faults: list[Fault]
    context: dict[str, str]

    def part(self, model: type[Part], table: object, key: str) -> Part | None:
        """Read one table. Where only unknown keys are at fault the rest is kept, so that it can still be checked."""
        try:
            return model.model_validate(table, context=self.context)
        except ValidationError as error:
            lines = error.errors()
        self.faults += _merged(_fault(model, table, key, dict(line)) for line in lines)
        if any(line["type"] != "extra_forbidden" for line in lines):
            return None
        rest = copy.deepcopy(table)
        for line in lines:
            _drop(rest, line["loc"])
        return model.model_validate(rest, context=self.context)

    def table(self, model: type[Part], whole: Mapping[str, Any], key: str) -> Part | None:
        if key in whole:
            return self.part(model, whole[key], key)
        self.faults.append(Fault(f"[{key}]", None, "is missing", f"a table [{key}]"))
        return None

    def many(self, model: type[Part], whole: Mapping[str, Any], key: str) -> tuple[Part, ...]:
        entries = whole.get(key, [])
        if not isinstance(entries, list):
            found = type(entries).__name__
            self.faults.append(Fault(key, found, "is not a list of tables", f"[[{key}]] in double brackets"))
            return ()
        parts = []
        for number, entry in enumerate(entries, 1):
            part = self.part(model, entry, _name(key, number, entry))
            if part is not None:
                parts.append(part)
            elif model is Slab and isinstance(entry, dict) and isinstance(entry.get("cover_mm"), dict):
                name = _name(key, number, entry)
                self.faults += faults_of_cover(name, entry.get("thickness_mm"), entry["cover_mm"])
        return tuple(parts)


def read_pour(path: Path) -> Pour:
    """Read and check the drawing values of a pour.

    Args:
        path: The file ``pour.toml``, or the folder that holds it.

    Returns:
        The pour.

    Raises:
        DrawingFaults: If any key or value can't be used; it lists all of them.
        BadInput: If there is no such file, or it is not TOML.
    """
    file = path / "pour.toml" if path.is_dir() else path
    if not file.is_file():
        raise BadInput(
            "There is no pour.toml.",
            where=str(file),
            todo="Write one and fill it in.",
            command="verifier new FOLDER",
        )
    if file.stat().st_size > LARGEST_BYTES:
        raise BadInput(
            f"The file is larger than {LARGEST_BYTES // 1_000_000} MB.",
            where=str(file),
            todo="Give the drawing values of one pour only.",
        )
    return pour_from_text(file.read_bytes(), where=str(file))


@lru_cache(maxsize=64)
def pour_from_text(text: bytes, *, where: str) -> Pour:
    """Read a pour from the bytes of a TOML file; the same bytes are read once.

    Args:
        text: The bytes, UTF-8.
        where: What to call the file in errors.

    Returns:
        The pour.

    Raises:
        DrawingFaults: As ``read_pour``.
        BadInput: If the bytes are not UTF-8 or not TOML.
    """
    try:
        table = tomllib.loads(text.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise BadInput(
            f"Byte {error.start + 1} is not UTF-8.", where=where, todo="Save the file as plain text, UTF-8."
        ) from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise BadInput(f"It is not TOML: {error}.", where=where, todo="Correct the line named.") from error
    return pour_from_table(table, where=where)


def pour_from_table(table: Mapping[str, Any], *, where: str) -> Pour:
    """Check a pour given as a table of plain values.

    Args:
        table: As ``tomllib`` or an importer gives it.
        where: What to call the origin in errors.

    Returns:
        The pour.

    Raises:
        DrawingFaults: As ``read_pour``.
    """
    given = table.get("pour")
    raw_head: dict[str, Any] = given if isinstance(given, dict) else {}
    units = "inch" if raw_head.get("units") == "inch" else "mm"
    reading = _Reading([], {"units": units})
    reading.faults += [
        _unknown_key(key, "", [*TABLES, *LISTS]) for key in table if key not in (*TABLES, *LISTS)
    ]
    head = reading.table(Heading, table, "pour")
    code, by_code = faults_of_code(raw_head)
    people = reading.table(People, table, "people")
    slabs = reading.many(Slab, table, "slab")
    beams = reading.many(Beam, table, "beam")
    drops = reading.many(Added, table, "drop")
    upstands = reading.many(Added, table, "upstand")
    spots = reading.many(Spot, table, "spot")
    complete = not reading.faults
    reading.faults += by_code + faults_of_pour(head, code, slabs, beams, spots, people, complete=complete)
    if reading.faults or head is None or people is None:
        raise DrawingFaults(reading.faults, where=where)
    return Pour(
        pour=head, people=people, slabs=slabs, beams=beams, drops=drops, upstands=upstands, spots=spots
    )


def _name(key: str, number: int, entry: object) -> str:
    mark = entry.get("mark") if isinstance(entry, dict) else None
    return f'{key}[{number}] "{mark}"' if isinstance(mark, str) else f"{key}[{number}]"


def _unknown_key(key: str, parent: str, valid: list[str]) -> Fault:
    near = difflib.get_close_matches(key, valid, n=1, cutoff=0.0)
    full = f"{parent}.{key}" if parent else key
    return Fault(
        full, None, "is not a key of this table", f'nearest valid key: "{near[0]}"' if near else "no key here"
    )


def _path(key: str, loc: Iterable[int | str], table: object) -> str:
    """Spell a location as keys of the file; steps that only name a member of a union are no keys."""
    node, out = table, key
    for step in loc:
        if isinstance(step, int):
            node = node[step] if isinstance(node, list | tuple) and step < len(node) else None
            out += f"[{step + 1}]"
        elif isinstance(node, dict) and step in node:
            node = node[step]
            out += f".{step}"
        elif isinstance(node, dict):
            node = None
            out += f".{step}"
    return out


def _fault(model: type[BaseModel], table: object, key: str, line: dict[str, Any]) -> Fault:
    loc: tuple[int | str, ...] = tuple(line["loc"])
    path = _path(key, loc, table)
    if line["type"] == "extra_forbidden":
        return _unknown_key(str(loc[-1]), _path(key, loc[:-1], table), _fields(model, loc[:-1]))
    if line["type"] == "missing":
        return Fault(path, None, "is missing", "a value for this key")
    if line["type"] == "callout":
        wrong = f"can't be read as a call-out: {line['ctx']['wrong']}"
        return Fault(path, line["input"], wrong, f'nearest readable form "{line["ctx"]["nearest"]}"')
    return Fault(path, line["input"], "can't be used", _said(line))


def _merged(faults: Iterable[Fault]) -> list[Fault]:
    """One fault a key: where a value may take several forms, what is allowed is their sum."""
    out: dict[str, Fault] = {}
    for fault in faults:
        known = out.get(fault.key)
        out[fault.key] = replace(known, allowed=f"{known.allowed} or {fault.allowed}") if known else fault
    return list(out.values())


def _drop(table: Any, loc: tuple[int | str, ...]) -> None:
    """Take an unknown key out of a copy."""
    for step in loc[:-1]:
        table = table[step]
    del table[loc[-1]]


def _fields(model: type[BaseModel], loc: Iterable[int | str]) -> list[str]:
    """Keys allowed in the table at a location of a model."""
    current: type[BaseModel] = model
    for step in loc:
        if isinstance(step, str) and step in current.model_fields:
            inner = _inner_model(current.model_fields[step].annotation)
            current = inner or current
    return list(current.model_fields)


def _inner_model(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for argument in getattr(annotation, "__args__", ()):
        if found := _inner_model(argument):
            return found
    return None


def _said(line: dict[str, Any]) -> str:
    """What is allowed, in our own words where the library's are for programmers."""
    limits = line.get("ctx", {})
    words = {
        "greater_than": "more than {gt:g}",
        "greater_than_equal": "{ge:g} or more",
        "less_than": "less than {lt:g}",
        "less_than_equal": "{le:g} or less",
        "literal_error": "{expected}",
        "float_type": "a number without a unit (the unit is in the key)",
        "int_type": "a whole number",
        "string_type": "text in quotes",
        "datetime_type": "a date and time with its zone, as 2026-11-26T06:30:00+01:00",
        "tuple_type": "a list in square brackets",
        "model_type": "a table of keys",
        "model_attributes_type": "a table of keys",
        "too_short": "a list of {min_length} or more",
        "too_long": "a list of {max_length} or fewer",
        "string_too_short": "text that is not empty",
        "string_too_long": "at most {max_length} characters",
        "string_pattern_mismatch": "letters, figures, point, hyphen and underscore, starting with a letter or figure, at most 64",
        "finite_number": "a finite number",
        "value_error": "{error}",
        "is_instance_of": "a call-out in quotes",
        "dataclass_type": "a call-out in quotes",
        "dataclass_exact_type": "a call-out in quotes",
    }
    form = words.get(line["type"])
    return form.format(**limits) if form else str(line["msg"])
