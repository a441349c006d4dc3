"""Concrete mixed on site: what is needed for a pour, batch by batch, and how long it takes."""

from __future__ import annotations

from pathlib import Path

from pydantic import BaseModel

from verifier.concrete.mixing import MixerTime, mixer_time
from verifier.concrete.nominal_mix import Proportions, nominal_proportions
from verifier.concrete.site_mix import Aggregate, SiteMix, mass_fault, site_mix
from verifier.errors import BadInput
from verifier.pipeline.concreting.ordering import quantities_of
from verifier.wording import counted


class MixPlan(BaseModel, frozen=True, extra="forbid"):
    """Materials and time of a pour mixed on site. ``fault`` says where a nominal mix leaves its table."""

    grade: str
    mix: SiteMix
    time: MixerTime
    fault: str

    @property
    def lines(self) -> tuple[str, ...]:
        """The plan in words, one line for each thing to bring."""
        m, bag = self.mix, self.mix.per_bag
        return (
            f"{m.volume_m3:.2f} m3 of {self.grade}, with waste.",
            f"Cement {counted(m.bags, 'bag')}, sand {m.sand_to_measure_m3:.2f} m3 as it lies, stone {m.stone_m3:.2f} m3, "
            f"water {m.water_to_add_l:.0f} L to add.",
            f"One bag: sand {bag.sand_to_measure_l:.1f} L, stone {bag.stone_l:.1f} L, water {bag.water_to_add_l:.1f} L; "
            f"{bag.yield_m3 * 1000:.0f} L of concrete.",
            f"{counted(self.time.batches, 'batch', 'batches')}, {self.time.minutes:.0f} min with one mixer ({self.time.output_m3_per_h:.2f} m3/h); "
            f"mixers needed: {self.time.mixers_needed}.",
            *m.notes,
            *([f"Out of the table: {self.fault}."] if self.fault else []),
        )


def mix_of(
    folder: Path,
    *,
    aggregate: Aggregate,
    parts: str | None = None,
    water_cement: float | None = None,
    batch_bags: int = 1,
    minutes_per_batch: float = 4.0,
    pour_minutes: float = 360.0,
) -> MixPlan:
    """Plan the materials of a pour mixed on site.

    Args:
        folder: The pour folder.
        aggregate: Bulking and free water of sand and stone.
        parts: Proportions by volume, as ``1:1.5:3``; without them the nominal mix of the grade.
        water_cement: Largest water : cement ratio; needed with ``parts``.
        batch_bags: Whole bags in one batch.
        minutes_per_batch: Load, mix and discharge of one batch.
        pour_minutes: How long the pour may last.

    Returns:
        Materials, batches and time.

    Raises:
        BadInput: If the grade has no nominal mix and no proportions are given, or a figure can't be used.

    Source:
        IS 456:2000, table 9, and rules of the trade, see `verifier.concrete.site_mix`.
    """
    found = quantities_of(folder, truck_m3=1.0)
    grade = found.concrete.grade
    proportions = (
        nominal_proportions(grade, exposure_water_cement=water_cement)
        if parts is None
        else _parts(parts, water_cement)
    )
    mix = site_mix(found.order.with_waste_m3, proportions, aggregate)
    return MixPlan(
        grade=grade,
        mix=mix,
        time=mixer_time(mix, minutes_per_batch, batch_bags, pour_minutes),
        fault=mass_fault(grade, mix) if parts is None else "",
    )


def _parts(text: str, water_cement: float | None) -> Proportions:
    pieces = text.split(":")
    try:
        cement, sand, stone = map(float, pieces)
    except ValueError as error:
        raise BadInput(
            f'"{text}" is no proportion.', where="parts", todo="Write cement, sand and stone, as 1:1.5:3."
        ) from error
    if water_cement is None or min(cement, sand, stone) <= 0 or not 0.2 < water_cement < 1.5:
        raise BadInput(
            "Given proportions need parts above zero and a water : cement ratio.",
            where="parts",
            todo="Give one with them, for example 0.5.",
            command="--water-cement 0.5",
        )
    return Proportions(cement=cement, sand=sand, stone=stone, water_cement=water_cement)
