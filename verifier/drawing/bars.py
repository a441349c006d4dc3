"""What a call-out says once it is read: bars at a spacing, or a number of bars."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from verifier.codes.bars import BarSize, area_mm2_per_m

MM_PER_INCH = 25.4

LayerName = Literal["B1", "B2", "T1", "T2"]
Prefix = Literal["T", "Y", "H", "R", "N", "D", "HD", "Ø", "#", "M"]


def number(value: float) -> str:
    """Write a number without a trailing zero and without loss.

    Args:
        value: Any finite number.

    Returns:
        ``150``, ``7.5``.
    """
    return str(int(value)) if value == int(value) else repr(value)


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar as the drawing names it.

    Attributes:
        prefix: Letter or sign of the call-out. ``R`` is a plain round bar; ``T``, ``Y``, ``H``, ``N``, ``D``, ``HD`` are
            deformed bars; ``Ø`` leaves it open; ``#`` is an ASTM size, ``M`` a Canadian one.
        size: The line of the size list.
    """

    prefix: Prefix
    size: BarSize

    @property
    def diameter_mm(self) -> float:
        """Nominal diameter. [mm]."""
        return self.size.diameter_mm

    @property
    def area_mm2(self) -> float:
        """Nominal area. [mm2]."""
        return self.size.area_mm2

    @property
    def plain(self) -> bool:
        """Whether the call-out asks for a plain round bar."""
        return self.prefix == "R"

    @property
    def text(self) -> str:
        """The bar in canonical form: ``T10``, ``Ø12``, ``#4``, ``15M``."""
        return self.size.name if self.prefix in ("#", "M") else f"{self.prefix}{self.size.name}"


@dataclass(frozen=True, slots=True)
class SpacedBars:
    """Bars side by side at one spacing.

    Attributes:
        bar: The bar.
        spacing: Centre-to-centre spacing in ``unit``.
        unit: ``mm`` or ``in``, as drawn.
        count: Number of bars where the call-out gives it.
        mark: Bar mark where given.
        layer: B1, B2, T1, T2 where given.
        legs: Legs of a link where given.
    """

    bar: Bar
    spacing: float
    unit: Literal["mm", "in"] = "mm"
    count: int | None = None
    mark: str | None = None
    layer: LayerName | None = None
    legs: int | None = None

    @property
    def spacing_mm(self) -> float:
        """Centre-to-centre spacing. [mm]."""
        return self.spacing * MM_PER_INCH if self.unit == "in" else self.spacing

    @property
    def diameter_mm(self) -> float:
        """Nominal diameter. [mm]."""
        return self.bar.diameter_mm

    @property
    def area_mm2_per_m(self) -> float:
        """Steel area per metre width, every leg of a link counted. [mm2/m]."""
        return area_mm2_per_m(self.bar.area_mm2, self.spacing_mm) * (self.legs or 1)

    @property
    def text(self) -> str:
        """The call-out in canonical form."""
        unit = "in" if self.unit == "in" else ""
        between = f"-{self.mark}-" if self.mark else ("@" if self.bar.prefix in ("Ø", "#", "M") else "-")
        count = (
            "" if self.count is None else (f"{self.count}" if self.bar.prefix != "M" else f"{self.count}x")
        )
        tail = (f" {self.legs}L" if self.legs else "") + (f" {self.layer}" if self.layer else "")
        return f"{count}{self.bar.text}{between}{number(self.spacing)}{unit}{tail}"


@dataclass(frozen=True, slots=True)
class BarGroup:
    """A number of equal bars, with their bar mark where the call-out gives one."""

    count: int
    bar: Bar
    mark: str | None = None

    @property
    def text(self) -> str:
        """The group in canonical form."""
        return f"{self.count}-{self.bar.text}" + (f"-{self.mark}" if self.mark else "")


@dataclass(frozen=True, slots=True)
class CountedBars:
    """A number of bars, not at a spacing: ``3-T16``, ``2-T16 + 1-T12``.

    Attributes:
        groups: Equal bars together, in the order of the call-out.
        layer: B1, B2, T1, T2 where given.
    """

    groups: tuple[BarGroup, ...]
    layer: LayerName | None = None

    @property
    def count(self) -> int:
        """All bars together."""
        return sum(group.count for group in self.groups)

    @property
    def area_mm2(self) -> float:
        """Area of all bars together. [mm2]."""
        return sum(group.count * group.bar.area_mm2 for group in self.groups)

    @property
    def largest_mm(self) -> float:
        """Diameter of the thickest bar. [mm]."""
        return max(group.bar.diameter_mm for group in self.groups)

    @property
    def diameters_mm(self) -> tuple[float, ...]:
        """Diameter of each bar, in the order of the call-out. [mm]."""
        return tuple(group.bar.diameter_mm for group in self.groups for _ in range(group.count))

    @property
    def text(self) -> str:
        """The call-out in canonical form."""
        return " + ".join(group.text for group in self.groups) + (f" {self.layer}" if self.layer else "")
