"""Who acts: the person logged in; where nobody logs in, one of those who may."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import visits
from verifier.drawing.heading import Role
from verifier.drawing.pour import Pour
from verifier.drawing.read import read_pour
from verifier.errors import BadInput
from verifier.pipeline.people.permissions import Action, who_may

CHOSEN = "acting"


def roles_on(place: Path | None, person: str | None) -> tuple[Role, ...]:
    """Tell the roles of the person logged in.

    Args:
        place: The pour folder, None before one is chosen.
        person: Who is logged in, None where nobody logs in.

    Returns:
        Roles; none if nobody logs in, no pour is chosen or it can't be read, which the views then tell.
    """
    if place is None or person is None:
        return ()
    try:
        return read_pour(place).people.roles_of(person)
    except BadInput:
        return ()


def acting(pour: Pour, key: str, action: Action | None = None) -> str:
    """Say who acts. This is the one way in which a view learns it; whether the person may is asked by the pipeline.

    Args:
        pour: The pour and its people.
        key: Which form it stands in.
        action: What is to be done, so that without log-in only those are offered who may; None offers the site engineers.

    Returns:
        The name of the person logged in; without log-in, of the only one who may, or of the one chosen. The choice is
        remembered for the visit. Empty if nobody of this pour may.
    """
    person = visits.person()
    if person is not None:
        return person
    names = pour.people.site_engineer if action is None else who_may(pour, action)
    if len(names) < 2:
        return names[0] if names else ""
    remembered = st.session_state.get(CHOSEN)
    chosen = st.selectbox(
        words.WHO, names, index=names.index(remembered) if remembered in names else 0, key=f"{key}-who"
    )
    st.session_state[CHOSEN] = chosen
    return chosen
