"""The pour log: write a line of it, or see how far the pour is and what is wrong, worst first."""

from __future__ import annotations

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
    bar,
    moment_of,
    write_out,
)
from verifier.errors import BadInput

if TYPE_CHECKING:
    from verifier.pipeline.concreting.pouring import PourSoFar

FORMATS = ["%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S"]
KINDS = ("truck", "strip", "movement", "reading", "cube", "event")
Moment = Annotated[datetime | None, typer.Option(formats=FORMATS, help="Local time of this machine.")]


@app.command()
def log(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    kind: Annotated[
        str | None, typer.Argument(help=f"{', '.join(KINDS)}; nothing to see the pour.", metavar="[KIND]")
    ] = None,
    ticket: Annotated[str | None, typer.Option(help="Number of the delivery ticket.")] = None,
    plant: Annotated[str | None, typer.Option(help="Plant on the ticket.")] = None,
    mix: Annotated[str | None, typer.Option(help="Mix on the ticket; as ordered if not given.")] = None,
    volume: Annotated[float | None, typer.Option(help="Volume on the ticket. [m3]")] = None,
    batched: Moment = None,
    arrived: Moment = None,
    started: Moment = None,
    emptied: Moment = None,
    slump: Annotated[list[float] | None, typer.Option(help="Slump, second portion second. [mm]")] = None,
    temperature: Annotated[float | None, typer.Option(help="Concrete. [C]")] = None,
    returned: Annotated[float | None, typer.Option(help="What went back. [m3]")] = None,
    refused: Annotated[str | None, typer.Option(help="Why the load was refused.")] = None,
    place: Annotated[str | None, typer.Option(help="Where it went.")] = None,
    sample: Annotated[str | None, typer.Option(help="Sample taken from it.")] = None,
    water: Annotated[float | None, typer.Option(help="Water added on site. [L]")] = None,
    water_by: Annotated[str, typer.Option(help="Who ordered that water; empty if nobody did.")] = "",
    within_hold_back: Annotated[
        bool, typer.Option("--within-hold-back", help="It is within the hold-back of the ticket.")
    ] = False,
    further: Annotated[
        list[str] | None, typer.Option("--set", help="Any other field of the entry.", metavar="NAME=VALUE")
    ] = None,
    correct: Annotated[
        bool, typer.Option("--correct", help="Write a ticket anew that is in the log already.")
    ] = False,
    rate: Annotated[float | None, typer.Option(help="Rate, where no order says it. [m3/h]")] = None,
    interval: Annotated[float | None, typer.Option(help="Interval, where no order says it. [min]")] = None,
    ordered_slump: Annotated[float | None, typer.Option(help="Slump, where no order says it. [mm]")] = None,
    rule: Annotated[
        str, typer.Option(help="Standard of age and slump limits: IS 4926 or ASTM C94.")
    ] = "IS 4926",
    truck_m3: Annotated[float, typer.Option(help="What one truck brings. [m3]")] = 6.0,
    finished: Annotated[bool, typer.Option("--finished", help="Placing has ended.")] = False,
    person: Person = None,
    at: At = None,
    as_json: AsJson = False,
) -> None:
    """Write one line of the pour log, or see volume, last trucks and alarms; ends with 1 on an alarm that stops."""
    from verifier.pipeline.concreting import pouring

    moment = moment_of(at)
    if kind is None:
        supply = None
        figures = [figure for figure in (rate, interval, ordered_slump) if figure is not None]
        if len(figures) not in (0, 3) or any(figure <= 0 for figure in figures):
            raise BadInput(
                "Rate, interval and slump belong together, each above zero.",
                where="log",
                todo="Give --rate, --interval and --ordered-slump, or none of them where an order says it.",
            )
        if rate is not None and interval is not None and ordered_slump is not None:
            supply = pouring.Supply(
                rate_m3_per_h=rate,
                interval_min=interval,
                slump_mm=ordered_slump,
                truck_m3=truck_m3,
                age=rule,
                slump=rule,
            )
        seen = pouring.pour_so_far(folder, moment, supply=supply, finished=finished or None)
        if as_json:
            answer(seen.model_dump_json(indent=1))
        else:
            _tell(seen)
        raise typer.Exit(NO_GO if any(a.weight == "stop" for a in seen.alarms) else 0)
    _known(kind)
    act = act_of(folder, person, at)
    times = {
        "batch_at": batched,
        "arrived_at": arrived,
        "discharge_start_at": started,
        "discharge_end_at": emptied,
    }
    tests = [
        {"slump_mm": mm, "portion": n, "at": (arrived.astimezone() if arrived else moment).isoformat()}
        for n, mm in enumerate(slump or [], 1)
    ]
    fields: dict[str, object] = {
        name: t.astimezone().isoformat() for name, t in times.items() if t is not None
    }
    said = {
        "ticket": ticket,
        "plant": plant,
        "mix": mix,
        "volume_m3": volume,
        "slumps": tests or None,
        "concrete_c": temperature,
        "returned_m3": returned,
        "refused_because": refused,
        "place": place,
        "sample": sample,
    }
    if water is not None:
        added = {"litres": water, "at": moment.isoformat(), "ordered_by": water_by}
        said["water"] = [added | {"within_hold_back": within_hold_back}]
    fields |= {name: value for name, value in said.items() if value is not None}
    fields |= {"taken_by": act.person} if kind == "truck" else {"by": act.person} if kind != "strip" else {}
    for pair in further or []:
        name, equals, value = pair.partition("=")
        if not equals:
            raise BadInput(f"{pair} is no NAME=VALUE.", where="--set", todo="Write it so: --set mark=A1")
        fields[name] = value or None  # "batch_at=" says that it can't be read
    if kind in ("movement", "reading", "event"):
        fields.setdefault("at", moment.isoformat())
    entry = pouring.record_log(folder, {"kind": kind} | fields, act, corrects=correct)
    answer(f"In the record: {entry.kind} {getattr(entry, 'ticket', '')}".rstrip() + ".")


