"""What is missing: where the site engineer lands."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import answer, plain, pour, readings, sending, todo
from ui.parts.figures import pour_plan

at = pour.opened()
answer.heading(at.check)
left, right = st.columns([5, 4], gap="large")
with left:
    todo.jump()
    todo.put_right(at.check)
    todo.spots(at.check)
    pour_plan(at.check)
    plain.paragraph(words.MISSING_PLAN, quiet=True)
    todo.photos_again(at.check)
    todo.readings(at.check)
with right:
    sending.show(at)
    todo.unplaced(at)
    readings.show(at)
