"""Nominal cover by exposure, and cover for fire."""

from __future__ import annotations

from typing import Annotated, Literal, TypeVar

from pydantic import BaseModel, Field

from verifier.codes.limit import Limit, Provision, limit
from verifier.errors import BadInput

Member = Literal["slab", "beam"]
StructuralClass = Literal["S1", "S2", "S3", "S4", "S5", "S6"]
Positive = Annotated[float, Field(gt=0)]
Row = TypeVar("Row")


class SmallBar(Provision, frozen=True):
    """Less cover for thin bars in some exposures. [mm]."""

    exposures: tuple[str, ...]
    up_to_bar_mm: Positive
    less_mm: Positive


class StrongConcrete(Provision, frozen=True):
    """Less cover for strong concrete in some exposures. [MPa, mm]."""

    exposures: tuple[str, ...]
    from_mpa: Positive
    less_mm: Positive


class CoverByExposure(Provision, frozen=True):
    """Nominal cover from the exposure, with reductions for thin bars and strong concrete. [mm]."""

    form: Literal["by exposure"]
    table: dict[str, Positive]
    small_bar: SmallBar
    strong_concrete: StrongConcrete
    not_below_bar: Provision


class MemberRow(BaseModel, frozen=True, extra="forbid"):
    """Cover of some members in one exposure, up to a bar size. [mm]."""

    exposure: str
    members: tuple[Member, ...]
    up_to_bar_mm: Positive
    cover_mm: Positive


class CoverByMember(Provision, frozen=True):
    """Specified cover from exposure, member and bar size."""

    form: Literal["by member"]
    rows: tuple[MemberRow, ...]


class CoverDeviation(Provision, frozen=True):
    """What is added to least cover for the deviation of execution. [mm]."""

    design_mm: Annotated[float, Field(ge=0)]


class ClassChanges(Provision, frozen=True):
    """By how many steps the structural class changes, and the strength from which concrete counts as strong. [MPa]."""

    hundred_years: int
    slab_geometry: int
    quality_control: int
    high_strength: int
    high_strength_from_mpa: dict[str, Positive]


class CoverByStructuralClass(Provision, frozen=True):
    """Least cover from structural class and exposure, bond and a floor; nominal adds the deviation. [mm]."""

    form: Literal["by structural class"]
    table: dict[StructuralClass, dict[str, Positive]]
    least_mm: Positive
    coarse_aggregate_from_mm: Positive
    coarse_aggregate_plus_mm: Positive
    deviation: CoverDeviation
    class_changes: ClassChanges


class CoverByStrength(Provision, frozen=True):
    """Cover from exposure class and strength: pairs of least strength and cover. [MPa, mm]."""

    form: Literal["by strength"]
    rows: dict[str, tuple[tuple[Positive, Positive], ...]]


CoverRule = Annotated[
    CoverByExposure | CoverByMember | CoverByStructuralClass | CoverByStrength, Field(discriminator="form")
]


class DurabilityRow(BaseModel, frozen=True, extra="forbid"):
    """Concrete that an exposure asks for."""

    strength_mpa: Positive
    water_cement: Positive
    cement_kg_m3: Positive


class Durability(Provision, frozen=True):
    """Least strength, largest water-cement ratio and least cement by exposure."""

    rows: dict[str, DurabilityRow]


class FireCover(Provision, frozen=True):
    """Nominal cover by fire resistance. [h, mm]."""

    hours: tuple[Positive, ...]
    slab_simple: tuple[Positive, ...]
    slab_continuous: tuple[Positive, ...]
    beam_simple: tuple[Positive, ...]
    beam_continuous: tuple[Positive, ...]


def nominal_cover(
    rule: CoverByExposure | CoverByMember | CoverByStructuralClass | CoverByStrength,
    *,
    exposure: str,
    member: Member,
    bar_mm: float,
    strength_mpa: float,
    aggregate_mm: float = 20.0,
    structural_class: StructuralClass = "S4",
) -> Limit:
    """Return the nominal (specified) cover that a code asks for.

    Args:
        rule: The code's cover rule.
        exposure: In the code's words.
        member: ``slab`` or ``beam``.
        bar_mm: Diameter of the bar that the cover is measured to. [mm]
        strength_mpa: Strength of the concrete on the code's own specimen. [MPa]
        aggregate_mm: Largest aggregate; only EN 1992-1-1 asks. [mm]
        structural_class: Only EN 1992-1-1 asks; after table 4.3N.

    Returns:
        Nominal cover. [mm]

    Raises:
        BadInput: If the code lists no cover for these values; it says which are listed.

    Source:
        IS 456:2000 26.4 and table 16; ACI 318-19 table 20.5.1.3.1; EN 1992-1-1:2004 4.4.1; AS 3600:2018 4.10.3.
    """
    match rule:
        case CoverByExposure():
            return _by_exposure(rule, exposure, bar_mm, strength_mpa)
        case CoverByMember():
            for row in rule.rows:
                if row.exposure == exposure and member in row.members and bar_mm <= row.up_to_bar_mm:
                    return limit(row.cover_mm, "mm", rule)
            raise _unlisted(
                rule, f"{exposure}, {member}, bar {bar_mm:g} mm", [row.exposure for row in rule.rows]
            )
        case CoverByStructuralClass():
            least = least_cover(
                rule,
                exposure=exposure,
                bar_mm=bar_mm,
                aggregate_mm=aggregate_mm,
                structural_class=structural_class,
            )
            note = (
                f"{structural_class}: least cover {least.value:g} + deviation {rule.deviation.design_mm:g}."
            )
            return limit(least.value + rule.deviation.design_mm, "mm", rule, note=note)
        case CoverByStrength():
            fitting = [cover for least, cover in _row(rule, rule.rows, exposure) if strength_mpa >= least]
            if not fitting:
                listed = [f"{least:g} MPa or more" for least, _ in rule.rows[exposure]]
                raise _unlisted(rule, f"{exposure} with {strength_mpa:g} MPa", listed)
            return limit(min(fitting), "mm", rule)


