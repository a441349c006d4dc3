"""One photo after the other: what was measured in it, why it was refused, and measuring in it oneself."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import plain, pour
from ui.parts.review import photo

at = pour.opened()
st.html(f"<h1>{plain.safe(words.NAV['photos'])}</h1>")
if not at.check.photos:
    plain.notice("missing", words.PHOTOS_NONE_TITLE, words.PHOTOS_NONE)
    st.stop()
entry = photo.choose(at.check)
left, right = st.columns([3, 2], gap="large")
with left:
    photo.picture(at, entry)
with right:
    photo.facts(at, entry)
