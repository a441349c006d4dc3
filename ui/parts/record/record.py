"""The third person's page: one record, looked at from five sides; the address keeps which side and which choice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import streamlit as st

from ui import words
from ui.parts import linked, plain
from ui.parts.pour import State, state_of
from verifier.drawing.pour import Pour
from verifier.pipeline.folder.evidence import has_record
from verifier.pipeline.sealing.originals import OriginalTold, originals_of
from verifier.pipeline.sealing.telling import Told, events_of, told
from verifier.record.timeline import Event

ALL: Final = "all"


@dataclass(frozen=True, slots=True)
class Record:
    """A record read for the page.

    Attributes:
        folder: The pour folder.
        pour: Its drawing values as they are now.
        state: What the folder looked like when the record was read.
        told: The record.
        events: What happened, in order.
        originals: Its photos.
    """

    folder: Path
    pour: Pour
    state: State
    told: Told
    events: Sequence[Event]
    originals: Sequence[OriginalTold]


@dataclass(frozen=True, slots=True)
class Choice:
    """What somebody wants to see: marks, names and kinds of event; ``all`` for no choice."""

    element: str = ALL
    person: str = ALL
    kind: str = ALL


def opened(folder: Path, pour: Pour) -> Record | None:
    """Read the record of a pour, or say that there is none yet.

    Args:
        folder: The pour folder.
        pour: Its drawing values.

    Returns:
        The record, None where there is none.

    Raises:
        RecordDamaged: If it does not hold.
    """
    if not has_record(folder):
        plain.notice("missing", words.TIMELINE_NONE, words.TIMELINE_NONE_SAYS)
        return None
    state = state_of(folder)
    of, events, originals = _read(folder, state)
    return Record(folder, pour, state, of, events, originals)


@st.cache_resource(show_spinner=False, max_entries=4)
def _read(folder: Path, state: State) -> tuple[Told, Sequence[Event], Sequence[OriginalTold]]:
    del state  # only tells whether anything has changed
    of = told(folder)
    return of, events_of(of), originals_of(of)


def heading(record: Record) -> str:
    """Show what record it is, and ask from which side it is to be looked at.

    Args:
        record: The record.

    Returns:
        A key of ``words.RECORD_PARTS``.
    """
    bounded = sum(o.bracket.not_before is not None for o in record.originals)
    plain.paragraph(f"{record.pour.pour.id} · {record.pour.pour.title}", quiet=True)
    plain.tiles(
        (
            (words.RECORD_SIZE, str(record.told.head.size)),
            (words.RECORD_BOUNDED, f"{bounded} / {len(record.originals)}"),
        )
    )
    plain.labelled(words.RECORD_HEAD, record.told.head.short)
    return linked.choice(words.RECORD_PART, words.RECORD_PARTS, key="part", default="originals")


def choose(record: Record, *, kinds: bool) -> Choice:
    """Ask for an element, a person and, where asked, a kind of event.

    Args:
        record: The record.
        kinds: Whether kinds of event are to be chosen, too.

    Returns:
        The choice; the address keeps it.
    """
    said = dict.fromkeys(e.type for e in record.events)
    names = {e.type: e.what for e in record.events}
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        element = one_of("element", words.ELEMENT, record.pour.marks, str)
        people = sorted({e.who for e in record.events} | {o.person for o in record.originals if o.person})
        person = one_of("person", words.RECORD_PERSON, people, plain.shown)
        kind = (
            one_of("kind", words.TIMELINE_ONLY, tuple(said), lambda n: words.said(names[n]), width=340)
            if kinds
            else ALL
        )
    return Choice(element, person, kind)


def one_of(
    key: str, label: str, names: Sequence[str], said: Callable[[str], str], *, width: int = 190
) -> str:
    """Ask for one of several things, or all; the address keeps it.

    Args:
        key: Name in the address.
        label: One of the page's own words.
        names: What may be chosen.
        said: How it is shown.
        width: Width of the field, px.

    Returns:
        The one chosen, or ``all``.
    """
    options = (ALL, *names)
    linked.start(key, options, ALL)
    st.selectbox(
        label,
        options,
        format_func=lambda n: words.FINDINGS_ALL if n == ALL else said(n),
        key=key,
        width=width,
    )
    return linked.keep(key, st.session_state[key], ALL)
