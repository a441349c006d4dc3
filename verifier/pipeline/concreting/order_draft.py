"""The text of an order file as a person gets it to fill in."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from verifier.concrete.order_check import vibrators_needed
from verifier.concrete.sampling import SamplesAsked
from verifier.drawing.pour import Pour
from verifier.pipeline.concreting.ordering import Quantities


def order_draft(pour: Pour, found: Quantities, samples: SamplesAsked, rate: float) -> str:
    """Write the text of an order file as far as drawing, code and settings tell it; each field says what it is for.

    Args:
        pour: The drawing values.
        found: The take-off, and what is ordered for it.
        samples: Samples asked for.
        rate: Planned rate. [m3/h]

    Returns:
        TOML, with empty fields for what only people know.
    """
    concrete = pour.pour.concrete
    slump = concrete.slump_mm
    working, spare = vibrators_needed(rate)
    fields: list[tuple[str, Any, str]] = [
        ("project", pour.pour.title, ""),
        ("element", ", ".join(pour.marks), ""),
        ("address", "", "where the trucks go"),
        ("gate_contact", "", "name and telephone at the gate"),
        ("mix_name", "", "the plant's own name of the mix, as it will stand on the ticket"),
        ("grade", concrete.grade, "as drawn; another one needs a written decision"),
        ("max_aggregate_mm", concrete.max_aggregate_mm or 20, ""),
        ("slump_mm", (slump[0] + slump[1]) / 2 if slump else 100, "at the place said in slump_at"),
        ("slump_at", "truck", '"truck" or "end of pump line"'),
        ("cement", concrete.cement or "", "kind of cement"),
        ("volume_m3", found.order.order_m3, f"{found.take_off.net_m3:.2f} m3 net, with waste, rounded up"),
        ("balance_called_by", "", "who calls the last load, by what is left on the deck"),
        ("rate_m3_per_h", rate, "m3 per hour, not trucks per hour"),
        ("truck_m3", found.truck_m3, ""),
        ("interval_min", round(found.truck_m3 / rate * 60, 1), "truck_m3 * 60 / rate"),
        ("first_truck_at", pour.pour.planned_start, ""),
        ("may_refuse", "", "who may refuse a load"),
        ("may_order_water", "", "the only person who may order water; within the hold-back of the ticket"),
        ("washing_place", "", "where trucks wash out"),
        ("sampling_by", "", ""),
        ("samples_planned", samples.samples, f"{samples.because}; {samples.source}"),
        ("specimens_planned", samples.specimens or 3 * samples.samples, ""),
        ("sampling_rule", samples.source, ""),
        ("people_present", [], "leader, gate, tester, form watcher, vibrators"),
        ("second_plant", "", "same mix, cement and admixture"),
        (
            "second_plant_accepted_by_engineer",
            False,
            "two plants in one element only if the engineer of record agrees",
        ),
    ]
    placing: list[tuple[str, Any, str]] = [
        ("pump", "", "pump, crane or barrow"),
        ("second_way", "", "how concrete gets on if that stops"),
        ("vibrators", working, "heads that work"),
        ("spare_vibrators", spare, ""),
        ("lights", "", ""),
    ]
    head = (
        "# Order of concrete for one pour. Fill in what is empty; more fields of an order sheet may be added by name.\n"
        "# Send it with: verifier order FOLDER --send, and enter the plant's word with --confirmed-by NAME --plant PLANT.\n\n"
    )
    age, slump_rule = _limits_by_code(pour.pour.code)
    supply: list[tuple[str, Any, str]] = [
        ("age", age, "whose limit for the age at discharge"),
        ("slump", slump_rule, "whose tolerance of the slump"),
        ("strip_m", 1.5, "width of one strip; front_m = its length, for the time to a cold joint"),
    ]
    trip = "# trip = { load_min = 10, out_min = 25, wait_min = 5, discharge_min = 15, wash_min = 5, back_min = 20 }\n"
    return head + _lines(fields) + "\n[placing]\n" + _lines(placing) + "\n[supply]\n" + _lines(supply) + trip


def _limits_by_code(code: str) -> tuple[str, str]:
    """Age and slump limits that usually go with a code; the order may name others."""
    if code.startswith("ACI 318"):
        return "ASTM C94", "ASTM C94"
    if code.startswith("EN 1992"):
        return "BS 8500-2, truck mixer", "EN 206"
    if code.startswith("AS 3600"):
        return "AS 1379", "AS 1379"
    return "IS 4926", "IS 4926"


def _lines(fields: list[tuple[str, Any, str]]) -> str:
    return "".join(
        f"{name} = {_toml(value)}" + (f"  # {said}" if said else "") + "\n" for name, value, said in fields
    )


def _toml(value: Any) -> str:
    return value.isoformat() if isinstance(value, datetime) else json.dumps(value, ensure_ascii=False)
