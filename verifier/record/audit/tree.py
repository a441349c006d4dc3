"""Heads of a record and its Merkle tree: roots, inclusion, growth from an earlier head."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .canonical_form import unbase64
from .signatures import sound


@dataclass(frozen=True, slots=True)
class Head:
    """A checkpoint taken apart: ``signed`` is the text under the signatures, ``stamps`` the signature lines."""

    origin: str
    size: int
    root: bytes
    chain: str
    signed: bytes
    stamps: tuple[str, ...]


def read_head(note: str) -> Head | None:
    """Take a checkpoint apart; None if it is none (C2SP tlog-checkpoint, with one extension line for the chain).

    Args:
        note: Text of the signed note.

    Returns:
        The head, or None.
    """
    text, _, stamps = note.partition("\n\n")
    match = re.fullmatch(r"([!-~]+)\n([1-9]\d*)\n([A-Za-z0-9+/]{43}=)\nchain ([0-9a-f]{64})", text)
    root = unbase64(match[3]) if match else b""
    if match is None or len(root) != 32 or not stamps.endswith("\n"):
        return None
    return Head(
        match[1], int(match[2]), root, match[4], (text + "\n").encode(), tuple(stamps.split("\n")[:-1])
    )


def head_signers(head: Head, keys: Mapping[str, bytes]) -> tuple[list[str], bool]:
    """Say which keys signed a head.

    Args:
        head: The checkpoint.
        keys: Key id -> public key.

    Returns:
        Ids of the keys whose signature is sound, and whether every signature line is a sound one of a known key.
    """
    found, clean = [], True
    for line in head.stamps:
        name, _, stamp = line.removeprefix("\u2014 ").rpartition(" ")
        raw = unbase64(stamp)
        mine = [
            ident
            for ident, public in keys.items()
            if raw[:4] == hashlib.sha256(name.encode() + b"\n\1" + public).digest()[:4]
            and sound(public, raw[4:], head.signed)
        ]
        clean = clean and bool(mine) and line == f"\u2014 {name} {stamp}"
        found += mine
    return found, clean


def leaf(line: bytes) -> bytes:
    """Hash a line as a leaf (RFC 9162, 2.1.1).

    Args:
        line: Bytes of the line, without its line feed.

    Returns:
        32 bytes.
    """
    return hashlib.sha256(b"\0" + line).digest()


def root_over(leaves: Sequence[bytes]) -> bytes:
    """Compute the Merkle root over leaf hashes (RFC 9162, 2.1.1); an odd one moves up a level unpaired.

    Args:
        leaves: Leaf hashes in order.

    Returns:
        32 bytes.
    """
    level = list(leaves)
    while len(level) > 1:
        pairs = [_node(level[i], level[i + 1]) for i in range(0, len(level) - 1, 2)]
        level = pairs + level[len(level) - len(level) % 2 :]
    return level[0] if level else hashlib.sha256(b"").digest()


def read_proof(text: str, checkpoint: str) -> tuple[int, list[bytes]] | None:
    """Take an inclusion proof apart (C2SP tlog-proof): index and path, if it is under this very checkpoint.

    Args:
        text: Content of the proof file.
        checkpoint: The checkpoint that it must end with.

    Returns:
        Index and path, or None.
    """
    match = re.fullmatch(
        r"c2sp\.org/tlog-proof@v1\nindex (\d+)\n((?:[A-Za-z0-9+/]{43}=\n)*)\n(.*)", text, re.DOTALL
    )
    if match is None or match[3] != checkpoint:
        return None
    return int(match[1]), [unbase64(line) for line in match[2].split()]


def root_through(start: bytes, place: int, size: int, path: Sequence[bytes]) -> bytes | None:
    """Compute the root that an inclusion path leads to (RFC 9162, 2.1.3.2).

    Args:
        start: Leaf hash.
        place: Its place, from 0.
        size: Number of leaves.
        path: Neighbour hashes, upwards.

    Returns:
        The root, or None if the path has a wrong length.
    """
    last, result = size - 1, start
    for neighbour in path:
        if last == 0:
            return None
        if place % 2 or place == last:
            result = _node(neighbour, result)
            while place % 2 == 0 and place:
                place, last = place >> 1, last >> 1
        else:
            result = _node(result, neighbour)
        place, last = place >> 1, last >> 1
    return result if last == 0 else None


def grown(old: int, old_root: bytes, size: int, root: bytes, proof: Sequence[bytes]) -> bool:
    """Say whether the tree of ``size`` leaves grew from that of ``old`` leaves (RFC 9162, 2.1.4.2).

    Args:
        old: Leaves then.
        old_root: Root then.
        size: Leaves now.
        root: Root now.
        proof: Hashes in the order of the RFC.

    Returns:
        True only if both roots follow from the proof.
    """
    if not 0 < old <= size:
        return False
    if old == size:
        return not proof and old_root == root
    path = [old_root, *proof] if old & (old - 1) == 0 else list(proof)
    if not path:
        return False
    place, last = old - 1, size - 1
    while place % 2:
        place, last = place >> 1, last >> 1
    first = second = path[0]
    for neighbour in path[1:]:
        if last == 0:
            return False
        if place % 2 or place == last:
            first, second = _node(neighbour, first), _node(neighbour, second)
            while place % 2 == 0 and place:
                place, last = place >> 1, last >> 1
        else:
            second = _node(second, neighbour)
        place, last = place >> 1, last >> 1
    return last == 0 and first == old_root and second == root


def _node(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(b"\1" + left + right).digest()
