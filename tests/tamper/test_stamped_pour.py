"""Time stamps of a pour, carried by hand or fetched: what tightens a bracket, and every stamp that must not be recorded."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta

import pytest
from record_world import failing, open_pour, state_of
from stamp_authority import answering, make_authority
from typer.testing import CliRunner

from verifier.cli.commands import app
from verifier.errors import BadInput
from verifier.pipeline.sealing.stamping import ask_stamp, authority_of, fetch_and_record, take_stamp
from verifier.pipeline.sealing.telling import timeline_of
from verifier.record.audit import FAILS, HOLDS, OPEN, audit
from verifier.record.bundle import write_bundle
from verifier.record.timeline import timeline_text


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    if shutil.which("openssl") is None:
        pytest.skip("openssl is not installed")
    return make_authority(tmp_path_factory.mktemp("tsa") / "a")


@pytest.fixture
def stamped(tmp_path, people_keys, authority):
    """A pour that began twenty minutes ago by the device's clock, with one photo; the authority reads the true time."""
    made = open_pour(tmp_path, people_keys, start=datetime.now(UTC) - timedelta(minutes=20))
    made.add_photo("p1.jpg", b"first original")
    chain = tmp_path / "authority.pem"
    chain.write_bytes(authority.chain)
    yield made, chain
    made.ledger.close()


def test_a_stamp_carried_by_hand_bounds_every_photo_before_it(stamped, tmp_path, authority):
    """Request out, response in: the bound is then the authority's instant and no longer a device's clock."""
    pour, chain = stamped
    asked = ask_stamp(pour.folder, tmp_path / "carried.tsq", pour.tick(), pour.device)
    late = pour.add_photo("p2.jpg", b"second original")  # work goes on while the request is away
    response = tmp_path / "carried.tsr"
    response.write_bytes(authority.stamp(asked.request.read_bytes()))
    record = take_stamp(pour.folder, response, chain, datetime.now(UTC), device=pour.device)
    first, second = (e for e in timeline_of(pour.folder) if e.what == "a photo was received")
    assert first.not_after == record.body["instant"]
    assert "time stamp over its record" in first.bounds
    assert second.original == late
    assert "by a device's clock" in second.bounds, "a stamp says nothing about what came behind its head"
    assert record.body["instant"] in timeline_text(timeline_of(pour.folder)).splitlines()[-1]
    pour.ledger.records()
    path = write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, datetime.now(UTC)).path
    trusting = audit(path, authority_roots=[(authority.folder / "root.pem").read_bytes()])
    assert state_of(trusting, "time stamps") == HOLDS
    assert not trusting.alarms
    stranger = make_authority(tmp_path / "stranger")
    assert failing(audit(path, authority_roots=[stranger.chain])) == {"time stamps"}


def test_a_request_and_its_head_are_not_written_over(stamped, tmp_path):
    """A head that is gone can't be matched with the response that comes back for it."""
    pour, _ = stamped
    ask_stamp(pour.folder, tmp_path / "q.tsq", pour.tick(), pour.device)
    with pytest.raises(BadInput, match="File exists"):
        ask_stamp(pour.folder, tmp_path / "q.tsq", pour.tick(), pour.device)


def test_a_stamp_over_a_head_of_another_record(stamped, tmp_path, people_keys, authority):
    """Refused: it is a sound stamp, and it proves nothing about this record."""
    pour, chain = stamped
    other = open_pour(tmp_path / "other", people_keys, pour="L3-west")
    asked = ask_stamp(other.folder, tmp_path / "q.tsq", other.tick(), other.device)
    response = tmp_path / "q.tsr"
    response.write_bytes(authority.stamp(asked.request.read_bytes()))
    with pytest.raises(BadInput, match="not one of this record"):
        take_stamp(pour.folder, response, chain, datetime.now(UTC), device=pour.device)
    assert not pour.ledger.records("token")
    other.ledger.close()


def test_a_history_written_anew_contradicts_its_old_stamp(stamped, tmp_path, people_keys, authority):
    """Alarm: time stamps. With all keys stolen a record can be written anew, but not the stamp over the old one."""
    pour, chain = stamped
    asked = ask_stamp(pour.folder, tmp_path / "q.tsq", pour.tick(), pour.device)
    response = tmp_path / "q.tsr"
    response.write_bytes(authority.stamp(asked.request.read_bytes()))
    take_stamp(pour.folder, response, chain, datetime.now(UTC), device=pour.device)
    anew = open_pour(tmp_path / "anew", people_keys)
    anew.add_photo("p1.jpg", b"kinder steel")
    with pytest.raises(BadInput, match="not one of this record"):
        take_stamp(anew.folder, response, chain, datetime.now(UTC), device=anew.device)
    silent = write_bundle(anew.ledger, tmp_path / "silent.zip", anew.device, anew.tick()).path
    body = dict(pour.ledger.records("token")[0].body)
    for name in ("response_sha256", "chain_sha256"):
        anew.ledger.store.objects.put(pour.ledger.store.objects.read(body[name]))
    anew.ledger.append("token", body, anew.device, anew.tick())  # a forger asks no pipeline
    path = write_bundle(anew.ledger, tmp_path / "b.zip", anew.device, anew.tick()).path
    assert state_of(audit(path), "time stamps") == FAILS
    # a forger who leaves the old stamp out meets no contradiction here: only whoever holds it outside can tell
    assert state_of(audit(silent), "time stamps") == OPEN
    anew.ledger.close()


