"""Photos chosen and not yet sent: one person's, on the disk at once, no evidence, and gone when sent, dropped or too old."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from verifier.errors import BadInput
from verifier.photo.formats import PhotoLimits
from verifier.pipeline.folder.evidence import evidence_in
from verifier.pipeline.intake import chosen

DAY_S = 86_400


def names(folder: Path, person: str | None = None) -> list[str]:
    return [photo.name for photo in chosen.waiting(folder, person)]


def test_each_waits_once_in_the_order_chosen_and_only_for_its_person(tmp_path: Path) -> None:
    chosen.keep(tmp_path, "engineer-1", "b.jpg", b"first")
    chosen.keep(tmp_path, "engineer-1", "a.jpg", b"second")
    chosen.keep(tmp_path, "engineer-1", "again.jpg", b"first")
    chosen.keep(tmp_path, None, "nobody.jpg", b"third")
    assert names(tmp_path, "engineer-1") == ["b.jpg", "a.jpg"]
    assert names(tmp_path) == ["nobody.jpg"]
    assert names(tmp_path, "reviewer-1") == []


def test_a_name_leads_nowhere_else(tmp_path: Path) -> None:
    chosen.keep(tmp_path / "pour", "../../eor-1", "../../../up.jpg", b"bytes")
    assert names(tmp_path / "pour", "../../eor-1") == ["up.jpg"]
    assert [p.relative_to(tmp_path).parts[:2] for p in tmp_path.rglob("*.jpg")] == [("pour", "drafts")]


def test_what_waits_is_no_evidence(tmp_path: Path) -> None:
    chosen.keep(tmp_path, None, "s1-spot1.jpg", b"bytes")
    assert evidence_in(tmp_path, ("S1",)).photos == ()


def test_a_photo_is_dropped_only_once_it_is_kept_elsewhere(tmp_path: Path) -> None:
    for number in range(3):
        chosen.keep(tmp_path, None, f"{number}.jpg", bytes([number]))
    sent = chosen.handed_on(chosen.waiting(tmp_path, None))
    assert next(sent) == ("0.jpg", b"\x00")
    assert names(tmp_path) == ["0.jpg", "1.jpg", "2.jpg"]  # whoever takes it may still fail
    assert next(sent)[0] == "1.jpg"
    assert names(tmp_path) == ["1.jpg", "2.jpg"]
    sent.close()  # the disk was full, say: what was not taken stays
    assert names(tmp_path) == ["1.jpg", "2.jpg"]


def test_two_tabs_send_or_drop_the_same_photo(tmp_path: Path) -> None:
    chosen.keep(tmp_path, None, "a.jpg", b"a")
    chosen.keep(tmp_path, None, "b.jpg", b"b")
    seen_here = chosen.waiting(tmp_path, None)
    chosen.drop(tmp_path, None, [seen_here[0].sha256])
    assert [name for name, _ in chosen.handed_on(seen_here)] == ["b.jpg"]
    chosen.drop(tmp_path, None, [p.sha256 for p in seen_here])
    assert names(tmp_path) == []
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == []


def test_too_large_too_many_and_a_full_disk_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(BadInput, match="at most 100 MB are taken"):
        chosen.keep(tmp_path, None, "big.jpg", bytes(PhotoLimits().max_bytes + 1))
    monkeypatch.setattr(chosen, "MOST", 2)
    chosen.keep(tmp_path, None, "a.jpg", b"a")
    chosen.keep(tmp_path, None, "b.jpg", b"b")
    with pytest.raises(BadInput, match="Send those first"):
        chosen.keep(tmp_path, None, "c.jpg", b"c")
    chosen.keep(tmp_path, None, "a.jpg", b"a")  # it waits already: nothing more is kept

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(chosen, "MOST", 200)
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadInput, match="No space left on device"):
        chosen.keep(tmp_path, None, "c.jpg", b"c")
    assert names(tmp_path) == ["a.jpg", "b.jpg"]
    assert len([p for p in tmp_path.rglob("*") if p.is_file()]) == 2  # nothing half written stays


def test_what_nobody_sends_is_swept_whoever_chose_it(tmp_path: Path) -> None:
    chosen.keep(tmp_path, None, "a.jpg", b"a")
    chosen.keep(tmp_path, "engineer-1", "b.jpg", b"b")
    typed = tmp_path / "drafts" / "engineer-1" / "refusal.txt"
    typed.write_text("kept as long as it takes", encoding="utf-8")
    days = chosen.KEPT_FOR.days
    chosen.sweep(tmp_path, now_s=time.time() + (days - 1) * DAY_S)
    assert (names(tmp_path), names(tmp_path, "engineer-1")) == (["a.jpg"], ["b.jpg"])
    chosen.sweep(tmp_path, now_s=time.time() + (days + 1) * DAY_S)
    assert (names(tmp_path), names(tmp_path, "engineer-1")) == ([], [])
    assert typed.is_file()
