"""Concrete mixed on site: bags, sand, stone and water, in total and per batch; stock, stack and mixer against the pour."""

from __future__ import annotations

import math
from typing import Annotated

from pydantic import BaseModel, Field

from verifier.concrete.nominal_mix import Positive, Proportions, nominal_mix, site_mix_figures
from verifier.errors import BadInput
from verifier.wording import counted

Share = Annotated[float, Field(ge=0, lt=1)]
SLACK = 1e-9


class Aggregate(BaseModel, frozen=True, extra="forbid"):
    """Sand and stone as they lie on site: bulking of damp sand and free water by mass, both as parts of one."""

    sand_bulking: Share = 0.0
    sand_free_water: Share = 0.0
    stone_free_water: Share = 0.0


class SiteMix(BaseModel, frozen=True, extra="forbid"):
    """Stuff for a volume. Sand and stone are loose dry volumes; ``sand_to_measure`` is damp and bulked."""

    volume_m3: float
    cement_m3: float
    cement_kg: float
    bags_exact: float
    bags: int
    sand_m3: float
    sand_to_measure_m3: float
    stone_m3: float
    water_l: float
    free_water_l: float
    water_to_add_l: float
    per_bag: PerBag
    notes: tuple[str, ...]


class DesignedMix(BaseModel, frozen=True, extra="forbid"):
    """A mix by mass for 1 m3, aggregate saturated and surface dry, as the accepted mix design states it."""

    cement_kg: Positive
    water_kg: Positive
    sand_kg: Positive
    stone_kg: Positive


class Batched(BaseModel, frozen=True, extra="forbid"):
    """Masses to weigh for a volume, and for one batch of whole bags."""

    bags: int
    cement_kg: float
    water_to_add_l: float
    sand_to_weigh_kg: float
    stone_to_weigh_kg: float
    batches: int
    batch_bags: int
    batch_water_l: float
    batch_sand_kg: float
    batch_stone_kg: float
    batch_yield_m3: float


class PerBag(BaseModel, frozen=True, extra="forbid"):
    """One batch of one bag: boxes of 35 L and litres."""

    sand_boxes: float
    sand_l: float
    sand_to_measure_l: float
    stone_boxes: float
    stone_l: float
    water_l: float
    water_to_add_l: float
    yield_m3: float
    aggregate_kg: float


SiteMix.model_rebuild()


def site_mix(volume_m3: float, parts: Proportions, aggregate: Aggregate | None = None) -> SiteMix:
    """Stuff needed for a volume of concrete.

    Args:
        volume_m3: Wet volume.
        parts: Parts by loose volume.
        aggregate: Bulking and free water; without it dry.

    Returns:
        Totals and one batch of one bag.

    Raises:
        BadInput: If the volume is not positive, or the aggregate alone brings more water than the mix may have.

    Source:
        Dry-volume rule of the trade (no source); IS 456:2000, table 9 for the bag.
    """
    if not (math.isfinite(volume_m3) and volume_m3 > 0):
        raise BadInput(
            f"The volume is {volume_m3:g} m3.", where="site mix", todo="Write a number above zero."
        )
    state = aggregate or Aggregate()
    f = site_mix_figures()
    one_part = f.dry_factor.value * volume_m3 / (parts.cement + parts.sand + parts.stone)
    cement_m3, sand_m3, stone_m3 = one_part * parts.cement, one_part * parts.sand, one_part * parts.stone
    cement_kg = cement_m3 * f.cement_density.value
    bags = cement_kg / f.bag.value
    water = parts.water_cement * cement_kg
    free = (
        sand_m3 * f.sand_density.value * state.sand_free_water
        + stone_m3 * f.stone_density.value * state.stone_free_water
    )
    if free > water:
        raise BadInput(
            f"Sand and stone bring {free:.0f} L, the mix may have {water:.0f} L.",
            where="site mix",
            todo="Let them drain, and measure their free water again.",
        )
    return SiteMix(
        volume_m3=volume_m3,
        cement_m3=cement_m3,
        cement_kg=cement_kg,
        bags_exact=bags,
        bags=math.ceil(bags - SLACK),
        sand_m3=sand_m3,
        sand_to_measure_m3=sand_m3 * (1 + state.sand_bulking),
        stone_m3=stone_m3,
        water_l=water,
        free_water_l=free,
        water_to_add_l=water - free,
        per_bag=_per_bag(parts, state, bags, water, free, volume_m3),
        notes=(
            f.dry_factor.source,
            f"Mix at least {f.mixing_time.value:g} min after the water, {f.mixing_time.source}.",
            "Whole bags only; bulking test each morning and after rain; one man counts batches with tally and clock.",
        ),
    )