def test_a_changed_response_or_the_wrong_certificates(stamped, tmp_path, authority):
    """Refused: nothing is recorded that the audit would not accept."""
    pour, chain = stamped
    asked = ask_stamp(pour.folder, tmp_path / "q.tsq", pour.tick(), pour.device)
    sound = authority.stamp(asked.request.read_bytes())
    response = tmp_path / "q.tsr"
    middle = len(sound) // 2
    response.write_bytes(sound[:middle] + bytes([sound[middle] ^ 1]) + sound[middle + 1 :])
    with pytest.raises(BadInput, match="does not hold"):
        take_stamp(pour.folder, response, chain, datetime.now(UTC), device=pour.device)
    response.write_bytes(sound)
    strange = tmp_path / "strange.pem"
    strange.write_bytes(make_authority(tmp_path / "stranger").chain)
    with pytest.raises(BadInput, match="not one of those trusted"):
        take_stamp(pour.folder, response, strange, datetime.now(UTC), device=pour.device)
    with pytest.raises(BadInput, match="can't be read"):
        take_stamp(pour.folder, response, tmp_path / "absent.pem", datetime.now(UTC), device=pour.device)
    assert not pour.ledger.records("token")


def test_the_authority_of_a_pour_is_asked_over_the_network(stamped, tmp_path, authority):
    pour, chain = stamped
    assert authority_of(pour.folder) is None
    shutil.copy(chain, pour.folder / "tsa.pem")
    with answering(authority) as url:
        (pour.folder / "authority.toml").write_text(
            f'url = "{url}"\ncertificates = "tsa.pem"\n', encoding="utf-8"
        )
        configured = authority_of(pour.folder)
        assert configured is not None
        record = fetch_and_record(pour.folder, configured, datetime.now(UTC), pour.device)
    assert pour.ledger.records("token") == (record,)
    with pytest.raises(BadInput, match="can't be reached"):
        fetch_and_record(pour.folder, configured, datetime.now(UTC), pour.device)
    (pour.folder / "authority.toml").write_text("address = 'x'\n", encoding="utf-8")
    with pytest.raises(BadInput, match="can't be read"):
        authority_of(pour.folder)


def test_the_command_says_what_to_do_next(stamped, tmp_path, monkeypatch, authority):
    pour, chain = stamped
    monkeypatch.setattr("verifier.pipeline.sealing.recording.device_signer", lambda: pour.device)
    monkeypatch.setattr("verifier.pipeline.sealing.stamping.device_signer", lambda: pour.device)
    said = CliRunner().invoke(app, ["stamp", str(pour.folder), "--request-out", str(tmp_path / "q.tsq")])
    assert said.exit_code == 0
    assert "--response-in" in said.output
    (tmp_path / "q.tsr").write_bytes(authority.stamp((tmp_path / "q.tsq").read_bytes()))
    command = ["stamp", str(pour.folder), "--response-in", str(tmp_path / "q.tsr")]
    with pytest.raises(BadInput, match="which certificates to trust"):
        CliRunner().invoke(app, command, catch_exceptions=False)
    said = CliRunner().invoke(app, [*command, "--certificates", str(chain)], catch_exceptions=False)
    assert said.exit_code == 0
    assert "says that records 1 to" in said.output


def stamped_now(pour, chain, tmp_path, authority, name, at):
    asked = ask_stamp(pour.folder, tmp_path / f"{name}.tsq", at, pour.device)
    response = tmp_path / f"{name}.tsr"
    response.write_bytes(authority.stamp(asked.request.read_bytes()))
    return take_stamp(pour.folder, response, chain, at, head=asked.head, device=pour.device)


@pytest.mark.parametrize(
    ("hours", "says"), [(-30, "stands behind a time stamp"), (30, "shows that it existed")]
)
def test_a_clock_set_wrong_on_purpose_is_caught_by_the_stamps_around_it(
    tmp_path, people_keys, authority, hours, says
):
    """Alarm: device clocks. Photos of today dated to yesterday or tomorrow, in a record that never goes back in itself."""
    pour = open_pour(tmp_path, people_keys, start=datetime.now(UTC) + timedelta(hours=hours))
    chain = tmp_path / "authority.pem"
    chain.write_bytes(authority.chain)
    stamped_now(pour, chain, tmp_path, authority, "first", pour.tick())
    pour.ledger.records()
    pour.add_photo("p1.jpg", b"first original")
    stamped_now(pour, chain, tmp_path, authority, "second", pour.tick())
    pour.ledger.records()
    path = write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path
    outcome = audit(path)
    assert failing(outcome) == {"device clocks"}
    (alarm,) = outcome.alarms
    assert any(says in detail for detail in alarm.details)
    assert state_of(outcome, "order") == HOLDS, "in itself the record never goes back: only the stamps tell"
    pour.ledger.close()