@app.command()
def card(
    folder: Folder,
    out: Annotated[Path, typer.Option("--out", help="PDF to write.")] = Path("card.pdf"),
    truck_m3: Annotated[float, typer.Option(help="What one truck brings. [m3]")] = 6.0,
    person: Person = None,
    at: At = None,
) -> None:
    """Write the pour card: one page with what, where, volume, rounds, hold points, answer, and the record's head."""
    from verifier.pipeline.decision.check import check as check_pour
    from verifier.pipeline.papers.pour_card import pour_card

    act = act_of(folder, person, at)
    with bar("Measuring") as progress:
        checked = check_pour(folder, at=act.at, progress=progress)
    write_out(out, pour_card(folder, checked, act, truck_m3=truck_m3))
    answer(f"Wrote {out}.")


def _known(kind: str) -> None:
    if kind not in KINDS:
        raise BadInput(
            f'"{kind}" is no entry of the pour log.', where="log", todo=f"Write one of: {', '.join(KINDS)}."
        )


def _tell(seen: PourSoFar) -> None:
    now = seen.running
    answer(f"Placed {now.placed_m3:.1f} m3 of {seen.computed_m3:.2f} computed, {now.ordered_m3:.1f} ordered.")
    if now.loads_left:
        ends = f", ends about {now.ends_about.astimezone():%H:%M}" if now.ends_about else ""
        answer(f"Loads still to come: {now.loads_left}, the last one {now.last_load_m3:.1f} m3{ends}.")
    if now.last_call_now:
        answer("Call the balance now: measure what is left on the deck first.")
    if now.longest_gap_min is not None:
        answer(f"Longest time without concrete: {now.longest_gap_min:.0f} min.")
    for alarm in seen.alarms:
        word = "STOP" if alarm.weight == "stop" else "note"
        answer(f"{word} {alarm.about}: {alarm.says} {alarm.do} (for: {alarm.who}; {alarm.source})")
    for witness in seen.witness:
        answer(f"Witness point {witness}.")
    for missing in seen.missing:
        answer(f"Missing: {missing}")
