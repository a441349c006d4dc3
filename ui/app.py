"""The page: which views there are, and nothing else."""

from __future__ import annotations

import streamlit as st

from ui import words
from ui.parts import frame
from ui.parts.navigation import landing, views_for

if __name__ == "__main__":  # workers that measure photos import this file again and must not run it
    first = landing(())
    views = [
        st.Page(f"views/{v.name}.py", title=words.NAV[v.name], url_path=v.name, default=v.name == first)
        for v in views_for(())
    ]
    frame.show(st.navigation(views, position="hidden"), views)
