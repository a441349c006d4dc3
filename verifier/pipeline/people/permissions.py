"""Who may do what on a pour: one table of roles and actions, asked by every function that changes anything.

The table says who may try; the record asks besides for the person's own key, and lets nobody release the own work
(``verifier/record/kinds.py``). What the record asks of a role is never wider than what stands here.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final, get_args

from verifier.drawing.heading import Role
from verifier.drawing.pour import Pour
from verifier.errors import NotAllowed
from verifier.record.ledger import Ledger
from verifier.record.public_keys import key_id


class Action(StrEnum):
    """What a person does; the value goes behind "may not"."""

    SEE = "see the pour"
    SEND_PHOTOS = "send photos"
    PLACE_PHOTO = "say where a photo was taken"
    TYPE_READINGS = "put in tape readings"
    ISSUE_BOARD = "issue or measure a scale board"
    ANSWER_ITEM = "answer an item of a round"
    CLOSE_DEFECT = "tell that a defect was put right"
    SIGN_ROUND = "sign a round"
    RELEASE_HOLD = "release a hold point"
    ORDER = "order concrete"
    LOG_POUR = "write the pour log"
    WRITE_CLOSING = "write what happens after the pour"
    HAND_OVER = "hand the pour over for review"
    RECORD_CHECK = "put the answer of a check into the record"
    REMARK = "make a remark"
    MEASURE = "measure in a photo for the record"
    RETURN = "return an item"
    ASK_SPOT = "ask for a spot"
    ACCEPT = "accept a deviation"
    RELEASE = "release the pour"
    REFUSE = "refuse to release the pour"
    CLOSE = "close the record"
    SEAL = "seal the record"
    ENROL_KEY = "enrol a key"
    REVOKE_KEY = "revoke a key"
    PUT_CLOCK_RIGHT = "tell that a clock was put right"


ROLES: Final[tuple[Role, ...]] = get_args(Role)

_SITE: Final = ("site_engineer", "quality_engineer")
_REVIEW: Final = ("reviewer", "engineer_of_record")
_WORK: Final = (*_SITE, *_REVIEW)

MAY: Final[Mapping[Action, frozenset[Role]]] = MappingProxyType(
    {
        Action.SEE: frozenset(ROLES),
        Action.SEND_PHOTOS: frozenset(_WORK),
        Action.PLACE_PHOTO: frozenset(_WORK),
        Action.TYPE_READINGS: frozenset(_WORK),
        Action.ISSUE_BOARD: frozenset(_SITE),
        Action.ANSWER_ITEM: frozenset(_WORK),
        Action.CLOSE_DEFECT: frozenset(_SITE),
        Action.SIGN_ROUND: frozenset(_WORK),
        Action.RELEASE_HOLD: frozenset(_WORK),
        Action.ORDER: frozenset(_SITE),
        Action.LOG_POUR: frozenset(_SITE),
        Action.WRITE_CLOSING: frozenset(_SITE),
        Action.HAND_OVER: frozenset(_SITE),
        Action.RECORD_CHECK: frozenset(_WORK),
        Action.REMARK: frozenset(_WORK),
        Action.MEASURE: frozenset(("quality_engineer", *_REVIEW)),
        Action.RETURN: frozenset(_REVIEW),
        Action.ASK_SPOT: frozenset(_REVIEW),
        Action.ACCEPT: frozenset(("engineer_of_record",)),
        Action.RELEASE: frozenset(_REVIEW),
        Action.REFUSE: frozenset(_REVIEW),
        Action.CLOSE: frozenset(_REVIEW),
        Action.SEAL: frozenset(_WORK),
        Action.ENROL_KEY: frozenset(_WORK),
        Action.REVOKE_KEY: frozenset(_WORK),
        Action.PUT_CLOCK_RIGHT: frozenset(_WORK),
    }
)
"""Action -> roles of which a person needs one. Hold points and items of rounds name their own post besides.

A reviewer on a visit may send photos and readings, too; the record then lets somebody else release.
"""


def may(pour: Pour, person: str, action: Action) -> bool:
    """Tell whether a person may do something on a pour.

    Args:
        pour: The pour, for its people.
        person: Name from ``[people]``.
        action: What is to be done.

    Returns:
        True if one of the person's roles allows it.
    """
    return bool(MAY[action] & set(pour.people.roles_of(person)))


def who_may(pour: Pour, action: Action) -> tuple[str, ...]:
    """Name those who may do something on a pour.

    Args:
        pour: The pour, for its people.
        action: What is to be done.

    Returns:
        Names, in the order of roles and of the file, each once.
    """
    named = (name for role in ROLES if role in MAY[action] for name in getattr(pour.people, role))
    return tuple(dict.fromkeys(named))


def signer_in(ledger: Ledger, public: bytes) -> str:
    """Name the person whose key signs.

    Args:
        ledger: The record.
        public: Public key, 32 bytes.

    Returns:
        The name under which the record knows the key, empty if it doesn't.
    """
    ledger.records()
    key = ledger.standing.keys.get(key_id(public))
    return key.name if key is not None and key.person else ""


def demand(pour: Pour, person: str, action: Action, *, named: Collection[str] = ()) -> None:
    """Let a person pass who may do something, and nobody else.

    Args:
        pour: The pour, for its people.
        person: Who is to do it.
        action: What is to be done.
        named: People without any role in ``[people]`` whom another file of the pour names for just this, such as those
            who walk a round.

    Raises:
        NotAllowed: If none of the person's roles allows it; says who may instead.
    """
    roles = pour.people.roles_of(person)
    if MAY[action] & set(roles) or (not roles and person in named):
        return
    told = " and ".join(role.replace("_", " ") for role in roles)
    others = ", ".join(
        f"{name} ({', '.join(r.replace('_', ' ') for r in pour.people.roles_of(name))})"
        for name in who_may(pour, action)
    )
    raise NotAllowed(
        f"{person} is {told} of this pour and may not {action}."
        if roles
        else f"{person or 'Somebody unknown to the record'} is not among the people of this pour and may not {action}.",
        where="people",
        todo=f"These may: {others or 'nobody is named for it; add a name under [people] in pour.toml'}.",
    )
