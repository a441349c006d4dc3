"""Sheets and columns of the bar schedule; one description serves writing and reading."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "number", "whole", "time", "names", "numbers"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column, or one row of the sheet ``pour``.

    Attributes:
        header: What its heading says, unit last.
        path: Keys of pour.toml from the entry down; a number is a place in a list.
        kind: What its cells hold; ``names`` is text with commas, ``numbers`` whole numbers with commas
            or ``none``, ``time`` is text with its zone.
        say: One line of explanation.
    """

    header: str
    path: tuple[str | int, ...]
    kind: Kind
    say: str


def _column(header: str, path: str, kind: Kind, say: str = "") -> Column:
    steps = tuple(int(step) if step.isdigit() else step for step in path.split("."))
    return Column(header, steps, kind, say)


POUR = (
    _column("id", "id", "text", "letters, figures, point, hyphen"),
    _column("title", "title", "text"),
    _column("code", "code", "text", "IS 456:2000, ACI 318-19, EN 1992-1-1:2004 or AS 3600:2018"),
    _column("planned_start", "planned_start", "time", "with its zone, as 2030-01-15T06:30:00+05:30"),
    _column("exposure", "exposure", "text", "in the words of the code"),
    _column("drawing", "drawing", "text", "sheet and revision"),
    _column("units", "units", "text", "mm or inch"),
    _column("structural_class", "structural_class", "text", "EN 1992-1-1 only"),
    _column("grade", "concrete.grade", "text", "concrete"),
    _column("slump_least_mm", "concrete.slump_mm.0", "number"),
    _column("slump_most_mm", "concrete.slump_mm.1", "number"),
    _column("max_aggregate_mm", "concrete.max_aggregate_mm", "number"),
    _column("cement", "concrete.cement", "text"),
    _column("supply", "concrete.supply", "text", "plant or site"),
    _column("latitude", "site.latitude", "number"),
    _column("longitude", "site.longitude", "number"),
    _column("fence_radius_m", "site.fence_radius_m", "number"),
    _column(
        "tolerance_single_gap_mm", "tolerance.single_gap_mm", "number", "only where agreed for the project"
    ),
    _column("tolerance_mean_spacing_percent", "tolerance.mean_spacing_percent", "number"),
    _column("tolerance_cover_plus_mm", "tolerance.cover_plus_mm", "number"),
    _column("tolerance_cover_minus_mm", "tolerance.cover_minus_mm", "number"),
    _column("tolerance_bar_end_mm", "tolerance.bar_end_mm", "number"),
    _column("tolerance_lap_minus_mm", "tolerance.lap_minus_mm", "number"),
    _column("tolerance_section_mm", "tolerance.section_mm", "number"),
    _column("tolerance_agreed", "tolerance.agreed", "text", "where it was agreed"),
    _column("least_spots_per_layer", "coverage.least_per_layer", "whole"),
    _column("m2_per_spot", "coverage.m2_per_spot", "number"),
    _column("least_spots_per_beam", "coverage.least_per_beam", "whole"),
    _column("rounds_walk", "rounds.walk", "numbers", "empty for all inspection rounds; 2, 3 for some; none"),
    _column("rounds_because", "rounds.because", "text", "why not all rounds are walked; it is printed"),
)
_SHARED = (
    _column("cover_bottom_mm", "cover_mm.bottom", "number"),
    _column("cover_top_mm", "cover_mm.top", "number"),
    _column("cover_side_mm", "cover_mm.side", "number"),
    _column("steel_grade", "steel.grade", "text"),
    _column("lap", "steel.lap", "text", "auto, or a length in mm"),
    _column("exposure", "exposure", "text", "only where it differs from the pour's"),
    _column("position_x_m", "position_m.0", "number"),
    _column("position_y_m", "position_m.1", "number"),
    _column("span_m", "span_m", "number"),
    _column("block_pitch_mm", "supports.block_pitch_mm", "number"),
    _column("chair_pitch_mm", "supports.chair_pitch_mm", "number"),
    _column("chair_height_mm", "supports.chair_height_mm", "number"),
)
SLAB = (
    _column("mark", "mark", "text"),
    _column("size_x_m", "size_m.0", "number", "or corners in the sheet outline"),
    _column("size_y_m", "size_m.1", "number"),
    _column("thickness_mm", "thickness_mm", "number"),
    *_SHARED,
)
LAYER = (
    _column("slab", "mark", "text", "mark of the slab"),
    _column("layer", "layer", "text", "B1, B2, T1 or T2"),
    _column("callout", "callout", "text", "as the drawing writes it: T10-150"),
    _column("along", "along", "text", "x or y, the way the bars run"),
    _column("zone", "zone", "text"),
    _column("length_mm", "length_mm", "number"),
    _column("bent_up_every", "bent_up.every", "whole"),
    _column("bent_up_at_span_fraction", "bent_up.at_span_fraction", "number"),
    _column("bent_up_angle_deg", "bent_up.angle_deg", "number"),
)
BEAM = (
    _column("mark", "mark", "text"),
    _column("width_mm", "width_mm", "number"),
    _column("depth_mm", "depth_mm", "number", "overall, slab included"),
    _column("bottom", "bottom", "text", "3-T16"),
    _column("top", "top", "text"),
    _column("stirrups", "stirrups", "text", "T8-150"),
    _column("bottom_rows", "bottom_rows", "whole"),
    _column("top_rows", "top_rows", "whole"),
    _column("length_m", "length_m", "number"),
    _column("direction_deg", "direction_deg", "number"),
    _column("slab_thickness_mm", "slab_thickness_mm", "number"),
    *_SHARED,
)
OUTLINE = (
    _column("slab", "mark", "text", "mark of the slab, a row for each corner in order"),
    _column("x_m", "0", "number"),
    _column("y_m", "1", "number"),
)
OPENING = (
    _column("slab", "mark", "text", "mark of the slab"),
    _column("x_m", "0", "number"),
    _column("y_m", "1", "number"),
    _column("width_m", "2", "number"),
    _column("height_m", "3", "number"),
)
SPOT = (
    _column("element", "element", "text"),
    _column("spot", "spot", "text"),
    _column("layers", "layers", "names", "B1, B2"),
    _column("x_m", "at_m.0", "number"),
    _column("y_m", "at_m.1", "number"),
)
ADDED = (
    _column("mark", "mark", "text"),
    _column("length_m", "length_m", "number"),
    _column("width_m", "width_m", "number"),
    _column(
        "added_mm",
        "added_mm",
        "number",
        "what it adds to the slab: below it for a drop, above for an upstand",
    ),
    _column("count", "count", "whole"),
)
FENCE = (
    _column("latitude", "0", "number", "a row for each corner in order, in place of centre and radius"),
    _column("longitude", "1", "number"),
)
PEOPLE = (
    _column(
        "role", "role", "text", "site_engineer, quality_engineer, reviewer, engineer_of_record or reader"
    ),
    _column("person", "person", "text"),
)
SHEETS: dict[str, tuple[Column, ...]] = {
    "slab": SLAB,
    "layer": LAYER,
    "outline": OUTLINE,
    "opening": OPENING,
    "beam": BEAM,
    "drop": ADDED,
    "upstand": ADDED,
    "spot": SPOT,
    "fence": FENCE,
    "people": PEOPLE,
}
