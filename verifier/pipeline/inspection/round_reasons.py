"""What the inspection rounds bring to the decision: defects, hold points, open items, signatures, lapsed validity."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from verifier.pipeline.inspection.rounds import Rounds, rounds_of
from verifier.release.reason import Reason
from verifier.rounds.answers import RoundSigned, Word
from verifier.rounds.items import Point
from verifier.rounds.standing import Standing
from verifier.rounds.state import RoundState, open_at_start
from verifier.wording import counted


def reasons_of_rounds(folder: Path, at: datetime) -> tuple[Reason, ...]:
    """Say what the rounds hold against concrete.

    Rounds that nobody has begun stop the pour: no hold point is released then. A pour that walks fewer rounds, or none, says
    so in pour.toml with the reason, which the engineer of record signs as a condition. Hold points stand in any round walked.

    Args:
        folder: The pour folder.
        at: The moment of the decision, with its zone.

    Returns:
        Reasons in any order.

    Raises:
        BadInput: If drawing values, people or list can't be used.
    """
    rounds = rounds_of(folder)
    fewer = _set_off(rounds)
    if not rounds.walked:
        return fewer
    if not rounds.begun:
        return (*fewer, _not_begun(rounds))
    states = tuple(s for s in rounds.states(at) if s.number in rounds.walked)
    against = {s.key: s for s in rounds.against(at)}
    single = [_reason(s) for s in against.values() if s.kind != "not done" and _counts(s, rounds)]
    return (*fewer, *single, *_not_done(states), *_lapsed(rounds, states, at), *_at_start(rounds, at))


def _set_off(rounds: Rounds) -> tuple[Reason, ...]:
    """Fewer rounds than the project holds: whoever signs the release signs this with it."""
    held = tuple(rule.number for rule in rounds.setting.round)
    because = rounds.pour.pour.rounds.because
    if rounds.walked == held or because is None:
        return ()
    walked = f"only round {' and '.join(map(str, rounds.walked))}" if rounds.walked else "no inspection round"
    return (
        Reason(
            key="rounds-set-off",
            room="rounds",
            weight="condition",
            kind="to-sign",
            says=f"By pour.toml this pour walks {walked}: {because}",
            clears="The engineer of record agrees by signing the release; else take [pour.rounds] out and walk the rounds.",
            owner="engineer of record",
        ),
    )


def _not_begun(rounds: Rounds) -> Reason:
    holds = [i.id for i in rounds.checklist.item if i.point is Point.HOLD and not i.is_release]
    return Reason(
        key="rounds-not-begun",
        room="rounds",
        weight="stops",
        kind="not-done",
        says=f"Nobody has begun the inspection rounds: {counted(len(rounds.checklist.item), 'item')}, and no hold point is released "
        f"({', '.join(holds)}).",
        clears="Walk them and record each answer.",
        command="verifier answer FOLDER ITEM; what is open: verifier rounds FOLDER",
        owner="those who walk the rounds",
        about=tuple(holds),
        finer=-2.0,
    )


def _counts(standing: Standing, rounds: Rounds) -> bool:
    """Hold points always count; defects and signatures are those of the rounds walked."""
    if standing.kind == "hold point":
        return True
    return any(standing.key.startswith((f"round-{n}-", f"signature-{n}")) for n in rounds.walked)


def _reason(standing: Standing) -> Reason:
    kinds = {"not conforming": "non-conforming", "hold point": "not-done", "not signed": "to-sign"}
    return Reason(
        key=f"rounds-{standing.key}",
        room="rounds",
        weight="stops",
        kind=kinds[standing.kind],
        says=standing.says,
        clears=standing.clears,
        owner=standing.who,
        finer=-1.0 if standing.kind == "hold point" else 0.0,
    )


def _not_done(states: Sequence[RoundState]) -> list[Reason]:
    """Open items of one round in one reason: a hundred lines would hide the others."""
    reasons = []
    for state in states:
        left = [o for o in state.open if o.word is not Word.NOT_CONFORMING]
        if not left:
            continue
        again = [f"{o.item}: {'; '.join(o.why)}" for o in left if o.word != "not looked at"]
        never = list(dict.fromkeys(o.item for o in left if o.word == "not looked at"))
        told = "; ".join([*again, *([f"nobody looked at {', '.join(never)}"] if never else [])])
        reasons.append(
            Reason(
                key=f"rounds-open-{state.number}",
                room="rounds",
                weight="stops",
                kind="not-done",
                says=f"Round {state.number} ({state.title}): {counted(len(left), 'item')} open. {told}.",
                clears="Look at each of them and record the answer.",
                owner=" or ".join(dict.fromkeys(role for o in left for role in o.who)),
                about=tuple(dict.fromkeys(o.item for o in left)),
                finer=float(state.number),
            )
        )
    return reasons


def _lapsed(rounds: Rounds, states: Sequence[RoundState], at: datetime) -> list[Reason]:
    last = states[-1]
    signed = [
        e.at for e in rounds.events if isinstance(e, RoundSigned) and e.round == last.number and e.at <= at
    ]
    hours = rounds.setting.validity_hours
    if last.signed_by is None or not signed or at <= max(signed) + timedelta(hours=hours):
        return []
    return [
        Reason(
            key="rounds-lapsed",
            room="rounds",
            weight="stops",
            kind="not-done",
            says=f"The last round was signed on {max(signed):%Y-%m-%d %H:%M %z} and counts for {hours:g} h.",
            clears="Look at it again and sign the last round again.",
            owner="those of the last round",
        )
    ]


def _at_start(rounds: Rounds, at: datetime) -> list[Reason]:
    left = open_at_start(
        rounds.checklist, rounds.answers, rounds.events, at, people=rounds.people, setting=rounds.setting
    )
    reasons = []
    for one in left:
        title = rounds.checklist.find(one.item).item
        # A defect stays one when its hour has passed: the last word on the item counts, however old it is.
        said = [a for a in rounds.answers if a.item == one.item and a.at <= at]
        last = max(said, key=lambda a: a.at, default=None)
        bad = last is not None and last.word in (Word.NOT_CONFORMING, Word.CANNOT_TELL)
        says = f'{one.item} "{title}": {"; ".join(one.why)}.'
        if bad and last is not None:
            says = f"{says} Last word: {last.word}: {last.remark}"
        reasons.append(
            Reason(
                key=f"rounds-at-start-{one.item}",
                room="rounds",
                weight="stops" if bad else "condition",
                kind="non-conforming"
                if last is not None and last.word is Word.NOT_CONFORMING
                else "not-done",
                says=says,
                clears="Look at it right before concrete and record the answer.",
                owner=" or ".join(one.who),
            )
        )
    return reasons
