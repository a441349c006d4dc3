"""What a scale board is: marker dictionary, marker ids and where their corners lie, in mm.

Board axes: x right, y down, as seen from the front; the origin is wherever the definition puts it. For the built-in
boards that is the outer top-left corner of the checkered field.
"""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from pathlib import Path
from typing import Annotated

import cv2
import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field, ValidationError, field_validator, model_validator

from verifier.errors import BadInput

Point = tuple[float, float]
Millimetres = Annotated[float, Field(gt=0, lt=5000, allow_inf_nan=False)]

SIDES_MAY_DIFFER = 0.02
"""A marker whose sides or diagonals differ by more than this share is taken for a typing error."""

DICTIONARIES: dict[str, int] = {
    # The image library also lists some of them under a second spelling with a capital H.
    name: getattr(cv2.aruco, name)
    for name in sorted(dir(cv2.aruco))
    if name.startswith("DICT_") and not re.search(r"H\d+$", name)
}
"""Marker dictionaries by name, as the image library knows them."""


class Marker(BaseModel, frozen=True, extra="forbid"):
    """One square marker.

    Attributes:
        id: Its number in the dictionary.
        corners_mm: Its four outer corners, from the marker's own top-left one, clockwise as seen from the front.
    """

    id: Annotated[int, Field(ge=0)]
    corners_mm: tuple[Point, Point, Point, Point]

    @field_validator("corners_mm")
    @classmethod
    def _square_and_clockwise(cls, corners: tuple[Point, ...]) -> tuple[Point, ...]:
        points = np.array(corners, float)
        if not np.isfinite(points).all():
            raise ValueError("a corner is not a finite number")
        steps = np.roll(points, -1, axis=0) - points
        turn = steps[:, 0] * np.roll(steps, -1, axis=0)[:, 1] - steps[:, 1] * np.roll(steps, -1, axis=0)[:, 0]
        sides = np.hypot(*steps.T)
        if (turn < 0).all():
            raise ValueError(
                "the corners run anticlockwise; give them clockwise from the marker's own top-left corner"
            )
        if (turn <= 0).any():
            raise ValueError(
                "the corners do not form a square in this order: top left, top right, bottom right, bottom left"
            )
        diagonals = np.hypot(*(points[2:] - points[:2]).T)
        if max(np.ptp(sides) / sides.mean(), np.ptp(diagonals) / diagonals.mean()) > SIDES_MAY_DIFFER:
            raise ValueError(f"not a square: sides {', '.join(f'{s:g}' for s in sides)} mm")
        return corners


class Chessboard(BaseModel, frozen=True, extra="forbid"):
    """The checkered field of a ChArUco board, with its outer top-left corner at the origin.

    Attributes:
        squares: Number of squares along x and along y.
        square_mm: Side of a square.
    """

    squares: tuple[Annotated[int, Field(ge=2, le=100)], Annotated[int, Field(ge=2, le=100)]]
    square_mm: Millimetres

    def inner_corners_mm(self) -> NDArray[np.float64]:
        """Inner corners, row by row.

        Returns:
            (n, 2) in board axes. [mm]
        """
        columns, rows = self.squares
        y, x = np.mgrid[1:rows, 1:columns]
        return np.stack([x.ravel(), y.ravel()], axis=1) * self.square_mm


class BoardDefinition(BaseModel, frozen=True, extra="forbid"):
    """A planar board that gives a photo its scale.

    Attributes:
        name: What people call it.
        dictionary: Name of the marker dictionary.
        thickness_mm: From the printed face down to what the board lies on.
        markers: Its markers; others in a photo are ignored.
        chessboard: The checkered field between them, if it has one.
        number: Number printed on it, under which its check length is kept; None for a board without one.
    """

    name: Annotated[str, Field(min_length=1, max_length=80)]
    dictionary: str
    thickness_mm: Annotated[float, Field(ge=0, le=200, allow_inf_nan=False)]
    markers: Annotated[tuple[Marker, ...], Field(min_length=1)]
    chessboard: Chessboard | None = None
    number: Annotated[int, Field(ge=1)] | None = None

    @field_validator("dictionary")
    @classmethod
    def _known_dictionary(cls, name: str) -> str:
        if name not in DICTIONARIES:
            near = difflib.get_close_matches(name, DICTIONARIES, n=1, cutoff=0.4)
            hint = f"; did you mean {near[0]}" if near else ""
            raise ValueError(f"unknown marker dictionary {name!r}{hint}; known: {', '.join(DICTIONARIES)}")
        return name

    @model_validator(mode="after")
    def _markers_fit(self) -> BoardDefinition:
        count = len(self.marker_dictionary().bytesList)
        ids = self.ids
        for marker_id in ids:
            if marker_id >= count:
                raise ValueError(f"marker id {marker_id} is not in {self.dictionary} (0 to {count - 1})")
            if ids.count(marker_id) > 1:
                raise ValueError(f"marker id {marker_id} stands twice; every marker of a board needs its own")
        centres, sides = self.corners_mm().mean(axis=1), self.marker_sides_mm()
        for i, j in zip(*np.triu_indices(len(ids), 1), strict=True):
            if np.abs(centres[i] - centres[j]).max() < 0.5 * min(sides[i], sides[j]):
                raise ValueError(f"markers {ids[i]} and {ids[j]} lie on each other")
        return self

    @property
    def ids(self) -> tuple[int, ...]:
        """Marker ids in the order of the definition."""
        return tuple(marker.id for marker in self.markers)

    def corners_mm(self) -> NDArray[np.float64]:
        """Marker corners (m, 4, 2) in the order of ``ids``. [mm]."""
        return np.array([marker.corners_mm for marker in self.markers], float)

    def marker_sides_mm(self) -> NDArray[np.float64]:
        """Mean side of each marker (m,). [mm]."""
        corners = self.corners_mm()
        return np.asarray(np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2).mean(axis=1))

    def marker_dictionary(self) -> cv2.aruco.Dictionary:
        """The dictionary as the image library wants it."""
        return cv2.aruco.getPredefinedDictionary(DICTIONARIES[self.dictionary])

    def to_toml(self) -> str:
        """The definition as TOML, in the form that ``read_board`` takes."""
        lines = [
            "[board]",
            f"name = {_quoted(self.name)}",
            f'dictionary = "{self.dictionary}"',
            f"thickness_mm = {_number(self.thickness_mm)}",
            *([] if self.number is None else [f"number = {self.number}"]),
        ]
        for marker in self.markers:
            corners = ", ".join(f"[{_number(x)}, {_number(y)}]" for x, y in marker.corners_mm)
            lines += ["", "[[marker]]", f"id = {marker.id}", f"corners_mm = [{corners}]"]
        if self.chessboard:
            columns, rows = self.chessboard.squares
            lines += [
                "",
                "[chessboard]",
                f"squares = [{columns}, {rows}]",
                f"square_mm = {_number(self.chessboard.square_mm)}",
            ]
        return "\n".join(lines) + "\n"


