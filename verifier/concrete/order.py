"""The order sheet: everything the plant must know, in one text to send, and what stands against it."""

from __future__ import annotations

import math
from typing import Annotated, Literal, Self

from pydantic import AwareDatetime, BaseModel, Field, StringConstraints, model_validator

from verifier.concrete.pour_plan import RoundTrip
from verifier.concrete.supply import supply_figures
from verifier.wording import counted

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Line = Annotated[str, StringConstraints(strip_whitespace=True, max_length=200, pattern=r"^[^\x00-\x1f]*$")]
Words = Annotated[Line, StringConstraints(min_length=1)]


class Asked(BaseModel, frozen=True, extra="forbid"):
    """What the drawing asks of the concrete."""

    grade: Words
    slump_mm: tuple[float, float] | None = None
    max_aggregate_mm: float | None = None
    cement: Line = ""


class Confirmation(BaseModel, frozen=True, extra="forbid"):
    """The plant's word: who said what, when."""

    plant: Words
    by: Words
    at: AwareDatetime
    not_in_maintenance: bool
    stock_and_trucks: bool
    breakdown_plan: Line = ""


class Placing(BaseModel, frozen=True, extra="forbid"):
    """Means of placing on site."""

    pump: Words
    pump_reach_m: Positive | None = None
    pump_wind_limit_km_h: Positive | None = None
    hose_m: Positive | None = None
    line_diameter_mm: Positive | None = None
    second_way: Line = ""
    vibrators: Annotated[int, Field(ge=0)]
    spare_vibrators: Annotated[int, Field(ge=0)]
    lights: Line = ""


class SupplyTerms(BaseModel, frozen=True, extra="forbid"):
    """How the supply runs and by whose limits it is judged. ``age``, ``slump`` and ``joint`` are names of limits on file."""

    trip: RoundTrip | None = None
    trucks: Annotated[int, Field(ge=1, le=60)] | None = None
    pumps: Annotated[int, Field(ge=1, le=6)] = 1
    front_m: Positive | None = None
    strip_m: Positive = 1.5
    age: Words = "IS 4926"
    slump: Words = "IS 4926"
    joint: Words = "usual"


class OrderSheet(BaseModel, frozen=True, extra="forbid"):
    """One order for one pour. Rate is in m3 per hour, not in trucks per hour."""

    project: Words
    element: Words
    pour: Words
    address: Words
    gate_contact: Words
    mix_name: Words
    grade: Words
    exposure_class: Line = ""
    chloride_class: Line = ""
    max_aggregate_mm: Positive
    slump_mm: Positive
    slump_at: Literal["truck", "end of pump line"] = "truck"
    cement: Words
    admixture: Line = ""
    retarder_hours: Annotated[float, Field(ge=0)] = 0.0
    air_percent: Annotated[float, Field(ge=0, le=15)] | None = None
    max_water_cement: Annotated[float, Field(gt=0.2, lt=1)] | None = None
    min_cement_kg_m3: Positive | None = None
    hottest_c: float = Field(default_factory=lambda: supply_figures().hottest.value)
    coldest_c: float = Field(default_factory=lambda: supply_figures().coldest.value)
    volume_m3: Positive
    balance_called_by: Words
    rate_m3_per_h: Positive
    first_truck_at: AwareDatetime
    interval_min: Positive
    truck_m3: Positive
    truck_limits: Line = ""
    may_refuse: Words
    may_order_water: Words
    washing_place: Words
    sampling_by: Words
    samples_planned: Annotated[int, Field(ge=0)]
    specimens_planned: Annotated[int, Field(ge=0)]
    sampling_rule: Words
    placing: Placing
    supply: SupplyTerms = SupplyTerms()
    people_present: tuple[Words, ...] = ()
    ordered_at: AwareDatetime | None = None
    lead_time_h: Positive = Field(default_factory=lambda: supply_figures().notice.value)
    confirmation: Confirmation | None = None
    second_plant: Line = ""
    second_plant_accepted_by_engineer: bool = False

    @model_validator(mode="after")
    def _interval_carries_the_rate(self) -> Self:
        rate = self.truck_m3 * 60.0 / self.interval_min
        if not math.isclose(rate, self.rate_m3_per_h, rel_tol=0.02):
            raise ValueError(
                f"{self.truck_m3:g} m3 each {self.interval_min:g} min is {rate:.1f} m3/h, not {self.rate_m3_per_h:g} m3/h"
            )
        return self


