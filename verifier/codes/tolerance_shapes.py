"""The shapes that placing tolerances take in the data files."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, Field

from verifier.codes.limit import Provision

NotNegative = Annotated[float, Field(ge=0)]
Positive = Annotated[float, Field(gt=0)]
Curve = tuple[tuple[Positive, NotNegative], ...]


class NoneStated(Provision, frozen=True):
    """The document gives no figure, and says so; one may be agreed for the project."""

    form: Literal["none stated"]


class FixedCover(Provision, frozen=True):
    """The same deviation whatever the size. [mm]."""

    form: Literal["fixed"]
    plus_mm: NotNegative
    minus_mm: NotNegative


class ReductionBand(BaseModel, frozen=True, extra="forbid"):
    """Largest reduction up to an effective depth. [mm]."""

    up_to_mm: Positive | None = None
    minus_mm: Positive


class ReductionByDepth(Provision, frozen=True):
    """Largest reduction of cover by effective depth, at a formed soffit, and as a share of the cover. [mm, -]."""

    form: Literal["reduction by depth"]
    bands: tuple[ReductionBand, ...]
    soffit_minus_mm: Positive
    share_of_cover: Positive


class InterpolatedCover(Provision, frozen=True):
    """Increase by depth of section, straight between points; the reduction is that used in design. [mm]."""

    form: Literal["interpolated"]
    class_1_plus_mm: Curve
    class_2_plus_mm: Curve
    design_minus_mm: NotNegative


CoverTolerance = Annotated[FixedCover | ReductionByDepth | InterpolatedCover, Field(discriminator="form")]


class DepthBand(BaseModel, frozen=True, extra="forbid"):
    """Deviation either way up to an effective depth. [mm]."""

    up_to_mm: Positive | None = None
    plus_minus_mm: Positive


class DepthTolerance(Provision, frozen=True):
    """Deviation of effective depth. [mm]."""

    form: Literal["by depth"]
    bands: tuple[DepthBand, ...]


class LargerOf(Provision, frozen=True):
    """The larger of a fixed deviation and a share of the spacing. [mm, -]."""

    form: Literal["larger of"]
    fixed_mm: Positive
    share: NotNegative
    count_kept: bool


class SmallerOf(Provision, frozen=True):
    """The smaller of a fixed deviation and a share of the depth. [mm, -]."""

    form: Literal["smaller of"]
    fixed_mm: Positive
    share_of_depth: Positive


class BarEnds(Provision, frozen=True):
    """Place of ends and bends along the bar. [mm]."""

    form: Literal["fixed"]
    elsewhere_mm: Positive
    discontinuous_mm: Positive


class LapBand(BaseModel, frozen=True, extra="forbid"):
    """By how much a lap may be short, up to a bar size. [mm]."""

    up_to_bar_mm: Positive
    minus_mm: Positive


class LapByBar(Provision, frozen=True):
    """Lap too short, by bar size. [mm]."""

    form: Literal["by bar"]
    bands: tuple[LapBand, ...]


class LapShare(Provision, frozen=True):
    """Lap too short, as a share of its length."""

    form: Literal["share"]
    minus_share: Positive


class SizeBand(BaseModel, frozen=True, extra="forbid"):
    """Deviation of a section dimension up to a size. [mm]."""

    up_to_mm: Positive | None = None
    plus_mm: Positive
    minus_mm: Positive


class SectionBySize(Provision, frozen=True):
    """Deviation of a section dimension, by its size. [mm]."""

    form: Literal["by size"]
    bands: tuple[SizeBand, ...]


class SectionInterpolated(Provision, frozen=True):
    """Deviation of a section dimension either way, straight between points. [mm]."""

    form: Literal["interpolated"]
    class_1_plus_minus_mm: Curve
    class_2_plus_minus_mm: Curve


class ThicknessMinus(Provision, frozen=True):
    """By how much a slab may be too thin. [mm]."""

    form: Literal["minus"]
    minus_mm: Positive


class Tolerances(BaseModel, frozen=True, extra="forbid"):
    """All placing tolerances of a code."""

    cover: CoverTolerance
    effective_depth: Annotated[DepthTolerance | NoneStated, Field(discriminator="form")]
    spacing: Annotated[LargerOf | NoneStated, Field(discriminator="form")]
    link_spacing: Annotated[SmallerOf | LargerOf | NoneStated, Field(discriminator="form")]
    bar_end: Annotated[BarEnds | NoneStated, Field(discriminator="form")]
    lap: Annotated[LapByBar | LapShare | NoneStated, Field(discriminator="form")]
    section: Annotated[SectionBySize | SectionInterpolated | NoneStated, Field(discriminator="form")]
    slab_thickness: Annotated[ThicknessMinus | NoneStated, Field(discriminator="form")]
