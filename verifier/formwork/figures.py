"""Shape of the data files of this room."""

from __future__ import annotations

from functools import cache

from pydantic import BaseModel

from verifier.codes.cited import Cited, Figure, Known, read_data

CAUTION = (
    "Falsework belongs to its designer: this is a check of plausibility, not a design. "
    "The falsework drawing, local codes and licensed practice govern."
)


class LoadRule(Cited, frozen=True):
    """Loads of one standard. ``local_*`` act on 3 m x 3 m only; ``least_total`` bounds all loads together."""

    name: str
    density_kn_m3: float
    formwork_kn_m2: float
    construction_kn_m2: float
    horizontal_share: float
    local_share: float = 0.0
    local_least_kn_m2: float = 0.0
    local_most_kn_m2: float = 0.0
    least_total_kn_m2: float = 0.0


class PropClass(BaseModel, frozen=True, extra="forbid"):
    """A prop class: ``a * l_max / l^2`` under a cap, or one value at any extension."""

    name: str
    status: Known
    a_kn_m: float | None = None
    cap_kn: float | None = None
    constant_kn: float | None = None


class Props(Cited, frozen=True):
    """All classes, the longest extension of each size in m, and the factor from nominal to working load."""

    factor: Figure
    longest_m: dict[str, float]
    classes: tuple[PropClass, ...]


class Deviation(Cited, frozen=True):
    """Bounds of a deviation from the drawing in mm; an absent bound is no limit."""

    low_mm: float | None = None
    high_mm: float | None = None


class SectionStep(BaseModel, frozen=True, extra="forbid"):
    """Deviation of dimensions up to a size; the last step has no size. A ``share`` of the dimension counts where it is more."""

    up_to_mm: float | None = None
    low_mm: float
    high_mm: float
    share: float = 0.0


class SectionRule(Cited, frozen=True):
    """Section deviations of one code, in rising steps of size."""

    code: str
    interpolated: bool = False
    steps: tuple[SectionStep, ...]


class PressureForm(BaseModel, frozen=True, extra="forbid"):
    """Coefficients of one unit form."""

    base: float
    column_per_rate: float
    wall_constant: float
    wall_per_rate: float
    temperature_offset: float
    least: float
    slow_wall_rate: float
    fast_wall_rate: float
    tall_wall: float
    deepest_slump: float
    deepest_vibration: float
    weight_light: float
    weight_normal: float
    weight_unit: float
    weight_usual: float


class PressureRule(Cited, frozen=True):
    """Lateral pressure in both unit forms and the chemistry coefficients."""

    psf: PressureForm
    kpa: PressureForm
    chemistry: dict[str, float]


class FormworkFigures(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``data/figures.toml``."""

    load_rule: tuple[LoadRule, ...]
    props: Props
    deviation: dict[str, Deviation]
    section: tuple[SectionRule, ...]
    pressure: PressureRule


class SpanDays(BaseModel, frozen=True, extra="forbid"):
    """Days for spans up to a length; the last row has no length."""

    span_up_to_m: float | None = None
    days: int


class LiveDeadDays(BaseModel, frozen=True, extra="forbid"):
    """Days by whether live load is below or above dead load, for spans up to a length."""

    span_up_to_m: float | None = None
    live_below_dead: int
    live_above_dead: int


class Is456Striking(Cited, frozen=True):
    """Times of IS 456 and the condition that they rest on."""

    least_temperature_c: float
    sides_hours: float
    slab_soffit_days: int
    beam_soffit_days: int
    slab_props: tuple[SpanDays, ...]
    beam_props: tuple[SpanDays, ...]
    strength: Figure


class SurfaceStriking(Cited, frozen=True):
    """Periods of BS 8110-1: so many hours or days over the surface temperature and an offset."""

    least_c: float
    warm_c: float
    offset_c: float
    sides_hours: float
    slab_soffit_days: float
    slab_props_days: float
    beam_soffit_days: float
    beam_props_days: float


class Aci347Striking(Cited, frozen=True):
    """Times of ACI 347, counted over days above a temperature."""

    counted_above_c: float
    sides_hours: float
    slab: tuple[LiveDeadDays, ...]
    beam: tuple[LiveDeadDays, ...]


class WarmthDays(BaseModel, frozen=True, extra="forbid"):
    """Days for mean air temperatures above a value."""

    above_c: float
    sides_days: int
    soffit_days: int
    props_days: int


class AirStriking(Cited, frozen=True):
    """Times by the mean air temperature since the pour, warmest row first; below the last row they don't apply."""

    rows: tuple[WarmthDays, ...]


class Ratio(Cited, frozen=True):
    """A factor as a fraction."""

    numerator: int
    denominator: int


class Maturity(Cited, frozen=True):
    """Constants of the temperature-adjusted age."""

    activation_k: float
    constant: float


class RemovalOrder(Cited, frozen=True):
    """Sentences of the order of removal."""

    slab: tuple[str, ...]
    cantilever: tuple[str, ...]
    beam: tuple[str, ...]
    back_props: tuple[str, ...]


class StrikingFigures(BaseModel, frozen=True, extra="forbid"):
    """Everything in ``data/striking.toml``."""

    is456: Is456Striking
    blended: Ratio
    aci347: Aci347Striking
    as3600: AirStriking
    bs8110: SurfaceStriking
    no_days: Cited
    share_of_strength: Figure
    soffit_strength: Figure
    side_strength: Figure
    maturity: Maturity
    order: RemovalOrder


@cache
def formwork_figures() -> FormworkFigures:
    """Return the figures for loads, props, deviations and pressure.

    Returns:
        The checked data.
    """
    return read_data("verifier.formwork", "figures.toml", FormworkFigures)


@cache
def striking_figures() -> StrikingFigures:
    """Return the figures for striking.

    Returns:
        The checked data.
    """
    return read_data("verifier.formwork", "striking.toml", StrikingFigures)
