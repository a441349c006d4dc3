"""The order of concrete: as it stands, what speaks against it, sending, and the plant's word."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import Final

import streamlit as st

from ui import words
from ui.parts import forms, plain
from ui.parts.people import acting
from verifier.concrete.order import order_text
from verifier.concrete.site_mix import Aggregate
from verifier.drawing.pour import Pour
from verifier.errors import BadInput
from verifier.pipeline.concreting.mixing import mix_of
from verifier.pipeline.concreting.order_file import write_order_draft
from verifier.pipeline.concreting.ordering import quantities_of
from verifier.pipeline.concreting.orders import Order, confirm_order, order_of, send_order
from verifier.pipeline.papers.order_sheet import order_sheet_pdf
from verifier.pipeline.people.acting import Act
from verifier.pipeline.people.permissions import Action
from verifier.report.figures import Verdict

_WEIGHT: Final[dict[str, Verdict]] = {
    "hold": "non_conforming",
    "condition": "inconclusive",
    "note": "missing",
}


def show(folder: Path, drawing: Pour) -> Order | None:
    """Show the order as it stands, with the buttons that bring it on.

    Args:
        folder: The pour folder.
        drawing: Drawing values.

    Returns:
        The order, None while there is none or it can't be read.
    """
    if drawing.pour.concrete.supply == "site":
        _mixed_on_site(folder)
        return None
    try:
        order = order_of(folder, datetime.now().astimezone())
    except BadInput as error:
        plain.notice("inconclusive", words.ORDER_INCOMPLETE, _by_label(words.said(error.wrong)))
        return None
    if order is None:
        net = quantities_of(folder, truck_m3=6.0).take_off.net_m3
        plain.notice("missing", words.ORDER_NONE, words.ORDER_NONE_SAYS.format(net=f"{net:.2f}"))
        if st.button(words.ORDER_DRAFT, width="stretch", type="primary"):
            write_order_draft(folder)
            st.rerun()
        return None
    _state(order)
    _facts(order)
    for point in order.points:
        plain.verdict_line(
            _WEIGHT[point.weight],
            f"{words.said(point.clears)} ({words.said(point.who)})",
            words.said(point.says),
        )
    _acts(folder, drawing, order)
    _sheet(folder, order)
    return order


def _state(order: Order) -> None:
    sheet = order.sheet
    if order.changed:
        plain.notice("non_conforming", words.ORDER_CHANGED, words.ORDER_CHANGED_SAYS)
    elif sheet.ordered_at is None:
        plain.notice("missing", words.ORDER_NOT_SENT, words.ORDER_NOT_SENT_SAYS)
    elif sheet.confirmation is None:
        plain.notice("inconclusive", words.ORDER_SENT, f"{sheet.ordered_at:%Y-%m-%d %H:%M %z}")
    else:
        said = sheet.confirmation
        shape: Verdict = "conforming" if order.stands else "non_conforming"
        plain.notice(shape, words.ORDER_CONFIRMED, f"{said.plant}, {said.by}, {said.at:%Y-%m-%d %H:%M %z}")


def _facts(order: Order) -> None:
    sheet = order.sheet
    big = (
        (words.ORDER_FIELD["grade"], sheet.grade),
        (_unitless(words.ORDER_FIELD["volume_m3"]), f"{sheet.volume_m3:g} m³"),
        (_unitless(words.ORDER_FIELD["rate_m3_per_h"]), f"{sheet.rate_m3_per_h:g} m³/h"),
        (words.ORDER_FIRST, f"{sheet.first_truck_at:%Y-%m-%d %H:%M}"),
    )
    plain.tiles(big)


def _unitless(label: str) -> str:
    """A field's label without its unit, which stands behind the value here."""
    return label.partition(",")[0]


def _mixed_on_site(folder: Path) -> None:
    """What is to be there where no plant brings it: of sand as it lies dry, by the nominal mix of the grade."""
    plain.notice("missing", words.ORDER_SITE, words.ORDER_SITE_SAYS)
    try:
        plan = mix_of(folder, aggregate=Aggregate())
    except BadInput as error:
        plain.fault(words.ORDER_INCOMPLETE, error, where=False)
        return
    plain.points(map(words.said, plan.lines))


def _acts(folder: Path, drawing: Pour, order: Order) -> None:
    who = acting(drawing, "order", Action.ORDER)
    if order.sheet.ordered_at is None or order.changed:
        if st.button(words.ORDER_SEND, width="stretch", type="primary"):
            send_order(folder, Act(who, datetime.now().astimezone()))
            st.rerun()
        return
    if order.sheet.confirmation is not None:
        return
    st.subheader(words.ORDER_WORD)
    plant = forms.text(folder, "confirmed", "plant", words.ORDER_PLANT)
    by = forms.text(folder, "confirmed", "by", words.ORDER_BY)
    ready = st.checkbox(words.ORDER_READY, key="order-ready")
    stock = st.checkbox(words.ORDER_STOCK, key="order-stock")
    if forms.button(words.ORDER_CONFIRM, whole=bool(plant and by), key="order-confirm", primary=True):
        said: dict[str, object] = {
            "plant": plant,
            "by": by,
            "not_in_maintenance": ready,
            "stock_and_trucks": stock,
        }
        confirm_order(folder, said, Act(who, datetime.now().astimezone()))
        forms.forget(folder, "confirmed")
        st.rerun()


def _sheet(folder: Path, order: Order) -> None:
    left, right = st.columns(2, gap="small")
    name = order.sheet.pour
    left.download_button(
        words.ORDER_PDF,
        data=lambda: order_sheet_pdf(folder, order),
        file_name=f"order-{name}.pdf",
        mime="application/pdf",
        width="stretch",
        on_click="ignore",
    )
    right.download_button(
        words.ORDER_TEXT,
        data=order_text(order.sheet),
        file_name=f"order-{name}.txt",
        mime="text/plain",
        width="stretch",
        on_click="ignore",
    )


def _by_label(text: str) -> str:
    """Name each field as the form below names it, and not by its key in the file."""
    labels = words.ORDER_FIELD
    keys = "|".join(map(re.escape, sorted(labels, key=len, reverse=True)))
    return re.sub(rf"(?<![\w.])({keys})(?!\w|\.\w)", lambda found: f"[{labels[found[1]]}]", text)
