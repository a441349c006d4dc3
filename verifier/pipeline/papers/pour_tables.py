"""Rounds, hold points and order as tables of texts, for whatever prints them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from pydantic import BaseModel

from verifier.concrete.order import order_rows
from verifier.drawing.read import read_pour
from verifier.pipeline.concreting.orders import order_of
from verifier.pipeline.inspection.rounds import rounds_of
from verifier.rounds.answers import HoldReleased
from verifier.rounds.items import Point


class TextTable(BaseModel, frozen=True, extra="forbid"):
    """A table ready to be set: heading of each column, rows of texts, and a note beneath."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


def tables_of_pour(folder: Path, at: datetime) -> tuple[TextTable, ...]:
    """Give what stands of rounds, hold points and order at a time.

    Args:
        folder: The pour folder.
        at: Time of the question, with zone; times are told in its zone.

    Returns:
        Tables in the order of the work. Rounds that are set off are told with their reason; no order gives no table.

    Raises:
        BadInput: If drawing values, list or order can't be used.
    """
    rounds = rounds_of(folder)
    states = [s for s in rounds.states(at) if s.number in rounds.walked]
    because = rounds.pour.pour.rounds.because
    walked = TextTable(
        title="Inspection rounds",
        columns=("round", "items", "open", "signed by"),
        rows=tuple(
            (f"{s.number}, {s.title}", str(s.items), str(len(s.open)), s.signed_by or s.not_signed_because)
            for s in states
        ),
        note=f"Set in pour.toml: {because}"
        if because
        else f"List {rounds.checklist.version[:12]}, {rounds.checklist.title}.",
    )
    return (walked, *_holds(rounds.walked, folder, at), *_order(folder, at))


def _holds(walked: tuple[int, ...], folder: Path, at: datetime) -> tuple[TextTable, ...]:
    if not walked:
        return ()
    rounds = rounds_of(folder)
    still_open = {h.item: h for s in rounds.states(at) for h in s.holds_not_released}
    given = {e.item: e for e in rounds.events if isinstance(e, HoldReleased) and e.at <= at}
    rows = []
    for item in rounds.checklist.item:
        if item.point is not Point.HOLD or item.is_release:
            continue
        if item.id in still_open:
            said = still_open[item.id].why
        else:
            said = (
                f"released by {given[item.id].by}, {given[item.id].at.astimezone(at.tzinfo):%Y-%m-%d %H:%M}"
            )
        rows.append((item.id, item.item, str(item.closes), said))
    return (TextTable(title="Hold points", columns=("point", "what", "for", "state"), rows=tuple(rows)),)


def _order(folder: Path, at: datetime) -> tuple[TextTable, ...]:
    if read_pour(folder).pour.concrete.supply == "site":
        return ()
    order = order_of(folder, at)
    if order is None:
        return ()
    return (
        TextTable(
            title="Concrete order",
            columns=("field", "ordered"),
            rows=order_rows(order.sheet),
            note=" ".join(p.says for p in order.points),
        ),
    )
