"""One round as it is walked: each item with how it stands, what was said of it before, and the next one to look at."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from verifier.rounds.answers import Answer, Word
from verifier.rounds.items import CheckItem, CheckList, Group, ItemId
from verifier.rounds.state import OpenItem, RoundState

Stands = Literal["stands", "not looked at", "defect", "waits"]


@dataclass(frozen=True, slots=True)
class WalkedItem:
    """One item of a round.

    Attributes:
        item: The line of the list.
        stands: ``waits`` is looked at, but not yet by whom or with what it asks for.
        open: What is open, place by place; empty where it stands.
        said: Answers to it in any round, newest first.
    """

    item: CheckItem
    stands: Stands
    open: tuple[OpenItem, ...]
    said: tuple[Answer, ...]


def walk_of(
    items: CheckList, state: RoundState, at_start: Iterable[OpenItem], answers: Sequence[Answer]
) -> tuple[WalkedItem, ...]:
    """Go through the items of a round in the order of the list.

    Args:
        items: The list in use.
        state: How the round stands.
        at_start: What is open of the last look before concrete.
        answers: All answers of the pour.

    Returns:
        Every item that somebody looks at in this round; the gate that the signed release itself is, is none of them.
    """
    still_open = (*state.open, *(o for o in at_start if o.item in state.at_start))
    found = []
    for item in items.of_round(state.number):
        if item.is_release:
            continue
        mine = tuple(o for o in still_open if o.item == item.id)
        said = tuple(sorted((a for a in answers if a.item == item.id), key=lambda a: a.at, reverse=True))
        found.append(WalkedItem(item, _stands(mine), mine, said))
    return tuple(found)


def of_group(walk: Sequence[WalkedItem], group: Group | None) -> tuple[WalkedItem, ...]:
    """Items of one part of the work.

    Args:
        walk: Items of a round.
        group: The part, None for defects of all parts.

    Returns:
        Those items, in order.
    """
    return tuple(w for w in walk if (w.stands == "defect" if group is None else w.item.group is group))


def next_open(walk: Sequence[WalkedItem], after: ItemId | None) -> ItemId | None:
    """Find the next item that is open.

    Args:
        walk: Items in order.
        after: The item just looked at, None to begin.

    Returns:
        The next open one behind it, else the first open one; None if all stand.
    """
    ids = [w.item.id for w in walk]
    start = ids.index(after) + 1 if after in ids else 0
    turned = (*walk[start:], *walk[:start])
    return next((w.item.id for w in turned if w.stands != "stands"), None)


def _stands(still_open: Sequence[OpenItem]) -> Stands:
    words = {o.word for o in still_open}
    if not words:
        return "stands"
    if Word.NOT_CONFORMING in words:
        return "defect"
    return "not looked at" if words == {Word.NOT_LOOKED_AT} else "waits"
