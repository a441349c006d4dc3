"""A round walked with a spreadsheet or on paper: one CSV file, one person, many answers. Every faulty line is named."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from pydantic import ValidationError

from verifier.errors import BadInput, faults_of
from verifier.rounds.answers import Answer
from verifier.rounds.items import CheckList
from verifier.store.table import table_of

COLUMNS = (
    "item", "round", "word", "value", "planned", "low", "high", "limit_source",
    "photos", "documents", "place", "remark",
)  # fmt: skip
LARGEST_LINES = 2_000
_NUMBERS = ("value", "planned", "low", "high")


def read_answers(
    text: str, checklist: CheckList, by: str, at: datetime, hash_of: Callable[[str], str], *, where: str
) -> tuple[Answer, ...]:
    """Read the answers of one person from CSV.

    Args:
        text: Heading with names of `COLUMNS`, at least item, round and word; then a line for each answer. Several photos or
            documents stand in one cell with blanks between them.
        checklist: The list that is answered.
        by: Who answers.
        at: When, with zone.
        hash_of: Gives the hash of a photo or document by its name.
        where: Name of the file, for errors.

    Returns:
        Answers in the order of the file.

    Raises:
        BadInput: If a heading or a line can't be read; all faulty lines are named.
    """
    table = table_of(text, where=where, known=COLUMNS, needed=COLUMNS[:3], most=LARGEST_LINES)
    if not table.lines:
        raise BadInput(
            "There is no line below the headings.", where=where, todo="Give a line for each answer."
        )
    found, faults = [], []
    for line in table.lines:
        try:
            if line.wrong:
                raise BadInput(f"{line.wrong}; put words with commas in quotes", where="line", todo="")
            found.append(_answer(line.cells, checklist, by, at, hash_of))
        except BadInput as error:
            faults.append(f"line {line.number}: {error.wrong.removesuffix('.')}")
        except ValidationError as error:
            faults.append(f"line {line.number}: {faults_of(error)}")
    if faults:
        raise BadInput(
            f"{'; '.join(faults)}.", where=where, todo="Correct these lines; nothing was recorded."
        )
    return tuple(found)


def _answer(
    cells: dict[str, str], checklist: CheckList, by: str, at: datetime, hash_of: Callable[[str], str]
) -> Answer:
    item = checklist.find(cells.get("item", ""))
    fields: dict[str, Any] = {
        "item": item.id,
        "round": cells.get("round"),
        "word": cells.get("word"),
        "by": by,
        "at": at,
        "photos": tuple(map(hash_of, cells.get("photos", "").split())),
        "documents": tuple(map(hash_of, cells.get("documents", "").split())),
        "remark": cells.get("remark", ""),
    }
    if cells.get("place"):
        fields["place"] = cells["place"]
    if cells.get("value"):
        numbers = {name: cells[name] for name in _NUMBERS if cells.get(name)}
        fields["value"] = numbers | {"unit": item.unit, "limit_source": cells.get("limit_source", "")}
    return Answer.model_validate(fields)