def _per_bag(
    parts: Proportions, state: Aggregate, bags: float, water_l: float, free_l: float, volume_m3: float
) -> PerBag:
    f = site_mix_figures()
    sand_boxes, stone_boxes = parts.sand / parts.cement, parts.stone / parts.cement
    bag_l = f.bag.value / f.cement_density.value * 1000.0
    mass = (sand_boxes * f.sand_density.value + stone_boxes * f.stone_density.value) * bag_l / 1000.0
    return PerBag(
        sand_boxes=sand_boxes,
        sand_l=sand_boxes * f.box.value,
        sand_to_measure_l=sand_boxes * f.box.value * (1 + state.sand_bulking),
        stone_boxes=stone_boxes,
        stone_l=stone_boxes * f.box.value,
        water_l=water_l / bags,
        water_to_add_l=(water_l - free_l) / bags,
        yield_m3=volume_m3 / bags,
        aggregate_kg=mass,
    )


def mass_fault(grade: str, mix: SiteMix) -> str:
    """Hold the aggregate of one bag against the table.

    Args:
        grade: Grade on the drawing.
        mix: The mix.

    Returns:
        A sentence if the table's mass is exceeded, else an empty text.

    Raises:
        BadInput: If the grade has no nominal mix.

    Source:
        IS 456:2000, table 9.
    """
    most = nominal_mix(grade).aggregate_kg_per_bag
    found = mix.per_bag.aggregate_kg
    return f"{found:.1f} kg of aggregate a bag, {grade} allows {most:g} kg" if found > most else ""


def batched(volume_m3: float, mix: DesignedMix, aggregate: Aggregate, *, batch_bags: int = 1) -> Batched:
    """Masses to weigh for a designed mix.

    Free water of sand and stone is weighed with them and taken off the water.

    Args:
        volume_m3: Wet volume.
        mix: Masses of 1 m3.
        aggregate: Free water by mass; bulking does not matter where sand is weighed.
        batch_bags: Whole bags in a batch.

    Returns:
        Totals and one batch.

    Raises:
        BadInput: If volume or batch is not positive, or the aggregate brings more water than the mix may have.

    Source:
        IS 456:2000, 10.2 (batching by mass); arithmetic of free water.
    """
    if not (math.isfinite(volume_m3) and volume_m3 > 0 and batch_bags >= 1):
        raise BadInput(
            f"{volume_m3:g} m3 in batches of {counted(batch_bags, 'bag')} can't be used.",
            where="site mix",
            todo="Write both above zero.",
        )
    free = mix.sand_kg * aggregate.sand_free_water + mix.stone_kg * aggregate.stone_free_water
    if free > mix.water_kg:
        raise BadInput(
            f"Sand and stone bring {free:.0f} L a cubic metre, the mix may have {mix.water_kg:g} L.",
            where="site mix",
            todo="Let them drain, and measure their free water again.",
        )
    bag = site_mix_figures().bag.value
    one_batch = batch_bags * bag / mix.cement_kg
    bags = math.ceil(volume_m3 * mix.cement_kg / bag - SLACK)
    sand, stone = (
        mix.sand_kg * (1 + aggregate.sand_free_water),
        mix.stone_kg * (1 + aggregate.stone_free_water),
    )
    return Batched(
        bags=bags,
        cement_kg=volume_m3 * mix.cement_kg,
        water_to_add_l=volume_m3 * (mix.water_kg - free),
        sand_to_weigh_kg=volume_m3 * sand,
        stone_to_weigh_kg=volume_m3 * stone,
        batches=math.ceil(bags / batch_bags),
        batch_bags=batch_bags,
        batch_water_l=one_batch * (mix.water_kg - free),
        batch_sand_kg=one_batch * sand,
        batch_stone_kg=one_batch * stone,
        batch_yield_m3=one_batch,
    )
