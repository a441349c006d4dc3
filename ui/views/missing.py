"""To do: where the site engineer lands. What is next, the plan, photos and readings."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import answer, asked_back, handing, place, plan, pour, readings, sending, todo
from verifier.pipeline.next_steps import next_steps

at = pour.opened()
steps = next_steps(at.check)
answer.heading(at.check)
left, right = st.columns([5, 4], gap="large")
with left:
    todo.jump()
    asked_back.show(at)
    todo.next_up(at.check, steps)
    st.subheader(words.PLAN_TITLE)
    plan.show(at.check, frozenset((s.element, s.spot) for s in at.check.review.asked_spots))
    place.show(at.check, steps)
    todo.by_layer(at.check)
    todo.photos_again(at.check)
    todo.questions(at.check)
    handing.show(at)
with right:
    sending.show(at)
    todo.unplaced(at)
    readings.show(at)
