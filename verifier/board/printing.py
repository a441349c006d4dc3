"""A scale board as a sheet to print: true-size PDF, 300-dpi raster, and its definition beside it.

The sheet is typeset by typst from a source made here, with the fonts that typst carries, so that it looks the same on
every machine.
"""

from __future__ import annotations

import io
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import cv2
import numpy as np
import segno
import typst

from verifier.board.definition import BoardDefinition
from verifier.board.standing import PAPERS, Paper, issued_board, standing_board
from verifier.errors import BadInput

RASTER_DPI = 300
MM_PER_PT = 25.4 / 72

SHEET_MM: dict[Paper, tuple[float, float]] = {"A5": (210, 148), "A4": (297, 210), "A3": (420, 297)}
"""Landscape sheets (ISO 216)."""

CHECK_LENGTH_MM: dict[Paper, float] = {"A5": 150, "A4": 200, "A3": 300}

ADVICE = (
    "Lay the card flat on the upper bars; it must not rock.",
    "Keep one light on all of it: full sun or full shade.",
    "Take the picture so that the whole board is in it.",
)

_SCRIPTS = ("LATIN", "GREEK", "CYRILLIC")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One board to be printed.

    Attributes:
        paper: Sheet size.
        number: Board number that people read on it.
        definition: Its markers.
        pour: The pour in plain text, None for a standing board.
        ledger_head: Short form of the ledger head an issued board was drawn from, None for a standing board.
    """

    paper: Paper
    number: int
    definition: BoardDefinition
    pour: str | None = None
    ledger_head: str | None = None

    @property
    def field_origin_mm(self) -> tuple[float, float]:
        """Where the board's origin lies on the sheet, from its top-left corner. [mm]."""
        width, height = SHEET_MM[self.paper]
        chessboard = self.definition.chessboard
        if chessboard is None:
            raise ValueError("a printable sheet needs a checkered field")
        columns, rows = chessboard.squares
        return (width - columns * chessboard.square_mm) / 2, (height - rows * chessboard.square_mm) / 2


def standing_sheet(paper: str, number: int, *, pour: str | None = None) -> Sheet:
    """A standing board as a sheet.

    Args:
        paper: ``A5``, ``A4`` or ``A3``.
        number: Standing number, from 1.
        pour: Text that names the pour, if the board is meant for one.

    Returns:
        The sheet.

    Raises:
        BadInput: If there is no such board.
    """
    definition = standing_board(paper, number)
    return Sheet(_paper(paper), number, definition, pour)


def issued_sheet(paper: str, number: int, ids: tuple[int, ...], *, pour: str, ledger_head: str) -> Sheet:
    """A board issued for one pour as a sheet.

    Args:
        paper: ``A5``, ``A4`` or ``A3``.
        number: Number of the board within the pour.
        ids: Its marker ids, see ``ids_of_issued_board``.
        pour: The pour in plain text.
        ledger_head: Short form of the ledger head.

    Returns:
        The sheet.

    Raises:
        BadInput: If the paper is not built in.
    """
    return Sheet(_paper(paper), number, issued_board(paper, number, ids, pour=pour), pour, ledger_head)


def sheet_pdf(sheet: Sheet) -> bytes:
    """Typeset the sheet in true size.

    Args:
        sheet: What to print.

    Returns:
        A PDF of one page; the same sheet gives the same bytes.

    Raises:
        BadInput: If the pour's name has letters that the built-in fonts lack.
    """
    return _compiled(_source(sheet), "pdf")


def sheet_png(sheet: Sheet) -> bytes:
    """Draw the sheet at 300 dpi.

    Args:
        sheet: What to draw.

    Returns:
        A PNG.

    Raises:
        BadInput: As ``sheet_pdf``.
    """
    return _compiled(_source(sheet), "png")


def write_sheet(sheet: Sheet, pdf: Path, *, png: bool = False) -> tuple[Path, ...]:
    """Write the PDF, the board definition (TOML) beside it and, if asked, the raster.

    Args:
        sheet: What to print.
        pdf: Path of the PDF.
        png: Whether to write the 300-dpi raster too.

    Returns:
        Paths written.

    Raises:
        BadInput: If the pour's name can't be set, or the folder can't be written to.
    """
    if pdf.suffix.lower() != ".pdf":
        raise BadInput(
            "The board is written as a PDF.", where=pdf.name, todo="Give a file name that ends in .pdf."
        )
    content: dict[Path, bytes] = {
        pdf: sheet_pdf(sheet),
        pdf.with_suffix(".toml"): sheet.definition.to_toml().encode(),
    }
    if png:
        content[pdf.with_suffix(".png")] = sheet_png(sheet)
    try:
        for path, data in content.items():
            path.write_bytes(data)
    except OSError as error:
        raise BadInput(
            f"The board can't be written ({error.strerror}).",
            where=str(pdf.parent),
            todo="Choose a folder that exists and may be written to.",
        ) from error
    return tuple(content)


def _paper(name: str) -> Paper:
    return next(paper for paper in PAPERS if paper == name)


def _compiled(source: str, form: Literal["pdf", "png"]) -> bytes:
    # A fixed time stamp: the same board must give the same file.
    made = typst.compile(
        source.encode(),
        format=form,
        ppi=float(RASTER_DPI),
        ignore_system_fonts=True,
        timestamp=0,
    )
    if not isinstance(made, bytes):
        raise TypeError("a board is one page")
    return made


