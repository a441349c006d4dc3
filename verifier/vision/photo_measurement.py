"""What one photo says: the board, the layers with their bars and gaps, supports, refusals. The JSON is the contract.

Pixels are those of the upright full-size photo (Exif orientation applied), x right, y down, (0, 0) the centre of the
top-left pixel. Expanded uncertainties are for 95 % coverage. Nothing here knows a drawing or a code of practice.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.metrology.measurement import Component

Point = tuple[float, float]
Line = tuple[Point, Point]
Box = tuple[float, float, float, float]
Share = Annotated[float, Field(ge=0, le=1)]


class Saying(BaseModel, frozen=True, extra="forbid"):
    """Why something was not measured: a stable key, and what was found, needed and to be done."""

    reason: str
    say: str


class PhotoFacts(BaseModel, frozen=True, extra="forbid"):
    """Which photo: name, hash of the bytes as received, size when upright."""

    name: str
    sha256: str
    width_px: int
    height_px: int


class BoardSeen(BaseModel, frozen=True, extra="forbid"):
    """The scale board as found.

    ``corners_px`` are the corners of the card, ``edge_spread_mm`` the 10-90 % width of its black-white edges laid on
    the mat, ``print_scale`` the ratio of the measured to the nominal check length that was used. ``ids`` are the markers
    seen in the photo, of all boards in it.
    """

    number: int | None
    ids: tuple[int, ...] = ()
    tilt_deg: float
    mm_per_px: float
    reprojection_px: float
    corners_px: tuple[Point, ...] = ()
    edge_spread_mm: float | None = None
    print_scale: float = 1.0


class BoardRecognised(BaseModel, frozen=True, extra="forbid"):
    """A board that is in the picture, whether or not anything could be measured with it.

    ``ids`` are those of its markers that are seen in their places on it.
    """

    number: int | None
    ids: tuple[int, ...]


class Lap(BaseModel, frozen=True, extra="forbid"):
    """Two bars side by side in one bar line. ``length_mm`` only where both ends are in view."""

    from_px: Point
    to_px: Point
    length_mm: float | None = None
    expanded_uncertainty_mm: float | None = None


class NominalChance(BaseModel, frozen=True, extra="forbid"):
    """Probability that the bar is of a nominal size."""

    nominal_mm: float
    probability: Share


class Bar(BaseModel, frozen=True, extra="forbid"):
    """One bar line. ``offset_mm`` counts from the layer's first bar; ``fitted`` says what the line was fitted to."""

    line_px: Line
    offset_mm: float
    diameter_mm: float | None = None
    diameter_u_mm: float | None = None
    nominal_mm: float | None = None
    nominal_chances: tuple[NominalChance, ...] = ()
    fitted: Literal["edges", "centre-line"] = "edges"
    seen_share: Share = 1.0
    lap: Lap | None = None
    support_pitches_mm: tuple[float, ...] = ()
    unsupported_mm: float | None = None


class Gap(BaseModel, frozen=True, extra="forbid"):
    """Centre to centre, across the layer, at the middle of the part of the two bars that is seen."""

    bars: tuple[int, int]
    value_mm: float
    expanded_uncertainty_mm: float
    line_px: Line
    from_board_mm: float
    budget: tuple[Component, ...] = ()


class RefusedStretch(BaseModel, frozen=True, extra="forbid"):
    """A place between or along bars that was not measured, with the reason."""

    outline_px: tuple[Point, ...]
    bars: tuple[int, ...] = ()
    reason: str
    say: str


class Layer(BaseModel, frozen=True, extra="forbid"):
    """Bars of one direction in one mat. ``direction_deg`` is in the upright picture at the board, 0 to 180, x to y."""

    position: Literal["upper", "lower"]
    mat: Literal["only", "near", "far"]
    direction_deg: float
    bars: tuple[Bar, ...]
    gaps: tuple[Gap, ...] = ()
    mean_spacing_mm: float | None = None
    mean_spacing_expanded_uncertainty_mm: float | None = None
    plane_below_face_mm: float | None = None
    refused: tuple[RefusedStretch, ...] = ()


class Support(BaseModel, frozen=True, extra="forbid"):
    """A cover block or chair: where it is, how large it looks on the mat, and which bar it is nearest to."""

    box_px: Box
    confidence: Share
    position_mm: Point | None = None
    size_mm: float | None = None
    size_class: Literal["small", "medium", "large"] | None = None
    layer: int | None = None
    bar: int | None = None


class Region(BaseModel, frozen=True, extra="forbid"):
    """Something for the person to look at; never a verdict."""

    kind: Literal["conduit", "debris", "water"]
    box_px: Box
    confidence: Share
    area_m2: float | None = None


class Method(BaseModel, frozen=True, extra="forbid"):
    """Which method, in which version, with which parameters: enough to measure the same original again."""

    name: str = "photo-bars"
    version: str
    labels: str
    parameters: dict[str, float | str | bool | None] = {}


class PhotoMeasurement(BaseModel, frozen=True, extra="forbid"):
    """Everything measured in one photo, or why not.

    ``recognised`` names every board in the picture, also where nothing could be measured.

    ``mat_to_px`` maps the plane of the uppermost bars to pixels (3 x 3, row by row; board coordinates in mm, whose
    board centre is ``centre_mm``): good for pictures, not for measuring, since the lens is left out.
    """

    photo: PhotoFacts
    usable: bool
    refusals: tuple[Saying, ...] = ()
    board: BoardSeen | None = None
    recognised: tuple[BoardRecognised, ...] = ()
    layers: tuple[Layer, ...] = ()
    cover_blocks: tuple[Support, ...] = ()
    chairs: tuple[Support, ...] = ()
    regions: tuple[Region, ...] = ()
    cautions: tuple[str, ...] = ()
    reach_mm: float | None = None
    centre_mm: Point | None = None
    mat_to_px: tuple[float, ...] | None = None
    method: Method
