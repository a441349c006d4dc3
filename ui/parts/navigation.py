"""Which views there are, and for whom: a view is one line here, its title in ``words.NAV``, its file in ``views/``."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NoReturn

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from ui import words
from verifier.drawing.heading import Role

_SITE: Final = frozenset[Role]({"site_engineer", "quality_engineer"})
_REVIEW: Final = frozenset[Role]({"reviewer", "engineer_of_record"})
_READER: Final = frozenset[Role]({"reader"})


@dataclass(frozen=True, slots=True)
class View:
    """One view of the page.

    Attributes:
        name: File in ``views/`` without its ending, path in the address, and key of ``words.NAV``.
        roles: Roles that use it; others don't see it in the row of views.
        lands: Roles whose work is here: they come here first.
        of_pour: Whether it shows one pour; the others are there before a pour is chosen.
    """

    name: str
    roles: frozenset[Role]
    lands: frozenset[Role] = frozenset()
    of_pour: bool = True


VIEWS: Final = (
    View("pours", _SITE | _REVIEW | _READER, of_pour=False),
    View("missing", _SITE | _REVIEW, lands=_SITE),
    View("rounds", _SITE | _REVIEW),
    View("findings", _SITE | _REVIEW | _READER, lands=_REVIEW),
    View("photos", _SITE | _REVIEW | _READER),
    View("decision", _SITE | _REVIEW | _READER),
    View("concrete", _SITE | _REVIEW),
    View("pour_log", _SITE | _REVIEW),
    View("closing", _SITE | _REVIEW),
    View("timeline", _SITE | _REVIEW | _READER, lands=_READER),
)
"""In the order of the row."""


def views_for(roles: Collection[Role], *, several: bool = False, chosen: bool = True) -> tuple[View, ...]:
    """Choose the views that somebody uses.

    Args:
        roles: The person's roles on the pour; none where nobody is asked who they are, which shows all.
        several: Whether there are several pours to choose from.
        chosen: Whether a pour is looked at.

    Returns:
        Views in order.
    """
    fit = [v for v in VIEWS if (chosen if v.of_pour else several)]
    return tuple(v for v in fit if not roles or v.roles & set(roles))


def landing(roles: Collection[Role], shown: Collection[View]) -> View:
    """Say where somebody comes first.

    Args:
        roles: The person's roles on the pour; none for the site engineer's place.
        shown: The views that the person sees; at least one.

    Returns:
        The view where the work of the first role is.
    """
    work = next((v for v in shown if v.lands & set(roles)), None)
    return work or next((v for v in shown if v.of_pour), next(iter(shown)))


def lead_to(page: StreamlitPage) -> NoReturn:
    """Go on to another view; what the address says besides stays.

    Args:
        page: The view.
    """
    st.switch_page(page, query_params=st.query_params.to_dict())


def pages(shown: Collection[View], first: View) -> tuple[StreamlitPage, list[StreamlitPage]]:
    """Make the pages of views; each keeps its address whoever looks.

    Args:
        shown: Views in order.
        first: Where somebody comes who names none.

    Returns:
        The page of the first, and all in order.
    """
    views = Path(__file__).parents[1] / "views"
    row = [st.Page(views / f"{v.name}.py", title=words.NAV[v.name], url_path=v.name) for v in shown]
    return row[[v.name for v in shown].index(first.name)], row


def start_at(first: StreamlitPage) -> StreamlitPage:
    """Make the page of the bare address, which leads on at once.

    Args:
        first: Where to.

    Returns:
        The page.
    """

    def start() -> None:
        lead_to(first)

    return st.Page(start, title=first.title, url_path="start", default=True)
