"""The page: who is there, which pour, which views, and nothing else."""

from __future__ import annotations

import streamlit as st

from ui.parts import frame, visits, where
from ui.parts.navigation import landing, lead_to, pages, start_at, views_for
from ui.parts.people import roles_on

if __name__ == "__main__":  # workers that measure photos import this file again and must not run it
    frame.dress()
    person = visits.let_in()
    place = where.folder()
    if place is not None:
        where.stay(place)
    roles = roles_on(place, person)
    shown = views_for(roles, several=bool(where.several()), chosen=place is not None or not where.several())
    first, row = pages(shown, landing(roles, shown))
    view = st.navigation([start_at(first), *row], position="hidden")
    if where.arrives():
        lead_to(first)
    frame.show(view, row, person)
