"""The order in the record: sent by whom, confirmed by whom; what it brings to the decision, and what the log is held against."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from pydantic import BaseModel, ValidationError

from verifier.concrete.order import Confirmation, OrderSheet
from verifier.concrete.order_check import OrderPoint
from verifier.drawing.read import read_pour
from verifier.errors import BadInput, faults_of
from verifier.pipeline.concreting.order_file import sheet_in
from verifier.pipeline.concreting.ordering import points_of, quantities_of
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.folder.versions import ORDER_FILE
from verifier.pipeline.people.acting import Act, open_record, record_event
from verifier.pipeline.people.permissions import Action, demand
from verifier.record.ledger import Ledger
from verifier.release.reason import Reason, Weight

_WEIGHTS: dict[str, Weight] = {"hold": "stops", "condition": "condition", "note": "caution"}


class Order(BaseModel, frozen=True, extra="forbid"):
    """The order of a pour as it stands: ``sheet`` carries when it was sent and what the plant said; ``points`` stand against it.

    ``changed`` says that order.toml is no longer what was sent.
    """

    sheet: OrderSheet
    points: tuple[OrderPoint, ...]
    changed: bool = False

    @property
    def stands(self) -> bool:
        """Whether it is sent and nothing of it stops the pour."""
        return not self.changed and not any(p.weight == "hold" for p in self.points)


def order_of(folder: Path, at: datetime) -> Order | None:
    """Read the order of a pour.

    Args:
        folder: The pour folder.
        at: Time of the question, with zone.

    Returns:
        The order as sent, else as filled in, or None while there is neither.

    Raises:
        BadInput: If the order file or the drawing values can't be used.
    """
    sent = sent_order(folder)
    written = sheet_in(folder)
    sheet = sent or written
    if sheet is None:
        return None
    plain = sheet.model_copy(update={"ordered_at": None, "confirmation": None})
    changed = sent is not None and written is not None and written != plain
    return Order(sheet=sheet, points=points_of(folder, sheet, at), changed=changed)


def sent_order(folder: Path) -> OrderSheet | None:
    """Read the newest order that was sent, with the plant's word on it.

    Args:
        folder: The pour folder.

    Returns:
        The sheet, or None if none was sent.
    """
    if not has_record(folder):
        return None
    ledger = Ledger.open(folder)
    try:
        records = ledger.records("order")
    finally:
        ledger.close()
    sheet: OrderSheet | None = None
    for record in records:
        if isinstance(record.body.get("order"), dict):
            sheet = OrderSheet.model_validate(record.body["order"]).model_copy(
                update={"ordered_at": record.instant}
            )
        elif sheet is not None and isinstance(record.body.get("confirmation"), dict):
            said = Confirmation.model_validate(record.body["confirmation"])
            sheet = sheet.model_copy(update={"confirmation": said})
    return sheet


def send_order(folder: Path, act: Act) -> OrderSheet:
    """Record that the order as filled in was sent to the plant; an earlier one is replaced and must be confirmed anew.

    Args:
        folder: The pour folder.
        act: Who sends it, and when.

    Returns:
        The order.

    Raises:
        BadInput: If there is no order file, or it is not complete.
        NotAllowed: If the person may not order.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.ORDER)
    sheet = sheet_in(folder)
    if sheet is None:
        raise BadInput(
            "There is no order to send.",
            where=str(folder / ORDER_FILE),
            todo="Fill it in first.",
            command=f"verifier order {folder} --draft",
        )
    ledger = open_record(folder, pour, act)
    try:
        body = {
            "text": f"{sheet.volume_m3:g} m3 of {sheet.grade} ordered",
            "order": sheet.model_dump(mode="json", exclude={"ordered_at", "confirmation"}),
        }
        record_event(ledger, "order", body, act)
    finally:
        ledger.close()
    return sheet


def confirm_order(folder: Path, said: dict[str, object], act: Act) -> Confirmation:
    """Record the plant's word on the order that was sent.

    Args:
        folder: The pour folder.
        said: Fields of `Confirmation` but its time, which is that of the act.
        act: Who writes it down, and when.

    Returns:
        The confirmation.

    Raises:
        BadInput: If no order was sent, or a field is missing.
    """
    pour = read_pour(folder)
    demand(pour, act.person, Action.ORDER)
    if sent_order(folder) is None:
        raise BadInput(
            "No order was sent, so there is nothing to confirm.",
            where="order",
            todo="Send it first.",
            command=f"verifier order {folder} --send",
        )
    try:
        given = Confirmation.model_validate(said | {"at": act.at})
    except ValidationError as error:
        raise BadInput(
            f"{faults_of(error)}.", where="confirmation", todo="Correct it; nothing was recorded."
        ) from error
    ledger = open_record(folder, pour, act)
    try:
        body = {
            "text": f"confirmed by {given.by} of {given.plant}",
            "confirmation": given.model_dump(mode="json"),
        }
        record_event(ledger, "order", body, act)
    finally:
        ledger.close()
    return given


def reasons_of_order(folder: Path, at: datetime) -> tuple[Reason, ...]:
    """Say what the order brings to the decision.

    Args:
        folder: The pour folder.
        at: The moment of the decision.

    Returns:
        Reasons in any order. An order that is missing, not sent or not confirmed stops the pour; concrete mixed on site is a
        condition on its materials.

    Raises:
        BadInput: If the drawing values can't be used. An order file that can't be read is a reason, not an error.
    """
    pour = read_pour(folder)
    if pour.pour.concrete.supply == "site":
        return (_mixed_on_site(folder),)
    try:
        order = order_of(folder, at)
    except BadInput as error:
        return (_stop("unreadable", f"The order can't be read: {error.wrong}", error.todo),)
    if order is None:
        says = f"No concrete is ordered; {pour.pour.concrete.grade} is drawn."
        return (
            _stop(
                "none",
                says,
                "Fill in and send the order.",
                command="verifier order FOLDER --draft, then --send",
            ),
        )
    reasons = [
        Reason(
            key=f"order-{p.key}",
            room="order",
            weight=_WEIGHTS[p.weight],
            kind="non-conforming"
            if p.key in _OTHER_CONCRETE
            else "to-know"
            if p.weight == "note"
            else "not-done",
            says=f"Concrete order: {p.says}",
            clears=p.clears,
            owner=p.who,
        )
        for p in order.points
    ]
    if order.changed:
        reasons.append(
            _stop(
                "changed",
                "The order file has changed since it was sent.",
                "Send it again and have it confirmed.",
            )
        )
    return tuple(reasons)


_OTHER_CONCRETE = {"grade", "slump", "aggregate", "cement"}


def _stop(key: str, says: str, clears: str, command: str = "") -> Reason:
    return Reason(
        key=f"order-{key}",
        room="order",
        weight="stops",
        kind="not-done",
        says=says,
        clears=clears,
        command=command,
        owner="contractor's engineer",
    )


def _mixed_on_site(folder: Path) -> Reason:
    net = quantities_of(folder, truck_m3=1.0).take_off.net_m3
    return Reason(
        key="order-site-mix",
        room="order",
        weight="condition",
        kind="not-done",
        says=f"The concrete is mixed on site: {net:.2f} m3 net.",
        clears="See that cement, sand, stone and water for all of it are there.",
        command="verifier mix FOLDER",
        owner="contractor's engineer",
    )
