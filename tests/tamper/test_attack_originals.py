"""Attacks on originals: photos edited, dropped, or slipped in; each test states its alarm, or what can't be caught and why.

The attacker has write access to everything and holds the device's key unless a test says otherwise, so that no alarm is owed to a
mere checksum that could be computed again.
"""

from __future__ import annotations

import re

import forgery
import pytest
from record_world import failing, sealed_folder, state_of

from verifier.errors import RecordDamaged
from verifier.record.audit import OPEN, Replayed, audit


def test_edit_a_photo(pour, tmp_path):
    """Alarm: originals - even though the attacker seals the bundle anew."""
    bag, _ = sealed_folder(pour, tmp_path)
    photo = next((bag / "data/originals").iterdir())
    forgery.write(photo, b"other steel")
    assert failing(audit(bag)) == {"bytes intact", "originals"}
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"originals"}


def test_edit_a_photo_in_the_folder(pour):
    """Alarm: reading the original refuses, so nobody ever measures on changed bytes."""
    digest = pour.add_photo("p3.jpg", b"third original")
    path = pour.ledger.store.objects.path_of(digest)
    path.chmod(0o644)
    path.write_bytes(b"another picture")
    with pytest.raises(RecordDamaged, match="have changed"):
        pour.ledger.store.objects.read(digest)
    with pytest.raises(RecordDamaged, match="have changed"):
        pour.add_photo("p3.jpg", b"third original")


def test_drop_a_photo_file(pour, tmp_path):
    """Alarm: originals (missing)."""
    bag, _ = sealed_folder(pour, tmp_path)
    next((bag / "data/originals").iterdir()).unlink()
    forgery.reseal(bag, pour.device)
    assert failing(audit(bag)) == {"originals"}


def test_drop_a_photo_with_its_records(pour, tmp_path):
    """Alarm: chain; and once chained anew: signatures of every person after it, the approval, the held head."""
    bag, held = sealed_folder(pour, tmp_path)
    lines = forgery.lines_of(bag)
    photo = next(i for i, line in enumerate(lines) if b'"type":"photo"' in line)
    kept = lines[:photo] + lines[photo + 2 :]
    forgery.put_lines(bag, kept, pour.device)
    forgery.reseal(bag, pour.device)
    assert "chain" in failing(audit(bag))
    forgery.put_lines(bag, forgery.rechained(kept, pour.device), pour.device)
    forgery.reseal(bag, pour.device)
    outcome = audit(bag, heads=[held])
    assert {"signatures", "approvals", "held head"} <= failing(outcome)
    assert "chain" not in failing(outcome)


def test_a_staged_scene(pour, tmp_path):
    """NOT caught: old steel photographed with the right board passes every check. The audit must say so itself."""
    pour.add_photo("staged.jpg", b"steel of another floor")
    outcome = audit(pour.release_and_seal(tmp_path / "b.zip"))
    assert failing(outcome) == set()
    assert any(re.search("staged scene", limit) for limit in outcome.limits)


def test_measuring_again_gives_another_value(pour, tmp_path):
    """Alarm: replay, with the difference in words."""
    path = pour.release_and_seal(tmp_path / "b.zip")
    looked_at = []

    def same(original, bodies):
        looked_at.append(original)
        return Replayed()

    def other(original, bodies):
        return Replayed(tuple(f"mean_spacing 161.0, recorded {b['value']}" for b in bodies))

    def newer(original, bodies):
        return Replayed(
            not_compared=tuple(f"{b['value']}: measured with version 1, this is 2" for b in bodies)
        )

    def broken(original, bodies):
        raise RuntimeError("no such method version")

    assert failing(audit(path, replay=same)) == set()
    assert sorted(looked_at) == [b"first original", b"second original"]
    assert failing(audit(path, replay=other)) == {"replay"}
    assert failing(audit(path, replay=broken)) == {"replay"}
    by_a_newer_program = audit(path, replay=newer)
    assert failing(by_a_newer_program) == set(), (
        "another version may differ for good reason: that is no contradiction"
    )
    assert state_of(by_a_newer_program, "replay") == OPEN
    assert state_of(audit(path), "replay") == OPEN
