"""The record told in order: where the third person lands."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import plain, pour, timeline

at = pour.opened()
st.html(f"<h1>{plain.safe(words.NAV['timeline'])}</h1>")
timeline.show(at)
