"""Attacks on time and place: boards of other pours, boards made later, ids that follow from nothing; each test states its alarm.

The attacker has write access to everything and holds the device's key unless a test says otherwise, so that no alarm is owed to a
mere checksum that could be computed again.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from record_world import failing, open_pour, state_of, tool
from stamp_authority import make_authority

from verifier.record.audit import FAILS, HOLDS, OPEN, audit
from verifier.record.bundle import write_bundle
from verifier.record.stamps import issue_board, stamp_request


def test_a_photo_with_a_board_of_another_pour_is_not_bounded(pour, tmp_path):
    """No bracket from below: the markers seen belong to no board issued from this record."""
    pour.add_photo("p3.jpg", b"with another board", ids=[801, 802, 803, 804, 805])
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    outcome = audit(tmp_path / "b.zip")
    assert outcome.brackets[-1].not_before is None
    assert state_of(outcome, "time brackets") == OPEN


def test_a_photo_that_shows_a_board_made_later(pour, tmp_path):
    """Alarm: time brackets. A photo can't show markers that follow from a head in which it already lay; clocks don't matter."""
    ids = [11, 22, 33, 44, 55]
    digest = pour.add_photo("early.jpg", b"claimed to be early")
    issue_board(pour.ledger, 1, lambda root, name, number: ids, pour.device, pour.now)
    body = {"sha256": digest, "name": "early.jpg", "ids_seen": ids}
    pour.ledger.append("measurement", body, pour.device, pour.now)
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.now)
    assert failing(audit(tmp_path / "b.zip")) == {"time brackets"}


def test_a_photo_of_every_standing_board_dates_nothing(pour, tmp_path):
    """No bracket from below: markers count as they lie on one board, for a wall of standing boards shows every marker there is."""
    ids = [11, 22, 33, 44, 55]
    issue_board(pour.ledger, 101, lambda root, name, number: ids, pour.device, pour.tick())
    digest = pour.add_photo("wall.jpg", b"taken last month, with fifty-eight standing boards in it")
    wall = [{"number": n + 1, "ids": list(range(17 * n, 17 * n + 17))} for n in range(58)]
    body = {"sha256": digest, "name": "wall.jpg", "ids_seen": [i for one in wall for i in one["ids"]]}
    pour.ledger.append("measurement", body | {"boards_seen": wall}, pour.device, pour.tick())
    digest = pour.add_photo("other.jpg", b"shows a board of the same number that another pour issued")
    other = [{"number": 101, "pour": "L3-west", "ids": ids}]
    body = {"sha256": digest, "name": "other.jpg", "ids_seen": ids, "boards_seen": other}
    pour.ledger.append("measurement", body, pour.device, pour.tick())
    digest = pour.add_photo("board.jpg", b"shows the board")
    own = [{"number": 101, "pour": "L2-east", "ids": ids}]
    body = {"sha256": digest, "name": "board.jpg", "ids_seen": ids, "boards_seen": own}
    pour.ledger.append("measurement", body, pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    brackets = {b.name: b.not_before for b in audit(tmp_path / "b.zip").brackets}
    assert [brackets[name] is None for name in ("wall.jpg", "other.jpg", "board.jpg")] == [True, True, False]


def test_a_photo_that_only_says_to_show_a_board(pour, tmp_path):
    """No bracket from below: markers count where they were measured, and measuring again tells others (replay)."""
    ids = [11, 22, 33, 44, 55]
    issue_board(pour.ledger, 1, lambda root, name, number: ids, pour.device, pour.tick())
    digest = pour.ledger.store.objects.put(b"no board in it")
    body = {"sha256": digest, "name": "p3.jpg", "ids_seen": ids}
    pour.ledger.append("photo", body, pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert audit(tmp_path / "b.zip").brackets[-1].not_before is None


def test_marker_ids_that_do_not_follow_from_the_head(pour, tmp_path):
    """Alarm: boards, when the derivation is at hand; without it the audit says that it was not recomputed."""
    issue_board(pour.ledger, 1, lambda root, name, number: [1, 2, 3, 4, 5], pour.device, pour.tick())
    write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick())
    assert state_of(audit(tmp_path / "b.zip"), "boards") == OPEN
    derive = lambda root, name, number: [6, 7, 8, 9, 10]  # noqa: E731 - a stand-in of one line
    assert failing(audit(tmp_path / "b.zip", board_ids=derive)) == {"boards"}


# --- authorities


@pytest.fixture(scope="module")
def own_authority(tmp_path_factory):
    tool("openssl")
    return make_authority(tmp_path_factory.mktemp("own") / "a")


def stamped(pour, authority, note: str) -> dict:
    """Body of a token record over a head, with the response and the certificates stored."""
    response = authority.stamp(stamp_request(note))
    names = [pour.ledger.store.objects.put(content) for content in (response, authority.chain)]
    return {"checkpoint": note, "response_sha256": names[0], "chain_sha256": names[1]}


def test_an_authority_of_ones_own(tmp_path, people_keys, own_authority):
    """NOT an alarm without a certificate to hold it against, but nothing that rests on it is proven; with one: time stamps.
    Anybody can play an authority with a clock of his own."""
    pour = open_pour(tmp_path, people_keys, start=datetime.now(UTC) - timedelta(minutes=20))
    pour.add_photo("p1.jpg", b"first original")
    pour.ledger.append("token", stamped(pour, own_authority, pour.note()), pour.device, pour.tick())
    path = write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path
    unvouched = audit(path)
    assert failing(unvouched) == set()
    for topic in ("time stamps", "device clocks", "time brackets"):
        assert state_of(unvouched, topic) == OPEN, topic
    assert "nobody vouched for" in unvouched.brackets[0].not_after_by
    stranger = make_authority(tmp_path / "stranger")
    assert failing(audit(path, authority_roots=[stranger.chain])) == {"time stamps"}
    trusted = audit(path, authority_roots=[own_authority.chain])
    assert [state_of(trusted, topic) for topic in ("time stamps", "device clocks")] == [HOLDS, HOLDS]
    assert state_of(trusted, "time brackets") == OPEN, "no board bounds it from below"
    pour.ledger.close()


def test_a_stamp_over_other_bytes(tmp_path, people_keys, own_authority):
    """Alarm: time stamps. A sound response, recorded beside a head that it is not over."""
    pour = open_pour(tmp_path, people_keys, start=datetime.now(UTC) - timedelta(minutes=20))
    body = stamped(pour, own_authority, pour.note())
    pour.add_photo("p1.jpg", b"first original")
    pour.ledger.append("token", {**body, "checkpoint": pour.note()}, pour.device, pour.tick())
    path = write_bundle(pour.ledger, tmp_path / "b.zip", pour.device, pour.tick()).path
    fact = next(
        f for f in audit(path, authority_roots=[own_authority.chain]).facts if f.topic == "time stamps"
    )
    assert fact.state == FAILS
    assert any("over other bytes" in detail for detail in fact.details)
    pour.ledger.close()
