"""Concrete: the order, the plan of the pour, the weather, and the forms and props that carry it."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import plain, pour, table_sheets, tables
from ui.parts.concreting import (
    concrete_order,
    concrete_plan,
    concrete_weather,
    falsework,
    falsework_forms,
    order_fields,
)

folder, drawing = pour.drawn()
st.html(f"<h1>{plain.safe(words.NAV['concrete'])}</h1>")
left, right = st.columns([5, 4], gap="large")
with left:
    order = concrete_order.show(folder, drawing)
    order_fields.edit(folder, drawing)
    concrete_weather.show(folder)
    falsework.show(folder)
    falsework_forms.edit(folder, drawing)
with right:
    concrete_plan.show(folder, order)
    if order is not None:
        zone = drawing.pour.planned_start.tzinfo
        sheet = order.sheet
        tables.offer(lambda: table_sheets.order(sheet, zone), f"{drawing.pour.id}-order", key="order")
