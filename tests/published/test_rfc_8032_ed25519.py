"""Ed25519: the test vectors of RFC 8032, section 7.1 (read from memory; a wrong digit could not pass)."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from verifier.record import DeviceSigner
from verifier.record.audit.signatures import sound
from verifier.record.public_keys import key_id, public_pem, signature_sound

VECTORS = {
    "TEST 1": (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b"
        "d25bf5f0595bbe24655141438e7a100b",
    ),
    "TEST 2": (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c"
        "387b2eaeb4302aeeb00d291612bb0c00",
    ),
    "TEST 3": (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659"
        "4a7c15e9716ed28dc027beceea1ec40a",
    ),
}


@pytest.mark.source("RFC 8032 (2017), section 7.1, from memory")
@pytest.mark.parametrize("name", VECTORS)
def test_signature(name):
    secret, public, message, signature = (bytes.fromhex(text) for text in VECTORS[name])
    signer = DeviceSigner("vector", Ed25519PrivateKey.from_private_bytes(secret))
    assert signer.public == public
    assert signer.sign(message) == signature
    for check in (signature_sound, sound):
        assert check(public, signature, message)
        assert not check(public, signature, message + b"x")
        assert not check(public, bytes([signature[0] ^ 1]) + signature[1:], message)
        assert not check(public, signature[:-1], message)


@pytest.mark.source("RFC 8032 (2017), section 5.1.7: S must be below the group order")
def test_a_second_form_of_the_same_signature_is_refused():
    _, public, message, signature = (bytes.fromhex(text) for text in VECTORS["TEST 2"])
    order = 2**252 + 27742317777372353535851937790883648493
    again = (int.from_bytes(signature[32:], "little") + order).to_bytes(32, "little")
    assert not signature_sound(public, signature[:32] + again, message)
    assert not sound(public, signature[:32] + again, message)


@pytest.mark.source("RFC 8410 (2018), section 10.1, example public key, from memory")
def test_public_key_file():
    public = bytes.fromhex("19bf44096984cdfe8541bac167dc3b96c85086aa30b6b6cb0c5c38ad703166e1")
    pem = "-----BEGIN PUBLIC KEY-----\nMCowBQYDK2VwAyEAGb9ECWmEzf6FQbrBZ9w7lshQhqowtrbLDFw4rXAxZuE=\n-----END PUBLIC KEY-----\n"
    assert public_pem(public) == pem
    assert len(key_id(public)) == 64
