"""Check a sealed bundle offline, and say each fact apart.

This folder stands alone on purpose: Python's standard library and ``cryptography`` are all it needs, a copy of it travels in
every bundle (``python3 -B -m audit BUNDLE``), and it judges with its own code what the record judged when it was written.
There is no single "ok": bytes, signatures, persons, order, times and approvals are different questions, and some questions
no record can answer.

Source:
    RFC 8493 (bag), RFC 8785 (canonical records), RFC 8032 (signatures), RFC 9162 (Merkle tree), C2SP tlog-checkpoint and
    tlog-proof (heads and proofs), RFC 3161 and RFC 5652 (time stamps), OpenSSH PROTOCOL.sshsig (approvals made elsewhere).
"""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from .canonical_form import named_objects
from .checked import checked_fact
from .closing import closing_fact
from .container import Bag, Changing
from .copies import copies_fact, reading_fact
from .derived import derived_fact
from .facts import FAILS, HOLDS, OPEN, Audit, Bracket, Fact, Replayed, fact, report
from .held import held_fact
from .lapses import standing_fact
from .persons import Persons
from .shown import Shown
from .times import board_fact, bracket, bracket_fact, clocks_fact, stamps_of

__all__ = ["FAILS", "HOLDS", "OPEN", "Audit", "Bracket", "Fact", "Replayed", "audit", "report"]

Replay = Callable[[bytes, Sequence[Mapping[str, Any]]], Replayed]
BoardIds = Callable[[str, str, int], Sequence[int]]


def audit(
    path: Path,
    *,
    heads: Sequence[str] = (),
    replay: Replay | None = None,
    board_ids: BoardIds | None = None,
    authority_roots: Sequence[bytes] = (),
) -> Audit:
    """Check a bundle.

    Args:
        path: Sealed zip, or the folder of the bag that it was unpacked to.
        heads: Heads held outside: texts of checkpoints (from a QR code or a file), or short forms from a print.
        replay: Measures again: given an original and the bodies of the measurements recorded on it, returns what differs and
            what can't be compared.
        board_ids: Derives the marker ids of an issued board from head root (base64), pour id and board number.
        authority_roots: Certificates (PEM) of time stamp authorities that you trust; without them, those in the bundle are
            used, and nothing that rests on a time stamp is more than not proven.

    Returns:
        Facts, time brackets, limits. A damaged bundle is a fact, never an exception.
    """
    try:
        bag = Bag(path)
    except (
        OSError,
        ValueError,
        zipfile.BadZipFile,
        struct.error,
        NotImplementedError,
        OverflowError,
    ) as error:
        return Audit((Fact("container", FAILS, f"The bundle can't be opened: {error}."),), ())
    try:
        return _judged(bag, heads, replay, board_ids, authority_roots)
    except Changing as error:
        return Audit((Fact("container", FAILS, f"Nothing can be said of this bundle: {error}."),), ())
    except (TypeError, AttributeError, KeyError, ValueError, RecursionError) as error:
        return Audit(
            (bag.bytes_fact(), Fact("records", FAILS, f"A record holds values of the wrong kind: {error}.")),
            (),
        )


def _judged(
    bag: Bag,
    heads: Sequence[str],
    replay: Replay | None,
    board_ids: BoardIds | None,
    authority_roots: Sequence[bytes],
) -> Audit:
    shown = Shown(bag)
    persons = Persons(shown)
    stamp_fact, stamps = stamps_of(shown, authority_roots)
    brackets = [
        bracket(record, shown.records, stamps) for record in shown.records if record["type"] == "photo"
    ]
    facts = (
        bag.container_fact(),
        bag.bytes_fact(),
        bag.listing_fact(),
        shown.chain_fact(),
        shown.originals_fact(),
        shown.signature_fact(persons.public_keys),
        shown.head_fact(persons.valid_keys),
        shown.seal_fact(persons.valid_keys),
        copies_fact(shown, persons),
        held_fact(shown, heads),
        persons.person_fact(),
        persons.claimed_fact(),
        persons.order_fact(),
        persons.release_fact(),
        checked_fact(shown, persons),
        standing_fact(shown, persons),
        closing_fact(shown, persons),
        persons.seals_fact(),
        stamp_fact,
        clocks_fact(shown, stamps),
        board_fact(shown, board_ids),
        bracket_fact(brackets),
        derived_fact(shown),
        _replay_fact(shown, replay),
        reading_fact(shown),
    )
    return Audit(facts, tuple(brackets))


def _replay_fact(shown: Shown, replay: Replay | None) -> Fact:
    if replay is None:
        return Fact("replay", OPEN, "Nothing was measured again.")
    places = {digest: name for name, digest in shown.bag.sha256.items()}
    received = {str(r["body"].get("sha256")) for r in shown.records if r["type"] == "photo"}
    by_original: dict[str, list[Mapping[str, Any]]] = {}
    for record in shown.records:
        if record["type"] == "measurement":
            for name in dict.fromkeys(named_objects(record["body"])):
                if name in received and name in places:
                    by_original.setdefault(name, []).append(record["body"])
    faults, left = [], []
    for name, bodies in by_original.items():
        try:
            again = replay(shown.bag.read(places[name]), bodies)
        except Exception as error:  # whatever stops a measurement, the audit goes on and says so
            again = Replayed((f"measuring again failed ({error})",))
        faults += [f"{name[:16]}: {difference}" for difference in again.differences]
        left += [f"{name[:16]}: {why}" for why in again.not_compared]
    if not by_original:
        return Fact("replay", OPEN, "The records shown hold no measurement on a photo.")
    if left and not faults:
        say = f"Results made by another version of the method: {len(left)}; measure again with that version."
        return Fact("replay", OPEN, say, tuple(left))
    say = f"Originals measured again: {len(by_original)}. Every printed digit is the same."
    return fact("replay", faults + left if faults else [], say, "Measuring again gives other values.")
