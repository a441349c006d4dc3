"""Attacks with keys: stolen, revoked, introduced by stealth, used twice; each test states its alarm.

The attacker has write access to everything and holds the device's key unless a test says otherwise, so that no alarm is owed to a
mere checksum that could be computed again.
"""

from __future__ import annotations

import base64
import hashlib

import forgery
import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from record_world import PASSPHRASE, failing

from verifier.errors import NotAllowed
from verifier.record import PersonSigner, device_signer, make_person_key
from verifier.record.audit import audit
from verifier.record.audit.release_text import same_name
from verifier.record.audit.signatures import sound
from verifier.record.bundle import write_bundle
from verifier.record.people import enrol, enrolment, join_device, release, revoke
from verifier.record.public_keys import key_id, signature_sound
from verifier.record.standing import enrolment_text, folded


def test_stolen_laptop_with_a_revoked_key(pour, tmp_path):
    """Refused by place in the ledger, whatever time the thief writes; slipped in: persons. What came before stays."""
    pour.ledger.append("remark", {"text": "signed before the theft"}, pour.person("reviewer-1"), pour.tick())
    revoke(pour.ledger, "reviewer-1", "laptop stolen", pour.person("eor-1"), pour.tick())
    approval = pour.approval()
    with pytest.raises(NotAllowed, match="was revoked by record"):
        release(pour.ledger, approval, pour.person("reviewer-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "clean.zip", pour.device, pour.tick())
    assert failing(audit(tmp_path / "clean.zip")) == set()
    forgery.slip_in(pour.ledger, "release", approval.body(), pour.person("reviewer-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert failing(audit(tmp_path / "b.zip")) == {"persons"}


def test_a_second_key_in_the_reviewers_name(pour):
    """Refused: one key a person; and whoever is introduced stands in the record with the introducer."""
    request = enrolment(
        pour.ledger.pour, "reviewer-1", ["reviewer"], PersonSigner(pour.keys / "thief", PASSPHRASE)
    )
    with pytest.raises(NotAllowed, match="already has a valid key"):
        enrol(pour.ledger, request, pour.person("engineer-1"), pour.tick())


def test_enrol_somebody_elses_key_in_ones_own_name(pour):
    """Refused: the new key must sign its own enrolment, for this person, role and pour."""
    request = enrolment("another pour", "thief", ["reviewer"], PersonSigner(pour.keys / "thief", PASSPHRASE))
    with pytest.raises(NotAllowed, match="did not sign its own enrolment"):
        enrol(pour.ledger, request, pour.person("engineer-1"), pour.tick())


def test_a_device_introduces_a_reviewer(pour):
    """Refused: a device proves a device."""
    request = enrolment(
        pour.ledger.pour, "thief", ["reviewer"], PersonSigner(pour.keys / "thief", PASSPHRASE)
    )
    with pytest.raises(NotAllowed, match="not by a device"):
        enrol(pour.ledger, request, pour.device, pour.tick())


def test_the_site_engineer_revokes_the_reviewer(pour):
    """Refused: only the own key, or by a reviewer or the engineer of record."""
    with pytest.raises(NotAllowed, match="may revoke only the own key"):
        revoke(pour.ledger, "reviewer-1", "in the way", pour.person("engineer-1"), pour.tick())


def test_a_key_signs_once(pour):
    """An opened key can't be used behind the person's back for a second act."""
    signer = pour.person("reviewer-1")
    pour.ledger.append("remark", {"text": "one"}, signer, pour.tick())
    with pytest.raises(NotAllowed, match="has given it"):
        pour.ledger.append("remark", {"text": "two"}, signer, pour.tick())
    with pytest.raises(NotAllowed, match="doesn't open this key"):
        pour.ledger.append(
            "remark", {"text": "three"}, PersonSigner(pour.keys / "reviewer-1", "a guess"), pour.tick()
        )


# --- keys that are none


def points_of_small_order() -> set[bytes]:
    """All encodings of points whose order divides 8, worked out from the curve (RFC 8032, 5.1), as the reader takes them."""
    p = 2**255 - 19
    d = -121665 * pow(121666, -1, p) % p
    order = 2**252 + 27742317777372353535851937790883648493

    def add(one, two):
        k = d * one[0] * two[0] * one[1] * two[1] % p
        x = (one[0] * two[1] + two[0] * one[1]) * pow(1 + k, -1, p) % p
        return x, (one[1] * two[1] + one[0] * two[0]) * pow(1 - k, -1, p) % p

    def times(number, point):
        out = (0, 1)
        while number:
            out, point, number = add(out, point) if number & 1 else out, add(point, point), number >> 1
        return out

    found = set()
    for y in range(2, 40):
        x2 = (y * y - 1) * pow(d * y * y + 1, -1, p) % p
        x = pow(x2, (p + 3) // 8, p)
        x = x if x * x % p == x2 else x * pow(2, (p - 1) // 4, p) % p
        if x * x % p == x2:
            rest = times(order, (x, y))
            found |= {times(k, rest)[1] for k in range(8)}
    values = found | {y + p for y in found if y + p < 2**255}
    return {(y | sign << 255).to_bytes(32, "little") for y in values for sign in (0, 1)}


def test_a_key_under_which_anybody_can_sign_anything(pour):
    """Refused, and never sound. OpenSSL takes one signature for many texts under such a key, so that whoever has it can deny
    everything later ("Taming the many EdDSAs", 2020, from memory); record and audit take it for none."""
    weak = points_of_small_order()
    assert len(weak) == 14
    seed = hashlib.sha512(bytes(32)).digest()[:32]
    scalar = int.from_bytes(seed, "little") & (1 << 254) - 8 | 1 << 254
    base = Ed25519PrivateKey.from_private_bytes(bytes(32)).public_key().public_bytes_raw()
    order = 2**252 + 27742317777372353535851937790883648493
    anything = base + (scalar % order).to_bytes(32, "little")
    taken = 0
    for public in weak:
        for number in range(30):
            text = f"text {number}".encode()
            try:
                Ed25519PublicKey.from_public_bytes(public).verify(anything, text)
            except (InvalidSignature, ValueError):
                continue
            taken += 1
            assert not signature_sound(public, anything, text)
            assert not sound(public, anything, text)
    assert taken > 100, "the library itself takes them: the guard is needed"
    identity = b"\1" + bytes(31)
    request = {
        "person": "nobody",
        "roles": ["reviewer"],
        "public_key": base64.b64encode(identity).decode(),
        "proof": base64.b64encode(anything).decode(),
    }
    with pytest.raises(NotAllowed, match="did not sign its own enrolment"):
        enrol(pour.ledger, request, pour.person("engineer-1"), pour.tick())


def test_one_key_for_a_device_and_a_person(pour, tmp_path):
    """Refused; slipped in: persons. A device's key, which needs no passphrase, must not count as a person's own."""
    text = enrolment_text(pour.ledger.pour, "reviewer-2", ["reviewer"])
    request = {
        "person": "reviewer-2",
        "roles": ["reviewer"],
        "public_key": base64.b64encode(pour.device.public).decode(),
        "proof": base64.b64encode(pour.device.sign(text)).decode(),
    }
    with pytest.raises(NotAllowed, match="already enrolled"):
        enrol(pour.ledger, request, pour.person("engineer-1"), pour.tick())
    forgery.slip_in(pour.ledger, "key.enrol", request, pour.person("engineer-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert "persons" in failing(audit(tmp_path / "b.zip"))


def test_the_head_and_the_seal_signed_with_a_revoked_key(pour, tmp_path):
    """Alarms: head and seal. Whoever holds a stolen device can sign, but not after the record says that it is revoked."""
    stolen = device_signer(tmp_path / "stolen.key")
    join_device(pour.ledger, stolen, pour.tick())
    body = {"key": key_id(stolen.public), "person": stolen.name, "reason": "stolen"}
    write_bundle(pour.ledger, tmp_path / "before.zip", stolen, pour.tick())
    assert failing(audit(tmp_path / "before.zip")) == set()
    pour.ledger.append("key.revoke", body, pour.person("reviewer-1"), pour.tick())
    write_bundle(pour.ledger, tmp_path / "after.zip", stolen, pour.tick())
    assert failing(audit(tmp_path / "after.zip")) == {"head", "seal"}


@pytest.mark.parametrize(
    "spelled",
    ["Jose\u0301 N.", "jos\u00e9 n.", "Jos\u00e9\u200b N.", "Jos\u00e9\u00a0N.", "\uff2aos\u00e9 N."],
    ids=ascii,
)
def test_the_same_person_under_a_second_spelling(pour, tmp_path, spelled):
    """Refused; slipped in: persons. Who documents as one spelling of a name can't release as another that reads alike.
    NOT caught: letters of another script that only look alike, or a second name altogether."""
    make_person_key(tmp_path / "jose", PASSPHRASE, rounds=1)
    signer = PersonSigner(tmp_path / "jose", PASSPHRASE)
    request = enrolment(pour.ledger.pour, "Jos\u00e9 N.", ["reviewer"], signer)
    enrol(pour.ledger, request, pour.person("eor-1"), pour.tick())
    digest = pour.ledger.store.objects.put(b"own steel")
    body = {"sha256": digest, "name": "own.jpg"}
    pour.ledger.append("photo", body, pour.device.on_behalf_of(spelled), pour.tick())
    approval = pour.approval("Jos\u00e9 N.")
    signer = PersonSigner(tmp_path / "jose", PASSPHRASE)
    with pytest.raises(NotAllowed, match="documented or corrected steel"):
        release(pour.ledger, approval, signer, pour.tick())
    again = enrolment(pour.ledger.pour, spelled, ["reviewer"], pour.person("thief"))
    with pytest.raises(NotAllowed, match=r"already has a valid key|no plain name"):
        enrol(pour.ledger, again, pour.person("eor-1"), pour.tick())
    slipping = PersonSigner(tmp_path / "jose", PASSPHRASE)
    forgery.slip_in(pour.ledger, "release", approval.body(), slipping, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert failing(audit(tmp_path / "b.zip")) == {"persons"}


def test_record_and_audit_fold_names_alike():
    """Written twice on purpose, so that neither can fail unseen."""
    for name in ("Jose\u0301 N.", "STRASSE", "stra\u00dfe", "a\u200bb", "\ufb01x", "\u0130", "\u01c5", " x "):
        assert folded(name) == same_name(name)
    assert folded("STRASSE") == folded("stra\u00dfe")
    assert folded("reviewer-1") != folded("reviewer-2")


def test_steel_that_nobody_says_to_have_documented(pour, tmp_path):
    """NOT an alarm: a caution in the fact on persons, since nobody can be kept from releasing the own work that names nobody.
    The devices that joined are told beside the people."""
    digest = pour.ledger.store.objects.put(b"by nobody")
    pour.ledger.append("photo", {"sha256": digest, "name": "x.jpg"}, pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    fact = next(f for f in audit(tmp_path / "b.zip").facts if f.topic == "persons")
    number = len(pour.ledger.records())
    assert any(f"record {number} documents steel and names nobody" in d for d in fact.details)
    assert any(d.startswith(f"{pour.device.name}, a device that joined by itself") for d in fact.details)
