"""Merkle tree over the ledger's lines: its root, and short proofs that a line is in it or that one tree grew from another.

Leaf i, counted from 0, is the line of record i + 1.

Source:
    RFC 9162 (2021), section 2.1.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

EMPTY_ROOT = hashlib.sha256(b"").digest()


def leaf_hash(line: bytes) -> bytes:
    """Hash one line (RFC 9162, 2.1.1: SHA-256 of 0x00 and the line).

    Args:
        line: Exact bytes, without newline.

    Returns:
        32 bytes.
    """
    return hashlib.sha256(b"\x00" + line).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash two neighbours (RFC 9162, 2.1.1: SHA-256 of 0x01, left and right).

    Args:
        left: 32 bytes.
        right: 32 bytes.

    Returns:
        32 bytes.
    """
    return hashlib.sha256(b"\x01" + left + right).digest()


def levels(leaves: Sequence[bytes]) -> list[list[bytes]]:
    """Compute every level of the tree, so that many proofs cost one pass.

    An odd node at the end of a level moves up unpaired, which gives the tree of the RFC.

    Args:
        leaves: Leaf hashes in order; may be empty.

    Returns:
        Levels from the leaves to the root.

    Source:
        RFC 9162, 2.1.1.
    """
    tree = [list(leaves) or [EMPTY_ROOT]]
    while len(tree[-1]) > 1:
        low = tree[-1]
        high = [node_hash(low[i], low[i + 1]) for i in range(0, len(low) - 1, 2)]
        tree.append(high + low[len(low) - len(low) % 2 :])
    return tree


def root(leaves: Sequence[bytes]) -> bytes:
    """Compute the root over leaf hashes.

    Args:
        leaves: Leaf hashes in order; may be empty.

    Returns:
        32 bytes.

    Source:
        RFC 9162, 2.1.1.
    """
    return levels(leaves)[-1][0]


def path(tree: Sequence[Sequence[bytes]], index: int) -> list[bytes]:
    """Make the path that proves a leaf to be in the tree.

    Args:
        tree: What :func:`levels` computed.
        index: Which leaf, from 0.

    Returns:
        Neighbour hashes from the leaf upwards.

    Raises:
        IndexError: If there is no such leaf.

    Source:
        RFC 9162, 2.1.3.1.
    """
    if not 0 <= index < len(tree[0]):
        raise IndexError(index)
    found = []
    for level in tree[:-1]:
        if index ^ 1 < len(level):
            found.append(level[index ^ 1])
        index >>= 1
    return found


def root_from_inclusion(leaf: bytes, index: int, size: int, proof: Sequence[bytes]) -> bytes | None:
    """Compute the root that an inclusion proof leads to.

    Args:
        leaf: Leaf hash.
        index: Its place, from 0.
        size: Number of leaves in the tree.
        proof: Path as :func:`path` makes it.

    Returns:
        The root, or None if the path has a wrong length for this place.

    Source:
        RFC 9162, 2.1.3.2.
    """
    if not 0 <= index < size:
        return None
    place, last, result = index, size - 1, leaf
    for neighbour in proof:
        if last == 0:
            return None
        if place % 2 or place == last:
            result = node_hash(neighbour, result)
            while place % 2 == 0 and place:
                place, last = place >> 1, last >> 1
        else:
            result = node_hash(result, neighbour)
        place, last = place >> 1, last >> 1
    return result if last == 0 else None


def consistency_proof(leaves: Sequence[bytes], old_size: int) -> list[bytes]:
    """Make the proof that the first ``old_size`` leaves are the tree somebody saw earlier.

    Args:
        leaves: Leaf hashes of the present tree.
        old_size: Number of leaves then, 1 to the present number.

    Returns:
        Hashes in the order of the RFC; empty if nothing was added.

    Raises:
        ValueError: If the old size is 0 or larger than the tree.

    Source:
        RFC 9162, 2.1.4.1.
    """
    if not 0 < old_size <= len(leaves):
        raise ValueError(f"old size {old_size} of {len(leaves)}")
    return _subproof(leaves, old_size, whole=True)


def consistent(old_size: int, old_root: bytes, size: int, new_root: bytes, proof: Sequence[bytes]) -> bool:
    """Check that a tree grew from an earlier one without changing it.

    Args:
        old_size: Leaves then; 0 is refused, since it would say nothing.
        old_root: Root then.
        size: Leaves now.
        new_root: Root now.
        proof: As :func:`consistency_proof` makes it.

    Returns:
        True only if both roots follow from the proof.

    Source:
        RFC 9162, 2.1.4.2.
    """
    if not 0 < old_size <= size:
        return False
    if old_size == size:
        return not proof and old_root == new_root
    hashes = [old_root, *proof] if old_size & (old_size - 1) == 0 else list(proof)
    if not hashes:
        return False
    place, last = old_size - 1, size - 1
    while place % 2:
        place, last = place >> 1, last >> 1
    old = new = hashes[0]
    for neighbour in hashes[1:]:
        if last == 0:
            return False
        if place % 2 or place == last:
            old, new = node_hash(neighbour, old), node_hash(neighbour, new)
            while place % 2 == 0 and place:
                place, last = place >> 1, last >> 1
        else:
            new = node_hash(new, neighbour)
        place, last = place >> 1, last >> 1
    return last == 0 and old == old_root and new == new_root


def _split(size: int) -> int:
    """Largest power of two below ``size``, which is at least 2."""
    return 1 << ((size - 1).bit_length() - 1)


def _subproof(leaves: Sequence[bytes], old_size: int, *, whole: bool) -> list[bytes]:
    if old_size == len(leaves):
        return [] if whole else [root(leaves)]
    split = _split(len(leaves))
    if old_size <= split:
        return [*_subproof(leaves[:split], old_size, whole=whole), root(leaves[split:])]
    return [*_subproof(leaves[split:], old_size - split, whole=False), root(leaves[:split])]
