"""How far the pour is: volume against order, the last trucks, alarms, and the lines of the log."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Literal

import streamlit as st

from ui import words
from ui.parts import forms, plain
from ui.parts.pour import moment
from verifier.concrete.pour_log import Cube, Entry, HourReading, Movement, PourEvent, Strip, Truck
from verifier.drawing.pour import Pour
from verifier.errors import BadInput, VerifierError
from verifier.pipeline.concreting.orders import sent_order
from verifier.pipeline.concreting.pouring import PourSoFar, log_of, pour_so_far, record_log
from verifier.pipeline.people.acting import Act
from verifier.store import sha256_of


def seen_now(folder: Path) -> PourSoFar | None:
    """Hold the log against the order, or say why that can't be done.

    Args:
        folder: The pour folder.

    Returns:
        The pour at this moment, None without an order.
    """
    try:
        return pour_so_far(folder, datetime.now().astimezone())
    except BadInput as error:
        plain.fault(words.LOG_NO_ORDER, error, where=False)
        return None


def trucks_of(folder: Path) -> tuple[Truck, ...]:
    """List the trucks of the log.

    Args:
        folder: The pour folder.

    Returns:
        Deliveries in the order of the record.
    """
    return tuple(e for e in log_of(folder) if isinstance(e, Truck))


def plant_of(folder: Path) -> str:
    """Say from which plant a ticket most likely comes.

    Args:
        folder: The pour folder.

    Returns:
        The plant that confirmed the order; empty if none did.
    """
    sent = sent_order(folder)
    return "" if sent is None or sent.confirmation is None else sent.confirmation.plant


def volume(seen: PourSoFar | None) -> None:
    """Show the running volume, what is left, and the longest gap.

    Args:
        seen: The pour at this moment.
    """
    if seen is None:
        return
    now = seen.running
    rows = [
        (
            words.LOG_PLACED,
            words.LOG_PLACED_OF.format(placed=f"{now.placed_m3:.1f}", ordered=f"{now.ordered_m3:.1f}"),
        ),
        (words.LOG_LEFT, words.LOG_DONE if seen.ended else f"{now.left_of_computed_m3:.1f} m³"),
    ]
    if now.loads_left and not seen.ended:
        rows.append(
            (
                words.LOG_LOADS,
                words.LOG_LOADS_SAYS.format(count=now.loads_left, last=f"{now.last_load_m3:.1f}"),
            )
        )
    if now.longest_gap_min is not None:
        rows.append((words.LOG_GAP, f"{now.longest_gap_min:.0f} min"))
    plain.tiles(rows)
    if now.ends_about is not None and not seen.ended:
        plain.paragraph(words.LOG_ENDS.format(when=f"{now.ends_about.astimezone():%H:%M}"), quiet=True)
    if now.last_call_now and now.placed_m3 > 0 and not seen.ended:
        plain.notice("inconclusive", words.LOG_CALL, words.LOG_CALL_SAYS)


def alarms(seen: PourSoFar | None, weight: Literal["stop", "note"]) -> None:
    """Show alarms of one weight: stops stand above the buttons, notes beside them.

    Args:
        seen: The pour at this moment.
        weight: Which ones.
    """
    if seen is None:
        return
    here = [a for a in seen.alarms if a.weight == weight]
    if weight == "note" and (here or not seen.alarms):  # stops stand further up
        st.subheader(words.LOG_ALARMS)
        if not seen.alarms:
            plain.verdict_line("conforming", "", words.LOG_NO_ALARM)
    for alarm in here:
        shape = words.LOG_STOP if alarm.weight == "stop" else words.LOG_NOTE
        plain.notice(
            "non_conforming" if alarm.weight == "stop" else "inconclusive",
            shape,
            f"{words.said(alarm.about)}: {words.said(alarm.says)} {words.said(alarm.do)}",
            f"{words.said(alarm.who)} · {words.said(alarm.source)}",
        )


def photo(folder: Path, who: str) -> None:
    """Show where a photo of something that happened goes into the log.

    Args:
        folder: The pour folder.
        who: Who writes.
    """
    with st.expander(words.LOG_PHOTO, key="log-photo", on_change="rerun"):
        says = forms.text(folder, "log-photo", "says", words.LOG_FIELD["says"])
        given = forms.file(folder, "log-photo", "photo", words.LOG_PHOTO_FILE, (".jpg", ".jpeg", ".png"))
        whole = bool(says) and given is not None
        if not forms.button(words.CLOSE_KEEP, whole=whole, key="log-photo-keep") or given is None:
            return
        now = datetime.now().astimezone()
        photos = [sha256_of(given)]
        event = {"kind": "event", "what": "other", "says": says, "at": now, "by": who, "photos": photos}
        try:
            record_log(folder, event, Act(who, now), [given])
        except VerifierError as error:
            plain.fault(words.CLOSE_NOT_KEPT, error, where=False)
            return
        forms.forget(folder, "log-photo")
        st.rerun()


def witness(seen: PourSoFar | None) -> None:
    """Show witness points that somebody was told of.

    Args:
        seen: The pour at this moment.
    """
    if seen is not None and seen.witness:
        st.subheader(words.LOG_WITNESS)
        plain.points(map(words.said, seen.witness))


def entries(folder: Path, drawing: Pour) -> tuple[Entry, ...]:
    """Show the lines of the log, newest first.

    Args:
        folder: The pour folder.
        drawing: Drawing values, for the zone of the site.

    Returns:
        The lines, in the order of the record.
    """
    log = log_of(folder)
    if not log:
        return ()
    st.subheader(words.LOG_ENTRIES)
    for entry in reversed(log):
        at, title, said = _line(entry)
        plain.verdict_line(
            "non_conforming" if isinstance(entry, Truck) and entry.refused_because else "missing",
            said,
            f"{moment(at, drawing)[11:16]} {title}",
        )
    return log


def _line(entry: Entry) -> tuple[datetime, str, str]:
    match entry:
        case Truck():
            parts = [f"{entry.volume_m3:g} m³"]
            parts += [f"{words.LOG_FIELD['slump_mm']} {s.slump_mm:g}" for s in entry.slumps]
            parts += [f"{entry.concrete_c:g} °C"] if entry.concrete_c is not None else []
            parts += [f"{words.LOG_KIND['water']} {w.litres:g} L" for w in entry.water]
            parts += (
                [f"{words.LOG_KIND['emptied']} {entry.discharge_end_at.astimezone():%H:%M}"]
                if entry.discharge_end_at
                else []
            )
            parts += [entry.place] if entry.place else []
            parts += (
                [f"{words.LOG_KIND['refused']}: {entry.refused_because}"] if entry.refused_because else []
            )
            return entry.arrived_at, f"{words.LOG_FIELD['ticket']} {entry.ticket}", ", ".join(parts)
        case Strip():
            return entry.start_at, entry.name, entry.neighbour
        case Movement():
            moved = "" if entry.moved_mm is None else f"{entry.moved_mm:g} mm"
            return (
                entry.at,
                words.LOG_KIND["movement"],
                ", ".join(p for p in (entry.place, moved, entry.seen) if p),
            )
        case HourReading():
            said = f"{entry.air_c:g} °C, {entry.humidity_percent:g} %, {entry.wind_km_h:g} km/h, {words.LOG_RAIN[entry.rain]}"
            return entry.at, words.LOG_KIND["reading"], said
        case Cube():
            return entry.made_at, f"{words.LOG_KIND['cube']} {entry.mark}", f"{entry.sample}, {entry.ticket}"
        case PourEvent():
            return entry.at, words.LOG_EVENT[entry.what], entry.says