def parse_board(text: str, *, where: str) -> BoardDefinition:
    """Read a board definition.

    Args:
        text: TOML with the tables ``[board]``, ``[[marker]]`` and, optionally, ``[chessboard]``.
        where: File name for error messages.

    Returns:
        The checked definition.

    Raises:
        BadInput: If the text is not TOML, or a key is unknown, missing or impossible; every fault is named at once.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(
            f"This is not readable TOML: {error}.", where=where, todo="Correct that line."
        ) from error
    faults = _unknown_tables(document)
    board = document.get("board")
    if not isinstance(board, dict):
        faults.append("the table [board] with name, dictionary and thickness_mm is missing")
        board = {}
    for key in {"markers", "chessboard"} & board.keys():
        faults.append(f"[board] {key}: unknown key; use [[marker]] and [chessboard] tables")
    fields = {**board, "markers": document.get("marker", ()), "chessboard": document.get("chessboard")}
    try:
        definition = BoardDefinition.model_validate(fields)
    except ValidationError as error:
        details = error.errors()
        of_markers = any(d["loc"][:1] == ("markers",) and len(d["loc"]) > 1 for d in details)
        faults += [
            _fault(d["loc"], d["msg"], d.get("input"))
            for d in details
            # Faulty markers leave an empty list behind, which would be told as a second fault.
            if not (of_markers and d["loc"] == ("markers",))
        ]
    if faults:
        raise BadInput(
            "; ".join(faults) + ".",
            where=where,
            todo="Correct the board definition; the one beside a printed board is there to compare with.",
            command="verifier board",
        )
    return definition


def read_board(path: Path) -> BoardDefinition:
    """Read a board definition file.

    Args:
        path: TOML file.

    Returns:
        The checked definition.

    Raises:
        BadInput: If the file can't be read or its content is not a board definition.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            f"The board definition can't be read ({type(error).__name__}).",
            where=path.name,
            todo="Give the path of a TOML file.",
        ) from error
    return parse_board(text, where=path.name)


_KEYS = {
    "": ("board", "marker", "chessboard"),
    "board": ("name", "dictionary", "thickness_mm"),
    "markers": ("id", "corners_mm"),
    "chessboard": ("squares", "square_mm"),
}


def _unknown_tables(document: dict[str, object]) -> list[str]:
    return [f"unknown table [{key}]{_nearest(key, '')}" for key in document if key not in _KEYS[""]]


def _fault(location: tuple[int | str, ...], message: str, value: object) -> str:
    table = (
        str(location[0]) if len(location) > 1 or location[:1] in (("markers",), ("chessboard",)) else "board"
    )
    title = {"markers": "[[marker]]", "chessboard": "[chessboard]"}.get(table, "[board]")
    if table == "markers" and len(location) > 1:
        title += f" number {int(location[1]) + 1}"
    key = ".".join(
        str(part) for part in location if isinstance(part, str) and part not in ("markers", "chessboard")
    )
    if message.startswith("Field required"):
        if key == "corners_mm" and isinstance(location[-1], int):
            return f"{title} {key}: four corners [x, y] are needed, and one is missing or not whole"
        return f"{title} {key}: is missing"
    if message.startswith("Extra inputs"):
        return f"{title} {key}: unknown key{_nearest(key, table)}"
    shown = "" if isinstance(value, (dict, list, tuple)) else f" = {value!r}"
    return f"{title} {key}{shown}: {message.removeprefix('Value error, ')}".replace(" :", ":")


def _nearest(key: str, table: str) -> str:
    near = difflib.get_close_matches(key, _KEYS[table], n=1, cutoff=0.0)
    return f", the nearest one is {near[0]}" if near else ""


def _number(value: float) -> str:
    rounded = round(value, 4)
    return str(int(rounded)) if math.isclose(rounded, int(rounded), abs_tol=1e-9) else repr(rounded)


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04X}" for c in escaped) + '"'
