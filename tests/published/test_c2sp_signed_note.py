"""Heads as signed notes: public example of the C2SP signed-note format."""

from __future__ import annotations

import base64

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from verifier.errors import BadInput, RecordDamaged
from verifier.record import DeviceSigner, Head, read_head, sign_head
from verifier.record.audit import tree
from verifier.record.checkpoint import add_signature, note_key_hash, signers_of

NOTE = (
    "This is an example message.\n\n"
    "— example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
)
NAME, HASH, KEY = ["example.com/foo", "530d903a", "AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"]
PUBLIC = base64.b64decode(KEY)[1:]


@pytest.mark.source("C2SP signed-note, example note and verifier key (read)")
def test_key_hash():
    assert base64.b64decode(KEY)[:1] == b"\x01", "algorithm Ed25519"
    assert note_key_hash(NAME, PUBLIC).hex() == HASH


@pytest.mark.source("C2SP signed-note, example note and verifier key (read)")
def test_signature():
    assert signers_of(NOTE, {"foo": PUBLIC}) == ["foo"]
    assert signers_of(NOTE, {}) == [], "lines of unknown keys are passed over"
    with pytest.raises(RecordDamaged, match="isn't sound"):
        signers_of(NOTE.replace("example message", "exemple message"), {"foo": PUBLIC})


@pytest.mark.source("C2SP tlog-checkpoint, note text: origin, size, root, extension lines (read)")
def test_a_head_is_a_checkpoint():
    signer = DeviceSigner("d", Ed25519PrivateKey.from_private_bytes(bytes(range(32))))
    witness = DeviceSigner("w", Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33))))
    head = Head("pour-record/L2-east", 20852163, bytes(32), bytes(range(32)))
    note = add_signature(sign_head(head, signer), witness)
    assert note.split("\n")[:3] == ["pour-record/L2-east", "20852163", base64.b64encode(bytes(32)).decode()]
    assert read_head(note) == head
    assert signers_of(note, {"d": signer.public, "w": witness.public}) == ["d", "w"]
    seen = tree.read_head(note)
    assert seen is not None
    assert tree.head_signers(seen, {"d": signer.public, "w": witness.public}) == (["d", "w"], True)


@pytest.mark.source(
    "C2SP tlog-checkpoint, note text: a decimal size without leading zeroes, a root of 32 bytes (read)"
)
@pytest.mark.parametrize(
    "change",
    [
        lambda n: n.replace("\n5\n", "\n05\n"),
        lambda n: n.replace("\n5\n", "\n-5\n"),
        lambda n: n.replace("AAAA=", "AAA="),
        lambda n: n.replace("\n5\n", "\n5\nextra\n"),
        lambda n: n.split("\n\n")[0],
    ],
)
def test_what_is_no_checkpoint(change):
    signer = DeviceSigner("d", Ed25519PrivateKey.from_private_bytes(bytes(range(32))))
    note = sign_head(Head("pour-record/P", 5, bytes(32), bytes(32)), signer)
    assert change(note) != note
    with pytest.raises(BadInput, match="no checkpoint"):
        read_head(change(note))
    assert tree.read_head(change(note)) is None
