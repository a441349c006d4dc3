"""The pour card: one page that travels with the pour, filled in from drawing, rounds, decision and record."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Any

from verifier.drawing.pour import Pour
from verifier.errors import BadInput
from verifier.pipeline.concreting.after_pour import after_of, signatures_of
from verifier.pipeline.concreting.ordering import quantities_of
from verifier.pipeline.concreting.orders import order_of
from verifier.pipeline.decision.check import Check
from verifier.pipeline.inspection.rounds import rounds_of
from verifier.pipeline.papers.inches import beside
from verifier.pipeline.people.acting import Act, open_record
from verifier.pipeline.release.released import ReleaseState
from verifier.record import sign_head
from verifier.record.keys import device_signer
from verifier.release.decision import STATEMENT
from verifier.report.typeset import card_pdf
from verifier.wording import counted

STOPS_AT_MOST = 7
CONDITIONS_AT_MOST = 4
LONGEST_LINE = 220
"""With these the card stays one page; what is left out is counted on it."""


def pour_card(folder: Path, checked: Check, act: Act, *, truck_m3: float = 6.0) -> bytes:
    """Set the pour card.

    Args:
        folder: The pour folder.
        checked: A check of it; its answer is what the card tells.
        act: Who prints it, and when.
        truck_m3: What one truck brings, for the volume to order. [m3]

    Returns:
        PDF bytes; one page.

    Raises:
        BadInput: If drawing values or record can't be used.
    """
    pour, decision, at = checked.pour, checked.decision, checked.at
    rounds = rounds_of(folder)
    states = [s for s in rounds.states(at) if s.number in rounds.walked]
    because = pour.pour.rounds.because or ""
    volume = quantities_of(folder, truck_m3=truck_m3)
    signer = act.signer or device_signer()
    ledger = open_record(folder, pour, act)
    try:
        head = ledger.head()
        note = sign_head(head, signer)
    finally:
        ledger.close()
    holds = {h.item: h for s in rounds.states(at) for h in s.holds_not_released} if rounds.walked else {}
    start = pour.pour.planned_start
    zone = (start or at).tzinfo
    missing = f" ({'; '.join(volume.missing)})" if volume.missing else ""
    data: dict[str, Any] = {
        "pour": pour.pour.id,
        "title": pour.pour.title,
        "answer": decision.answer,
        "state": decision.words.upper(),
        "state_says": f"Checked {_moment(at, zone)}; stands until {_moment(decision.valid_until, zone)} at the latest, "
        f"{counted(len(decision.reasons), 'reason')} against, {counted(len(decision.conditions), 'condition')}. "
        "This is not a release: the engineer of record signs that.",
        "facts": [
            ["Where", ", ".join(pour.marks)],
            ["Drawing", pour.pour.drawing or "not given"],
            ["Grade", pour.pour.concrete.grade],
            [
                "Volume",
                f"{volume.take_off.net_m3:.2f} m³ net, {volume.order.order_m3:.1f} m³ to order{missing}",
            ],
            ["Order", _order(folder, pour, at)],
            ["Planned start", _moment(start, zone) if start else "not given"],
            ["Release", _release(checked.release, zone)],
            ["Engineer of record", ", ".join(decision.engineer_of_record) or "nobody named"],
            *_closing(folder),
        ],
        "rounds": [
            [
                f"{s.number}, {s.title}",
                f"{len(s.open)} of {s.items}" if rounds.begun else "not in this record",
                s.signed_by or s.not_signed_because,
            ]
            for s in states
        ],
        "holds": [
            [h.item, f"{rounds.checklist.find(h.item).item}: {h.why}", str(h.who)] for h in holds.values()
        ],
        "holds_say": "All hold points of the list are released in this record."
        if rounds.walked
        else f"No round is walked, so no hold point is asked for: {because}",
        "stops": _lines([r.says for r in decision.reasons], STOPS_AT_MOST),
        "conditions": _lines([r.says for r in decision.conditions], CONDITIONS_AT_MOST),
        "size": head.size,
        "head": head.short,
        "statement": STATEMENT,
    }
    if pour.pour.units == "inch":
        data["facts"] = [[name, beside(text)] for name, text in data["facts"]]
        data["stops"], data["conditions"] = (
            list(map(beside, data[name])) for name in ("stops", "conditions")
        )
    return card_pdf(data, note, at)


def _order(folder: Path, pour: Pour, at: datetime) -> str:
    """The order in one line; a card is printed also where the order can't be read."""
    if pour.pour.concrete.supply == "site":
        return "none: mixed on site"
    try:
        order = order_of(folder, at)
    except BadInput as error:
        return f"can't be read: {error.wrong}"
    if order is None:
        return "none in this record"
    sheet, said = order.sheet, order.sheet.confirmation
    state = f"confirmed by {said.by}, {said.plant}" if said else "not confirmed"
    return f"{sheet.volume_m3:g} m³ of {sheet.grade}, {state}" + (
        "" if order.stands else "; it does not stand, see below"
    )


def _closing(folder: Path) -> list[list[str]]:
    """Who signed the closing, and who signs again; nothing before anybody did."""
    told = [
        f"{post}: {given.by}"
        + (" signed before later entries: sign again" if given.overtaken_by is not None else "")
        for post, given in signatures_of(after_of(folder)).items()
    ]
    return [["Closing", "; ".join(told)]] if told else []


def _lines(says: Sequence[str], at_most: int) -> list[str]:
    short = [s if len(s) <= LONGEST_LINE else f"{s[:LONGEST_LINE].rstrip()} …" for s in says]
    more = len(short) - at_most
    return short[:at_most] + ([f"and {more} more, in full in the check of the pour"] if more > 0 else [])


def _release(state: ReleaseState, zone: tzinfo | None) -> str:
    """The release in the zone of the pour; what was refused or has lapsed stays in the words of the record."""
    if state.state not in {"stands", "poured"} or state.given_at is None:
        return state.words
    until = f" until {_moment(state.valid_until, zone)}" if state.valid_until else ""
    stands = "the pour has begun" if state.state == "poured" else f"it stands{until} unless something changes"
    return f"Released by {state.person}, {_moment(state.given_at, zone)}, record {state.record}; {stands}."


def _moment(at: datetime, zone: tzinfo | None) -> str:
    return at.astimezone(zone).strftime("%Y-%m-%d %H:%M %z")