def order_text(sheet: OrderSheet) -> str:
    """Write the order as plain text to send.

    Args:
        sheet: The order.

    Returns:
        One line per field, in the order in which a plant reads it; empty fields are left out.
    """
    return "\n".join(f"{name}: {text}" for name, text in order_rows(sheet)) + "\n"


def order_rows(sheet: OrderSheet) -> tuple[tuple[str, str], ...]:
    """Write the order field by field, for text and print.

    Args:
        sheet: The order.

    Returns:
        Name and text of each field, in the order in which a plant reads it; empty fields are left out.

    Source:
        EN 206:2013, 7.1 (what the user tells the producer).
    """
    said, placing = sheet.confirmation, sheet.placing
    lines = [
        ("Concrete order", f"{sheet.project}, {sheet.element}, pour {sheet.pour}"),
        ("Site", sheet.address),
        ("Contact at the gate", sheet.gate_contact),
        ("Mix", f"{sheet.mix_name}, grade {sheet.grade}"),
        (
            "Exposure / chloride class",
            " / ".join(c for c in (sheet.exposure_class, sheet.chloride_class) if c),
        ),
        ("Largest aggregate", f"{sheet.max_aggregate_mm:g} mm"),
        ("Slump", f"{sheet.slump_mm:g} mm at the {sheet.slump_at}"),
        ("Cement", sheet.cement),
        ("Admixture", sheet.admixture),
        ("Retarded by", f"{sheet.retarder_hours:g} h" if sheet.retarder_hours else ""),
        ("Air", f"{sheet.air_percent:g} %" if sheet.air_percent is not None else ""),
        ("Water : cement at most", f"{sheet.max_water_cement:g}" if sheet.max_water_cement else ""),
        ("Cement at least", f"{sheet.min_cement_kg_m3:g} kg/m3" if sheet.min_cement_kg_m3 else ""),
        ("Temperature at discharge", f"{sheet.coldest_c:g} to {sheet.hottest_c:g} C"),
        ("Volume", f"{sheet.volume_m3:g} m3, balance called by {sheet.balance_called_by}"),
        ("Rate", f"{sheet.rate_m3_per_h:g} m3 per hour"),
        ("First truck on site", f"{sheet.first_truck_at:%a %Y-%m-%d %H:%M %z}"),
        ("Interval", f"{sheet.interval_min:g} min, trucks of {sheet.truck_m3:g} m3"),
        ("Notice", f"{sheet.lead_time_h:g} h before the first truck"),
        ("Truck limits", sheet.truck_limits),
        ("Placing", _placing_text(placing)),
        ("May refuse a load", sheet.may_refuse),
        ("May order water", sheet.may_order_water),
        ("Washing place", sheet.washing_place),
        (
            "Sampling",
            f"samples: {sheet.samples_planned}, specimens: {sheet.specimens_planned}, by {sheet.sampling_by}",
        ),
        ("Sampling rule", sheet.sampling_rule),
        ("Present", ", ".join(sheet.people_present)),
        (
            "Plant",
            f"{said.plant}, confirmed by {said.by} at {said.at:%Y-%m-%d %H:%M %z}"
            if said
            else "not confirmed yet",
        ),
        ("Second plant", sheet.second_plant),
    ]
    return tuple((name, text) for name, text in lines if text)


def _placing_text(placing: Placing) -> str:
    parts = [
        placing.pump,
        f"reach {placing.pump_reach_m:g} m" if placing.pump_reach_m else "",
        f"hose {placing.hose_m:g} m" if placing.hose_m else "",
        f"line {placing.line_diameter_mm:g} mm" if placing.line_diameter_mm else "",
        f"second way: {placing.second_way}" if placing.second_way else "",
        f"{counted(placing.vibrators, 'vibrator')} and {placing.spare_vibrators} spare",
        f"lights: {placing.lights}" if placing.lights else "",
    ]
    return ", ".join(p for p in parts if p)
