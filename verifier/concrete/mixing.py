"""Mixer against pour time, and cement in the store."""

from __future__ import annotations

import math
from datetime import date

from pydantic import BaseModel

from verifier.concrete.nominal_mix import site_mix_figures
from verifier.concrete.site_mix import SiteMix
from verifier.errors import BadInput
from verifier.wording import counted

MINUTES_PER_HOUR = 60.0
SLACK = 1e-9


class MixerTime(BaseModel, frozen=True, extra="forbid"):
    """How long one mixer takes, against the time that the pour may last."""

    batches: int
    minutes: float
    output_m3_per_h: float
    mixers_needed: int


class Stack(BaseModel, frozen=True, extra="forbid"):
    """Stock against need, and how it must lie."""

    bags_needed: int
    bags_on_site: int
    enough: bool
    piles: int
    rows: int
    cautions: tuple[str, ...]


def mixer_time(mix: SiteMix, minutes_per_batch: float, bags_per_batch: int, pour_minutes: float) -> MixerTime:
    """How long mixing takes, and how many mixers the pour needs.

    Args:
        mix: The mix.
        minutes_per_batch: Load, mix and discharge of one batch.
        bags_per_batch: Whole bags in a batch.
        pour_minutes: How long the pour may last.

    Returns:
        Batches, time and output of one mixer.

    Raises:
        BadInput: If a batch is shorter than the least mixing time, or a figure is not positive.
    """
    least = site_mix_figures().mixing_time
    if not (minutes_per_batch >= least.value and bags_per_batch >= 1 and pour_minutes > 0):
        raise BadInput(
            f"{minutes_per_batch:g} min for {counted(bags_per_batch, 'bag')} a batch can't be used.",
            where="mixer",
            todo=f"A batch takes at least {least.value:g} min ({least.source}) and one bag; the pour takes some time.",
        )
    batches = math.ceil(mix.bags / bags_per_batch)
    minutes = batches * minutes_per_batch
    return MixerTime(
        batches=batches,
        minutes=minutes,
        output_m3_per_h=mix.volume_m3 / (minutes / MINUTES_PER_HOUR),
        mixers_needed=math.ceil(minutes / pour_minutes - SLACK),
    )


def check_stack(bags_needed: int, bags_on_site: int, oldest_received: date, today: date) -> Stack:
    """Hold the stock of cement against the need, and say how it must lie.

    Args:
        bags_needed: From the mix.
        bags_on_site: Counted.
        oldest_received: Date on the board of the oldest bags.
        today: Date of the count.

    Returns:
        Whether it is enough, piles and rows, cautions.

    Source:
        Handbooks of storage differ; the safer figure of each is used.
    """
    rule = site_mix_figures().stack
    piles = math.ceil(bags_on_site / rule.highest_bags)
    cautions = [
        f"At most {rule.highest_bags} bags high, crosswise above {rule.crosswise_above_bags}, {rule.widest_bags} bags wide, "
        f"{rule.gap_to_wall_mm:g} mm off walls, on boards {rule.off_floor_mm:g} mm off the floor. {rule.note}",
        "First in, first out; kinds of cement apart; covered in the rains.",
    ]
    age = (today - oldest_received).days
    if age > rule.test_after_days:
        cautions.insert(0, f"The oldest bags are {age} days old: test before use, and not at all with lumps.")
    return Stack(
        bags_needed=bags_needed,
        bags_on_site=bags_on_site,
        enough=bags_on_site >= bags_needed,
        piles=piles,
        rows=math.ceil(piles / rule.widest_bags),
        cautions=tuple(cautions),
    )
