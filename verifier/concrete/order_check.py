"""What stands against an order: drawing, notice, plant, means on site."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Literal

from pydantic import BaseModel

from verifier.concrete.order import Asked, OrderSheet
from verifier.concrete.supply import supply_figures
from verifier.wording import counted


class OrderPoint(BaseModel, frozen=True, extra="forbid"):
    """What stands against an order. ``hold`` stops the release, ``condition`` is closed before concrete."""

    weight: Literal["hold", "condition", "note"]
    key: str
    says: str
    clears: str
    source: str
    who: str = "contractor's engineer"


def same_grade(ordered: str, drawn: str) -> bool:
    """Tell whether two grades are written for the same concrete.

    Args:
        ordered: Grade on the order.
        drawn: Grade on the drawing.

    Returns:
        Whether they are equal but for blanks, hyphens and case. M25 and C25/30 are not.
    """
    plain = str.maketrans("", "", " -\u00a0")
    return ordered.translate(plain).upper() == drawn.translate(plain).upper() != ""


def vibrators_needed(rate_m3_per_h: float) -> tuple[int, int]:
    """Heads that work and heads that wait.

    Args:
        rate_m3_per_h: Rate of placing.

    Returns:
        Working heads and spares.

    Source:
        Handbook of vibration (4.6-15 m3/h for heads of 50-90 mm); spares are common practice.
    """
    figures = supply_figures()
    working = math.ceil(rate_m3_per_h / figures.vibrator.value - 1e-9)
    return working, max(1, math.ceil(working / figures.spare_vibrators.value))


def order_points(
    sheet: OrderSheet,
    asked: Asked,
    at: datetime,
    *,
    samples_asked: int = 1,
    computed_m3: float | None = None,
    planned_start: datetime | None = None,
) -> tuple[OrderPoint, ...]:
    """Hold an order against the drawing, the lead time and the means on site.

    Args:
        sheet: The order.
        asked: What the drawing asks for.
        at: Time of the question.
        samples_asked: Samples by the code of the pour, see `verifier.concrete.sampling`.
        computed_m3: Net volume of the drawing, if it is known.
        planned_start: When the drawing plans to start, if it says so.

    Returns:
        Points, those that stop the release first. Empty if nothing stands against it.

    Source:
        EN 206:2013, 7.1; IBC, Table 1705.3 (use of the required mix); lead times are common practice.
    """
    points = [*_against_drawing(sheet, asked), *_against_time(sheet, at), *_against_means(sheet)]
    points += _against_plan(sheet, computed_m3, planned_start)
    if sheet.samples_planned < samples_asked:
        says = f"{counted(sheet.samples_planned, 'sample')} planned, {samples_asked} asked for."
        points.append(
            _plain(
                "hold",
                "samples",
                says,
                f"Plan {counted(samples_asked, 'sample')} ({sheet.sampling_rule}) and the moulds.",
            )
        )
    if not sheet.people_present:
        points.append(
            _plain(
                "note",
                "people",
                "Nobody is named for the pour.",
                "Write leader, gate, tester, watcher, vibrators.",
            )
        )
    order = {"hold": 0, "condition": 1, "note": 2}
    return tuple(sorted(points, key=lambda p: order[p.weight]))


def _against_drawing(sheet: OrderSheet, asked: Asked) -> list[OrderPoint]:
    mix_rule = "IBC, Table 1705.3 (use of the required mix)"
    points = []
    if not same_grade(sheet.grade, asked.grade):
        points.append(
            OrderPoint(
                weight="hold",
                key="grade",
                says=f"{sheet.grade} is ordered, {asked.grade} is drawn.",
                clears=f"Order {asked.grade}, or have the engineer of record change the drawing values in writing.",
                source=mix_rule,
                who="engineer of record",
            )
        )
    if asked.slump_mm and not asked.slump_mm[0] <= sheet.slump_mm <= asked.slump_mm[1]:
        low, high = asked.slump_mm
        points.append(
            OrderPoint(
                weight="hold",
                key="slump",
                says=f"Slump {sheet.slump_mm:g} mm is ordered, {low:g} to {high:g} mm is asked for.",
                clears="Order a slump within that range.",
                source=mix_rule,
            )
        )
    if asked.max_aggregate_mm and sheet.max_aggregate_mm > asked.max_aggregate_mm:
        points.append(
            OrderPoint(
                weight="hold",
                key="aggregate",
                says=f"Aggregate {sheet.max_aggregate_mm:g} mm is ordered, {asked.max_aggregate_mm:g} mm is the largest asked for.",
                clears="Order the smaller aggregate: the gaps between bars rest on it.",
                source=mix_rule,
            )
        )
    if asked.cement and asked.cement.casefold() != sheet.cement.casefold():
        points.append(
            OrderPoint(
                weight="hold",
                key="cement",
                says=f"Cement {sheet.cement} is ordered, {asked.cement} is asked for.",
                clears="Order that cement, or get a written decision of the engineer of record.",
                source=mix_rule,
            )
        )
    return points


def _against_time(sheet: OrderSheet, at: datetime) -> list[OrderPoint]:
    figures = supply_figures()
    points = []
    placed = sheet.ordered_at
    given_h = (sheet.first_truck_at - (placed or at)) / timedelta(hours=1)
    if given_h < sheet.lead_time_h:
        points.append(
            OrderPoint(
                weight="hold" if sheet.confirmation is None else "condition",
                key="notice",
                says=f"The plant has {given_h:.0f} h of notice and asks for {sheet.lead_time_h:g} h."
                if given_h > 0
                else f"The first truck is ordered for {sheet.first_truck_at:%Y-%m-%d %H:%M}, which is past.",
                clears="Move the first truck, or have the plant confirm the shorter notice in writing.",
                source=figures.notice.source,
            )
        )
    if placed is None:
        points.append(
            _plain("hold", "not-placed", "The order is not placed.", "Send the order to the plant.")
        )
    said = sheet.confirmation
    if said is None:
        points.append(
            _plain(
                "hold",
                "not-confirmed",
                "The plant has not confirmed.",
                "Call the plant; write name and time.",
            )
        )
    elif not said.not_in_maintenance:
        points.append(
            _plain(
                "hold",
                "maintenance",
                f"{said.plant} stands in maintenance on that day.",
                "Move the day or the plant.",
            )
        )
    elif not said.stock_and_trucks:
        points.append(
            _plain(
                "hold",
                "stock",
                f"{said.plant} has not confirmed stock and trucks.",
                "Ask for both in writing.",
            )
        )
    return points


def _against_plan(
    sheet: OrderSheet, computed_m3: float | None, planned_start: datetime | None
) -> list[OrderPoint]:
    points = []
    if computed_m3 is not None and sheet.volume_m3 < computed_m3:
        says = f"{sheet.volume_m3:g} m3 are ordered, the drawing holds {computed_m3:.2f} m3 net."
        points.append(_plain("hold", "volume", says, "Order the whole volume, with waste."))
    elif computed_m3 is not None and sheet.volume_m3 > computed_m3 + max(
        sheet.truck_m3, supply_figures().over_order.value / 100.0 * computed_m3
    ):
        says = (
            f"{sheet.volume_m3:g} m3 are ordered, {sheet.volume_m3 / computed_m3:.1f} times the {computed_m3:.2f} m3 net of the "
            "drawing."
        )
        points.append(
            _plain(
                "hold",
                "volume",
                says,
                "Correct the volume, or the drawing values if an element is not in them.",
            )
        )
    if planned_start is not None and abs(sheet.first_truck_at - planned_start) > timedelta(hours=1):
        says = f"The first truck is ordered for {sheet.first_truck_at:%Y-%m-%d %H:%M}, the start is planned for {planned_start:%Y-%m-%d %H:%M}."
        points.append(_plain("condition", "start", says, "Bring order and planned start together."))
    return points


def _against_means(sheet: OrderSheet) -> list[OrderPoint]:
    figures = supply_figures()
    points = []
    working, spare = vibrators_needed(sheet.rate_m3_per_h)
    have, have_spare = sheet.placing.vibrators, sheet.placing.spare_vibrators
    if have < working or have_spare < spare:
        says = f"{counted(have, 'vibrator')} and {have_spare} spare planned; {sheet.rate_m3_per_h:g} m3/h asks for {working} and {spare}."
        clears = "Bring the missing ones, tried and with power."
        points.append(
            OrderPoint(
                weight="condition", key="vibrators", says=says, clears=clears, source=figures.vibrator.source
            )
        )
    line = sheet.placing.line_diameter_mm
    if line is not None and line < figures.pump_line.value * sheet.max_aggregate_mm:
        says = f"The pump line is {line:g} mm for aggregate of {sheet.max_aggregate_mm:g} mm."
        clears = f"Take a line of {figures.pump_line.value * sheet.max_aggregate_mm:g} mm or more."
        points.append(
            OrderPoint(
                weight="condition", key="pump-line", says=says, clears=clears, source=figures.pump_line.source
            )
        )
    if not sheet.placing.second_way:
        points.append(
            _plain(
                "condition",
                "second-way",
                "There is no second way of placing.",
                "Name a crane bucket or a second pump.",
            )
        )
    if not sheet.second_plant:
        points.append(
            _plain("condition", "second-plant", "There is no second plant.", "Name one with the same mix.")
        )
    elif not sheet.second_plant_accepted_by_engineer:
        says = (
            f"The engineer of record has not agreed to mix two plants in one element ({sheet.second_plant})."
        )
        points.append(_plain("condition", "two-plants", says, "Ask the engineer of record in writing."))
    if not sheet.placing.lights:
        points.append(
            _plain("note", "lights", "No lights are planned.", "Plan them if work may end after dark.")
        )
    return points


def _plain(weight: Literal["hold", "condition", "note"], key: str, says: str, clears: str) -> OrderPoint:
    return OrderPoint(weight=weight, key=key, says=says, clears=clears, source="trade, common practice")
