"""Who acts."""

from __future__ import annotations

import streamlit as st

from ui import words
from verifier.drawing.pour import Pour


def acting(pour: Pour, key: str) -> str:
    """Ask who acts, unless only one person can.

    Args:
        pour: The pour and its people.
        key: Which form it stands in.

    Returns:
        A name of the pour.
    """
    engineers = pour.people.site_engineer
    if len(engineers) == 1:
        return engineers[0]
    return st.selectbox(words.WHO, engineers, key=f"{key}-who")
