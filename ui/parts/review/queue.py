"""The pours to choose from, the next start first, each with its answer and what waits for whom."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import plain, where
from ui.parts.answer import SHAPE
from ui.parts.pour import checked
from ui.parts.review import handing
from verifier.drawing.read import read_pour
from verifier.errors import VerifierError
from verifier.pipeline.decision.queue import Standing, in_order, standing_of


def show(places: Sequence[Path], person: str | None) -> None:
    """Show the pours.

    Args:
        places: Their folders.
        person: Who is logged in: only the own pours are listed; None lists all.
    """
    plain.title(words.POURS_TITLE)
    found, broken, hidden = _standings(places, person)
    if not found and not broken:
        plain.notice("missing", words.POURS_NONE, words.POURS_NONE_SAYS)
    for standing in in_order(found, datetime.now().astimezone()):
        _card(standing)
    for place, error in broken:
        with st.container(border=True):
            plain.verdict_line("inconclusive", words.CANT_READ, place.name)
            plain.paragraph(f"{words.said(error.wrong)} {words.said(error.todo)}")
    if hidden:
        plain.paragraph(words.POURS_OTHERS.format(count=hidden), quiet=True)


def _standings(
    places: Sequence[Path], person: str | None
) -> tuple[list[Standing], list[tuple[Path, VerifierError]], int]:
    """One pour that can't be read never hides the others."""
    found, broken, hidden = [], [], 0
    for place in places:
        try:
            if person is not None and not read_pour(place).people.roles_of(person):
                hidden += 1
                continue
            found.append(standing_of(place, checked(place)))
        except VerifierError as error:
            broken.append((place, error))
    return found, broken, hidden


def _card(standing: Standing) -> None:
    with st.container(border=True):
        said = words.ANSWER[standing.answer]
        counts = words.ANSWER_COUNTS.format(stops=standing.stops, conditions=standing.conditions)
        plain.verdict_line(
            SHAPE[standing.answer], f"{said} · {counts}", f"{standing.title} · {standing.folder.name}"
        )
        handing.line(standing.handed, standing.planned_start.tzinfo)
        rows = [(words.POURS_START, f"{standing.planned_start:%Y-%m-%d %H:%M %z}")]
        if standing.worst is not None:
            worst = standing.worst
            rule = words.RULE.get(worst.requirement.rule, worst.requirement.rule)
            rows.append(
                (words.POURS_WORST, f"{words.said(worst.place)}: {rule}, {words.VERDICT[worst.verdict]}")
            )
        rows.append(
            (
                words.POURS_WAITS,
                " · ".join(f"{words.said(who)}: {n}" for who, n in standing.waits) or words.POURS_NOBODY,
            )
        )
        newest = standing.newest
        zone = standing.planned_start.tzinfo
        rows.append(
            (
                words.POURS_NEWEST,
                words.POURS_NO_EVIDENCE if newest is None else f"{newest.astimezone(zone):%Y-%m-%d %H:%M %z}",
            )
        )
        plain.pairs(rows)
        st.button(
            words.POURS_OPEN,
            key=f"open-{standing.folder.name}",
            width="stretch",
            on_click=where.go_to,
            args=(standing.folder,),
        )