def _source(sheet: Sheet) -> str:
    width, height = SHEET_MM[sheet.paper]
    x0, y0 = sheet.field_origin_mm
    size = 0.5 + 0.022 * height / MM_PER_PT
    parts = [
        "#set document(title: [Scale board], date: none)",
        f"#set page(width: {width}mm, height: {height}mm, margin: 0mm)",
        f'#set text(font: "Libertinus Serif", size: {size * 0.62:.2f}pt, lang: "en")',
        "#set par(leading: 0.42em)",
        _polygons(_black_rectangles(sheet.definition, x0, y0)),
        *_texts(sheet, size),
        *_check_line(sheet),
        _qr(sheet),
    ]
    return "\n".join(parts)


def _black_rectangles(
    definition: BoardDefinition, x0: float, y0: float
) -> list[tuple[float, float, float, float]]:
    chessboard = definition.chessboard
    if chessboard is None:
        raise ValueError("a printable sheet needs a checkered field")
    columns, rows = chessboard.squares
    side = chessboard.square_mm
    # The present ChArUco layout: the top-left square is black.
    out = [
        (x0 + c * side, y0 + r * side, side, side)
        for r in range(rows)
        for c in range(columns)
        if (r + c) % 2 == 0
    ]
    dictionary = definition.marker_dictionary()
    cells = dictionary.markerSize + 2
    for marker in definition.markers:
        picture = cv2.aruco.generateImageMarker(dictionary, marker.id, cells, borderBits=1)
        (left, top), (right, _), *_ = marker.corners_mm
        cell = (right - left) / cells
        for row in range(cells):
            edges = np.flatnonzero(np.diff(np.r_[False, picture[row] == 0, False]))
            out += [
                (x0 + left + a * cell, y0 + top + row * cell, (b - a) * cell, cell)
                for a, b in edges.reshape(-1, 2)
            ]
    return out


def _polygons(rectangles: list[tuple[float, float, float, float]]) -> str:
    # One path for all of them: cells that touch are filled together and leave no hairline between them.
    strokes = [
        f"curve.move(({x:.4f}mm, {y:.4f}mm)), curve.line(({x + w:.4f}mm, {y:.4f}mm)), curve.line(({x + w:.4f}mm, {y + h:.4f}mm)), "
        f'curve.line(({x:.4f}mm, {y + h:.4f}mm)), curve.close(mode: "straight"),'
        for x, y, w, h in rectangles
    ]
    return "#place(top + left, curve(fill: black,\n" + "\n".join(strokes) + "\n))"


def _texts(sheet: Sheet, size: float) -> list[str]:
    x0, y0 = sheet.field_origin_mm
    width, _ = SHEET_MM[sheet.paper]
    pour = f" · pour {sheet.pour}" if sheet.pour else " · any pour"
    head = (
        f"drawn from ledger head {sheet.ledger_head}"
        if sheet.ledger_head
        else f"markers {sheet.definition.ids[0]} to {sheet.definition.ids[-1]}"
    )
    top = y0 * 0.38
    return [
        f'#place(top + left, dx: {x0}mm, dy: {top:.2f}mm, text(size: {size:.2f}pt, weight: "bold", {_string(f"Scale board {sheet.number}{pour}")}))',
        f"#place(top + left, dx: {x0}mm, dy: {y0 * 0.70:.2f}mm, text({_string(f'{sheet.paper}, printed at true size (100 %), {head}')}))",
        f"#place(top + right, dx: -{x0}mm, dy: {top:.2f}mm, box(width: {width * 0.36:.1f}mm, align(right, {{ {' linebreak(); '.join(_string(line) + ';' for line in ADVICE)} }})))",
    ]


def _check_line(sheet: Sheet) -> list[str]:
    x0, y0 = sheet.field_origin_mm
    _, height = SHEET_MM[sheet.paper]
    length = CHECK_LENGTH_MM[sheet.paper]
    y = height - 0.68 * y0
    tick = 0.12 * y0
    line = f"#place(top + left, line(start: ({x0}mm, {y}mm), end: ({x0 + length}mm, {y}mm), stroke: 0.2mm))"
    ticks = [
        f"#place(top + left, line(start: ({x}mm, {y - tick}mm), end: ({x}mm, {y + tick}mm), stroke: 0.2mm))"
        for x in (x0, x0 + length)
    ]
    label = f"Check length {length:g} mm between the middles of the end marks. Measure it with a steel rule and enter it with board number {sheet.number}."
    return [
        line,
        *ticks,
        f"#place(top + left, dx: {x0 + 1}mm, dy: {y + 1.6 * tick:.2f}mm, text({_string(label)}))",
    ]


def _qr(sheet: Sheet) -> str:
    x0, _ = sheet.field_origin_mm
    width, height = SHEET_MM[sheet.paper]
    content = f"scale board {sheet.number}; {sheet.paper}"
    if sheet.pour:
        content += f"; pour {sheet.pour}"
    if sheet.ledger_head:
        content += f"; head {sheet.ledger_head}; ids {' '.join(map(str, sheet.definition.ids))}"
    out = io.BytesIO()
    segno.make(content, error="m", micro=False).save(out, kind="svg", border=0, xmldecl=False)
    side = 0.62 * x0
    svg = _string(out.getvalue().decode())
    return f'#place(top + left, dx: {width - 0.5 * x0 - side / 2:.2f}mm, dy: {height / 2 - side / 2:.2f}mm, image(bytes({svg}), format: "svg", width: {side:.2f}mm))'


def _string(text: str) -> str:
    """A typst string literal; letters that its own fonts lack are refused, for they would print as boxes."""
    strange = sorted({c for c in text if c.isalpha() and not unicodedata.name(c, "").startswith(_SCRIPTS)})
    if strange:
        raise BadInput(
            f"The board can't print the letters {' '.join(strange)}.",
            where="pour name",
            todo="Give the pour an id in Latin, Greek or Cyrillic letters for the board.",
        )
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ") + '"'
