"""The pour as it happens: trucks, readings, strips, cubes, events; running volume, forecast of the last trucks, alarms."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import AwareDatetime, BaseModel, Field, StringConstraints, model_validator

from verifier.concrete.quantities import loads_for

Text = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=600, pattern=r"^[^\x00-\x08\x0b\x0c\x0e-\x1f]*$")
]
Words = Annotated[Text, StringConstraints(min_length=1)]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Celsius = Annotated[float, Field(ge=-10, le=80)]


class WaterAdded(BaseModel, frozen=True, extra="forbid"):
    """Water or admixture put in on site: how much, and who ordered it (nobody: left empty)."""

    litres: Positive
    at: AwareDatetime
    ordered_by: Text = ""
    within_hold_back: bool = False


class SlumpTest(BaseModel, frozen=True, extra="forbid"):
    """One slump test. The second portion of one load may clear a first reading that is out."""

    slump_mm: Annotated[float, Field(ge=0, le=300)]
    portion: Literal[1, 2] = 1
    at: AwareDatetime


class Truck(BaseModel, frozen=True, extra="forbid"):
    """One delivery. ``batch_at`` is the first contact of cement and water as printed; None where it can't be read."""

    kind: Literal["truck"] = "truck"
    ticket: Words
    plant: Words
    mix: Words
    volume_m3: Positive
    batch_at: AwareDatetime | None
    arrived_at: AwareDatetime
    discharge_start_at: AwareDatetime | None = None
    discharge_end_at: AwareDatetime | None = None
    slumps: tuple[SlumpTest, ...] = ()
    concrete_c: Celsius | None = None
    water: tuple[WaterAdded, ...] = ()
    place: Text = ""
    sample: Text = ""
    refused_because: Text = ""
    returned_m3: Annotated[float, Field(ge=0)] = 0.0
    taken_by: Words

    @model_validator(mode="after")
    def _times_run_forward(self) -> Self:
        times = [self.batch_at, self.arrived_at, self.discharge_start_at, self.discharge_end_at]
        known = [t for t in times if t is not None]
        if any(b < a for a, b in pairwise(known)):
            raise ValueError(
                f"ticket {self.ticket}: batch, arrival, start and end of discharge must follow each other"
            )
        if self.discharge_end_at is not None and self.discharge_start_at is None:
            raise ValueError(f"ticket {self.ticket}: the end of discharge has no start")
        if self.returned_m3 > self.volume_m3:
            raise ValueError(f"ticket {self.ticket}: more is returned than was brought")
        if self.refused_because and self.discharge_start_at is not None and not self.discharge_end_at:
            raise ValueError(
                f"ticket {self.ticket}: refused while discharging; write the end of discharge and what went back"
            )
        return self

    @property
    def placed_m3(self) -> float:
        """What came into the forms: nothing of a load refused before its discharge."""
        if self.discharge_start_at is None:
            return 0.0
        return self.volume_m3 - self.returned_m3


class Strip(BaseModel, frozen=True, extra="forbid"):
    """One strip or layer as placed; ``neighbour_covered_at`` is when fresh concrete met its older face."""

    kind: Literal["strip"] = "strip"
    name: Words
    start_at: AwareDatetime
    end_at: AwareDatetime | None = None
    neighbour: Text = ""
    neighbour_covered_at: AwareDatetime | None = None
    layer_mm: Positive | None = None
    vibrators: Annotated[int, Field(ge=0)] | None = None


class Movement(BaseModel, frozen=True, extra="forbid"):
    """A reading of a tell-tale against what is expected, or something seen by the form watcher."""

    kind: Literal["movement"] = "movement"
    at: AwareDatetime
    place: Words
    by: Words
    moved_mm: float | None = None
    expected_mm: Positive | None = None
    sudden_or_uneven: bool = False
    seen: Text = ""


class HourReading(BaseModel, frozen=True, extra="forbid"):
    """What is read each hour on the deck: weather, fresh concrete, heaps, steel out of place."""

    kind: Literal["reading"] = "reading"
    at: AwareDatetime
    by: Words
    air_c: Annotated[float, Field(ge=-60, le=60)]
    humidity_percent: Annotated[float, Field(ge=0, le=100)]
    wind_km_h: Annotated[float, Field(ge=0, le=400)]
    concrete_c: Celsius | None = None
    rain: Literal["none", "first drops", "pools can't be removed"] = "none"
    highest_heap_mm: Annotated[float, Field(ge=0)] = 0.0
    steel_out_of_place_m: Annotated[float, Field(ge=0)] = 0.0


