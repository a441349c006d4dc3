"""Time stamps: OpenSSL plays the authority, and OpenSSL and rfc3161-client judge beside our own check."""

from __future__ import annotations

import hashlib
import shutil
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from rfc3161_client import VerificationError, VerifierBuilder, decode_timestamp_response
from stamp_authority import Authority, answering, make_authority, openssl

from verifier.errors import BadInput
from verifier.record import Ledger, device_signer, sign_head
from verifier.record.audit import FAILS, HOLDS, audit
from verifier.record.audit.timestamp import read_token
from verifier.record.bundle import write_bundle
from verifier.record.people import join_device
from verifier.record.stamps import fetch_stamp, issue_board, record_stamp, stamp_request, time_brackets


@pytest.fixture(scope="module", params=["EC", "RSA"])
def authority(request, tmp_path_factory) -> Authority:
    if shutil.which("openssl") is None:
        pytest.skip("openssl is not installed")
    return make_authority(tmp_path_factory.mktemp("tsa") / "a", kind=request.param)


@pytest.fixture
def ledger(tmp_path):
    folder = tmp_path / "pour"
    folder.mkdir()
    made = Ledger.open(folder, pour="L2-east")
    join_device(made, device_signer(tmp_path / "device.key"), datetime.now(UTC) - timedelta(minutes=5))
    yield made
    made.close()


def judged_by_the_library(response: bytes, data: bytes, root: bytes) -> bool:
    try:
        verifier = VerifierBuilder().add_root_certificate(x509.load_pem_x509_certificate(root)).build()
        return verifier.verify_message(decode_timestamp_response(response), data)
    except (VerificationError, ValueError):
        return False


@pytest.mark.source("RFC 3161 (2001), section 2.4; oracles: openssl ts, rfc3161-client")
def test_three_judges_agree(authority):
    data = b"pour-record/L2-east\n"
    response = authority.stamp(stamp_request(data.decode()))
    instant, name = read_token(response, data, [authority.chain])
    assert name == "CN=test authority"
    assert abs(
        datetime.strptime(instant, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC) - datetime.now(UTC)
    ) < timedelta(minutes=1)
    assert authority.judged_by_openssl(response, data)
    if authority.kind == "EC":  # the other sends its root along, in an order that the library does not read
        assert judged_by_the_library(response, data, (authority.folder / "root.pem").read_bytes())
    with pytest.raises(ValueError, match="over other bytes"):
        read_token(response, data + b"x", [authority.chain])
    assert not authority.judged_by_openssl(response, data + b"x")


@pytest.mark.source("RFC 5652 (2009), sections 5.4 and 5.6")
def test_no_changed_byte_gives_another_time(authority):
    """Every byte of a response is changed in turn. Our check may overlook a change of the wrapping, which OpenSSL refuses;
    it must never take another time, name or imprint, nor overlook a change in what is signed or in the signature."""
    data = b"head\n"
    response = authority.stamp(stamp_request(data.decode()))
    root = (authority.folder / "root.pem").read_bytes()
    true = read_token(response, data, [root])
    overlooked = set()
    for place in range(len(response)):
        changed = bytearray(response)
        changed[place] ^= 1 << (place % 8)
        try:
            answer = read_token(bytes(changed), data, [root])
        except ValueError:
            continue
        assert answer == true
        overlooked.add(place)
    instant = true[0].translate(str.maketrans("", "", "-:T")).encode()
    for signed in (hashlib.sha256(data).digest(), instant, response[-60:]):
        start = response.index(signed)
        assert not overlooked & set(range(start, start + len(signed)))


