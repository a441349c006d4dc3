"""To do: where the site engineer lands. What is next, the plan, photos and readings."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import answer, place, plan, pour, table_sheets, tables
from ui.parts.review import handing
from ui.parts.site import asked_back, board_check, readings, sending, todo
from verifier.pipeline.decision.next_steps import next_steps

at = pour.opened()
steps = next_steps(at.check)
with st.container():  # what may grow keeps one place, so that nobody's words move while they are typed
    answer.heading(at.check)
left, right = st.columns([5, 4], gap="large")
with left:
    todo.jump()
    with st.container():
        asked_back.show(at)
    with st.container():
        todo.next_up(at.check, steps)
    st.subheader(words.PLAN_TITLE)
    plan.show(at.check, frozenset((s.element, s.spot) for s in at.check.review.asked_spots))
    with st.container():
        place.show(at.check, steps)
        todo.by_layer(at.check)
        todo.photos_again(at.check)
        todo.questions(at.check)
    with st.container():
        board_check.show(at)
with right:
    with st.container():
        sending.show(at)
    with st.container():
        todo.unplaced(at)
    readings.show(at)
    taken = at.check.measurements
    tables.offer(lambda: table_sheets.readings(taken), f"{at.check.pour.pour.id}-readings", key="readings")
    handing.show(at)