class Cube(BaseModel, frozen=True, extra="forbid"):
    """One specimen of a sample, with the mark on its mould."""

    kind: Literal["cube"] = "cube"
    sample: Words
    mark: Words
    ticket: Words
    made_at: AwareDatetime
    by: Words
    age_to_test_days: Annotated[int, Field(ge=1, le=365)]
    place: Text = ""
    photos: tuple[Hash, ...] = ()


class PourEvent(BaseModel, frozen=True, extra="forbid"):
    """Anything else: start, stop, vibrator changed, rain, people, end."""

    kind: Literal["event"] = "event"
    at: AwareDatetime
    what: Literal[
        "start", "stop", "go on", "vibrator changed", "rain", "joint made", "people", "end", "other"
    ]
    says: Words
    by: Words
    photos: tuple[Hash, ...] = ()


Entry = Annotated[Truck | Strip | Movement | HourReading | Cube | PourEvent, Field(discriminator="kind")]
"""One line of the log; told apart by ``kind`` when read from a record."""


class Running(BaseModel, frozen=True, extra="forbid"):
    """Volume so far against order and computed volume, and what the last trucks must bring."""

    placed_m3: float
    by_tickets_m3: float
    ordered_m3: float
    left_of_order_m3: float
    left_of_computed_m3: float
    loads_left: int
    last_load_m3: float
    rate_m3_per_h: float | None
    ends_about: AwareDatetime | None
    last_call_now: bool
    longest_gap_min: float | None


def running(
    trucks: Sequence[Truck],
    at: datetime,
    *,
    ordered_m3: float,
    left_to_place_m3: float,
    truck_m3: float,
    last_call_m3: float,
) -> Running:
    """Say how far the pour is, and what the last trucks must bring.

    Args:
        trucks: All deliveries in any order.
        at: Time of the question.
        ordered_m3: Volume ordered.
        left_to_place_m3: Volume still to place as measured on the deck, less waste; it rules the last load.
        truck_m3: One full truck.
        last_call_m3: When so much is left, the balance is called.

    Returns:
        Running volume, forecast and longest gap.

    Source:
        Common practice: the last load is called when 10 to 15 m3 remain, by what is measured on the deck.
    """
    known = [t for t in trucks if t.arrived_at <= at]
    placed = sum(t.placed_m3 for t in known)
    loads = loads_for(left_to_place_m3, truck_m3) if left_to_place_m3 > 0 else 0
    starts = [t.discharge_start_at for t in known if t.discharge_start_at is not None]
    hours = (at - min(starts)) / timedelta(hours=1) if starts else 0.0
    rate = placed / hours if hours > 0 and placed > 0 else None
    ends = at + timedelta(hours=left_to_place_m3 / rate) if rate and left_to_place_m3 > 0 else None
    gaps = supply_gaps_min(known)
    return Running(
        placed_m3=placed,
        by_tickets_m3=sum(t.volume_m3 for t in known if not t.refused_because),
        ordered_m3=ordered_m3,
        left_of_order_m3=ordered_m3 - placed,
        left_of_computed_m3=left_to_place_m3,
        loads_left=loads,
        last_load_m3=left_to_place_m3 - (loads - 1) * truck_m3 if loads else 0.0,
        rate_m3_per_h=rate,
        ends_about=ends,
        last_call_now=0 < left_to_place_m3 <= last_call_m3,
        longest_gap_min=max(gaps, default=None),
    )


def supply_gaps_min(trucks: Sequence[Truck]) -> list[float]:
    """Times without concrete between trucks.

    Args:
        trucks: Deliveries in any order; refused ones before discharge don't count.

    Returns:
        Minutes from the end of one discharge to the start of the next, in order of time; overlaps are zero.
    """
    used = sorted(
        (t for t in trucks if t.discharge_start_at is not None),
        key=lambda t: (t.discharge_start_at, t.ticket),
    )
    gaps, last_end = [], None
    for truck in used:
        start = truck.discharge_start_at
        if last_end is not None and start is not None:
            gaps.append(max(0.0, (start - last_end) / timedelta(minutes=1)))
        end = truck.discharge_end_at
        if end is not None:
            last_end = end if last_end is None else max(last_end, end)
    return gaps
