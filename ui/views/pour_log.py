"""The pour as it happens: big buttons for one hand, what is queued, volume against order, alarms worst first."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import plain, pour, table_sheets, tables
from ui.parts.concreting import log_entry, log_now
from ui.parts.people import acting
from verifier.pipeline.people.permissions import Action

folder, drawing = pour.drawn()
st.html(f"<h1>{plain.safe(words.NAV['pour_log'])}</h1>")
left, right = st.columns([5, 4], gap="large")
seen = log_now.seen_now(folder)
trucks = log_now.trucks_of(folder)
with left:
    log_now.volume(seen)
    log_now.alarms(seen, "stop")
    who = acting(drawing, "log", Action.LOG_POUR)
    log_entry.show(folder, drawing.pour.id, who, trucks, log_now.plant_of(folder))
    log_now.photo(folder, who)
with right:
    log_now.alarms(seen, "note")
    log_now.witness(seen)
    log = log_now.entries(folder, drawing)
    if log:
        tables.offer(lambda: table_sheets.log(log, drawing), f"{drawing.pour.id}-log", key="log")
