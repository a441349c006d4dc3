"""The record as the third person finds it: originals in time, what happened, what is proven, what changed, what to take."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import plain, pour
from ui.parts.record import changed, originals, proven, record, take_away, timeline

folder, drawing = pour.drawn()
st.html(f"<h1>{plain.safe(words.NAV['timeline'])}</h1>")
found = record.opened(folder, drawing)
if found is not None:
    part = record.heading(found)
    if part == "originals":
        originals.show(found, record.choose(found, kinds=False))
    elif part == "story":
        timeline.show(found, record.choose(found, kinds=True))
    elif part == "proven":
        proven.show(found)
    elif part == "changed":
        changed.show(found)
    else:
        take_away.show(found)
