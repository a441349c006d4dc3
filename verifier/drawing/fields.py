"""The kinds of value that pour.toml holds: lengths with their range, names, call-outs, points."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Annotated

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    Field,
    PlainSerializer,
    StringConstraints,
    ValidationInfo,
)
from pydantic_core import PydanticCustomError

from verifier.drawing.bars import CountedBars, SpacedBars
from verifier.drawing.callout import Units, UnreadableCallout, parse_counted, parse_spaced

BIDI_CONTROLS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def _units(info: ValidationInfo) -> Units | None:
    return info.context.get("units") if isinstance(info.context, dict) else None


def _read_with(parse: Callable[..., object], value: object, info: ValidationInfo) -> object:
    if not isinstance(value, str):
        return value
    try:
        return parse(value, units=_units(info))
    except UnreadableCallout as error:
        say = f"unread from character {error.position + 1} on. {error.wrong.rstrip('.')}"
        raise PydanticCustomError("callout", "{wrong}", {"wrong": say, "nearest": error.nearest}) from error


def _spaced(value: object, info: ValidationInfo) -> object:
    return _read_with(parse_spaced, value, info)


def _counted(value: object, info: ValidationInfo) -> object:
    return _read_with(parse_counted, value, info)


def _printable(value: str) -> str:
    """A name that can be printed on one line and looks like what it is."""
    if value != value.strip():
        raise ValueError("a name without blanks at its ends")
    if any(not (c.isprintable() or c == " ") or c in BIDI_CONTROLS for c in value):
        raise ValueError(
            "a name without control characters and without marks that turn the reading direction"
        )
    return value


def zoned(value: datetime) -> datetime:
    """Refuse a time without its zone, which could be hours off.

    Args:
        value: A date and time.

    Returns:
        The same.

    Raises:
        ValueError: If it has no zone; the text says what is allowed.
    """
    if value.tzinfo is None:
        raise ValueError(f"a time with its zone, as {value.isoformat()}+01:00 or {value.isoformat()}Z")
    return value


def pair(value: object) -> object:
    """Turn the arrays of TOML into the tuples that frozen models hold.

    Args:
        value: Any value of a TOML file.

    Returns:
        Tuples in place of lists, at every depth; anything else as it is.
    """
    return tuple(pair(item) for item in value) if isinstance(value, list) else value


Mm = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]
CoverMm = Annotated[float, Field(ge=0, le=300, allow_inf_nan=False)]
Metres = Annotated[float, Field(ge=-10_000, le=10_000, allow_inf_nan=False)]
SideM = Annotated[float, Field(gt=0, le=1_000, allow_inf_nan=False)]
BoardNumber = Annotated[int, Field(ge=1, le=58)]
"""Number of a standing scale board: each takes 17 of the 1000 ids of its dictionary."""
Mark = Annotated[str, StringConstraints(min_length=1, max_length=32), AfterValidator(_printable)]
Line = Annotated[str, StringConstraints(min_length=1, max_length=200), AfterValidator(_printable)]
Spacing = Annotated[
    SpacedBars, BeforeValidator(_spaced), PlainSerializer(lambda bars: bars.text, return_type=str)
]
Number = Annotated[
    CountedBars, BeforeValidator(_counted), PlainSerializer(lambda bars: bars.text, return_type=str)
]
PointM = Annotated[tuple[Metres, Metres], BeforeValidator(pair)]
Outline = Annotated[tuple[PointM, ...], BeforeValidator(pair), Field(min_length=3, max_length=500)]
Openings = Annotated[tuple[tuple[Metres, Metres, SideM, SideM], ...], BeforeValidator(pair)]


class Asked(BaseModel, frozen=True, extra="forbid", strict=True):
    """Frozen, no unknown keys, no conversion of types."""
