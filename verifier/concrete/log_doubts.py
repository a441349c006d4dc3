"""What can't be right in a line of the pour log, asked before it is written; and what the log says twice or out of order."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from verifier.concrete.pour_log import Cube, Entry, PourEvent, Strip, Truck
from verifier.concrete.supply import supply_figures
from verifier.concrete.truck_alarms import Alarm

CLOCKS_APART = timedelta(minutes=10)
LONG_BEFORE = timedelta(hours=24)


def doubts_of(entry: Entry, at: datetime, log: Sequence[Entry]) -> tuple[str, ...]:
    """Say what can't be right in one line.

    Args:
        entry: The line, as it would stand.
        at: When it is written.
        log: The log so far.

    Returns:
        Sentences; empty if nothing speaks against it.

    Source:
        Largest load and ten minutes between clocks: common practice.
    """
    doubts = [
        f"{name} {when:%Y-%m-%d %H:%M %z} lies after the time of writing, {at.astimezone(when.tzinfo):%Y-%m-%d %H:%M %z}"
        for name, when in times_of(entry)
        if when > at + CLOCKS_APART
    ]
    largest = supply_figures().largest_load
    match entry:
        case Truck() if entry.volume_m3 > largest.value:
            doubts.append(
                f"no truck brings {entry.volume_m3:g} m3: at most {largest.value:g}, in m3 and not in litres"
            )
        case Strip() if entry.end_at is not None and entry.end_at < entry.start_at:
            doubts.append(f"strip {entry.name} ends before it begins")
        case Cube():
            doubts += _of_cube(entry, log)
        case _:
            pass
    return tuple(doubts)


def changed_of(before: Truck, after: Truck) -> tuple[str, ...]:
    """Say what would be other than before on a ticket that is in the log already.

    Args:
        before: As it stands.
        after: As it would stand.

    Returns:
        One sentence for each of plant, volume, batch time and arrival; a value that was not known before is no change.
    """
    pairs = (
        ("plant", before.plant, after.plant),
        ("volume", f"{before.volume_m3:g} m3", f"{after.volume_m3:g} m3"),
        ("batch time", _hour(before.batch_at), _hour(after.batch_at)),
        ("arrival", _hour(before.arrived_at), _hour(after.arrived_at)),
    )
    return tuple(f"{name} {old}, now {new}" for name, old, new in pairs if old and old != new)


def notes_of(log: Sequence[Entry], planned_start: datetime) -> tuple[Alarm, ...]:
    """Tell what the log says twice or out of order; nothing is left out because of it.

    Args:
        log: All lines.
        planned_start: Start as planned.

    Returns:
        Notes, never a stop.
    """
    ends = sorted(e.at for e in log if isinstance(e, PourEvent) and e.what == "end")
    notes: list[tuple[str, datetime, str]] = []
    if len(ends) > 1:
        said = " and ".join(f"{e:%H:%M}" for e in ends)
        notes.append(
            ("pour", ends[-1], f"The end is written {len(ends)} times, {said}; the last one counts.")
        )
    for entry in log:
        if isinstance(entry, Truck) and ends and (start := entry.discharge_start_at) and start > ends[-1]:
            notes.append(
                (f"ticket {entry.ticket}", start, "It was discharged after the end of the pour in the log.")
            )
        when = min((t for _, t in times_of(entry)), default=None)
        if when is not None and when < planned_start - LONG_BEFORE:
            about = f"ticket {entry.ticket}" if isinstance(entry, Truck) else entry.kind
            notes.append(
                (
                    about,
                    when,
                    f"{when:%Y-%m-%d %H:%M} is more than a day before the planned start. Is the day right?",
                )
            )
    notes += [("pour", at, "It goes on without a stop before.") for at in _on_without_stop(log)]
    return tuple(
        Alarm(
            weight="note",
            kind="log",
            about=about,
            at=at,
            says=says,
            do="Look at the tickets and write the line again, as it was.",
            who="pour leader",
            source="common practice, no source",
        )
        for about, at, says in notes
    )


def times_of(entry: Entry) -> tuple[tuple[str, datetime], ...]:
    """All times of a line with their names.

    Args:
        entry: A line of the log.

    Returns:
        Name and time of each that is given.
    """
    names = (
        "at", "batch_at", "arrived_at", "discharge_start_at", "discharge_end_at", "start_at", "end_at", "neighbour_covered_at",
        "made_at",
    )  # fmt: skip
    given = ((name, getattr(entry, name, None)) for name in names)
    return tuple((name, when) for name, when in given if when is not None)


def _of_cube(cube: Cube, log: Sequence[Entry]) -> list[str]:
    doubts = []
    if not any(isinstance(e, Truck) and e.ticket == cube.ticket for e in log):
        doubts.append(f"there is no ticket {cube.ticket} in the log: write the arrival of its truck first")
    if any(isinstance(e, Cube) and (e.sample, e.mark) == (cube.sample, cube.mark) for e in log):
        doubts.append(f"a specimen {cube.mark} of sample {cube.sample} is in the log already")
    return doubts


def _on_without_stop(log: Sequence[Entry]) -> list[datetime]:
    events = sorted((e for e in log if isinstance(e, PourEvent)), key=lambda e: e.at)
    stands, found = False, []
    for event in events:
        if event.what == "go on" and not stands:
            found.append(event.at)
        stands = event.what == "stop" or (stands and event.what != "go on")
    return found


def _hour(at: datetime | None) -> str:
    return "" if at is None else f"{at:%Y-%m-%d %H:%M %z}"
