"""Concrete: the order, the plan of the pour, the weather, and the forms and props that carry it."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import concrete_order, concrete_plan, concrete_weather, falsework, order_fields, plain, pour

folder, drawing = pour.drawn()
st.html(f"<h1>{plain.safe(words.NAV['concrete'])}</h1>")
left, right = st.columns([5, 4], gap="large")
with left:
    order = concrete_order.show(folder, drawing)
    order_fields.edit(folder, drawing)
    concrete_weather.show(folder)
    falsework.show(folder)
with right:
    concrete_plan.show(folder, order)