@pytest.mark.source("RFC 3161 (2001), section 2.3: the certificate is for time stamps, and critically so")
@pytest.mark.parametrize("purpose", ["timeStamping", "critical,serverAuth"])
def test_a_certificate_for_something_else(tmp_path, purpose, authority):
    other = make_authority(tmp_path / "other", purpose="critical,timeStamping")
    bad = make_authority(tmp_path / "bad", purpose=purpose)
    response = other.stamp(stamp_request("head\n"))
    with pytest.raises(ValueError, match=r"not one of those trusted|missing"):
        read_token(response, b"head\n", [authority.chain])
    made = openssl(bad.folder, "ts", "-query", "-data", "ts.cnf", "-sha256", "-cert", "-out", "q.tsq")
    assert made.returncode == 0
    made = openssl(
        bad.folder,
        "ts",
        "-reply",
        "-config",
        "ts.cnf",
        "-section",
        "one",
        "-queryfile",
        "q.tsq",
        "-out",
        "r.tsr",
    )
    assert made.returncode != 0, "openssl itself refuses to stamp with such a certificate"


@pytest.mark.source("RFC 3161 (2001), section 2.4.2: a refusal is not a time stamp")
def test_a_refusal(authority):
    refused = bytes.fromhex("30053003020102")
    with pytest.raises(ValueError, match=r"did not grant|can't be read"):
        read_token(refused, b"head\n", [authority.chain])
    with pytest.raises(ValueError, match="can't be read"):
        read_token(b"", b"head\n", [authority.chain])


@pytest.mark.source("RFC 3161 (2001), section 3.4: request and response over HTTP")
def test_over_the_wire(authority):
    with answering(authority) as url:
        response = fetch_stamp(url, stamp_request("head\n"))
    assert read_token(response, b"head\n", [authority.chain])
    with pytest.raises(BadInput, match="can't be reached"):
        fetch_stamp(url, stamp_request("head\n"), timeout_s=2)
    with pytest.raises(BadInput, match="no web address"):
        fetch_stamp("file:///etc/passwd", b"")


@pytest.mark.source(
    "RFC 3161 (2001), section 1: a token proves that a datum existed before a particular time"
)
def test_a_photo_lies_between_two_stamps(authority, ledger, tmp_path):
    """First stamp, then a board made from a head behind it, then the photo that shows it, then the second stamp."""
    device = device_signer(tmp_path / "device.key")

    def stamp():
        note = sign_head(ledger.head(), device)
        return record_stamp(
            ledger, note, authority.stamp(stamp_request(note)), authority.chain, device, datetime.now(UTC)
        )

    first = stamp()
    ids = [7, 70, 700, 17, 170]
    issue_board(ledger, 3, lambda root, pour, number: ids, device, datetime.now(UTC))
    digest = ledger.store.objects.put(b"photo with board 3")
    photo = ledger.append("photo", {"sha256": digest, "name": "p.jpg"}, device, datetime.now(UTC))
    measured = {"sha256": digest, "name": "p.jpg", "ids_seen": [*ids, 999]}
    ledger.append("measurement", measured, device, datetime.now(UTC))
    open_bracket = time_brackets(ledger)[0]
    assert open_bracket.not_before == first.body["instant"]
    assert "clock" in open_bracket.not_after_by
    second = stamp()
    closed = time_brackets(ledger)[0]
    assert (closed.not_before, closed.not_after) == (first.body["instant"], second.body["instant"])
    path = write_bundle(ledger, tmp_path / "b.zip", device, datetime.now(UTC)).path
    outcome = audit(path, authority_roots=[(authority.folder / "root.pem").read_bytes()])
    assert outcome.brackets == (closed,)
    states = {fact.topic: fact.state for fact in outcome.facts}
    assert states["time stamps"] == states["time brackets"] == HOLDS
    assert photo.seq == closed.seq
    stranger = make_authority(tmp_path / "stranger")
    outcome = audit(path, authority_roots=[stranger.chain])
    assert {fact.topic for fact in outcome.facts if fact.state == FAILS} == {"time stamps"}


@pytest.mark.source("RFC 3161 (2001), section 2.4.2: the imprint must be that of the datum")
def test_a_stamp_over_another_head_is_not_recorded(authority, ledger, tmp_path):
    device = device_signer(tmp_path / "device.key")
    note = sign_head(ledger.head(), device)
    response = authority.stamp(stamp_request("another head\n"))
    with pytest.raises(BadInput, match="over other bytes"):
        record_stamp(ledger, note, response, authority.chain, device, datetime.now(UTC))
    assert not ledger.records("token")