def least_cover(
    rule: CoverByStructuralClass,
    *,
    exposure: str,
    bar_mm: float,
    aggregate_mm: float,
    structural_class: StructuralClass,
) -> Limit:
    """Return the least cover for bond and durability, without the deviation.

    Args:
        rule: Table and constants.
        exposure: Exposure class.
        bar_mm: Bar diameter. [mm]
        aggregate_mm: Largest aggregate. [mm]
        structural_class: After table 4.3N.

    Returns:
        c_min. [mm]

    Raises:
        BadInput: If the exposure is not in the table.

    Source:
        EN 1992-1-1:2004, 4.4.1.2, expression (4.2), tables 4.2 and 4.4N (recommended values).
    """
    durability_mm = _row(rule, rule.table[structural_class], exposure)
    coarse = aggregate_mm > rule.coarse_aggregate_from_mm
    bond_mm = bar_mm + (rule.coarse_aggregate_plus_mm if coarse else 0.0)
    return limit(max(bond_mm, durability_mm, rule.least_mm), "mm", rule)


def structural_class(
    rule: CoverByStructuralClass,
    *,
    exposure: str,
    strength_mpa: float,
    hundred_years: bool = False,
    slab_geometry: bool = False,
    quality_control: bool = False,
) -> StructuralClass:
    """Return the structural class after the changes that apply to S4.

    Args:
        rule: Table and steps.
        exposure: Exposure class.
        strength_mpa: Cylinder strength. [MPa]
        hundred_years: Working life of 100 years in place of 50.
        slab_geometry: The place of the bars is not affected by the construction process.
        quality_control: Special quality control of concrete production is ensured.

    Returns:
        S1 to S6; the ends of the list are not passed.

    Source:
        EN 1992-1-1:2004, table 4.3N (recommended values).
    """
    changes = rule.class_changes
    strong = strength_mpa >= _row(rule, changes.high_strength_from_mpa, exposure)
    step = (
        4
        + changes.hundred_years * hundred_years
        + changes.slab_geometry * slab_geometry
        + changes.quality_control * quality_control
        + changes.high_strength * strong
    )
    classes: tuple[StructuralClass, ...] = ("S1", "S2", "S3", "S4", "S5", "S6")
    return classes[min(max(step, 1), 6) - 1]


def fire_cover(
    rule: FireCover,
    *,
    hours: float,
    member: Member,
    continuous: bool,
) -> Limit:
    """Return the nominal cover for a fire resistance.

    Args:
        rule: The table.
        hours: Fire resistance asked for. [h]
        member: ``slab`` or ``beam``.
        continuous: Whether the member runs over its supports.

    Returns:
        Cover of the next listed resistance that is not less. [mm]

    Raises:
        BadInput: If the table ends below this resistance.

    Source:
        IS 456:2000, table 16A (from memory).
    """
    column: dict[tuple[Member, bool], tuple[float, ...]] = {
        ("slab", False): rule.slab_simple,
        ("slab", True): rule.slab_continuous,
        ("beam", False): rule.beam_simple,
        ("beam", True): rule.beam_continuous,
    }
    for listed, cover_mm in zip(rule.hours, column[member, continuous], strict=True):
        if hours <= listed:
            return limit(cover_mm, "mm", rule)
    raise _unlisted(rule, f"{hours:g} h", [f"up to {rule.hours[-1]:g} h"])


def least_strength(rule: Durability, *, exposure: str) -> Limit:
    """Return the least concrete strength that an exposure asks for.

    Args:
        rule: The table.
        exposure: In the code's words.

    Returns:
        Strength. [MPa]

    Raises:
        BadInput: If the exposure is not in the table.

    Source:
        IS 456:2000, table 5.
    """
    return limit(_row(rule, rule.rows, exposure).strength_mpa, "MPa", rule)


def _by_exposure(rule: CoverByExposure, exposure: str, bar_mm: float, strength_mpa: float) -> Limit:
    cover_mm = _row(rule, rule.table, exposure)
    notes = []
    thin, strong = rule.small_bar, rule.strong_concrete
    if exposure in thin.exposures and bar_mm <= thin.up_to_bar_mm:
        cover_mm -= thin.less_mm
        notes.append(f"{thin.less_mm:g} less for bars up to {thin.up_to_bar_mm:g} mm ({thin.clause}).")
    if exposure in strong.exposures and strength_mpa >= strong.from_mpa:
        cover_mm -= strong.less_mm
        notes.append(f"{strong.less_mm:g} less for {strong.from_mpa:g} MPa and more ({strong.clause}).")
    if bar_mm > cover_mm:
        cover_mm = bar_mm
        notes.append(f"Not below the bar diameter ({rule.not_below_bar.clause}).")
    return limit(cover_mm, "mm", rule, note=" ".join(notes))


def _row(rule: Provision, rows: dict[str, Row], exposure: str) -> Row:
    if exposure not in rows:
        raise _unlisted(rule, exposure, list(rows))
    return rows[exposure]


def _unlisted(rule: Provision, asked: str, listed: list[str]) -> BadInput:
    return BadInput(
        f"No value is listed for {asked}.",
        where=f"{rule.edition}, {rule.clause}",
        todo=f"Listed are: {', '.join(dict.fromkeys(listed))}. Ask the engineer of record for the value to use.",
    )
