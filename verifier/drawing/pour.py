"""What the drawing asks of one pour. Values come in through ``drawing.read`` only, which also checks them together."""

from __future__ import annotations

import math
from typing import Annotated

from pydantic import BeforeValidator, Field

from verifier.drawing.bars import LayerName
from verifier.drawing.elements import Along, Beam, BentUp, Cover, Layer, Slab, Steel, Supports
from verifier.drawing.fields import Asked, BoardNumber, Mark, Mm, PointM, SideM, pair
from verifier.drawing.heading import Concrete, Coverage, Heading, People, Role, Site, Tolerance

__all__ = [
    "Added", "Along", "Beam", "BentUp", "Concrete", "Cover", "Coverage", "Heading", "Layer", "People", "Pour", "Role", "Site",
    "Slab", "Spot", "Steel", "Supports", "Tolerance",
]  # fmt: skip


class Spot(Asked, frozen=True):
    """A place at which a photo or a reading is asked for; ``at_m`` on the element's own axes.

    ``board`` is the number of a scale board that lies on this spot only.
    """

    element: Mark
    spot: Mark
    layers: Annotated[tuple[LayerName, ...], BeforeValidator(pair)] = ()
    at_m: PointM | None = None
    board: BoardNumber | None = None


class Added(Asked, frozen=True):
    """Concrete beside slabs and beams: a drop below a slab or an upstand above it, by what it adds. [m, mm]."""

    mark: Mark
    length_m: SideM
    width_m: SideM
    added_mm: Mm
    count: Annotated[int, Field(ge=1, le=1000)] = 1


class Pour(Asked, frozen=True):
    """One concreting operation as drawn. Drops and upstands count for the volume only."""

    pour: Heading
    slabs: tuple[Slab, ...] = ()
    beams: tuple[Beam, ...] = ()
    drops: tuple[Added, ...] = ()
    upstands: tuple[Added, ...] = ()
    spots: tuple[Spot, ...] = ()
    people: People

    @property
    def elements(self) -> tuple[Slab | Beam, ...]:
        """All elements, slabs first."""
        slabs: tuple[Slab | Beam, ...] = self.slabs
        return slabs + self.beams

    @property
    def marks(self) -> tuple[str, ...]:
        """Marks of all elements, slabs first."""
        return tuple(element.mark for element in self.elements)

    @property
    def net_area_m2(self) -> float:
        """Plan area of all slabs less openings. [m2]."""
        return math.fsum(slab.net_area_m2 for slab in self.slabs)

    def element(self, mark: str) -> Slab | Beam:
        """Find an element by its mark.

        Args:
            mark: Mark on the drawing.

        Returns:
            The slab or beam.

        Raises:
            KeyError: If no element has this mark.
        """
        for element in self.elements:
            if element.mark == mark:
                return element
        raise KeyError(mark)

    def place_of_board(self, number: int) -> tuple[str, str | None] | None:
        """Where a scale board lies that is kept for one element or one spot.

        Args:
            number: Its number.

        Returns:
            Element and spot, the spot None where the board is kept for the element as a whole; None for any other board.
        """
        for spot in self.spots:
            if spot.board == number:
                return spot.element, spot.spot
        return next(((e.mark, None) for e in self.elements if e.board == number), None)

    def exposure_of(self, element: Slab | Beam) -> str:
        """Exposure of an element: its own where drawn, else the pour's.

        Args:
            element: A slab or beam of this pour.

        Returns:
            Exposure in the code's words.
        """
        return element.exposure or self.pour.exposure
