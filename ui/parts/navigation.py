"""Which views there are, and for whom: a view is one line here, its title in ``words.NAV``, its file in ``views/``."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

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
    """

    name: str
    roles: frozenset[Role]
    lands: frozenset[Role] = frozenset()


VIEWS: Final = (
    View("missing", _SITE | _REVIEW, lands=_SITE),
    View("findings", _SITE | _REVIEW | _READER, lands=_REVIEW),
    View("photos", _SITE | _REVIEW | _READER),
    View("decision", _SITE | _REVIEW | _READER),
    View("timeline", _SITE | _REVIEW | _READER, lands=_READER),
)
"""In the order of the row."""


def views_for(roles: Collection[Role]) -> tuple[View, ...]:
    """Choose the views that somebody uses.

    Args:
        roles: The person's roles on the pour; none where nobody is asked who they are, which shows all.

    Returns:
        Views in order.
    """
    return tuple(v for v in VIEWS if not roles or v.roles & set(roles))


def landing(roles: Collection[Role]) -> str:
    """Say where somebody comes first.

    Args:
        roles: The person's roles on the pour; none for the site engineer's place.

    Returns:
        Name of a view.
    """
    shown = views_for(roles)
    return next((v.name for v in shown if v.lands & set(roles)), shown[0].name)
