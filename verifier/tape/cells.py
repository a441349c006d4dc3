"""One row's cells, read one by one: a value, or a fault that names the column."""

from __future__ import annotations

import difflib
import re
from datetime import datetime

from verifier.metrology.measurement import Measurand
from verifier.tape.csv_file import READING_COLUMNS, REQUIRED, Row
from verifier.tape.instruments import Register
from verifier.tape.reading import PER_GAP, RowFault

_NAMES = {
    "spacing": None,  # single or mean, by the number of gaps
    "gap": Measurand.SINGLE_GAP,
    "mean": Measurand.MEAN_SPACING,
    "count": Measurand.BAR_COUNT,
    "diameter": Measurand.BAR_DIAMETER,
    "lap": Measurand.LAP_LENGTH,
    "width": Measurand.ELEMENT_WIDTH,
    "depth": Measurand.ELEMENT_DEPTH,
    **{m.value: m for m in Measurand},
}
_ONLY_FOR = {
    "cover_gauge": Measurand.COVER,
    "caliper": Measurand.BAR_DIAMETER,
    "rolled_mark": Measurand.BAR_DIAMETER,
}
_ONE_PER_ELEMENT = (Measurand.ELEMENT_WIDTH, Measurand.ELEMENT_DEPTH)
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_COMMA_NUMBER = re.compile(r"[0-9]+,[0-9]+")
_WITH_UNIT = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*(mm|cm|m|in|inch|\"|''|ft|')", re.IGNORECASE)
_IN_MM = {"cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, '"': 25.4, "''": 25.4, "ft": 304.8, "'": 304.8}
_DOTTED_DATE = re.compile(
    r"([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})[ T]+([0-9]{1,2}:[0-9][0-9](?::[0-9][0-9])?)"
)
_MAT_LAYER = re.compile(r"[bt]\d", re.IGNORECASE)
_LONGEST_TEXT = 200
_LONGEST_COUNT = 6


class Cells:
    """The cells of one row, read one by one.

    Args:
        row: The row.
        faults: What can't be read is added here.
        decimal_comma: Whether a comma in a number can be its decimal mark: not where commas separate cells.
    """

    def __init__(self, row: Row, faults: list[RowFault], *, decimal_comma: bool) -> None:
        self._row = row
        self._faults = faults
        self._decimal_comma = decimal_comma

    def fault(self, column: str, found: str, wrong: str, todo: str) -> None:
        """Add a fault to the row.

        Args:
            column: Column that it is in.
            found: What stands there.
            wrong: What is wrong with it.
            todo: What to write instead.
        """
        self._faults.append(
            RowFault(
                row=self._row.number,
                line=self._row.line,
                column=column,
                found=found[:80],
                wrong=wrong,
                todo=todo,
            )
        )

    def text(self, column: str) -> str | None:
        """Read a text.

        Args:
            column: Column to read.

        Returns:
            The text, or ``None`` for an empty cell.
        """
        cell = self._row.cells.get(column, "")
        if len(cell) > _LONGEST_TEXT or any(ord(c) < 32 for c in cell):
            self.fault(
                column,
                cell,
                f"the text is longer than {_LONGEST_TEXT} letters or holds a line break.",
                "Shorten it to one line.",
            )
        return cell or None

    def number(self, column: str) -> float | None:
        """Read a length in mm; any other unit is a fault that says what it would be in mm.

        Args:
            column: Column to read.

        Returns:
            The number, or ``None`` for an empty or faulty cell.
        """
        cell = self._row.cells.get(column, "")
        if not cell:
            return None
        if match := _WITH_UNIT.fullmatch(cell):
            unit = match[2].lower()
            if unit != "mm":
                value = float(match[1].replace(",", ".")) * _IN_MM[unit]
                self.fault(column, cell, "readings are in mm.", f"Write {value:g} if that is what was read.")
                return None
            cell = match[1]
        if _NUMBER.fullmatch(cell):
            return self._above_zero(column, cell, float(cell))
        if _COMMA_NUMBER.fullmatch(cell):
            whole, _, decimals = cell.partition(",")
            if len(decimals) == 3 or not self._decimal_comma:
                # 1,234 may be one and a bit or a thousand and more; in a comma file a quoted 148,5 is as doubtful.
                self.fault(
                    column,
                    cell,
                    "the comma can be a decimal mark or separate thousands.",
                    f"Write {whole}.{decimals} or {whole}{decimals}.",
                )
                return None
            return self._above_zero(column, cell, float(f"{whole}.{decimals}"))
        self.fault(
            column, cell, "this is no number in mm.", "Write digits with a decimal point, such as 148.5."
        )
        return None

    def _above_zero(self, column: str, cell: str, value: float) -> float | None:
        if not 0 < value < 1e6:
            self.fault(column, cell, "a reading lies above zero and below 1 km.", "Read it again.")
            return None
        return value

    def whole(self, column: str, greatest: int) -> int | None:
        """Read a whole number from 1 on.

        Args:
            column: Column to read.
            greatest: Greatest number allowed.

        Returns:
            The number, or ``None`` for an empty or faulty cell.
        """
        cell = self._row.cells.get(column, "")
        if not cell:
            return None
        if not (
            cell.isascii() and cell.isdigit() and len(cell) <= _LONGEST_COUNT and 1 <= int(cell) <= greatest
        ):
            self.fault(
                column,
                cell,
                f"a whole number from 1 to {greatest} is needed.",
                "Correct it or leave it empty.",
            )
            return None
        return int(cell)

    def what(self, n_gaps: int | None) -> Measurand | None:
        """Read what was measured; ``spacing`` is one gap or a mean, by the number of gaps.

        Args:
            n_gaps: How many gaps the row spans.

        Returns:
            The measurand, or ``None`` for an empty or faulty cell.
        """
        cell = self._row.cells.get("what", "")
        name = "_".join(cell.lower().replace("-", " ").replace("_", " ").split())
        if not name:
            return None
        if name not in _NAMES:
            near = difflib.get_close_matches(name, _NAMES, n=1, cutoff=0.0)[0]
            self.fault(
                "what", cell, "this quantity is not known.", f"Nearest is {near}; known: {', '.join(_NAMES)}."
            )
            return None
        if name == "spacing":
            if n_gaps is None:
                self.fault("n_gaps", "", "over how many gaps was it read?", "Enter 1 for a single gap.")
                return None
            return Measurand.SINGLE_GAP if n_gaps == 1 else Measurand.MEAN_SPACING
        return _NAMES[name]

    def gaps_for(self, what: Measurand, n_gaps: int | None) -> int | None:
        """Hold the number of gaps against what was measured.

        Args:
            what: What was measured.
            n_gaps: The number in the row.

        Returns:
            The number of gaps of a spacing, ``None`` for anything else.
        """
        cell = self._row.cells.get("n_gaps", "")
        if what is Measurand.MEAN_SPACING and n_gaps is None and not cell:
            self.fault("n_gaps", "", "over how many gaps was it read?", "Enter the number of gaps.")
        if what is Measurand.SINGLE_GAP and n_gaps not in (None, 1):
            self.fault(
                "n_gaps", cell, "a single gap spans one gap.", "Enter 1, or mean_spacing in the column what."
            )
        if what not in PER_GAP and n_gaps is not None and n_gaps != 1:
            self.fault("n_gaps", cell, f"{what.value} is not read over gaps.", "Leave it empty.")
        if what is Measurand.SINGLE_GAP:
            return 1
        return n_gaps if what is Measurand.MEAN_SPACING else None

    def readings(self, what: Measurand | None) -> tuple[float, ...]:
        """Read all readings of the row.

        Args:
            what: What was measured.

        Returns:
            Those that are numbers, in order.
        """
        values = tuple(v for v in (self.number(column) for column in READING_COLUMNS) if v is not None)
        if what is Measurand.BAR_COUNT and any(v != int(v) for v in values):
            self.fault("reading_mm", str(values[0]), "a count is a whole number of bars.", "Count again.")
        if what is Measurand.BAR_COUNT and len(set(values)) > 1:
            self.fault("reading_mm", str(values), "two counts of the same bars differ.", "Count again.")
        return values

    def instrument(self, register: Register, what: Measurand | None) -> str | None:
        """Read the instrument and hold it against what was measured.

        Args:
            register: Instruments that may be named.
            what: What was measured.

        Returns:
            Its id as the register spells it, or ``None`` for an empty or unknown one.
        """
        cell = self._row.cells.get("instrument", "")
        if not cell:
            return None
        known = register.find(cell)
        if known is None:
            self.fault(
                "instrument",
                cell,
                "this instrument is not in the register.",
                f"Nearest is {register.nearest(cell)}; known: {', '.join(register.ids)}. Add it to the register.",
            )
            return None
        only = _ONLY_FOR.get(known.kind)
        if what is not None and only not in (None, what):
            self.fault(
                "instrument",
                cell,
                f"a {known.kind.replace('_', ' ')} can't read {what.value}.",
                "Which was used?",
            )
        return known.id

    def time(self) -> str:
        """Read day and hour.

        Returns:
            ISO 8601 text, empty for an empty or doubtful cell.
        """
        cell = self._row.cells.get("time", "")
        if not cell:
            return ""
        iso = cell
        if match := _DOTTED_DATE.fullmatch(cell):  # with dots the day stands first wherever dots are used
            iso = f"{match[3]}-{int(match[2]):02d}-{int(match[1]):02d} {match[4]:0>5}"
        try:
            if not re.match(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d", iso):
                raise ValueError(cell)
            return datetime.fromisoformat(iso).isoformat()
        except ValueError:
            self.fault(
                "time",
                cell,
                "day and hour can't be told from this for certain.",
                "Write year-month-day hour:minute, such as 2026-05-13 16:30.",
            )
            return ""

    def check_entered(self, what: Measurand | None) -> None:
        """Add a fault for each cell that must be filled and is not.

        Args:
            what: What was measured; bars are counted without an instrument.
        """
        for column in REQUIRED:
            by_eye = column == "instrument" and what is Measurand.BAR_COUNT
            if not by_eye and not self._row.cells.get(column):
                self.fault(column, "", "nothing is entered.", "Enter it; every reading needs it.")

    def layer(self) -> str | None:
        """Read the layer; b1 is B1.

        Returns:
            The layer, or ``None`` for an empty cell.
        """
        text = self.text("layer")
        return text.upper() if text and _MAT_LAYER.fullmatch(text) else text

    def check_layer(self, what: Measurand, layer: str | None) -> None:
        """Add a fault where a layer is needed and missing.

        Args:
            what: What was measured.
            layer: The layer as read.
        """
        if layer is None and what not in _ONE_PER_ELEMENT:
            self.fault(
                "layer",
                "",
                f"{what.value} belongs to a layer.",
                "Enter B1, B2, T1, T2, or bottom, top, links.",
            )

    def confirmed(self) -> bool:
        """Read whether the person stands by the figure.

        Returns:
            True for ``yes``.
        """
        cell = self._row.cells.get("confirmed", "").lower()
        if cell not in ("", "yes", "no"):
            self.fault(
                "confirmed",
                cell,
                "yes or nothing is expected.",
                "Write yes if the reading is right as it is.",
            )
        return cell == "yes"
