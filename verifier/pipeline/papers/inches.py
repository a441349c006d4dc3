"""US customary values beside the metric ones on paper, for a pour whose drawing is in inches."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from verifier.report.sheet import FindingLine, Line, ReleaseSheet, Table

_NUMBER = r"([-+\u2212]?\d+(?:\.\d+)?)"
_VALUE = re.compile(
    rf"(?<![\w.]){_NUMBER}(?: ± {_NUMBER})?(?: to {_NUMBER})? (mm|m3/h|m³/h|m3 per hour|m3|m³|m|C)\b"
)
_INCH_MM, _YARD_M, _FOOT_M = 25.4, 0.9144, 0.3048


def _yards(value: float) -> str:
    return f"{value / _YARD_M**3:.1f}"


_OTHER: Final[Mapping[str, tuple[Callable[[float], str], str]]] = MappingProxyType(
    {
        "mm": (lambda v: f"{v / _INCH_MM:.2f}", "in"),
        "m": (lambda v: f"{v / _FOOT_M:.1f}", "ft"),
        "C": (lambda v: f"{v * 1.8 + 32:.0f}", "F"),
        **dict.fromkeys(("m3", "m³"), (_yards, "yd³")),
        **dict.fromkeys(("m3/h", "m³/h", "m3 per hour"), (_yards, "yd³/h")),
    }
)


def beside(text: str) -> str:
    """Write the value in inches, feet, cubic yards or degrees Fahrenheit behind each metric one.

    Args:
        text: A sentence or a cell.

    Returns:
        The text with the further values in brackets; units of area and of load stay as they are.

    Source:
        NIST Special Publication 811 (2008), appendix B: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 yd = 0.9144 m, exactly.
    """
    return _VALUE.sub(_with_other, text)


def sheet_beside(sheet: ReleaseSheet) -> ReleaseSheet:
    """Write them on a whole release document; what was signed stays in the record as it was signed.

    Args:
        sheet: The document as data.

    Returns:
        The document with both.
    """
    return sheet.model_copy(
        update={
            "reasons": tuple(map(_line, sheet.reasons)),
            "conditions": tuple(map(_line, sheet.conditions)),
            "cautions": tuple(map(_line, sheet.cautions)),
            "elements": tuple(e.model_copy(update={"what": beside(e.what)}) for e in sheet.elements),
            "findings": tuple(map(_finding, sheet.findings)),
            "tables": tuple(map(_table, sheet.tables)),
        }
    )


def _with_other(found: re.Match[str]) -> str:
    convert, unit = _OTHER[found[4]]
    value, doubt, upto = (None if n is None else float(n.replace("\u2212", "-")) for n in found.groups()[:3])
    told = convert(value or 0.0)
    if doubt is not None and unit != "F":
        told += f" ± {convert(doubt)}"
    if upto is not None:
        told += f" to {convert(upto)}"
    return f"{found[0]} ({told} {unit})"


def _line(line: Line) -> Line:
    return line.model_copy(update={"says": beside(line.says), "clears": beside(line.clears)})


def _finding(finding: FindingLine) -> FindingLine:
    names = ("limits", "measured", "next_step")
    return finding.model_copy(update={name: beside(getattr(finding, name)) for name in names})


def _table(table: Table) -> Table:
    rows = tuple(tuple(map(beside, row)) for row in table.rows)
    return table.model_copy(update={"rows": rows, "note": beside(table.note)})
