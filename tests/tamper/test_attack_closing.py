"""Attacks on the closing of a pour: signed too early, in another's post, by one hand, written on; each test states its alarm."""

from __future__ import annotations

import forgery
import pytest
from record_world import failing, state_of
from test_attack_lapses import audited, next_of

from verifier.record.audit import HOLDS, OPEN

POSTS = {
    "contractor's engineer": "engineer-1",
    "independent inspector": "reviewer-1",
    "engineer of record": "eor-1",
}


def write(pour, kind: str = "closing", **body):
    return pour.ledger.append(kind, {"entry": {"kind": "curing"}, **body}, pour.device, pour.tick())


def sign(pour, post: str, person: str | None = None):
    body = {"signed": {"post": post, "decides": "", "decision": ""}}
    return pour.ledger.append("closing.sign", body, pour.person(person or POSTS[post]), pour.tick())


def close(pour):
    return pour.ledger.append("close", {"text": "closed"}, pour.person("eor-1"), pour.tick())


def test_signed_closed_and_nothing_after(pour, tmp_path):
    """No alarm; before the close the fact is open, since entries may still come."""
    write(pour)
    for post in POSTS:
        sign(pour, post)
    assert state_of(audited(pour, tmp_path), "closing") == OPEN
    close(pour)
    outcome = audited(pour, tmp_path)
    assert (failing(outcome), state_of(outcome, "closing")) == (set(), HOLDS)


@pytest.mark.parametrize("kind", ["closing", "pour.log", "item", "photo"])
def test_something_written_after_the_signatures(pour, tmp_path, kind):
    """Told at once, and an alarm once the record is closed on them; signing again clears it."""
    for post in POSTS:
        sign(pour, post)
    if kind == "photo":
        pour.add_photo("crack.jpg", b"a crack seen later")
    else:
        write(pour, kind)
    told = next_of(audited(pour, tmp_path), "closing")
    assert told.state == OPEN
    assert all("before later entries" in detail and "sign again" in detail for detail in told.details)
    assert len(told.details) == 3
    for post in list(POSTS)[1:]:
        sign(pour, post)
    close(pour)
    (left,) = next_of(audited(pour, tmp_path), "closing").details
    assert failing(audited(pour, tmp_path)) == {"closing"}
    assert left.startswith("the contractor's engineer signed")


def test_closed_without_a_signature_and_written_on_afterwards(pour, tmp_path):
    """Alarm: closing. A close is one person's act; it can't stand in for the posts."""
    for post in list(POSTS)[:2]:
        sign(pour, post)
    close(pour)
    write(pour)
    details = next_of(audited(pour, tmp_path), "closing").details
    assert failing(audited(pour, tmp_path)) == {"closing"}
    assert "the engineer of record has not signed" in details
    assert any("came after the record was closed" in detail for detail in details)


def test_in_a_post_that_is_not_ones_own(pour, tmp_path):
    """Alarm: closing. The record takes any person's key for a signature; the post is held against the roles of the key."""
    for post in POSTS:
        sign(pour, post, "engineer-1" if post == "independent inspector" else None)
    close(pour)
    assert failing(audited(pour, tmp_path)) == {"closing"}
    (detail,) = next_of(audited(pour, tmp_path), "closing").details
    assert "does not hold that post" in detail


def test_a_device_signs_the_closing(pour, tmp_path):
    """Alarm: persons, and what it signed counts for nothing: closing."""
    for post in list(POSTS)[1:]:
        sign(pour, post)
    body = {"signed": {"post": "contractor's engineer", "decides": "", "decision": ""}}
    forgery.slip_in(pour.ledger, "closing.sign", body, pour.device, pour.tick())
    close(pour)
    assert failing(audited(pour, tmp_path)) == {"closing", "persons"}
