"""Tables for a spreadsheet: numbers as numbers, units in the headings, and text that can't become a formula."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import streamlit as st
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font

from ui import words
from ui.parts.plain import shown
from ui.parts.plain import source as source_of
from verifier.pipeline.decision.check import Check

Cell = str | float | int | datetime | None
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_TIME = "yyyy-mm-dd hh:mm"


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table: its title, a heading for each column, and rows.

    Times carry their zone; the file shows them in the zone that they carry, since a spreadsheet knows no zones.
    """

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[Cell]]


def offer(sheets: Callable[[], Sequence[Sheet]], name: str, *, key: str) -> None:
    """Offer tables as a spreadsheet, where they are shown.

    Args:
        sheets: Makes them; asked when somebody takes the file.
        name: What the file is called, without its ending.
        key: Which button it is.
    """
    st.download_button(
        words.TABLES,
        data=lambda: book_of(sheets()),
        file_name=f"{file_name(name)}.xlsx",
        mime=XLSX,
        key=f"tables-{key}",
        on_click="ignore",  # drawing the view again would drop the file while it is fetched
    )


def workbook(check: Check) -> bytes:
    """Write findings, measurements, coverage and reasons as a workbook.

    Args:
        check: The check.

    Returns:
        The .xlsx file.
    """
    return book_of(
        (
            Sheet(words.SHEET_FINDINGS, words.COLUMNS_FINDINGS, tuple(_findings(check))),
            Sheet(words.SHEET_MEASUREMENTS, words.COLUMNS_MEASUREMENTS, tuple(_measurements(check))),
            Sheet(words.SHEET_COVERAGE, words.COLUMNS_COVERAGE, tuple(_coverage(check))),
            Sheet(words.SHEET_REASONS, words.COLUMNS_REASONS, tuple(_reasons(check))),
        )
    )


def book_of(sheets: Sequence[Sheet]) -> bytes:
    """Write tables as a workbook.

    Args:
        sheets: At least one; those without a row are written all the same, so that nobody looks for them.

    Returns:
        The .xlsx file.
    """
    book = Workbook()
    book.remove(book.worksheets[0])
    for sheet in sheets:
        _sheet(book, sheet)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _findings(check: Check) -> Iterable[Sequence[Cell]]:
    for f in check.findings:
        worst = f.worst.measurement if f.worst is not None else None
        yield (
            f.requirement.element,
            f.requirement.layer and words.said(f.requirement.layer),
            f.spot,
            words.RULE.get(f.requirement.rule, f.requirement.rule),
            words.VERDICT[f.verdict] if f.measured else words.FINDINGS_UNMEASURED,
            f.probability_low,
            f.probability_high,
            f.requirement.lower,
            f.requirement.upper,
            f.requirement.nominal,
            worst.value if worst else None,
            worst.expanded_uncertainty if worst else None,
            f.requirement.unit,
            len(f.judged),
            "; ".join(source_of(source) for source in f.requirement.sources),
            words.said(f.next_step),
        )


def _measurements(check: Check) -> Iterable[Sequence[Cell]]:
    for m in check.measurements:
        yield (
            m.element, m.layer and words.said(m.layer), m.spot, words.MEASURAND.get(m.measurand.value, m.measurand.value), m.index, m.value,
            m.expanded_uncertainty, m.unit, m.by, m.person, m.taken_at, m.trace.original_name, m.trace.original_sha256,
        )  # fmt: skip


def _coverage(check: Check) -> Iterable[Sequence[Cell]]:
    for c in check.coverage:
        yield (
            c.element,
            words.said(c.layer),
            words.said(c.what),
            c.asked,
            len(c.there),
            ", ".join(c.missing),
            words.said(c.asked_by),
        )


def _reasons(check: Check) -> Iterable[Sequence[Cell]]:
    decision = check.decision
    for r in (*decision.reasons, *decision.conditions, *decision.cautions):
        yield words.WEIGHT[r.weight], words.said(r.says), words.said(r.clears), words.said(r.owner)


def _sheet(book: Workbook, told: Sheet) -> None:
    sheet = book.create_sheet(told.title)
    sheet.append(list(told.columns))
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for number, row in enumerate(told.rows, start=2):
        for column, value in enumerate(row, start=1):
            cell = sheet.cell(number, column)
            if isinstance(value, str):
                # Kept as text whatever it begins with: a file name is never a formula.
                cell.value = ILLEGAL_CHARACTERS_RE.sub("", shown(value))
                cell.data_type = "s"
                cell.quotePrefix = value[:1] in "=+-@\t\r" and value != ""
            elif isinstance(value, datetime):
                cell.value = value.replace(tzinfo=None)
                cell.number_format = _TIME
            else:
                cell.value = value
    sheet.freeze_panes = "A2"
    sheet.auto_filter.ref = sheet.dimensions
    for column in sheet.columns:
        width = max(len(str(cell.value or "")) for cell in column)
        sheet.column_dimensions[column[0].column_letter].width = min(max(width + 2, 8), 60)


def file_name(text: str) -> str:
    """A name that every file system takes.

    Args:
        text: Any text.

    Returns:
        Its letters, digits and hyphens.
    """
    kept = "".join(c if c.isalnum() or c in "-_" else "-" for c in text).strip("-")
    return kept[:60] or "pour"
