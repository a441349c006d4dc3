"""The page: which views there are, and nothing else."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import frame

if __name__ == "__main__":  # workers that measure photos import this file again and must not run it
    views = [
        st.Page(f"views/{name}.py", title=words.NAV[name], url_path=name, default=name == "missing")
        for name in words.NAV
    ]
    frame.show(st.navigation(views, position="hidden"), views)
