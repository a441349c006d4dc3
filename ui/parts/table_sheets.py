"""What the tables of the page hold, view by view, ready for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, tzinfo

from pydantic import BaseModel

from ui import words
from ui.parts.tables import Cell, Sheet
from verifier.concrete.after import CuringLook
from verifier.concrete.order import OrderSheet
from verifier.concrete.pour_log import Cube, Entry, HourReading, Movement, PourEvent, Strip, Truck
from verifier.drawing.pour import Pour
from verifier.errors import Refusal
from verifier.metrology.measurement import Measurement
from verifier.pipeline.concreting.after_pour import decisions_of
from verifier.pipeline.concreting.closing_state import ClosingState
from verifier.pipeline.inspection.rounds import Rounds
from verifier.rounds.answers import Happened, HoldReleased, RoundSigned, WitnessTold

_UNITS = (
    ("_kg_m3", "kg/m³"),
    ("_m3_per_h", "m³/h"),
    ("_m3", "m³"),
    ("_mm", "mm"),
    ("_min", "min"),
    ("_hours", "h"),
    ("_h", "h"),
    ("_percent", "%"),
    ("_c", "°C"),
    ("_m", "m"),
)


def readings(measurements: Sequence[Measurement]) -> tuple[Sheet, ...]:
    """What was taped.

    Args:
        measurements: Those that stand.

    Returns:
        One sheet.
    """
    rows = tuple(
        (
            m.element, m.layer and words.said(m.layer), m.spot, words.MEASURAND.get(m.measurand.value, m.measurand.value), m.index, m.stretch_gaps,
            m.value if m.unit == "mm" else None, m.expanded_uncertainty if m.unit == "mm" else None,
            m.value if m.unit == "count" else None, m.person, m.taken_at, m.trace.original_name,
        )
        for m in measurements
        if m.by != "photo"
    )  # fmt: skip
    return (_of("readings", rows),)


def rounds(found: Rounds, at: datetime) -> tuple[Sheet, ...]:
    """Answers of the rounds, and hold points, witnesses, signatures and what happened.

    Args:
        found: The rounds of a pour.
        at: The moment asked about, with the zone in which times are told.

    Returns:
        Two sheets.
    """
    zone = at.tzinfo
    answers = tuple(
        (
            a.round, a.item, found.checklist.find(a.item).item, a.place, words.ROUND_WORD[a.word],
            *((v.value, v.unit, v.planned, v.low, v.high, v.limit_source) if (v := a.value) else (None,) * 6),
            len(a.photos), len(a.documents), a.remark, a.by, _in(a.at, zone),
        )
        for a in found.answers
    )  # fmt: skip
    events: list[Sequence[Cell]] = []
    for e in found.events:
        match e:
            case HoldReleased():
                events.append((words.TABLE_EVENT["hold"], e.item, None, "", e.remark, e.by, _in(e.at, zone)))
            case WitnessTold():
                came = {True: words.YES_NO["yes"], False: words.YES_NO["no"], None: ""}[e.attended]
                told = f"{e.told}, {e.for_time.astimezone(zone):%Y-%m-%d %H:%M}"
                events.append((words.TABLE_EVENT["witness"], e.item, None, told, came, e.by, _in(e.at, zone)))
            case RoundSigned():
                events.append(
                    (words.TABLE_EVENT["signed"], "", e.round, "", e.revision, e.by, _in(e.at, zone))
                )
            case Happened():
                what = words.HAPPENING[e.what.value]
                events.append((what, ", ".join(e.items), None, e.trade, e.remark, e.by, _in(e.at, zone)))
    return _of("rounds", answers), _of("round events", events)


def order(sheet: OrderSheet, zone: tzinfo | None) -> tuple[Sheet, ...]:
    """The order, a field a row, numbers with their unit beside them.

    Args:
        sheet: The order.
        zone: Zone in which times are told.

    Returns:
        One sheet.
    """
    return (_of("order", tuple(_fields(dict(sheet), zone))),)


def _fields(fields: Mapping[str, object], zone: tzinfo | None, within: str = "") -> Iterable[Sequence[Cell]]:
    for name, value in fields.items():
        if value in (None, "", ()):
            continue
        unit = next((sign for end, sign in _UNITS if name.endswith(end)), "")
        stem = next((name.removesuffix(end) for end, _ in _UNITS if name.endswith(end)), name)
        title = f"{within}{stem}".replace("_", " ")
        if isinstance(value, bool):
            yield title, words.YES_NO["yes" if value else "no"], ""
        elif isinstance(value, int | float):
            yield title, value, unit
        elif isinstance(value, datetime):
            yield title, _in(value, zone), ""
        elif isinstance(value, tuple):
            yield title, "; ".join(str(v) for v in value), ""
        elif isinstance(value, BaseModel):
            yield from _fields(dict(value), zone, f"{stem}: ")
        else:
            yield title, str(value), unit


def log(entries: Sequence[Entry], drawing: Pour) -> tuple[Sheet, ...]:
    """The pour log: deliveries, slumps and water, specimens, strips, hours, movements and events.

    Args:
        entries: Lines of the log.
        drawing: Drawing values, for the zone of the site.

    Returns:
        A sheet for each kind of line.
    """
    zone = drawing.pour.planned_start.tzinfo
    rows: dict[str, list[Sequence[Cell]]] = {name: [] for name in _LOG}
    for entry in entries:
        for name, row in _lines(entry, zone):
            rows[name].append(row)
    return tuple(_of(name, rows[name]) for name in _LOG)


_LOG = ("deliveries", "slumps", "water", "specimens", "strips", "hours", "movements", "events")


def _lines(entry: Entry, zone: tzinfo | None) -> Iterable[tuple[str, Sequence[Cell]]]:
    match entry:
        case Truck():
            times = (entry.batch_at, entry.arrived_at, entry.discharge_start_at, entry.discharge_end_at)
            yield "deliveries", (
                entry.ticket, entry.plant, entry.mix, entry.volume_m3, *(_in(t, zone) for t in times), entry.concrete_c,
                entry.place, entry.sample, entry.refused_because, entry.taken_by,
            )  # fmt: skip
            for s in entry.slumps:
                yield "slumps", (entry.ticket, s.portion, s.slump_mm, _in(s.at, zone))
            for w in entry.water:
                held = words.YES_NO["yes" if w.within_hold_back else "no"]
                yield "water", (entry.ticket, w.litres, w.ordered_by, held, _in(w.at, zone))
        case Cube():
            made = _in(entry.made_at, zone)
            yield "specimens", (
                entry.sample, entry.mark, entry.ticket, made, entry.age_to_test_days, entry.place, entry.by,
            )  # fmt: skip
        case Strip():
            spans = (entry.start_at, entry.end_at, entry.neighbour_covered_at)
            yield "strips", (
                entry.name, *(_in(t, zone) for t in spans), entry.neighbour, entry.layer_mm, entry.vibrators,
            )  # fmt: skip
        case HourReading():
            yield "hours", (
                _in(entry.at, zone), entry.air_c, entry.humidity_percent, entry.wind_km_h, entry.concrete_c,
                words.LOG_RAIN[entry.rain], entry.highest_heap_mm, entry.steel_out_of_place_m, entry.by,
            )  # fmt: skip
        case Movement():
            yield "movements", (
                _in(entry.at, zone), entry.place, entry.moved_mm, entry.expected_mm, entry.seen, entry.by,
            )  # fmt: skip
        case PourEvent():
            yield "events", (_in(entry.at, zone), words.LOG_EVENT[entry.what], entry.says, entry.by)


def closing(seen: ClosingState, drawing: Pour) -> tuple[Sheet, ...]:
    """After the pour: results, curing, striking, levels, defects.

    Args:
        seen: How far the closing is.
        drawing: Drawing values, for the zone of the site.

    Returns:
        A sheet for each.
    """
    zone = drawing.pour.planned_start.tzinfo
    results: list[Sequence[Cell]] = []
    for r in seen.results:
        results += [
            (r.sample, r.age_days, n, mpa, r.mpa, r.invalid_because)
            for n, mpa in enumerate(r.specimens, start=1)
        ]
    looks = [e for e in seen.after.entries if isinstance(e, CuringLook)]
    curing = [
        (
            _in(e.at, zone),
            words.LOOK[e.found],
            e.temperature_c,
            words.YES_NO["yes" if e.put_right else "no"],
            e.by,
        )
        for e in looks
    ]
    dates = () if isinstance(seen.dates, Refusal) else seen.dates
    striking = [
        (
            words.STRIKING_PART[d.date.part],
            _in(d.date.earliest, zone),
            _in(d.struck.at if d.struck else None, zone),
            d.date.source,
        )
        for d in dates
    ]
    levels = [
        (e.place, e.off_mm, e.uncertainty_mm, e.what, e.by, _in(e.at, zone))
        for e in (level.entry for level in seen.levels)
    ]
    decided = decisions_of(seen.after)
    defects = []
    for entry in seen.defects:
        d = entry.defect
        said = decided.get(f"defect {d.number}")
        size = d.hollow or d.crack
        defects.append(
            (
                d.number, words.DEFECT_KINDS[d.kind], d.place, d.describes, size.length_mm if size else None,
                d.hollow.width_mm if d.hollow else max(d.crack.widths_mm) if d.crack else None,
                d.hollow.depth_mm if d.hollow else None, d.by, _in(d.seen_at, zone), said.decision if said else "",
                said.by if said else "",
            )
        )  # fmt: skip
    return (
        _of("results", results),
        _of("curing", curing),
        _of("striking", striking),
        _of("levels", levels),
        _of("defects", defects),
    )


def _of(name: str, rows: Sequence[Sequence[Cell]]) -> Sheet:
    return Sheet(words.TABLE[name], words.TABLE_COLUMNS[name], rows)


def _in(at: datetime | None, zone: tzinfo | None) -> datetime | None:
    return None if at is None else at.astimezone(zone)
