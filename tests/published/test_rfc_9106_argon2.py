"""RFC 9106 (2021), Argon2: the test vector of section 5.3, and the settings of section 4 that passphrases are kept with."""

from __future__ import annotations

import unicodedata

import pytest
from argon2.low_level import ARGON2_VERSION, core, ffi

from verifier.accounts.passphrase import fits, hashed

TAG = bytes.fromhex("0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659")


@pytest.mark.source("RFC 9106, 5.3: Argon2id test vector (from memory)")
def test_the_library_gives_the_tag_of_the_test_vector() -> None:
    out = ffi.new("uint8_t[]", 32)
    parts = [
        ffi.new("uint8_t[]", bytes([byte]) * count) for byte, count in ((1, 32), (2, 16), (3, 8), (4, 12))
    ]
    password, salt, secret, data = parts
    context = ffi.new(
        "argon2_context *",
        {
            "version": ARGON2_VERSION, "out": out, "outlen": 32, "pwd": password, "pwdlen": 32, "salt": salt,
            "saltlen": 16, "secret": secret, "secretlen": 8, "ad": data, "adlen": 12, "t_cost": 3, "m_cost": 32,
            "lanes": 4, "threads": 4, "allocate_cbk": ffi.NULL, "free_cbk": ffi.NULL, "flags": 0,
        },
    )  # fmt: skip
    assert core(context, 2) == 0  # 2 is argon2id
    assert bytes(ffi.buffer(out, 32)) == TAG


@pytest.mark.source(
    "RFC 9106, 4: second recommended option: argon2id, t=3, p=4, m=64 MiB, 128-bit salt (from memory)"
)
def test_passphrases_are_kept_with_the_recommended_settings() -> None:
    kept = hashed("reviewer-1", "four plain garden words")
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    salt, tag = kept.split("$")[4:]
    assert (len(salt) * 3 // 4, len(tag) * 3 // 4) == (16, 32)
    assert hashed("reviewer-1", "four plain garden words") != kept  # a salt of its own
    assert fits(kept, "four plain garden words")
    assert not fits(kept, "four plain garden word")
    assert not fits(None, "four plain garden words")


@pytest.mark.source("RFC 8265, 4.2: OpaqueString compares passwords in Unicode form NFC (from memory)")
def test_the_same_letters_typed_in_two_ways_are_the_same_passphrase() -> None:
    words = "größere Brücken über Flüsse"
    kept = hashed("engineer-1", unicodedata.normalize("NFC", words))
    assert fits(kept, unicodedata.normalize("NFD", words))
