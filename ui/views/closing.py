"""After the pour: curing day by day, results, striking dates, levels, defects, and what lacks before the record closes."""

from __future__ import annotations

from datetime import datetime

import streamlit as st

from ui import words
from ui.parts import plain, pour, table_sheets, tables
from ui.parts.concreting import closing_entry, closing_now
from verifier.pipeline.concreting.closing_state import closing_of

folder, drawing = pour.drawn()
st.html(f"<h1>{plain.safe(words.NAV['closing'])}</h1>")
state = closing_of(folder, datetime.now().astimezone())
left, right = st.columns([5, 4], gap="large")
with left:
    closing_now.state(state)
    if not state.after.closed_by:
        closing_entry.curing(folder, drawing)
    closing_now.curing(state, drawing)
    closing_now.results(state)
    closing_now.striking(state, drawing)
    closing_now.defects(state)
    tables.offer(lambda: table_sheets.closing(state, drawing), f"{drawing.pour.id}-closing", key="closing")
with right:
    if not state.after.closed_by:
        closing_entry.further(folder, drawing, state)
        closing_entry.signatures(folder, drawing, state)
