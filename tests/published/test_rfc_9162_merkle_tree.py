"""Merkle tree: reference leaves, roots and proofs that the transparency-log implementations share.

Leaves and roots are those of the reference implementation of RFC 6962 (from memory; a wrong digit could not pass); the proofs
were read in transparency-dev/merkle, testdata/inclusion and testdata/consistency (Apache-2.0).
"""

from __future__ import annotations

import base64
import hashlib

import pytest

from verifier.record import merkle
from verifier.record.audit.tree import grown, leaf, root_over, root_through

INPUTS = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]
ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
LEAVES = [merkle.leaf_hash(bytes.fromhex(text)) for text in INPUTS]
INCLUSION = {
    0: [
        "lqKW0iTyhcZ77pPDD4owkVfw2qNdxbh+QQt4YwoJz8c=",
        "Xwg/ChozygdqlSeYMlgNs+DvRYS9/x9UyKNg9Q3jAx4=",
        "a0eq8p7jwq+a+Im8H7klTavTEXfxYjLdaqsDXKOb9uQ=",
    ],
    5: [
        "vBoGQ7EuTS18d5GPROD095qDi2z57FtcKD4fTYhZnms=",
        "yoVOoSjtBQtBs1/8G4e46yveRh6eO1WW7Oa51ZdaCuA=",
        "037kGJdt2VdTwcc4Yrk5j6Kiz5tP8P3+izDNlSCWFLc=",
    ],
}
CONSISTENCY = {
    (1, 8): INCLUSION[0],
    (6, 8): [
        "DrxdNDf74tsVi58Sah0RjjCBgQMdCpSfje3t68VY72o=",
        "yoVOoSjtBQtBs1/8G4e46yveRh6eO1WW7Oa51ZdaCuA=",
        "037kGJdt2VdTwcc4Yrk5j6Kiz5tP8P3+izDNlSCWFLc=",
    ],
    (2, 5): ["Xwg/ChozygdqlSeYMlgNs+DvRYS9/x9UyKNg9Q3jAx4=", "vBoGQ7EuTS18d5GPROD095qDi2z57FtcKD4fTYhZnms="],
    (6, 7): [
        "DrxdNDf74tsVi58Sah0RjjCBgQMdCpSfje3t68VY72o=",
        "sIaT7C5yFZcTBkHoIR5+7cy0wmQTlj7ubB4u0W/7Gl8=",
        "037kGJdt2VdTwcc4Yrk5j6Kiz5tP8P3+izDNlSCWFLc=",
    ],
}


def raw(texts):
    return [base64.b64decode(text) for text in texts]


@pytest.mark.source(
    "RFC 9162 (2021), section 2.1.1; reference roots of the RFC 6962 implementations, from memory"
)
@pytest.mark.parametrize("size", range(1, 9))
def test_roots(size):
    assert merkle.root(LEAVES[:size]).hex() == ROOTS[size - 1]
    assert root_over([leaf(bytes.fromhex(text)) for text in INPUTS[:size]]).hex() == ROOTS[size - 1]


@pytest.mark.source("RFC 9162 (2021), section 2.1.1: the root over nothing is the hash of nothing")
def test_empty():
    assert merkle.root([]) == hashlib.sha256(b"").digest() == root_over([])


@pytest.mark.source("RFC 9162 (2021), section 2.1.3; transparency-dev/merkle testdata/inclusion (read)")
@pytest.mark.parametrize("index", INCLUSION)
def test_inclusion(index):
    proof = raw(INCLUSION[index])
    assert merkle.path(merkle.levels(LEAVES), index) == proof
    for through in (merkle.root_from_inclusion, root_through):
        assert through(LEAVES[index], index, 8, proof).hex() == ROOTS[7]
        assert through(LEAVES[index], index, 8, proof[:-1]) != bytes.fromhex(ROOTS[7])
        assert through(LEAVES[index], index, 8, [*proof, proof[0]]) is None
        assert through(LEAVES[index], index ^ 1, 8, proof).hex() != ROOTS[7]


@pytest.mark.source("RFC 9162 (2021), section 2.1.4; transparency-dev/merkle testdata/consistency (read)")
@pytest.mark.parametrize("sizes", CONSISTENCY)
def test_consistency(sizes):
    old, new = sizes
    proof, old_root, root = (
        raw(CONSISTENCY[sizes]),
        bytes.fromhex(ROOTS[old - 1]),
        bytes.fromhex(ROOTS[new - 1]),
    )
    assert merkle.consistency_proof(LEAVES[:new], old) == proof
    for agree in (merkle.consistent, grown):
        assert agree(old, old_root, new, root, proof)
        # the changes that the published negative cases make
        assert not agree(old, root, new, old_root, proof), "swapped-roots"
        assert not agree(old, old_root, new, root, []), "empty-proof"
        assert not agree(old, old_root, new, root, proof[:-1]), "truncated-proof"
        assert not agree(old, old_root, new, root, [b"", *proof]), "preceding-garbage"
        assert not agree(old, old_root, new, root, [*proof, b""]), "trailing-garbage"
        assert not agree(old, old_root, new, root, [*proof, root]), "trailing-root2"
        assert not agree(old, b"wrong", new, root, proof), "wrong-root1"
        assert not agree(old, old_root, new, b"wrong", proof), "wrong-root2"
        assert not agree(old + 1, old_root, new, root, proof), "size1-plus-1"
        assert not agree(old, old_root, new * 2, root, proof), "size2-mul-2"
        for place in range(len(proof)):
            bad = [*proof]
            bad[place] = bytes([bad[place][0] ^ 16]) + bad[place][1:]
            assert not agree(old, old_root, new, root, bad), "modified-proof"


@pytest.mark.source("RFC 9162 (2021), sections 2.1.3.2 and 2.1.4.2, every tree of up to 40 leaves")
def test_every_proof_of_small_trees():
    leaves = [merkle.leaf_hash(bytes([n])) for n in range(40)]
    roots = [merkle.root(leaves[:n]) for n in range(41)]
    for size in range(1, 41):
        tree = merkle.levels(leaves[:size])
        for index in range(size):
            proof = merkle.path(tree, index)
            assert merkle.root_from_inclusion(leaves[index], index, size, proof) == roots[size]
            assert root_through(leaves[index], index, size, proof) == roots[size]
            old = index + 1
            proof = merkle.consistency_proof(leaves[:size], old)
            assert merkle.consistent(old, roots[old], size, roots[size], proof)
            assert grown(old, roots[old], size, roots[size], proof)
            assert not grown(old, roots[old - 1], size, roots[size], proof)


@pytest.mark.source("RFC 9162 (2021), section 2.1.4.1: 0 < m; a proof from nothing would say nothing")
def test_size_nought_is_refused():
    assert not merkle.consistent(0, merkle.EMPTY_ROOT, 8, bytes.fromhex(ROOTS[7]), [])
    assert not grown(0, merkle.EMPTY_ROOT, 8, bytes.fromhex(ROOTS[7]), [])
