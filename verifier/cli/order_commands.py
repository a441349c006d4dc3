"""Commands about concrete and what carries it: take-off, order, site mix, weather."""

from __future__ import annotations

import math
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from verifier.cli.options import (
    NO_GO,
    AsJson,
    At,
    Folder,
    Person,
    act_of,
    answer,
    app,
    console,
    moment_of,
    write_out,
)
from verifier.errors import BadInput
from verifier.wording import counted

if TYPE_CHECKING:
    from verifier.pipeline.concreting.orders import Order


LEAST_WATER_CEMENT = 0.2


@app.command()
def order(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    truck: Annotated[
        float | None, typer.Option("--truck", help="What one truck brings; else as ordered, or 6. [m3]")
    ] = None,
    waste: Annotated[
        float | None, typer.Option("--waste", help="Waste in place of the usual share. [%]")
    ] = None,
    draft: Annotated[bool, typer.Option("--draft", help="Write order.toml to fill in.")] = False,
    text: Annotated[bool, typer.Option("--text", help="Print the order as text to send.")] = False,
    pdf: Annotated[Path | None, typer.Option("--pdf", help="Write the order sheet as a PDF.")] = None,
    send: Annotated[bool, typer.Option("--send", help="Record that the order was sent.")] = False,
    confirmed_by: Annotated[
        str | None, typer.Option("--confirmed-by", help="Who at the plant confirmed; with --plant.")
    ] = None,
    plant: Annotated[str | None, typer.Option("--plant", help="Plant that confirmed.")] = None,
    in_maintenance: Annotated[
        bool, typer.Option("--in-maintenance", help="The plant stands in maintenance on that day.")
    ] = False,
    no_stock: Annotated[bool, typer.Option("--no-stock", help="Stock and trucks are not confirmed.")] = False,
    breakdown: Annotated[str, typer.Option("--breakdown", help="What the plant does if it stops.")] = "",
    person: Person = None,
    at: At = None,
    as_json: AsJson = False,
) -> None:
    """How much concrete, the order sheet, what stands against it; send and confirm it."""
    from verifier.cli.tables import quantities_table
    from verifier.pipeline.concreting import orders
    from verifier.pipeline.concreting.order_file import write_order_draft
    from verifier.pipeline.concreting.ordering import TRUCK_M3, quantities_of

    if draft:
        answer(
            f"Wrote {write_order_draft(folder, truck_m3=truck or TRUCK_M3)}. Fill it in, then: verifier order {folder}"
        )
        return
    if (confirmed_by is None) != (plant is None):
        raise BadInput(
            "Name and plant belong together.", where="order", todo="Give --confirmed-by and --plant."
        )
    if send:
        sheet = orders.send_order(folder, act_of(folder, person, at))
        answer(f"In the record: {sheet.volume_m3:g} m3 of {sheet.grade} ordered.")
    if confirmed_by is not None:
        said: dict[str, object] = {
            "plant": plant,
            "by": confirmed_by,
            "not_in_maintenance": not in_maintenance,
            "stock_and_trucks": not no_stock,
            "breakdown_plan": breakdown,
        }
        orders.confirm_order(folder, said, act_of(folder, person, at))
        answer(f"In the record: the word of {confirmed_by}, {plant}.")
    if send or confirmed_by is not None:
        return
    try:
        found = orders.order_of(folder, moment_of(at))
    except BadInput:
        if not as_json:
            taken = quantities_of(folder, truck_m3=truck or TRUCK_M3, waste_percent=waste)
            console().print(quantities_table(taken))
        raise
    if text or pdf is not None:
        _give(folder, found, text=text, pdf=pdf)
        return
    truck_m3 = truck or (found.sheet.truck_m3 if found is not None else TRUCK_M3)
    quantities = quantities_of(folder, truck_m3=truck_m3, waste_percent=waste)
    if as_json:
        answer(quantities.model_dump_json(indent=1))
        return
    console().print(quantities_table(quantities))
    _tell_order(folder, found)


