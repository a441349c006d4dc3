"""All rounds of a pour at once, and what of them stands against concrete."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Literal

from pydantic import BaseModel

from verifier.rounds.answers import Answer, Event, Word
from verifier.rounds.items import CheckList
from verifier.rounds.setting import Person, RoundsSetting
from verifier.rounds.state import RoundState, state_of_round


class Standing(BaseModel, frozen=True, extra="forbid"):
    """One thing that stands against concrete: what is so, what clears it, who can. ``key`` is stable."""

    key: str
    kind: Literal["not conforming", "not done", "hold point", "not signed"]
    says: str
    clears: str
    who: str


def all_rounds(
    items: CheckList,
    answers: Iterable[Answer],
    events: Iterable[Event],
    at: datetime,
    *,
    revision: str,
    people: Iterable[Person],
    setting: RoundsSetting,
) -> tuple[RoundState, ...]:
    """Say how each round of the project stands at a time.

    Args:
        items: The list in use.
        answers: All answers of the pour.
        events: All events of the pour.
        at: Time of the question.
        revision: Drawing revision in force.
        people: Those named for the pour.
        setting: Rounds of the project.

    Returns:
        One state per round, first to last.
    """
    all_answers, all_events, everybody = tuple(answers), tuple(events), tuple(people)
    return tuple(
        state_of_round(
            items,
            all_answers,
            all_events,
            at,
            number=r.number,
            revision=revision,
            people=everybody,
            setting=setting,
        )
        for r in setting.round
    )


def against_concrete(states: Sequence[RoundState], items: CheckList) -> tuple[Standing, ...]:
    """List what the rounds hold against concrete, worst first.

    Args:
        states: All rounds of the pour.
        items: The list in use.

    Returns:
        Items not conforming, hold points, items not done, rounds not signed. Empty if the rounds stand.
    """
    found: dict[str, Standing] = {}
    for state in states:
        for one in state.open:
            title = items.find(one.item).item
            bad = one.word is Word.NOT_CONFORMING
            who = " or ".join(one.who)
            found[f"round-{state.number}-{one.item}-{one.place}"] = Standing(
                key=f"round-{state.number}-{one.item}-{one.place}",
                kind="not conforming" if bad else "not done",
                says=f'Round {state.number}, {one.item} "{title}", {one.place}: {"; ".join(one.why)}.',
                clears=f"{'Put it right, then have it' if bad else 'Have it'} seen by: {who}.",
                who=who,
            )
        for hold in state.holds_not_released:
            found[f"hold-{hold.item}"] = Standing(
                key=f"hold-{hold.item}",
                kind="hold point",
                says=f'Hold point {hold.item} "{items.find(hold.item).item}": {hold.why}.',
                clears=f"Written release by the {hold.who}.",
                who=hold.who,
            )
        if state.signed_by is None:
            found[f"signature-{state.number}"] = Standing(
                key=f"signature-{state.number}",
                kind="not signed",
                says=f"Round {state.number} ({state.title}): {state.not_signed_because}.",
                clears="Signature of the round once nothing in it is open.",
                who="those of the round",
            )
    order = {"not conforming": 0, "hold point": 1, "not done": 2, "not signed": 3}
    return tuple(sorted(found.values(), key=lambda s: order[s.kind]))