@app.command()
def mix(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    batch_bags: Annotated[
        int, typer.Option("--batch-bags", min=1, max=20, help="Whole bags in one batch.")
    ] = 1,
    minutes: Annotated[float, typer.Option("--minutes", help="One batch: load, mix, discharge. [min]")] = 4.0,
    pour_hours: Annotated[float, typer.Option("--hours", help="How long the pour may last. [h]")] = 6.0,
    bulking: Annotated[float, typer.Option("--bulking", help="Bulking of the sand by the test. [%]")] = 0.0,
    sand_water: Annotated[float, typer.Option("--sand-water", help="Free water of the sand. [%]")] = 0.0,
    stone_water: Annotated[float, typer.Option("--stone-water", help="Free water of the stone. [%]")] = 0.0,
    parts: Annotated[
        str | None, typer.Option("--parts", help="By volume, as 1:1.5:3; the nominal mix if not given.")
    ] = None,
    water_cement: Annotated[
        float | None, typer.Option("--water-cement", help="Largest water : cement of the exposure.")
    ] = None,
    bags_on_site: Annotated[
        int | None, typer.Option("--bags-on-site", min=0, help="Bags in the store.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Cement bags, sand, stone and water where concrete is mixed on site, and whether mixers and stock are enough."""
    from verifier.concrete.site_mix import Aggregate
    from verifier.pipeline.concreting.mixing import mix_of

    for name, percent in (
        ("--bulking", bulking),
        ("--sand-water", sand_water),
        ("--stone-water", stone_water),
    ):
        if not 0 <= percent <= 50:
            raise BadInput(f"{percent:g} % can't be.", where=name, todo="Write 0 to 50.")
    if water_cement is not None and not LEAST_WATER_CEMENT < water_cement < 1:
        raise BadInput(
            f"Water : cement of {water_cement:g} can't be.",
            where="--water-cement",
            todo=f"Write more than {LEAST_WATER_CEMENT:g} and less than 1, as the exposure asks for.",
        )
    aggregate = Aggregate(
        sand_bulking=bulking / 100, sand_free_water=sand_water / 100, stone_free_water=stone_water / 100
    )
    found = mix_of(
        folder,
        aggregate=aggregate,
        parts=parts,
        water_cement=water_cement,
        batch_bags=batch_bags,
        minutes_per_batch=minutes,
        pour_minutes=pour_hours * 60,
    )
    short = bags_on_site is not None and bags_on_site < found.mix.bags
    if as_json:
        answer(found.model_dump_json(indent=1))
    else:
        answer("\n".join(found.lines))
        if bags_on_site is not None:
            answer(
                f"In the store: {counted(bags_on_site, 'bag')}{f'; missing: {found.mix.bags - bags_on_site}' if short else ', enough'}."
            )
    raise typer.Exit(NO_GO if short or found.fault else 0)


@app.command()
def weather(
    folder: Folder,
    csv: Annotated[Path | None, typer.Option("--csv", help="Forecast to keep.", metavar="FILE.csv")] = None,
    hour: Annotated[datetime | None, typer.Option("--hour", help="Hour of the values typed.")] = None,
    air: Annotated[float | None, typer.Option("--air", help="Air. [C]")] = None,
    humidity: Annotated[float | None, typer.Option("--humidity", help="Relative humidity. [%]")] = None,
    wind: Annotated[float | None, typer.Option("--wind", help="Wind. [km/h]")] = None,
    rain: Annotated[float, typer.Option("--rain", help="Rain. [mm]")] = 0.0,
    concrete: Annotated[float | None, typer.Option("--concrete", help="Concrete as placed. [C]")] = None,
) -> None:
    """Keep a forecast or one typed hour, and see the advice for pour and finish with its source."""
    from verifier.cli.site_commands import checked_fields
    from verifier.concrete.evaporation import Hour
    from verifier.pipeline.concreting.forecasting import keep_forecast, keep_hour, weather_of
    from verifier.store.table import table_text

    if csv is not None:
        try:
            data = csv.read_bytes()
        except OSError as error:
            raise BadInput(
                f"It can't be read: {error.strerror}.", where=str(csv), todo="Name a CSV file in UTF-8."
            ) from error
        keep_forecast(folder, table_text(data, where=str(csv)))
    if hour is not None:
        fields = {
            "air_c": air,
            "humidity_percent": humidity,
            "wind_km_h": wind,
            "rain_mm": rain,
            "concrete_c": concrete,
        }
        keep_hour(folder, checked_fields(Hour, at=hour.astimezone(), **fields))
    found = weather_of(folder)
    if found is None:
        raise BadInput(
            "There is no forecast.",
            where=str(folder),
            todo="Give --csv FILE.csv, or --hour with --air, --humidity and --wind.",
        )
    for h, rate in zip(found.hours, found.rates, strict=True):
        told = (
            f", evaporation {rate.rate:.2f} ({rate.low:.2f} to {rate.high:.2f}) kg/m2/h"
            if rate is not None
            else ""
        )
        answer(
            f"{h.at:%Y-%m-%d %H:%M}: air {h.air_c:g} C, {h.humidity_percent:g} %, wind {h.wind_km_h:g} km/h, rain {h.rain_mm:g} mm{told}"
        )
    for advice in found.advice:
        at = f"{advice.at:%H:%M} " if advice.at is not None else ""
        answer(f"advice {at}{advice.says} {advice.do} ({advice.source})")
    answer("Advice only: weather alone neither releases nor stops a pour.")


def _give(folder: Path, found: Order | None, *, text: bool, pdf: Path | None) -> None:
    from verifier.concrete.order import order_text
    from verifier.pipeline.papers.order_sheet import order_sheet_pdf

    if found is None:
        raise BadInput(
            "There is no order yet.",
            where=str(folder),
            todo=f"Write one with: verifier order {folder} --draft, and fill it in.",
        )
    if text:
        answer(order_text(found.sheet).rstrip())
    if pdf is not None:
        write_out(pdf, order_sheet_pdf(folder, found))
        answer(f"Wrote {pdf}.")


def _tell_order(folder: Path, found: Order | None) -> None:
    if found is None:
        answer(f"No order yet. Write one to fill in: verifier order {folder} --draft")
        return
    sheet = found.sheet
    sent = f"sent {sheet.ordered_at.astimezone():%Y-%m-%d %H:%M}" if sheet.ordered_at else "not sent"
    said = (
        f"confirmed by {sheet.confirmation.by}, {sheet.confirmation.plant}"
        if sheet.confirmation
        else "not confirmed"
    )
    loads = math.ceil(sheet.volume_m3 / sheet.truck_m3 - 1e-9)
    answer(f"Order: {sheet.volume_m3:g} m3 of {sheet.grade} in {counted(loads, 'load')}, {sent}, {said}.")
    if found.changed:
        answer("STOP order.toml has changed since it was sent: send it again.")
    words = {"hold": "STOP", "condition": "condition", "note": "note"}
    for point in found.points:
        answer(f"{words[point.weight]} {point.says} {point.clears} (for: {point.who}; {point.source})")
